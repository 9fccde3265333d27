"""How it is counted, with a worked example."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime
from functools import cache, partial

from credits.billing.setting.roll import LEAST_SECONDS_A_LINE
from credits.editions import Crew, Edition, Everyone
from credits.figures.snapshot import Snapshot
from credits.footage.footage import MEASURES
from credits.model import facts
from credits.model.ledger import Ledger
from credits.model.log import LogLine, Verb, WrittenLog
from credits.model.replay import replay
from credits.review.projection import PACE_WEEKS
from credits.site import links
from credits.site.links import Page
from credits.site.source import PageSource
from credits.units.film_time import FrameRate, Gauge, clock, day_text, feet_text
from credits.units.frames import Frames
from credits.units.table import Column, Table, Unit, columns

SHOT = "010-020"
MARCH_2, MARCH_3 = date(2026, 3, 2), date(2026, 3, 3)
WORKS = (
    facts.Work(
        craft="animation", person="ana", character="wick", puppet="wick-1",
        shot=SHOT, frames=Frames.span(1, 30), finished_on=MARCH_2,
    ),
    facts.Work(
        craft="animation", person="ben", character="wick", puppet="wick-1",
        shot=SHOT, frames=Frames.span(25, 48), finished_on=MARCH_3,
    ),
    facts.Work(
        craft="animation", person="cai", character="brine", puppet="brine-1",
        shot=SHOT, frames=Frames.span(13, 48), finished_on=MARCH_3,
    ),
    facts.Work(craft="sculpt", person="cai", character="wick", finished_on=date(2025, 9, 1)),
    facts.Work(craft="fabrication", person="ben", puppet="wick-2", finished_on=date(2025, 12, 1)),
    facts.Work(craft="voice", person="ana", character="wick", finished_on=date(2025, 6, 1)),
    facts.Work(craft="repair", person="ana", puppet="wick-1", finished_on=MARCH_3),
)  # fmt: skip
FRAMES_LOOKED_AT = (9, 25)
EXAMPLE_MEASURES = MEASURES[:4]
SETTING_COLUMNS = columns(setting="Setting", value="Here", meaning="Which means")
LOG_COLUMNS = (
    *columns(person="Who", craft="Craft", on="On"),
    Column(key="frames", heading="Frames", unit=Unit.RANGES),
    Column(key="day", heading="Day", unit=Unit.DAY),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Example:
    """The example: what was logged, what is counted, whose hands are in which frame."""

    length: Crew[str] = ""
    cut: Crew[str] = ""
    entries: Crew[Table | None] = None
    figures: Crew[Table | None] = None
    hands: Crew[tuple[tuple[str, str], ...]] = ()


@cache
def example_results() -> Snapshot:
    """Return the example, computed."""
    logged_at = datetime(2026, 3, 4, tzinfo=UTC)
    rate, gauge = FrameRate.parse("24"), Gauge.parse("35mm-4perf")
    clip = facts.CutClip(
        order=1, film_first=1, shown=32, shot=SHOT, take=None, source_first=9, source_last=40
    )
    log = WrittenLog(
        production=facts.Production(
            title="Example", code="example", rate=rate, gauge=gauge, day_minutes=600
        ),
        crafts=facts.BUILT_IN_CRAFTS,
        people=tuple(facts.Person(code=n.lower(), credit_name=n) for n in ("Ana", "Ben", "Cai")),
        characters=(
            facts.Character(code="wick", name="Wick"),
            facts.Character(code="brine", name="Brine"),
        ),
        puppets=(
            facts.Puppet(code="wick-1", character="wick"),
            facts.Puppet(code="wick-2", character="wick"),
            facts.Puppet(code="brine-1", character="brine"),
        ),
        sequences=(facts.Sequence("010"),),
        shots=(facts.Shot(code=SHOT, sequence="010", length=48),),
        takes=(facts.Take(shot=SHOT, number=1, decision=facts.Decision.ACCEPTED),),
        lines=tuple(
            LogLine(
                number=facts.EntryNumber("A", place),
                verb=Verb.RECORD,
                logged_at=logged_at,
                work=work,
            )
            for place, work in enumerate(WORKS, 1)
        ),
        cut=facts.Cut(version=1, source="example", length=32, clips=(clip,)),
    )
    return Snapshot(replay(log))


def _hands(results: Snapshot, frame: int) -> tuple[str, str]:
    runs = results.hands.runs_of_take(SHOT, 1)
    run = next(run for run in runs if run.first <= frame < run.stop)
    texts = []
    for hand in run.hands:
        if hand.character == "wick":
            way = f", by way of {hand.puppet}" if hand.puppet and hand.via != "frame" else ""
            craft = results.ledger.crafts[hand.craft].name.lower()
            texts.append(f"{results.ledger.people[hand.person].credit_name} ({craft}{way})")
    return str(frame), ", ".join(texts)


def _figures(results: Snapshot) -> Table:
    """Return the figures of the people: four measures of both footages, and reach."""
    columns = [
        Column(
            key=f"{footage}_{measure}",
            heading="in the cut" if measure == "cut" else measure,
            unit=Unit.FRAMES,
            adds_up=True,
            head=f"{footage.capitalize()} footage",
        )
        for footage in ("character", "shot")
        for measure in EXAMPLE_MEASURES
    ]
    rows = []
    for code, person in results.ledger.people.items():
        total = results.footage_by_person[code].total
        footages = (total.character, total.by_shot)
        frames = (own.of(measure) for own in footages for measure in EXAMPLE_MEASURES)
        rows.append((person.credit_name, *frames, results.reach[code].frames))
    first = Column(key="person", heading="Frames")
    last = Column(key="reach", heading="reach", unit=Unit.FRAMES)
    caption = "Character footage and shot footage of the example, in frames"
    return Table.of(caption, (first, *columns, last), rows, label="total")


def _entries(ledger: Ledger) -> Table:
    rows = (
        (
            ledger.people[entry.person].credit_name,
            ledger.crafts[entry.craft].name,
            entry.puppet or ledger.characters[entry.character or ""].name,
            entry.frames,
            entry.day,
        )
        for entry in ledger.entries
    )
    return Table.of("The log of the example", LOG_COLUMNS, rows)


def example() -> Example:
    """Return the example for the page."""
    results = example_results()
    use = results.use
    return Example(
        length=f"{results.ledger.shots[SHOT].length:,}",
        cut=use.used[SHOT, 1].text if use is not None else "",
        entries=_entries(results.ledger),
        figures=_figures(results),
        hands=tuple(_hands(results, frame) for frame in FRAMES_LOOKED_AT),
    )


# What the simulation in the tests of reviews finds: situations, made units for each, and in how
# many of 100 units the range held, in the worst and in the best situation.
SITUATIONS, UNITS, LEAST_HELD, MOST_HELD = 9, 400, 88, 94
USUAL_PACE = (
    "What pace would be usual is a model, and the only figure here that is estimated: the kept"
    " seconds of the others divided by their shoot days. The range around it is the one in which"
    " nine of ten paces should lie, by how much pieces of work differ and how much people do. In a"
    f" simulation, which the tests of this program repeat, of {UNITS} made units for each of"
    f" {SITUATIONS} situations (people who are alike, differ, differ much; a few wild pieces of"
    " work; few days; three others, two dozen; poses that are a habit; hard shots that go to quick"
    f" animators) the range held the pace of one more of the unit {LEAST_HELD} to {MOST_HELD} of"
    " 100 times. It does not say what makes a pace: what the shots asked for stands beside it."
)


PROJECTION = (
    "What is ahead are the frames that the cut uses, each once (before there is a cut all frames of"
    " every shot that is not omitted), that nobody has animated or whose take is marked a retake."
    " How long they would take is a projection: these frames divided by the frames that the unit"
    f" kept on a shoot day in its last {PACE_WEEKS} weeks with shooting; the range is that of the"
    " quickest and the slowest of these weeks. It says what follows if the unit goes on as it did."
)


CREDITS_THAT_PRINT = "characters, puppets, pictures, the credits that print, order of appearance"
EDITIONS = Table(
    caption="What each edition shows",
    columns=(
        Column(key="what", heading="What"),
        *(Column(key=edition, heading=edition.capitalize()) for edition in Edition),
    ),
    rows=(
        (CREDITS_THAT_PRINT, "yes", "yes", "yes"),
        ("people: credit name, crafts, characters", "if their credit prints", "yes", "yes"),
        ("people who asked to be uncredited", "no", "as “uncredited”, without a page", "yes"),
        ("shots, frames, who animated what, hands, reach", "no", "yes", "yes"),
        ("dates, stages, the pages of weeks", "no", "yes", "yes"),
        ("the puppet hospital, what is still to shoot", "no", "yes", "yes"),
        ("notes", "public ones of characters", "all but private ones", "yes"),
        ("minutes, waits, pace, re-shot share, reviews, held lines, checks", "no", "no", "yes"),
        ("legal names, e-mail addresses", "no", "no", "no"),
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class CountedPage:
    """What the page holds besides the rules themselves, which are the same for everybody."""

    settings: Everyone[Table]
    editions: Everyone[Table]
    edition: Everyone[str]
    data: Everyone[str]
    least_line: Everyone[str]
    usual_pace: Crew[str] = ""
    projection: Crew[str] = ""
    example: Crew[Example | None] = None
    cut: Crew[str] = ""


def _settings(production: facts.Production) -> Table:
    rate, gauge = production.rate, production.gauge
    running = f"{clock(1000, rate)} of running time for every 1,000 frames"
    written = ": feet, a plus sign, frames" if gauge.whole_feet else ", in decimal feet"
    feet = f"200 frames are written {feet_text(200, gauge)}{written}"
    rows = (
        ("frame rate", f"{rate.text} frames a second", running),
        ("film gauge, for feet", gauge.name, feet),
    )
    return Table.of("Settings of this production", SETTING_COLUMNS, rows)


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
    day = f"the last day of work in it is {day_text(last)}" if last is not None else ""
    dated = day or "its entries carry no dates"
    return f"Everything here is counted from the log; {dated}."


def _page(source: PageSource) -> CountedPage:
    return CountedPage(
        settings=_settings(source.ledger.production),
        editions=EDITIONS,
        edition=f"This is the {source.edition} edition.",
        data=_data_text(source),
        least_line=f"{LEAST_SECONDS_A_LINE}",
        usual_pace=USUAL_PACE,
        projection=PROJECTION,
        example=example() if source.crew else None,
        cut=_cut_text(source),
    )


def counted_pages(source: PageSource) -> Iterator[Page]:
    """Yield ``counted.html``."""
    make = partial(_page, source)
    yield Page(links.COUNTED, "counted.html", "How it is counted", links.COUNTED, make)
