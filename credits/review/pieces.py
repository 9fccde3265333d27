"""Work as the model of pace sees it: one person on one shot."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from math import log2

from credits.model.facts import Decision
from credits.model.ledger import Ledger
from credits.review.days import DayWork
from credits.units.film_time import seconds


class Regressor(StrEnum):
    """What the model knows of a piece of work. The order is that of ``WorkPiece.values``."""

    CHARACTERS = "characters"
    HOLD = "hold"
    WAIT = "wait"
    LENGTH = "length"
    RETAKES = "retakes"


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkPiece:
    """One person's work on one shot: kept seconds, shoot days, and a value for each regressor."""

    person: str
    shot: str
    seconds: float
    days: float
    values: tuple[float, ...]


def _piece(
    ledger: Ledger,
    person: str,
    works: Sequence[DayWork],
    shots_a_day: Mapping[date | None, int],
    waits: Mapping[date | None, int],
) -> WorkPiece:
    shot = ledger.shots[works[0].shot or ""]
    rate = ledger.production.rate
    days = sum(1 / shots_a_day[work.day] for work in works)
    frames = sum(work.totals.by_shot.shot for work in works)
    character_frames = sum(work.totals.character.shot for work in works)
    kept = sum(work.totals.character.kept for work in works)
    poses = sum(work.poses for work in works)
    waited = sum(waits[work.day] / shots_a_day[work.day] for work in works)
    values = {
        Regressor.CHARACTERS: float(character_frames / frames),
        Regressor.HOLD: float(kept / poses) if poses else 1.0,
        Regressor.WAIT: waited / 60 / days,
        Regressor.LENGTH: log2(max(shot.length, 1) / float(rate.per_second)),
        Regressor.RETAKES: float(
            sum(t.decision is Decision.RETAKE for t in ledger.takes_of.get(shot.code, ()))
        ),
    }
    return WorkPiece(
        person=person,
        shot=shot.code,
        seconds=float(seconds(sum(work.totals.by_shot.kept for work in works), rate)),
        days=days,
        values=tuple(values[regressor] for regressor in Regressor),
    )


def pieces_of(ledger: Ledger, person: str, works: Iterable[DayWork]) -> list[WorkPiece]:
    """Return the dated, claimed work of one person, a piece for each shot.

    A day with several shots is divided among them, and so is what was waited on it.
    """
    dated = [work for work in works if work.day is not None]
    claimed = [work for work in dated if work.takes and work.shot is not None]
    shots_a_day: Counter[date | None] = Counter(work.day for work in claimed)
    waits: Counter[date | None] = Counter()
    by_shot: dict[str | None, list[DayWork]] = defaultdict(list)
    for work in dated:
        waits[work.day] += sum(wait.minutes for wait in work.waits)
    for work in claimed:
        by_shot[work.shot].append(work)
    return [_piece(ledger, person, own, shots_a_day, waits) for own in by_shot.values()]
