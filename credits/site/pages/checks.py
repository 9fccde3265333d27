"""The checks: what cannot be right, what somebody must answer, and what was answered."""

from __future__ import annotations

from collections.abc import Callable, Container, Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from functools import partial

from credits.checks.answers import Settled, described
from credits.checks.checks import CHECKS
from credits.checks.rule import Check, Severity
from credits.editions import Office
from credits.model.facts import EntryNumber
from credits.model.words import counted
from credits.site import links
from credits.site.commands import Said, with_commands
from credits.site.links import Link, Page
from credits.site.pages.shot import sequence_link
from credits.site.source import PageSource, grouped
from credits.units.film_time import day_text, iso_week

MOST_ENTRIES = 12
"""Entries that a case names one by one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One thing that was found. about: what it is about; entries: those it rests on."""

    message: Office[str] = ""
    hint: Office[Said] = ()
    about: Office[tuple[Link, ...]] = ()
    entries: Office[tuple[Link, ...]] = ()
    more: Office[str] = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckGroup:
    """All open cases of one check. answered_by: the command that answers one of them."""

    name: Office[str] = ""
    anchor: Office[str] = ""
    description: Office[str] = ""
    answered_by: Office[str] = ""
    count: Office[str] = ""
    cases: Office[tuple[Case, ...]] = ()


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
    about: Office[tuple[Link, ...]] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ChecksPage:
    """What cannot be right first, then the questions, the answered ones; and a key to all checks.

    wrong, asked: each a part of the page. kinds: of every check its name, what it looks for, and
    whether it has nothing to report.
    """

    errors: Office[str] = ""
    questions: Office[str] = ""
    wrong: Office[tuple[CheckGroup, ...]] = ()
    asked: Office[tuple[CheckGroup, ...]] = ()
    settled: Office[tuple[SettledRow, ...]] = ()
    kinds: Office[tuple[tuple[str, str, bool], ...]] = ()


def _week_of(source: PageSource, day: str) -> Link | None:
    on = date.fromisoformat(day)
    week = iso_week(on)
    return Link(day_text(on), links.week_page(week)) if week in source.ledger.by_week else None


def subject_links(source: PageSource, check: Check) -> tuple[Link, ...]:
    """Return what a check is about, each leading to its page where it has one."""
    ledger = source.ledger
    ways: dict[str, tuple[Container[str], Callable[[str], Link | None]]] = {
        "person": (ledger.people, source.person),
        "puppet": (ledger.puppets, source.puppet),
        "character": (ledger.characters, source.character),
        "shot": (ledger.shots, lambda code: Link(f"shot {code}", links.shot_page(code))),
        "sequence": (ledger.sequences, partial(sequence_link, source)),
        "craft": (ledger.crafts, source.craft),
    }

    def link_of(kind: str, code: str) -> Link | None:
        if kind == "date":
            return _week_of(source, code)
        codes, way = ways.get(kind, ((), source.person))
        return way(code) if code in codes else None

    found = (link_of(kind, code) for kind, code in check.subjects)
    return tuple(dict.fromkeys(link for link in found if link is not None))


def entry_link(source: PageSource, number: EntryNumber) -> Link:
    """Return the number of an entry, leading to where it stands: in the log of its shot, else to
    the week of its day, else to whoever did it."""
    entry, said = source.ledger.by_number.get(number), str(number)
    if entry is None:
        return Link(said)
    if entry.shot is not None:
        return Link(said, f"{links.shot_page(entry.shot)}#entry-{entry.number}")
    if entry.day is not None:
        return Link(said, links.week_page(iso_week(entry.day)))
    return Link(said, links.person_page(source.ledger.person(entry.person).code))


def _case(source: PageSource, check: Check) -> Case:
    shown = check.entries[:MOST_ENTRIES]
    left = len(check.entries) - len(shown)
    return Case(
        message=check.message,
        hint=with_commands(check.hint),
        about=subject_links(source, check),
        entries=tuple(entry_link(source, number) for number in shown),
        more=f"and {left:,} more" if left else "",
    )


def _name(kind: str) -> str:
    return kind.replace("-", " ")


def _groups(source: PageSource, checks: Iterable[Check]) -> tuple[CheckGroup, ...]:
    by_kind = grouped(checks, lambda check: check.kind)
    return tuple(
        CheckGroup(
            name=_name(rule.kind),
            anchor=f"{own[0].severity.value}-{rule.kind}",
            description=rule.description,
            answered_by=_answered_by(rule, own[0]),
            count=counted(len(own), "case"),
            cases=tuple(_case(source, check) for check in own),
        )
        for rule in CHECKS
        if (own := by_kind.get(rule.kind))
    )


def _answered_by(rule: type[Check], check: Check) -> str:
    """Return how a case is answered; what cannot be right is corrected and has no answer."""
    if check.severity is Severity.WRONG:
        return ""
    subjects = " ".join(kind.upper() for kind, _ in check.subjects)
    return f"credits answer {rule.kind} {subjects} --why TEXT"


def _settled_row(source: PageSource, settled: Settled) -> SettledRow:
    answer = settled.answer
    return SettledRow(
        name=_name(settled.check.kind),
        message=settled.check.message,
        answer=answer.why or "",
        who=answer.settled_by or "",
        when=day_text(answer.settled_at.date()),
        standing=described(answer) if settled.is_standing else "",
        about=subject_links(source, settled.check),
    )


def _checks_page(source: PageSource) -> ChecksPage:
    by_severity = grouped(source.results.open_checks, lambda check: check.severity)
    wrong, questions = source.wrong_and_open
    found = {check.kind for check in source.results.checks}
    return ChecksPage(
        errors=counted(wrong, "error") if wrong else "No errors",
        questions=counted(questions, "open question") if questions else "no open question",
        wrong=_groups(source, by_severity.get(Severity.WRONG, ())),
        asked=_groups(source, by_severity.get(Severity.QUESTION, ())),
        settled=tuple(_settled_row(source, settled) for settled in source.results.settled),
        kinds=tuple((_name(r.kind), r.description, r.kind not in found) for r in CHECKS),
    )


def checks_pages(source: PageSource) -> Iterator[Page]:
    """Yield the one page of checks."""
    yield Page(links.CHECKS, "checks.html", "Checks", links.CHECKS, partial(_checks_page, source))
