"""The first page: the production at a glance; and for the office the open questions."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from functools import partial
from itertools import islice

from credits.checks.answers import Settled, described
from credits.checks.checks import CHECKS
from credits.checks.rule import Check, Severity
from credits.editions import Crew, Everyone, Office
from credits.footage.footage import NO_FOOTAGE
from credits.footage.table import footage_columns, footage_values
from credits.model.ledger import Entry
from credits.model.words import counted
from credits.site import links
from credits.site.links import Link, Page
from credits.site.pages.character import CharacterCard, character_cards
from credits.site.pages.shot import sequence_link, shots_counted
from credits.site.source import Amount, PageSource, grouped, without_cut
from credits.units.film_time import clock, day_text, iso_week
from credits.units.rounding import half_up
from credits.units.table import Column, Table, Unit

DAYS_SHOWN = 5
FIGURES = footage_columns(kept="Kept", kept_feet="Feet", accepted="Accepted", screen="On screen")
SEQUENCE_COLUMNS = (
    Column(key="sequence", heading="Sequence"),
    Column(key="shots", heading="Shots", unit=Unit.NUMBER, adds_up=True),
    Column(key="planned", heading="Planned frames", unit=Unit.FRAMES, adds_up=True),
    *FIGURES,
)
StageLine = tuple[str, tuple[Link, ...], tuple[Link, ...]]
"""A stage, its shots and its people on one day."""
DayBlock = tuple[str, Link, tuple[StageLine, ...]]
"""One of the latest days of shooting, its week, and what the stages did."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HomePage:
    """The production at a glance. omitted: shots that are not counted, nor their frames."""

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
    sequences: Crew[Table | None] = None
    omitted: Crew[str] = ""
    days: Crew[tuple[DayBlock, ...]] = ()
    wrong: Office[str] = ""
    questions: Office[str] = ""


def _sequences(source: PageSource) -> Table:
    """Tell how much of each sequence is planned, kept, accepted and on screen, in shot frames."""
    ledger = source.ledger
    sums = source.results.footage.by(lambda cell: ledger.shots[cell.shot].sequence)
    rows = []
    for code in ledger.sequences:
        lengths = [ledger.shots[shot].length for shot in shots_counted(ledger, code)]
        figures = footage_values(sums.get(code, NO_FOOTAGE), FIGURES)
        rows.append((sequence_link(source, code), len(lengths), sum(lengths), *figures))
    caption = "Footage by sequence, in shot frames"
    return without_cut(source, Table.of(caption, SEQUENCE_COLUMNS, rows, source.scale, "total"))


def _staged_days(source: PageSource) -> Iterator[tuple[date, list[Entry]]]:
    """Yield the days on which shots were worked on on stages, the last one first."""
    by_day = source.ledger.entries_by_day
    for day in sorted((day for day in by_day if day is not None), reverse=True):
        staged = [entry for entry in by_day[day] if entry.stage and entry.shot]
        if staged:
            yield day, staged


def _latest_days(source: PageSource) -> Iterator[DayBlock]:
    for day, entries in islice(_staged_days(source), DAYS_SHOWN):
        by_stage = grouped(entries, lambda entry: entry.stage or "")
        worked = [stage for stage in source.ledger.stages if stage in by_stage]
        stages = tuple(_stage_line(source, stage, by_stage[stage]) for stage in worked)
        yield day_text(day), links.week_link(iso_week(day)), stages


def _stage_line(source: PageSource, stage: str, entries: list[Entry]) -> StageLine:
    shots = sorted({entry.shot for entry in entries if entry.shot is not None})
    people = (entry.person for entry in entries if source.ledger.is_footage(entry))
    return stage, tuple(map(source.shot, shots)), source.names(people)


def _coverage(source: PageSource) -> tuple[str, str]:
    """Tell how much of what the cut shows has its animation, as running time, and what is to go."""
    use = source.results.use
    if use is None:
        return "", ""
    shown = sum(clip.shown for clip in use.cut.clips)
    done = half_up(source.results.footage.total.by_shot.screen)
    missing = shown - done
    to_go = f"{counted(missing, 'frame')} to go" if missing else "every frame"
    return clock(done, source.ledger.production.rate), to_go


def _home_page(source: PageSource) -> HomePage:
    ledger, results = source.ledger, source.results
    whole = results.footage.total.by_shot
    wrong, questions = source.wrong_and_open if source.office else (0, 0)
    sequences = _sequences(source)
    omitted = len(ledger.shots) - sum(sequences.column("shots"))
    covered, to_go = _coverage(source)
    people = len(set(ledger.one_person.values()))
    return HomePage(
        film=ledger.production.title,
        characters=character_cards(source),
        credited=counted(len(source.printed), "person", "people"),
        empty=not ledger.done and not ledger.people,
        cut_length=source.amount(results.use.cut.length) if results.use else None,
        kept=source.amount(whole.kept),
        accepted=source.amount(whole.accepted),
        covered=covered,
        to_go=to_go,
        people=f"{people:,}",
        puppets=f"{len(ledger.puppets):,}",
        sequences=sequences,
        omitted=counted(omitted, "shot") if omitted else "",
        days=tuple(_latest_days(source)) if source.crew else (),
        wrong=counted(wrong, "thing") if wrong else "",
        questions=counted(questions, "question"),
    )


def home_pages(source: PageSource) -> Iterator[Page]:
    """Make the one first page."""
    yield Page(links.HOME, "home.html", "Home", links.HOME, partial(_home_page, source))


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckGroup:
    """All open questions of one check.

    rows: of each question the message, the hint, what it is about, and the entries.
    """

    name: Office[str] = ""
    description: Office[str] = ""
    wrong: Office[bool] = False
    count: Office[str] = ""
    rows: Office[tuple[tuple[str, str, tuple[Link, ...], str], ...]] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class SettledRow:
    """A question that was answered: the answer, who gave it, when.

    standing: which cases the answer holds for, where it is not for this one alone.
    """

    name: Office[str] = ""
    message: Office[str] = ""
    answer: Office[str] = ""
    who: Office[str] = ""
    when: Office[str] = ""
    standing: Office[str] = ""
    subjects: Office[tuple[Link, ...]] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ChecksPage:
    """What cannot be right first, then the questions, the answered ones, the quiet checks."""

    wrong: Office[str] = ""
    questions: Office[str] = ""
    groups: Office[tuple[CheckGroup, ...]] = ()
    settled: Office[tuple[SettledRow, ...]] = ()
    quiet: Office[tuple[str, ...]] = ()


def subject_links(source: PageSource, check: Check) -> tuple[Link, ...]:
    """Return what a check is about, each leading to its page where it has one."""
    ledger = source.ledger
    ways: dict[str, tuple[Mapping[str, object], Callable[[str], Link | None]]] = {
        "person": (ledger.people, source.person),
        "puppet": (ledger.puppets, source.puppet),
        "character": (ledger.characters, source.character),
        "shot": (ledger.shots, lambda code: Link(f"shot {code}", links.shot_page(code))),
    }
    known = [(*ways[kind], code) for kind, code in check.subjects if kind in ways]
    found = [link for codes, way, code in known if code in codes and (link := way(code))]
    return tuple(dict.fromkeys(found))


def _group(source: PageSource, rule: type[Check], checks: list[Check]) -> CheckGroup:
    rows = []
    for check in checks:
        entries = ", ".join(map(str, check.entries))
        rows.append((check.message, check.hint, subject_links(source, check), entries))
    return CheckGroup(
        name=rule.kind.replace("-", " "),
        description=rule.description,
        wrong=any(check.severity is Severity.WRONG for check in checks),
        count=counted(len(rows), "case"),
        rows=tuple(rows),
    )


def _settled_row(source: PageSource, settled: Settled) -> SettledRow:
    answer = settled.answer
    return SettledRow(
        name=settled.check.kind.replace("-", " "),
        message=settled.check.message,
        answer=answer.why or "",
        who=answer.settled_by or "",
        when=day_text(answer.settled_at.date()),
        standing=described(answer) if settled.is_standing else "",
        subjects=subject_links(source, settled.check),
    )


def _checks_page(source: PageSource) -> ChecksPage:
    by_kind = grouped(source.results.open_checks, lambda check: check.kind)
    groups = [_group(source, rule, by_kind[rule.kind]) for rule in CHECKS if rule.kind in by_kind]
    groups.sort(key=lambda group: not group.wrong)
    wrong, questions = source.wrong_and_open
    found = {check.kind for check in source.results.checks}
    quiet = tuple(rule.kind.replace("-", " ") for rule in CHECKS if rule.kind not in found)
    return ChecksPage(
        wrong=counted(wrong, "thing") if wrong else "nothing",
        questions=counted(questions, "question") if questions else "no question",
        groups=tuple(groups),
        settled=tuple(_settled_row(source, settled) for settled in source.results.settled),
        quiet=quiet,
    )


def checks_pages(source: PageSource) -> Iterator[Page]:
    """Yield the one page of open questions."""
    yield Page(links.CHECKS, "checks.html", "Checks", links.CHECKS, partial(_checks_page, source))
