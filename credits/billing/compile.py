"""The end credits compiled by the plan."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import replace
from functools import partial
from itertools import chain
from operator import itemgetter

from credits.billing.credits import (
    Considered,
    Credits,
    Held,
    Outcome,
    Section,
)
from credits.billing.lines import LinesOf
from credits.billing.plan import (
    CreditPlan,
    PlannedSection,
    sections_in_full,
)
from credits.billing.reasons import Reason, ReasonKind
from credits.billing.routes import Router
from credits.billing.stages import WorkOnStages
from credits.billing.thresholds import FiguresOf
from credits.footage.footage import Footage
from credits.model.facts import CreditWish, EntryNumber
from credits.model.lazy import Read
from credits.model.ledger import Ledger, WorkDone
from credits.names import sort_key


def people_owed(ledger: Ledger) -> tuple[str, ...]:
    """Everybody with a current entry or an engagement: printed or held, never left out."""
    return tuple(sorted({*(done.person for done in ledger.done), *ledger.engagements}))


def _held_people(
    ledger: Ledger,
    figures: FiguresOf,
    decided: Iterable[Considered],
    printed: frozenset[str],
) -> Iterator[Held]:
    """Who is owed a credit and does not print: by wish, below a threshold, or taken by nothing."""
    below: dict[str, list[Reason]] = defaultdict(list)
    left_out: set[str] = set()
    for one in decided:
        if one.outcome is Outcome.LEFT_OUT:
            left_out.add(one.person)
        if one.outcome is Outcome.BELOW:
            below[one.person] += _asked_elsewhere(one)
    owed = [person for person in people_owed(ledger) if person not in printed]
    for person in sorted(owed, key=lambda person: _sorted_by(ledger, person)):
        who = ledger.people[person]
        kind = ReasonKind.LEFT_OUT if person in left_out else ReasonKind.NO_SECTION
        kind = ReasonKind.BELOW_THRESHOLD if person in below else kind
        if who.wish is CreditWish.UNCREDITED:
            kind = ReasonKind.UNCREDITED
        entries = Read(partial(_entries_of, figures.work_of(person)))
        jobs = len(ledger.engagements.get(person, ()))
        because = (Reason(kind=kind, entries=entries, engagements=jobs), *below[person])
        yield Held(person=person, name=who.credit_name, kind=kind, because=because)


def _entries_of(work: Iterable[WorkDone]) -> tuple[EntryNumber, ...]:
    rows = chain.from_iterable([done.rows for done in work])
    return tuple([EntryNumber(*row[2:4]) for row in sorted(rows)])


def _held_lines(
    ledger: Ledger, decided: Iterable[tuple[int, Considered]], printed: frozenset[str]
) -> Iterator[Held]:
    """The lines that are held of people who print elsewhere, in the order of the plan."""
    own = (end for end in decided if end[1].is_held and end[1].person in printed)
    for _, one in sorted(own, key=lambda end: (end[0], _sorted_by(ledger, end[1].person))):
        found = tuple(reason for reason in one.because if reason.kind is not ReasonKind.ASKED)
        yield Held(
            person=one.person,
            name=ledger.people[one.person].credit_name,
            kind=ReasonKind.BELOW_THRESHOLD,
            because=(*found, *_asked_elsewhere(one)),
            heading=one.heading,
        )


def _that_print(
    compiled: Iterable[tuple[PlannedSection, tuple[Section, ...]]],
) -> Iterator[Section]:
    """The sections that have something to print; a heading alone where one below it has."""
    above: Section | None = None
    for planned, sections in compiled:
        if planned.alone:
            above = sections[0]
            continue
        if planned.level == 1:
            above = None
        if any(each.lines or each.text or each.pictures for each in sections):
            if above is not None:
                yield above
                above = None
            yield from sections


def _asked_elsewhere(one: Considered) -> list[Reason]:
    """What the heading asked for, as it is said where another heading stands, or none."""
    asked = (reason for reason in one.because if reason.kind is ReasonKind.ASKED)
    return [replace(reason, headings=(one.heading,)) for reason in asked]


def _sorted_by(ledger: Ledger, person: str) -> tuple[object, ...]:
    return (sort_key(ledger.people[person].files_under, ledger.production.alphabet), person)


def compile_credits(
    ledger: Ledger,
    plan: CreditPlan,
    appearance: tuple[str, ...],
    footage: Footage,
    episode: str = "",
) -> Credits:
    """The end credits by the plan.

    ``appearance``: characters in order of appearance; ``footage``: that of the same ledger.
    ``episode``: whose ledger it is; empty: that of the whole film.
    """
    work = WorkOnStages(ledger)
    figures = FiguresOf(ledger, footage, work)
    planned = sections_in_full(plan, ledger, appearance, episode)
    routed = Router(ledger, plan, planned, figures, work)
    lines = LinesOf(ledger, plan, appearance, figures)
    compiled = [lines.sections(section, routed.placed[n]) for n, section in enumerate(planned)]
    sections = tuple(_that_print(zip(planned, compiled, strict=True)))
    printed = frozenset(line.person for each in sections for line in each.lines if line.person)
    return Credits(
        plan=plan.name,
        episode=episode,
        sections=sections,
        held=tuple(_held_people(ledger, figures, (one for _, one in routed.decided), printed)),
        order_of_appearance=appearance,
        held_lines=tuple(_held_lines(ledger, routed.decided, printed)),
        considered=tuple(one for _, one in sorted(routed.decided, key=itemgetter(0))),
        title=ledger.production.title,
    )
