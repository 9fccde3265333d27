"""The stages of a week by day: which shot, which characters, who, and with which puppet."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from credits.editions import Everyone
from credits.model.facts import Kind, Purpose
from credits.model.ledger import Entry
from credits.pages.page import Link
from credits.pages.shot_frames import copy_link
from credits.pages.source import PageSource
from credits.pages.week_days import WEEKDAYS
from credits.pages.words import short_day

NO_STAGE = ""


@dataclass(frozen=True, slots=True)
class OnStage:
    """One character on the stage: who worked on it, with which copy; the craft beside animation."""

    craft: Everyone[str]
    character: Everyone[Link | None]
    people: Everyone[tuple[Link, ...]]
    puppets: Everyone[tuple[Link, ...]]


@dataclass(frozen=True, slots=True)
class StageShot:
    """A shot on a stage on one day."""

    shot: Everyone[Link | None]
    purpose: Everyone[str]
    works: Everyone[tuple[OnStage, ...]]


@dataclass(frozen=True, slots=True)
class StageDay:
    """A cell of the table: a stage on a day."""

    shots: Everyone[tuple[StageShot, ...]]


@dataclass(frozen=True, slots=True)
class StageRow:
    """A stage and its seven days, Monday first."""

    stage: Everyone[str]
    unit: Everyone[str]
    days: Everyone[tuple[StageDay, ...]]


@dataclass(frozen=True, slots=True)
class DayHead:
    """The head of a day's column."""

    weekday: Everyone[str]
    day: Everyone[str]


def on_stage(source: PageSource, entry: Entry) -> bool:
    """Whether an entry belongs to the table of stages: performance on a shot or on a stage."""
    performed = source.ledger.crafts[entry.craft].kind is Kind.PERFORMANCE
    return performed and (entry.shot is not None or entry.stage is not None)


def day_heads(days: Sequence[date]) -> tuple[DayHead, ...]:
    """The heads of the seven columns."""
    return tuple(DayHead(word, short_day(day)) for word, day in zip(WEEKDAYS, days, strict=True))


class _Table:
    def __init__(self, source: PageSource) -> None:
        self.source = source
        self.ledger = source.ledger
        self.characters = {code: at for at, code in enumerate(source.ledger.characters)}
        self.crafts = {code: at for at, code in enumerate(source.ledger.crafts)}
        self.shots = {code: at for at, code in enumerate(source.ledger.shots)}

    def _purpose(self, entry: Entry) -> Purpose:
        if entry.shot is None or entry.take is None:
            return Purpose.SHOOT
        return self.ledger.take(entry.shot, entry.take).purpose

    def _works(self, entries: Iterable[Entry]) -> tuple[OnStage, ...]:
        groups: dict[tuple[str, str | None], list[Entry]] = defaultdict(list)
        for entry in entries:
            groups[entry.craft, entry.character].append(entry)

        def order(key: tuple[str, str | None]) -> tuple[object, ...]:
            craft, character = key
            footage = self.ledger.crafts[craft].footage
            return (not footage, self.characters.get(character or "", -1), self.crafts[craft])

        rows = []
        for craft, character in sorted(groups, key=order):
            own = groups[craft, character]
            people = sorted({entry.person for entry in own}, key=self.source.name_order)
            links = (self.source.person(person) for person in people)
            found = self.ledger.crafts[craft]
            # Only what is in front of the camera is named with its copy.
            copies = {e.puppet for e in own if e.puppet is not None} if found.footage else set()
            rows.append(
                OnStage(
                    "" if found.footage else found.name,
                    self.source.character(character) if character else None,
                    tuple(link for link in links if link is not None),
                    tuple(copy_link(self.source, code) for code in sorted(copies)),
                )
            )
        return tuple(rows)

    def cell(self, entries: Iterable[Entry]) -> StageDay:
        groups: dict[tuple[str | None, Purpose], list[Entry]] = defaultdict(list)
        assisting: list[Entry] = []
        for entry in entries:
            if entry.take is None:
                assisting.append(entry)
            else:
                groups[entry.shot, self._purpose(entry)].append(entry)
        for entry in assisting:
            # Work that names no take goes with what was photographed of the shot that day.
            purposes = [purpose for shot, purpose in groups if shot == entry.shot]
            groups[entry.shot, (purposes or [Purpose.SHOOT])[-1]].append(entry)
        return StageDay(
            tuple(
                StageShot(
                    self.source.shot(shot) if shot else None,
                    "" if purpose is Purpose.SHOOT else purpose.value,
                    self._works(groups[shot, purpose]),
                )
                for shot, purpose in sorted(
                    groups,
                    key=lambda k: (self.shots.get(k[0] or "", -1), list(Purpose).index(k[1])),
                )
            )
        )


class StageTables:
    """Makes the tables of stages, week by week."""

    def __init__(self, source: PageSource) -> None:
        self._table = _Table(source)
        self._ledger = source.ledger

    def rows(self, entries: Iterable[Entry], days: Sequence[date]) -> tuple[StageRow, ...]:
        """The stages that worked in the week, in the order of their table; without one last."""
        found: dict[str, dict[date, list[Entry]]] = defaultdict(lambda: defaultdict(list))
        for entry in entries:
            if entry.day is not None:
                found[entry.stage or NO_STAGE][entry.day].append(entry)
        order = [*self._ledger.stages, NO_STAGE]
        rows = []
        for code in sorted(found, key=order.index):
            stage = self._ledger.stages.get(code)
            rows.append(
                StageRow(
                    code or "no stage given",
                    (stage.unit or "") if stage else "",
                    tuple(self._table.cell(found[code].get(day, ())) for day in days),
                )
            )
        return tuple(rows)
