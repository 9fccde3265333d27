"""Open questions, and the answered ones, with links to what they are about. For the office."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from credits.checks.answers import Settled
from credits.checks.checks import CHECKS
from credits.checks.rule import Check, Severity
from credits.editions import Office
from credits.model.words import counted
from credits.site import links
from credits.site.links import Link, Page
from credits.site.source import PageSource, grouped
from credits.units.film_time import day_text


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
    """A question that was answered: the answer, who gave it, when."""

    name: Office[str] = ""
    message: Office[str] = ""
    answer: Office[str] = ""
    who: Office[str] = ""
    when: Office[str] = ""
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
        subjects=subject_links(source, settled.check),
    )


def checks_pages(source: PageSource) -> Iterator[Page]:
    """Yield the one page of open questions."""
    by_kind = grouped(source.results.open_checks, lambda check: check.kind)
    groups = [_group(source, rule, by_kind[rule.kind]) for rule in CHECKS if rule.kind in by_kind]
    groups.sort(key=lambda group: not group.wrong)
    wrong, questions = source.wrong_and_open
    found = {check.kind for check in source.results.checks}
    quiet = tuple(rule.kind.replace("-", " ") for rule in CHECKS if rule.kind not in found)
    model = ChecksPage(
        wrong=counted(wrong, "thing") if wrong else "nothing",
        questions=counted(questions, "question") if questions else "no question",
        groups=tuple(groups),
        settled=tuple(_settled_row(source, settled) for settled in source.results.settled),
        quiet=quiet,
    )
    yield Page(links.CHECKS, "checks.html", "Checks", links.CHECKS, model)
