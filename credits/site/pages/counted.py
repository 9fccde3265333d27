"""How it is counted, with a worked example."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime
from functools import cache

from credits.billing.roll import LEAST_SECONDS_A_LINE
from credits.cautions import CREDITS_CAUTION, MATERIALS_CAUTION, REVIEW_CAUTION
from credits.editions import Crew, Edition, Everyone
from credits.figures.results import Results, compute
from credits.footage.footage import MEASURES, Measures
from credits.hands.hands import Hand
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
from credits.model.log import LogLine, Verb, WrittenLog
from credits.model.replay import replay
from credits.site import links
from credits.site.page import Page
from credits.site.source import PageSource
from credits.units.film_time import FrameRate, Gauge, clock, day_text, feet_text
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
class ExampleEntryRow:
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
    entries: Crew[tuple[ExampleEntryRow, ...]] = ()
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
            LogLine(EntryNumber("A", place), Verb.RECORD, logged_at, work)
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
    runs = results.hands.runs_of_take(SHOT, 1)
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
        ExampleEntryRow(
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


CREDITS_THAT_PRINT = "characters, puppets, pictures, the credits that print, order of appearance"
# What is shown, and whether the public, the crew and the office edition show it.
EDITIONS: tuple[tuple[str, str, str, str], ...] = (
    (CREDITS_THAT_PRINT, "yes", "yes", "yes"),
    ("people: credit name, crafts, characters", "if their credit prints", "yes", "yes"),
    ("people who asked to be uncredited", "no", "as “uncredited”, without a page", "yes"),
    ("shots, frames, who animated what, hands, reach", "no", "yes", "yes"),
    ("dates, stages, the pages of weeks", "no", "yes", "yes"),
    ("notes", "public ones of characters", "all but private ones", "yes"),
    ("minutes, waits, pace, re-shot share, reviews, held lines, checks", "no", "no", "yes"),
    ("legal names, e-mail addresses", "no", "no", "no"),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class CountedSetting:
    """A setting of the production and what it means."""

    name: Everyone[str]
    value: Everyone[str]
    meaning: Everyone[str]


@dataclass(frozen=True, slots=True)
class EditionRow:
    """What is shown, and whether each edition shows it."""

    what: Everyone[str]
    public: Everyone[str]
    crew: Everyone[str]
    office: Everyone[str]


@dataclass(frozen=True, slots=True)
class CountedPage:
    """What the page holds besides the rules themselves, which are the same for everybody."""

    settings: Everyone[tuple[CountedSetting, ...]]
    editions: Everyone[tuple[EditionRow, ...]]
    edition: Everyone[str]
    data: Everyone[str]
    least_line: Everyone[str]
    credits_caution: Everyone[str]
    materials_caution: Everyone[str]
    review_caution: Crew[str] = ""
    example: Crew[Example | None] = None
    cut: Crew[str] = ""


def _rate_meaning(rate: FrameRate) -> str:
    return f"{clock(1000, rate)} of running time for every 1,000 frames"


def _gauge_meaning(gauge: Gauge) -> str:
    if gauge.whole_feet:
        return f"200 frames are written {feet_text(200, gauge)}: feet, a plus sign, frames"
    return f"200 frames are written {feet_text(200, gauge)}, in decimal feet"


def _settings(production: Production) -> tuple[CountedSetting, ...]:
    return (
        CountedSetting(
            "frame rate",
            f"{production.rate.text} frames a second",
            _rate_meaning(production.rate),
        ),
        CountedSetting(
            "film gauge, for feet", production.gauge.name, _gauge_meaning(production.gauge)
        ),
    )


def _cut_text(source: PageSource) -> str:
    cut = source.ledger.cut
    if cut is None:
        return (
            "There is no cut yet, so nothing is counted in the cut or on screen, and reach is"
            " over the kept frames of the take that each shot means."
        )
    day = f", brought in on {day_text(cut.brought_in_on)}" if cut.brought_in_on else ""
    length = clock(cut.length, source.ledger.production.rate)
    return f"The current cut is version {cut.version}{day}; it runs {length}."


def _data_text(source: PageSource) -> str:
    last = source.ledger.last_day
    if source.ledger.last_line is None:
        return "The log holds no entry yet."
    if last is None:
        return "Everything here is counted from the log; its entries carry no dates."
    return (
        f"Everything here is counted from the log; the last day of work in it is {day_text(last)}."
    )


_EDITION_TEXT = {
    Edition.PUBLIC: "This is the public edition.",
    Edition.CREW: "This is the crew edition.",
    Edition.OFFICE: "This is the office edition.",
}


def counted_pages(source: PageSource) -> Iterator[Page]:
    """``counted.html``."""
    model = CountedPage(
        settings=_settings(source.ledger.production),
        editions=tuple(EditionRow(*row) for row in EDITIONS),
        edition=_EDITION_TEXT[source.edition],
        data=_data_text(source),
        least_line=f"{LEAST_SECONDS_A_LINE}",
        credits_caution=CREDITS_CAUTION,
        materials_caution=MATERIALS_CAUTION,
        review_caution=REVIEW_CAUTION,
        example=example() if source.crew else None,
        cut=_cut_text(source),
    )
    yield Page(links.COUNTED, "counted.html", "How it is counted", links.COUNTED, model)
