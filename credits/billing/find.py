"""Whom each section of the plan finds, and under which heading they stand at last."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from credits.billing.credits import (
    Considered,
    Outcome,
    Reason,
    ReasonKind,
)
from credits.billing.plan import CreditPlan, Once, PlannedSection, called_so, guaranteed_headings
from credits.billing.threshold import FiguresOf, Reached
from credits.model.facts import CreditWish, Engagement
from credits.model.ledger import Entry, Ledger
from credits.text import fold_words


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """What puts one person under a heading.

    ``guaranteed``: engagements whose contract guarantees the heading; ``engagements``: others.
    ``named``: the plan names the person.
    """

    entries: tuple[Entry, ...] = ()
    engagements: tuple[Engagement, ...] = ()
    guaranteed: tuple[Engagement, ...] = ()
    named: bool = False

    @property
    def exempt(self) -> bool:
        """Whether the person stands there whatever a threshold says."""
        return bool(self.guaranteed) or self.named

    def __add__(self, other: Found) -> Found:
        entries = {entry.number: entry for entry in (*self.entries, *other.entries)}
        return Found(
            entries=tuple(entries[number] for number in sorted(entries)),
            engagements=tuple(dict.fromkeys((*self.engagements, *other.engagements))),
            guaranteed=tuple(dict.fromkeys((*self.guaranteed, *other.guaranteed))),
            named=self.named or other.named,
        )


@dataclass(frozen=True, slots=True)
class Placed:
    """A person in a section: why, what was reached, thresholds that they fell below before."""

    found: Found
    reached: Reached | None = None
    falls: tuple[Reason, ...] = ()

    def __add__(self, other: Placed) -> Placed:
        falls = tuple(dict.fromkeys((*self.falls, *other.falls)))
        return Placed(self.found + other.found, self.reached or other.reached, falls)


def job_titles(jobs: tuple[Engagement, ...]) -> tuple[str, ...]:
    """Return each job title once, in the order of the engagements."""
    return tuple(dict.fromkeys(job.job_title for job in jobs))


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
    if found.entries:
        on_character = section.characters or section.performances
        days = sorted(entry.day for entry in found.entries if entry.day is not None)
        crafts = (ledger.crafts[entry.craft].name for entry in found.entries)
        yield Reason(
            kind=ReasonKind.PERFORMANCE if on_character else ReasonKind.CRAFT,
            names=tuple(dict.fromkeys(crafts)),
            entries=tuple(entry.number for entry in found.entries),
            days=(days[0], days[-1]) if days else (),
        )
    if reached is not None:
        yield Reason(kind=ReasonKind.ASKED, reached=reached)


def found_by(ledger: Ledger, sections: tuple[PlannedSection, ...]) -> list[dict[str, Found]]:
    """Find everybody whom a section takes, by person, for each of the sections."""
    by_craft: dict[str, list[Entry]] = defaultdict(list)
    for entry in ledger.entries:
        by_craft[entry.craft].append(entry)
    hosted = _hosted(ledger, sections)
    every = []
    for place, section in enumerate(sections):
        out: dict[str, Found] = {}
        for part in (
            _by_work(ledger, section, by_craft),
            _by_engagement(ledger, section),
            _by_contract(ledger, hosted[place]),
            _by_name(ledger, section),
        ):
            for person, found in part:
                out[person] = out[person] + found if person in out else found
        every.append(out)
    return every


People = Iterator[tuple[str, Found]]


def _by_work(
    ledger: Ledger, section: PlannedSection, by_craft: Mapping[str, list[Entry]]
) -> People:
    crafts = (*section.crafts, *section.cast)
    characters = section.characters or section.performances
    if not crafts and not characters:
        return
    entries = ledger.entries
    if crafts:
        entries = tuple(e for craft in dict.fromkeys(crafts) for e in by_craft.get(craft, ()))
    own: dict[str, list[Entry]] = defaultdict(list)
    for entry in entries:
        if not characters or entry.character in characters:
            own[entry.person].append(entry)
    for person, each in own.items():
        yield person, Found(entries=tuple(sorted(each, key=lambda entry: entry.number)))


def _by_engagement(ledger: Ledger, section: PlannedSection) -> People:
    departments, titles = section.departments, section.job_titles

    def takes(job: Engagement) -> bool:
        fits = not departments or fold_words(job.department) in departments
        return fits and (not titles or fold_words(job.job_title) in titles)

    for person, jobs in ledger.engagements.items() if departments or titles else ():
        own = tuple(job for job in jobs if not job.guaranteed_heading and takes(job))
        if own:
            yield person, Found(engagements=own)


def _by_contract(ledger: Ledger, headings: set[str]) -> People:
    for person, jobs in ledger.engagements.items() if headings else ():
        own = tuple(
            job
            for job in jobs
            if job.guaranteed_heading and fold_words(job.guaranteed_heading) in headings
        )
        if own:
            yield person, Found(guaranteed=own)


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


@dataclass(slots=True)
class Router:
    """Follows people from the section that found them to where they stand or are held.

    ``placed``: who stands in which section, by its place among the sections. ``decided``: every
    decision of a section, by its place, in the order in which it was made.
    """

    ledger: Ledger
    plan: CreditPlan
    sections: tuple[PlannedSection, ...]
    figures: FiguresOf
    called: Mapping[str, int]
    placed: dict[int, dict[str, Placed]] = field(default_factory=lambda: defaultdict(dict))
    decided: list[tuple[int, Considered]] = field(default_factory=list)
    _taken: dict[str, int] = field(default_factory=dict)

    def reserve(self, place: int, found: Mapping[str, Found]) -> None:
        """Let those be taken by a heading whom a contract guarantees it, before any is asked."""
        for person, own in found.items():
            if own.guaranteed and self._shares(place):
                self._taken.setdefault(person, place)

    def _shares(self, place: int) -> bool:
        """Whether the section names nobody who stands in another such section."""
        return (self.sections[place].once or self.plan.once) is Once.ALL

    def _elsewhere(self, place: int, person: str, found: Found) -> str | None:
        """The heading that takes the person already; None where this one may."""
        taken = self._taken.get(person)
        if taken is None or taken == place or not self._shares(place) or found.guaranteed:
            return None
        return self.sections[taken].heading

    def decide(self, place: int, person: str, found: Found) -> None:
        """Follow one person whom the section at a place found."""
        if self.ledger.people[person].wish is CreditWish.UNCREDITED:
            self._note(place, person, Outcome.UNCREDITED, found)
            return
        falls: dict[int, Reason] = {}
        while True:
            section = self.sections[place]
            elsewhere = self._elsewhere(place, person, found)
            if elsewhere is not None:
                self._note(place, person, Outcome.ELSEWHERE, found, to=elsewhere)
                return
            reached = self._reached(section, person, found)
            if reached is None or reached.enough or found.exempt:
                self._place(place, person, Placed(found, reached, tuple(falls.values())))
                return
            fell = ReasonKind.FELL_THROUGH
            falls[place] = Reason(kind=fell, headings=(section.heading,), reached=reached)
            onward = None if section.below is None else self.called.get(fold_words(section.below))
            if onward is None or onward in falls:
                circle = onward is not None
                self._note(place, person, Outcome.BELOW, found, reached, in_circle=circle)
                return
            to = self.sections[onward].heading
            self._note(place, person, Outcome.BELOW, found, reached, to)
            place = onward

    def _reached(self, section: PlannedSection, person: str, found: Found) -> Reached | None:
        if section.at_least is None or not section.takes_people:
            return None
        entries = found.entries
        if found.engagements and not entries:
            entries = self.figures.work_of(person, section.characters)
        return self.figures.reached(section.at_least, person, entries, section.characters)

    def _place(self, place: int, person: str, placed: Placed) -> None:
        here = self.placed[place]
        here[person] = here[person] + placed if person in here else placed
        if self._shares(place):
            self._taken.setdefault(person, place)
        self._note(place, person, Outcome.PRINTED, placed.found, placed.reached)

    def _note(
        self,
        place: int,
        person: str,
        outcome: Outcome,
        found: Found,
        reached: Reached | None = None,
        to: str | None = None,
        in_circle: bool = False,
    ) -> None:
        section = self.sections[place]
        one = Considered(
            person=person,
            heading=section.heading,
            outcome=outcome,
            because=tuple(reasons_of(self.ledger, section, found, reached)),
            to=to,
            in_circle=in_circle,
        )
        self.decided.append((place, one))


def route(
    ledger: Ledger, plan: CreditPlan, sections: tuple[PlannedSection, ...], figures: FiguresOf
) -> Router:
    """Send everybody whom the sections find to where they stand: in the section, or below it, or in
    another by "once in all", or held; always exactly one decision ends the way.

    sections: those of the plan, written out (``sections_in_full``).
    """
    router = Router(ledger, plan, sections, figures, called_so(sections))
    every = found_by(ledger, sections)
    for place, found in enumerate(every):
        router.reserve(place, found)
    for place, found in enumerate(every):
        for person, own in found.items():
            router.decide(place, person, own)
    return router
