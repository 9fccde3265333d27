"""The worked example of the counting, counted by the same computation as every other page.

Its people, characters and shot are made up; the figures are computed when the page is built, so
the page cannot say what the program does not do.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime
from functools import cache

from credits.compute.hand import Hand
from credits.compute.results import Results, compute
from credits.editions import Crew
from credits.footage.footage import MEASURES, Measures
from credits.model.crafts import BUILT_IN_CRAFTS
from credits.model.facts import (
    Character,
    Cut,
    CutClip,
    Decision,
    EntryNumber,
    Person,
    Production,
    Puppet,
    Sequence,
    Shot,
    Take,
    Work,
)
from credits.model.replay import replay
from credits.model.written import Verb, Written, WrittenLog
from credits.pages.words import day_text
from credits.units.film_time import FrameRate, Gauge
from credits.units.frames import Frames
from credits.units.rounding import largest_remainder

SHOT = "010-020"
MARCH_2, MARCH_3 = date(2026, 3, 2), date(2026, 3, 3)
WORKS = (
    Work(
        "animation", "ana", "wick", "wick-1",
        shot=SHOT, frames=Frames.span(1, 30), finished_on=MARCH_2,
    ),
    Work(
        "animation", "ben", "wick", "wick-1",
        shot=SHOT, frames=Frames.span(25, 48), finished_on=MARCH_3,
    ),
    Work(
        "animation", "cai", "brine", "brine-1",
        shot=SHOT, frames=Frames.span(13, 48), finished_on=MARCH_3,
    ),
    Work("sculpt", "cai", "wick", finished_on=date(2025, 9, 1)),
    Work("fabrication", "ben", puppet="wick-2", finished_on=date(2025, 12, 1)),
    Work("voice", "ana", "wick", finished_on=date(2025, 6, 1)),
    Work("repair", "ana", puppet="wick-1", finished_on=MARCH_3),
)  # fmt: skip
FRAMES_LOOKED_AT = (9, 25)


@dataclass(frozen=True, slots=True)
class EntryRow:
    """An entry of the example."""

    person: Crew[str] = ""
    craft: Crew[str] = ""
    on: Crew[str] = ""
    frames: Crew[str] = ""
    day: Crew[str] = ""


@dataclass(frozen=True, slots=True)
class FigureRow:
    """A person's figures: four measures of character footage, then four of shot footage."""

    person: Crew[str] = ""
    character: Crew[tuple[str, ...]] = ()
    by_shot: Crew[tuple[str, ...]] = ()
    reach: Crew[str] = ""


@dataclass(frozen=True, slots=True)
class FrameHands:
    """Whose hands are in one frame, in words."""

    frame: Crew[str] = ""
    hands: Crew[str] = ""


@dataclass(frozen=True, slots=True)
class Example:
    """The example: what was logged, what is counted, whose hands are where."""

    length: Crew[str] = ""
    cut: Crew[str] = ""
    entries: Crew[tuple[EntryRow, ...]] = ()
    rows: Crew[tuple[FigureRow, ...]] = ()
    total: Crew[FigureRow | None] = None
    hands: Crew[tuple[FrameHands, ...]] = ()


def example_log() -> WrittenLog:
    """The log of the example."""
    logged_at = datetime(2026, 3, 4, tzinfo=UTC)
    cut = Cut(1, "example", 32, (CutClip(1, 1, 32, SHOT, None, 9, 40),))
    return WrittenLog(
        production=Production(
            "Example", "example", FrameRate.parse("24"), Gauge.parse("35mm-4perf"), 600
        ),
        crafts=BUILT_IN_CRAFTS,
        people=(Person("ana", "Ana"), Person("ben", "Ben"), Person("cai", "Cai")),
        characters=(Character("wick", "Wick"), Character("brine", "Brine")),
        puppets=(Puppet("wick-1", "wick"), Puppet("wick-2", "wick"), Puppet("brine-1", "brine")),
        sequences=(Sequence("010"),),
        shots=(Shot(SHOT, "010", 48),),
        takes=(Take(SHOT, 1, decision=Decision.ACCEPTED),),
        lines=tuple(
            Written(EntryNumber("A", place), Verb.RECORD, logged_at, work)
            for place, work in enumerate(WORKS, 1)
        ),
        cut=cut,
    )


@cache
def example_results() -> Results:
    """The example, computed."""
    return compute(replay(example_log()))


def _columns(measures: list[Measures]) -> list[tuple[str, ...]]:
    """The rows of a table in four measures, and its total, each column adding up."""
    columns = [largest_remainder([own.of(measure) for own in measures]) for measure in MEASURES[:4]]
    rows = [tuple(f"{column[at]:,}" for column in columns) for at in range(len(measures))]
    return [*rows, tuple(f"{sum(column):,}" for column in columns)]


def _hand_text(results: Results, hand: Hand) -> str:
    ledger = results.ledger
    way = f", by way of {hand.puppet}" if hand.puppet is not None and hand.via != "frame" else ""
    return (
        f"{ledger.people[hand.person].credit_name} ({ledger.crafts[hand.craft].name.lower()}{way})"
    )


def _hands(results: Results, frame: int) -> FrameHands:
    runs = results.hands_of(SHOT, 1)
    run = next(run for run in runs if run.first <= frame < run.stop)
    texts = [_hand_text(results, hand) for hand in run.hands if hand.character == "wick"]
    return FrameHands(str(frame), ", ".join(texts))


def example() -> Example:
    """The example for the page."""
    results = example_results()
    people = results.ledger.people.values()
    feet = [results.footage_by_person[person.code].total for person in people]
    character = _columns([totals.character for totals in feet])
    by_shot = _columns([totals.by_shot for totals in feet])
    rows = tuple(
        FigureRow(
            person.credit_name,
            character[at],
            by_shot[at],
            f"{results.reach[person.code].frames:,}",
        )
        for at, person in enumerate(people)
    )
    entries = tuple(
        EntryRow(
            results.ledger.people[entry.person].credit_name,
            results.ledger.crafts[entry.craft].name,
            entry.puppet or results.ledger.characters[entry.character or ""].name,
            entry.frames.text if entry.frames is not None else "",
            day_text(entry.day),
        )
        for entry in results.ledger.entries
    )
    use = results.use
    used = use.used[SHOT, 1].text if use is not None else ""
    total = FigureRow("together", character[-1], by_shot[-1])
    looked_at = tuple(_hands(results, frame) for frame in FRAMES_LOOKED_AT)
    length = f"{results.ledger.shots[SHOT].length:,}"
    return Example(length, used, entries, rows, total, looked_at)
