"""The first page: the production at a glance."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from credits.checks.rule import Severity
from credits.editions import Crew, Everyone, Office
from credits.footage.footage import FootageTotals, summed
from credits.model.ledger import Entry
from credits.model.words import counted
from credits.site import links
from credits.site.page import Link, Page
from credits.site.pages.character import CharacterCard, characters_in_order
from credits.site.pages.shots import sequence_link
from credits.site.source import PageSource
from credits.site.words import Amount, amount
from credits.units.film_time import clock, day_text, iso_week
from credits.units.rounding import half_up, largest_remainder

DAYS_SHOWN = 5


@dataclass(frozen=True, slots=True)
class SequenceLine:
    """A sequence: how much of it is planned, kept, accepted and on screen, in shot frames."""

    name: Everyone[Link]
    shots: Everyone[int]
    planned: Everyone[str]
    kept: Everyone[Amount]
    accepted: Everyone[str]
    screen: Everyone[str]


@dataclass(frozen=True, slots=True)
class StageLine:
    """What a stage did on one day."""

    stage: Everyone[str]
    shots: Everyone[tuple[Link, ...]]
    people: Everyone[tuple[Link, ...]]


@dataclass(frozen=True, slots=True)
class DayBlock:
    """One of the latest days of shooting."""

    day: Everyone[str]
    week: Everyone[Link]
    stages: Everyone[tuple[StageLine, ...]]


@dataclass(frozen=True, slots=True)
class HomePage:
    """The production at a glance."""

    film: Everyone[str]
    characters: Everyone[tuple[CharacterCard, ...]]
    credited: Everyone[str]
    empty: Everyone[bool]
    cut_length: Crew[Amount | None] = None
    kept: Crew[Amount | None] = None
    accepted: Crew[Amount | None] = None
    covered: Crew[str] = ""
    to_go: Crew[str] = ""
    people: Crew[str] = ""
    puppets: Crew[str] = ""
    sequences: Crew[tuple[SequenceLine, ...]] = ()
    total: Crew[SequenceLine | None] = None
    days: Crew[tuple[DayBlock, ...]] = ()
    wrong: Office[str] = ""
    questions: Office[str] = ""


def _sequence_lines(source: PageSource) -> tuple[tuple[SequenceLine, ...], SequenceLine]:
    ledger, production = source.ledger, source.ledger.production
    by_sequence: dict[str, list[FootageTotals]] = defaultdict(list)
    for shot, feet in source.results.footage_by_shot.items():
        by_sequence[ledger.shots[shot].sequence].append(feet.total)
    sums = {code: summed(by_sequence[code]).by_shot for code in ledger.sequences}
    columns = {
        measure: largest_remainder([sums[code].of(measure) for code in sums])
        for measure in ("kept", "accepted", "screen")
    }
    has_cut = source.results.use is not None
    lines = []
    for at, code in enumerate(ledger.sequences):
        shots = ledger.shots_of.get(code, ())
        lines.append(
            SequenceLine(
                sequence_link(source, code),
                len(shots),
                f"{sum(ledger.shots[shot].length for shot in shots):,}",
                amount(sums[code].kept, production, columns["kept"][at]),
                f"{columns['accepted'][at]:,}",
                f"{columns['screen'][at]:,}" if has_cut else "",
            )
        )
    whole = source.results.footage.total.by_shot
    total = SequenceLine(
        Link("together"),
        len(ledger.shots),
        f"{sum(shot.length for shot in ledger.shots.values()):,}",
        amount(whole.kept, production),
        f"{half_up(whole.accepted):,}",
        f"{half_up(whole.screen):,}" if has_cut else "",
    )
    return tuple(lines), total


def _latest_days(source: PageSource) -> Iterator[DayBlock]:
    by_day: dict[date, list[Entry]] = defaultdict(list)
    for entry in source.ledger.entries:
        if entry.day is not None and entry.stage is not None and entry.shot is not None:
            by_day[entry.day].append(entry)
    for day in sorted(by_day, reverse=True)[:DAYS_SHOWN]:
        by_stage: dict[str, list[Entry]] = defaultdict(list)
        for entry in by_day[day]:
            by_stage[entry.stage or ""].append(entry)
        stages = tuple(
            _stage_line(source, stage, by_stage[stage])
            for stage in source.ledger.stages
            if stage in by_stage
        )
        week = iso_week(day)
        yield DayBlock(day_text(day), Link(week, links.week_page(week)), stages)


def _stage_line(source: PageSource, stage: str, entries: list[Entry]) -> StageLine:
    shots = dict.fromkeys(entry.shot for entry in entries if entry.shot is not None)
    people = sorted(
        {entry.person for entry in entries if source.ledger.is_footage(entry)},
        key=source.name_order,
    )
    named = (source.person(person) for person in people)
    return StageLine(
        stage,
        tuple(source.shot(shot) for shot in sorted(shots)),
        tuple(link for link in named if link is not None),
    )


def _coverage(source: PageSource) -> tuple[str, str]:
    """How much of what the cut shows has its animation, as running time, and what is to go."""
    use = source.results.use
    if use is None:
        return "", ""
    shown = sum(clip.shown for clip in use.cut.clips)
    done = half_up(source.results.footage.total.by_shot.screen)
    missing = shown - done
    to_go = f"{counted(missing, 'frame')} to go" if missing else "every frame"
    return clock(done, source.ledger.production.rate), to_go


def home_pages(source: PageSource) -> Iterator[Page]:
    """The one first page."""
    ledger, results = source.ledger, source.results
    production = ledger.production
    whole = results.footage.total.by_shot
    wrong = sum(check.severity is Severity.WRONG for check in results.open_checks)
    lines, total = _sequence_lines(source)
    covered, to_go = _coverage(source)
    cards = tuple(
        CharacterCard(source.character(code), source.pictures.get(code, ""))
        for code in characters_in_order(source)
    )
    people = len(set(ledger.one_person.values()))
    model = HomePage(
        film=production.title,
        characters=cards,
        credited=counted(len(source.printed), "person", "people"),
        empty=not ledger.entries and not ledger.people,
        cut_length=amount(results.use.cut.length, production) if results.use else None,
        kept=amount(whole.kept, production),
        accepted=amount(whole.accepted, production),
        covered=covered,
        to_go=to_go,
        people=f"{people:,}",
        puppets=f"{len(ledger.puppets):,}",
        sequences=lines,
        total=total,
        days=tuple(_latest_days(source)) if source.crew else (),
        wrong=counted(wrong, "thing") if wrong else "",
        questions=counted(len(results.open_checks) - wrong, "question"),
    )
    yield Page(links.HOME, "home.html", "Home", links.HOME, model)
