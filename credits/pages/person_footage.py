"""An animator's footage by character, in the five measures, and what only the office reads."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from credits.cautions import REVIEW_CAUTION
from credits.editions import Crew, Office
from credits.footage.footage import MEASURES
from credits.footage.table import By, footage_rows
from credits.footage.time import work_time
from credits.pages.page import Link
from credits.pages.source import PageSource
from credits.pages.words import counted
from credits.units.film_time import clock, seconds
from credits.units.rounding import decimal_text

_HEADS = {
    "shot": "Shot",
    "kept": "Kept",
    "accepted": "Accepted",
    "cut": "In the cut",
    "screen": "On screen",
}


@dataclass(frozen=True, slots=True)
class FootageLine:
    """A row of figures, one for each measure. ``name`` leads to the character's page."""

    name: Crew[Link | None] = None
    figures: Crew[tuple[str, ...]] = ()


@dataclass(frozen=True, slots=True)
class PersonFootage:
    """Character frames by character, the totals in every dress, and time and pace."""

    heads: Crew[tuple[str, ...]] = ()
    rows: Crew[tuple[FootageLine, ...]] = ()
    totals: Crew[tuple[FootageLine, ...]] = ()
    office: Office[tuple[tuple[str, str], ...]] = ()
    caution: Office[str] = ""


def _office(source: PageSource, person: str) -> tuple[tuple[str, str], ...]:
    """Minutes, days, pace and re-shot share (rule 3.7), each with its name."""
    results = source.results
    time = work_time(source.ledger, source.ledger.entries_by_person.get(person, ()))
    total = results.footage_by_person[person].total.by_shot
    days = len(time.shoot_days)
    figures = [
        ("minutes logged", f"{time.minutes:,}"),
        ("stage days", counted(len(time.stage_days), "day")),
        ("of them block, rehearsal", f"{len(time.block_days):,}, {len(time.rehearsal_days):,}"),
    ]
    if days:
        pace = seconds(total.kept, source.ledger.production.rate) / days
        figures.append(("pace", f"{decimal_text(pace, 1)} s a shoot day"))
    if total.shot:
        again = 100 - Fraction(100 * total.kept) / total.shot
        figures.append(("re-shot share", f"{decimal_text(again, 1)} %"))
    return tuple(figures)


def person_footage(source: PageSource, person: str) -> PersonFootage | None:
    """The footage of a person; None where they claimed no frame."""
    feet = source.results.footage_by_person.get(person)
    if feet is None:
        return None
    ledger = source.ledger
    measures = MEASURES if feet.cut is not None else MEASURES[:3]
    table = footage_rows(feet, ledger, (By.CHARACTER,))
    total = table.total
    running = tuple(
        clock(total.totals.character.of(measure), ledger.production.rate) for measure in measures
    )

    def figures(frames: tuple[int, ...]) -> tuple[str, ...]:
        return tuple(f"{frames[MEASURES.index(measure)]:,}" for measure in measures)

    rows = tuple(
        FootageLine(source.character(row.key[0] or ""), figures(row.character.frames))
        for row in table.rows
    )
    totals = (
        FootageLine(Link("character frames"), figures(total.character.frames)),
        FootageLine(Link("as running time"), running),
        FootageLine(Link("as feet"), total.character.feet[: len(measures)]),
        FootageLine(Link("shot frames"), figures(total.by_shot.frames)),
    )
    heads = tuple(_HEADS[measure] for measure in measures)
    return PersonFootage(heads, rows, totals, _office(source, person), REVIEW_CAUTION)
