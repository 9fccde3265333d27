"""Whom the sections of a plan find, and by what: work, engagements, contracts, the plan itself."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property
from itertools import chain
from operator import attrgetter, itemgetter
from typing import NamedTuple

from credits.billing.plan import (
    NameRule,
    PlannedSection,
    called_so,
    guaranteed_headings,
    stages_of,
)
from credits.billing.reasons import Reason, ReasonKind
from credits.billing.stages import WorkOnStages
from credits.billing.thresholds import Reached
from credits.model.facts import Engagement, EntryNumber
from credits.model.lazy import Read
from credits.model.ledger import DoneInBrief, Ledger, WorkDone
from credits.model.replay import grouped
from credits.text import fold_words


class WorkSaid(NamedTuple):
    """What some entries say together: numbers, first and last day, crafts.

    ``crafts``: each once, in the order of the entries.
    """

    numbers: Sequence[EntryNumber]
    days: tuple[date, ...]
    crafts: tuple[str, ...]


def _united(parts: Sequence[WorkDone]) -> WorkDone:
    """Unite parts of what one person did in one craft, each entry once."""
    whole = next((each for each in parts if not each.is_part), None)
    if whole is not None or len(parts) == 1:
        return whole or parts[0]
    rows = tuple(sorted({row for each in parts for row in each.rows}, key=itemgetter(0, 1)))
    return WorkDone(parts[0].craft, parts[0].person, DoneInBrief.of(rows), rows, is_part=True)


@dataclass(frozen=True, kw_only=True)
class Found:
    """What puts one person under a heading.

    ``guaranteed``: engagements whose contract guarantees the heading; ``engagements``: others.
    ``named``: the plan names the person.
    """

    done: tuple[WorkDone, ...] = ()
    engagements: tuple[Engagement, ...] = ()
    guaranteed: tuple[Engagement, ...] = ()
    named: bool = False

    @cached_property
    def work(self) -> WorkSaid:
        """What the entries say, looked at once."""
        own = self.done
        ends = [(done.brief.first_day, done.brief.last_day) for done in own]
        days = [day for day in chain.from_iterable(ends) if day is not None]
        first_and_last = (min(days), max(days)) if days else ()

        def numbers() -> tuple[EntryNumber, ...]:
            rows = chain.from_iterable([done.rows for done in own])
            return tuple(sorted([EntryNumber(*row[2:4]) for row in rows]))

        return WorkSaid(
            numbers=Read(numbers, sum([done.brief.entries for done in own]), keep=False),
            days=tuple(map(date.fromisoformat, first_and_last)),
            crafts=tuple(dict.fromkeys([done.craft for done in own])),
        )

    @property
    def is_nothing(self) -> bool:
        """Whether nothing puts the person anywhere."""
        return not (self.done or self.engagements or self.guaranteed or self.named)

    @cached_property
    def characters(self) -> frozenset[str]:
        """The characters of the entries."""
        return frozenset().union(*[done.characters for done in self.done])

    def __add__(self, other: Found) -> Found:
        by_craft = grouped((*self.done, *other.done), attrgetter("craft"))
        return Found(
            done=tuple(sorted(map(_united, by_craft.values()), key=attrgetter("lowest"))),
            engagements=tuple(dict.fromkeys((*self.engagements, *other.engagements))),
            guaranteed=tuple(dict.fromkeys((*self.guaranteed, *other.guaranteed))),
            named=self.named or other.named,
        )


def job_titles(jobs: tuple[Engagement, ...]) -> tuple[str, ...]:
    """Return each job title once, in the order of the engagements."""
    return tuple(dict.fromkeys(job.job_title for job in jobs))


def without_left_out(found: Found, section: PlannedSection, rules: Iterable[NameRule]) -> Found:
    """Return what is found of one person without what the plan does not print under a heading.

    rules: those of the person.
    """
    for rule in rules:
        if rule.printed or (rule.headings and fold_words(section.heading) not in rule.headings):
            continue
        found = _without(found, rule)
    return found


def _without(found: Found, rule: NameRule) -> Found:
    """Leave out what fits the crafts, characters and job titles of a rule."""
    by_work = bool(rule.crafts or rule.characters)
    if not by_work and not rule.job_titles:
        return Found()

    def stays(job: Engagement) -> bool:
        return fold_words(job.job_title) not in rule.job_titles

    parts = [
        part
        for done in found.done
        for character, part in (done.by_character.items() if rule.characters else ((None, done),))
        if (rule.crafts and done.craft not in rule.crafts)
        or (rule.characters and character not in rule.characters)
    ]
    return replace(
        found,
        done=tuple(parts) if by_work else found.done,
        engagements=tuple(filter(stays, found.engagements)),
        guaranteed=tuple(filter(stays, found.guaranteed)),
    )


def reasons_of(
    ledger: Ledger, section: PlannedSection, found: Found, reached: Reached | None = None
) -> Iterator[Reason]:
    """Say what puts somebody under the heading of a section, and what was asked for there."""
    if found.guaranteed:
        numbers = [j.billing_number for j in found.guaranteed if j.billing_number is not None]
        yield Reason(
            kind=ReasonKind.CONTRACT,
            headings=tuple(dict.fromkeys(j.guaranteed_heading or "" for j in found.guaranteed)),
            names=job_titles(found.guaranteed),
            engagements=len(found.guaranteed),
            billing_number=min(numbers, default=None),
        )
    if found.named:
        yield Reason(kind=ReasonKind.NAMED_BY_PLAN)
    if found.engagements:
        yield Reason(
            kind=ReasonKind.JOB_TITLE if section.job_titles else ReasonKind.DEPARTMENT,
            names=job_titles(found.engagements),
            engagements=len(found.engagements),
        )
    if found.done:
        on_character = section.characters or section.performances
        yield Reason(
            kind=ReasonKind.PERFORMANCE if on_character else ReasonKind.CRAFT,
            names=tuple(dict.fromkeys(ledger.crafts[craft].name for craft in found.work.crafts)),
            entries=found.work.numbers,
            days=found.work.days,
        )
    if reached is not None:
        yield Reason(kind=ReasonKind.ASKED, reached=reached)


def found_by(
    ledger: Ledger, sections: tuple[PlannedSection, ...], work: WorkOnStages
) -> Iterator[tuple[int, str, Found]]:
    """Find everybody whom a section takes: its place, the person, and what puts them there."""
    looked_up = _WorkLookedUp(ledger, work)
    hosted = _hosted(ledger, sections)
    for place, section in enumerate(sections):
        out: dict[str, Found] = {}
        for person, found in chain(
            _by_work(section, looked_up),
            _by_engagement(ledger, section, hosted[place]),
            _by_name(ledger, section),
        ):
            out[person] = out[person] + found if person in out else found
        yield from ((place, person, found) for person, found in out.items())


People = Iterator[tuple[str, Found]]


class _WorkLookedUp:
    """The work by craft and by character, so that no section looks at that of others."""

    def __init__(self, ledger: Ledger, work: WorkOnStages) -> None:
        self._ledger = ledger
        self._work = work
        self._by_craft = grouped(ledger.done, attrgetter("craft"))
        self._parts: dict[str, dict[str | None, list[WorkDone]]] = {}

    def _on(self, craft: str) -> dict[str | None, list[WorkDone]]:
        """Return the work of a craft by character."""
        if craft not in self._parts:
            parts = self._parts[craft] = defaultdict(list)
            for done in self._by_craft.get(craft, ()):
                for character, own in done.by_character.items():
                    parts[character].append(own)
        return self._parts[craft]

    def of(self, section: PlannedSection) -> tuple[WorkDone, ...]:
        """Return the work that a section takes."""
        crafts = tuple(dict.fromkeys((*section.crafts, *section.cast)))
        characters = tuple(dict.fromkeys(section.characters or section.performances))
        return self._work.of(self._of(crafts, characters), stages_of(section, self._ledger))

    def _of(self, crafts: tuple[str, ...], characters: tuple[str, ...]) -> list[WorkDone]:
        """Return the work of these crafts on these characters; of all where none is given.

        In the order of the crafts, then of the ledger.
        """
        if not characters:
            return list(chain.from_iterable([self._by_craft.get(craft, ()) for craft in crafts]))
        groups = [(craft,) for craft in crafts] or [tuple(self._by_craft)]
        return [
            done
            for group in groups
            for done in sorted(
                [own for c in group for code in characters for own in self._on(c).get(code, ())],
                key=attrgetter("first"),
            )
        ]


def _by_work(section: PlannedSection, work: _WorkLookedUp) -> People:
    for person, own in grouped(work.of(section), attrgetter("person")).items():
        yield person, Found(done=tuple(sorted(own, key=attrgetter("lowest"))))


def _by_engagement(ledger: Ledger, section: PlannedSection, headings: set[str]) -> People:
    """Who is engaged for what the section takes, or by contract for one of the headings."""
    departments, titles = section.departments, section.job_titles

    def takes(job: Engagement) -> bool:
        if job.guaranteed_heading:
            return fold_words(job.guaranteed_heading) in headings
        fits = not departments or fold_words(job.department) in departments
        fits = fits and (not titles or fold_words(job.job_title) in titles)
        return fits and bool(departments or titles)

    for person, jobs in ledger.engagements.items() if departments or titles or headings else ():
        if own := tuple(filter(takes, jobs)):
            guaranteed = tuple(job for job in own if job.guaranteed_heading)
            others = tuple(job for job in own if not job.guaranteed_heading)
            yield person, Found(engagements=others, guaranteed=guaranteed)


def _by_name(ledger: Ledger, section: PlannedSection) -> People:
    for code in section.people:
        person = ledger.one_person.get(code, code)
        if person in ledger.people:
            yield person, Found(named=True)


def _hosted(ledger: Ledger, sections: tuple[PlannedSection, ...]) -> dict[int, set[str]]:
    """Which guaranteed headings stand where: where they are named, else first called so."""
    hosts: dict[int, set[str]] = defaultdict(set)
    called = called_so(sections)
    for key, _ in guaranteed_headings(ledger):
        places = [n for n, s in enumerate(sections) if s.takes_people and key in s.guaranteed]
        if not places and key in called:
            places = [called[key]]
        for place in places:
            hosts[place].add(key)
    return hosts
