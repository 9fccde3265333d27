"""Whom each section of the plan finds."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from credits.billing.credits import Outcome
from credits.billing.plan import (
    CHARACTER_MARK,
    CreditPlan,
    Layout,
    Once,
    Order,
    PlannedSection,
    RoleShown,
    guaranteed_headings,
)
from credits.billing.threshold import FiguresOf, Reached
from credits.model.facts import CreditWish, Engagement
from credits.model.ledger import Entry, Ledger
from credits.text import fold_words


@dataclass(frozen=True, slots=True)
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
    def whatever(self) -> bool:
        """Whether the person stands there whatever a threshold says."""
        return bool(self.guaranteed) or self.named

    def __add__(self, other: Found) -> Found:
        entries = {entry.number: entry for entry in (*self.entries, *other.entries)}
        return Found(
            tuple(entries[number] for number in sorted(entries)),
            tuple(dict.fromkeys((*self.engagements, *other.engagements))),
            tuple(dict.fromkeys((*self.guaranteed, *other.guaranteed))),
            self.named or other.named,
        )


def sections_in_full(
    plan: CreditPlan, ledger: Ledger, appearance: tuple[str, ...]
) -> tuple[PlannedSection, ...]:
    """The plan with every section written out: blocks by character, guaranteed headings, and the
    sections that are only named as where people go who are below a threshold.
    """
    sections: list[PlannedSection] = []
    for section in plan.sections:
        sections.extend(_blocks(section, ledger, appearance))
    sections = _with_guaranteed(sections, ledger)
    return tuple(_with_below(sections))


def _blocks(
    section: PlannedSection, ledger: Ledger, appearance: tuple[str, ...]
) -> Iterable[PlannedSection]:
    """A performance block for each character; any other section as it is."""
    codes = section.performances
    if section.every_performance:
        codes = appearance or tuple(ledger.characters)
    elif not codes:
        yield section
    for code in codes:
        if code not in ledger.characters:
            continue
        heading = section.heading or CHARACTER_MARK
        heading = heading.replace(CHARACTER_MARK, ledger.characters[code].name)
        layout = section.layout or Layout.ROLE_AND_NAME
        yield replace(
            section, heading=heading, performances=(code,), every_performance=False, layout=layout
        )


def _with_guaranteed(sections: list[PlannedSection], ledger: Ledger) -> list[PlannedSection]:
    """The guaranteed headings that no section has, where the plan wants them, else at the front."""
    hosts = [section for section in sections if section.takes_people]
    known = {key for section in hosts for key in (fold_words(section.heading), *section.guaranteed)}
    pattern = next((s for s in sections if s.every_guaranteed), None)
    style = pattern or PlannedSection("", order=Order.CONTRACT)
    own = [
        replace(style, heading=spelled, guaranteed=(key,), every_guaranteed=False)
        for key, spelled in guaranteed_headings(ledger)
        if key not in known
    ]
    at = sections.index(pattern) if pattern is not None else 0
    rest = [section for section in sections[at:] if not section.every_guaranteed]
    return [*sections[:at], *own, *rest]


def _with_below(sections: list[PlannedSection]) -> list[PlannedSection]:
    """A section that is only named in ``below`` stands behind the last that names it, set alike."""
    known = {fold_words(section.heading) for section in sections if section.takes_people}
    out: list[PlannedSection] = []
    for place, section in enumerate(sections):
        out.append(section)
        if section.at_least is None or not goes_on(section):
            continue
        later = {fold_words(s.below) for s in sections[place + 1 :] if s.at_least is not None}
        key = fold_words(section.below)
        if key not in known and key not in later:
            known.add(key)
            out.append(
                PlannedSection(
                    section.below,
                    role=RoleShown.CHARACTERS if section.cast else section.role,
                    order=section.order,
                    by_hand=section.by_hand,
                    layout=section.layout,
                    columns=section.columns,
                    once=section.once,
                )
            )
    return out


def goes_on(section: PlannedSection) -> bool:
    """Whether those below the threshold go to another heading, and are not held."""
    return fold_words(section.below) not in ("held", "")


class Finder:
    """Finds people for sections. Holds the entries by craft, and who hosts which guarantee."""

    def __init__(self, ledger: Ledger, sections: tuple[PlannedSection, ...]) -> None:
        self._ledger = ledger
        self._by_craft: dict[str, list[Entry]] = defaultdict(list)
        for entry in ledger.entries:
            self._by_craft[entry.craft].append(entry)
        self._keys = _hosted(ledger, sections)

    def found(self, place: int, section: PlannedSection) -> dict[str, Found]:
        """Everybody whom the section at this place of the plan finds."""
        out: dict[str, Found] = {}
        parts = (
            self._by_work(section),
            self._by_engagement(section),
            self._by_contract(self._keys.get(place, frozenset())),
            self._by_name(section),
        )
        for part in parts:
            for person, found in part.items():
                out[person] = out[person] + found if person in out else found
        return out

    def _by_work(self, section: PlannedSection) -> dict[str, Found]:
        crafts = (*section.crafts, *section.cast)
        characters = section.characters or section.performances
        if not crafts and not characters:
            return {}
        entries = self._ledger.entries
        if crafts:
            named = dict.fromkeys(crafts)
            entries = tuple(entry for craft in named for entry in self._by_craft.get(craft, ()))
        own: dict[str, list[Entry]] = defaultdict(list)
        for entry in entries:
            if not characters or entry.character in characters:
                own[entry.person].append(entry)
        return {
            person: Found(entries=tuple(sorted(each, key=lambda entry: entry.number)))
            for person, each in own.items()
        }

    def _by_engagement(self, section: PlannedSection) -> dict[str, Found]:
        if not section.departments and not section.job_titles:
            return {}
        departments, titles = frozenset(section.departments), frozenset(section.job_titles)
        out: dict[str, Found] = {}
        for person, jobs in self._ledger.engagements.items():
            own = tuple(
                job
                for job in jobs
                if not job.guaranteed_heading
                and (not departments or fold_words(job.department) in departments)
                and (not titles or fold_words(job.job_title) in titles)
            )
            if own:
                out[person] = Found(engagements=own)
        return out

    def _by_contract(self, keys: frozenset[str]) -> dict[str, Found]:
        out: dict[str, Found] = {}
        for person, jobs in self._ledger.engagements.items() if keys else ():
            own = tuple(
                job
                for job in jobs
                if job.guaranteed_heading and fold_words(job.guaranteed_heading) in keys
            )
            if own:
                out[person] = Found(guaranteed=own)
        return out

    def _by_name(self, section: PlannedSection) -> dict[str, Found]:
        ones = (self._ledger.one_person.get(code, code) for code in section.people)
        return {one: Found(named=True) for one in ones if one in self._ledger.people}


def _hosted(ledger: Ledger, sections: tuple[PlannedSection, ...]) -> Mapping[int, frozenset[str]]:
    """Which guaranteed headings stand in which sections: those that name them, else the first that
    is called so."""
    hosts: dict[int, set[str]] = defaultdict(set)
    for key, _ in guaranteed_headings(ledger):
        places = [n for n, s in enumerate(sections) if s.takes_people and key in s.guaranteed]
        if not places:
            called = (
                n for n, s in enumerate(sections) if s.takes_people and fold_words(s.heading) == key
            )
            places = list(called)[:1]
        for place in places:
            hosts[place].add(key)
    return {place: frozenset(keys) for place, keys in hosts.items()}


HELD_BELOW = "held"
ROUND = "held: the plan sends the person from heading to heading and back"


@dataclass(frozen=True, slots=True)
class Fall:
    """A person was below what a section asks for."""

    heading: str
    reached: Reached


@dataclass(frozen=True, slots=True)
class Placed:
    """A person in a section: what puts them there, what was reached, which sections they fell
    through before."""

    found: Found
    reached: Reached | None = None
    falls: tuple[Fall, ...] = ()

    def __add__(self, other: Placed) -> Placed:
        falls = tuple(dict.fromkeys((*self.falls, *other.falls)))
        return Placed(self.found + other.found, self.reached or other.reached, falls)


@dataclass(frozen=True, slots=True)
class Decided:
    """What one section decided of one person whom it found, or was sent."""

    place: int
    person: str
    outcome: Outcome
    found: Found
    reached: Reached | None = None
    to: str = ""


@dataclass(slots=True)
class Routed:
    """Who stands in which section, by the section's place in the plan, and every decision."""

    placed: dict[int, dict[str, Placed]] = field(default_factory=lambda: defaultdict(dict))
    decided: list[Decided] = field(default_factory=list)


class _Router:
    def __init__(
        self,
        ledger: Ledger,
        plan: CreditPlan,
        sections: tuple[PlannedSection, ...],
        figures: FiguresOf,
    ) -> None:
        self._ledger = ledger
        self._once = plan.once
        self._sections = sections
        self._figures = figures
        self._called: dict[str, int] = {}
        for place, section in enumerate(sections):
            if section.takes_people:
                self._called.setdefault(fold_words(section.heading), place)
        self._taken: dict[str, int] = {}
        self.routed = Routed()

    def reserve(self, place: int, found: Mapping[str, Found]) -> None:
        """Whom a contract guarantees this heading is taken by it, before any section is asked."""
        for person, own in found.items():
            if own.guaranteed and self._shares(place):
                self._taken.setdefault(person, place)

    def _shares(self, place: int) -> bool:
        """Whether the section names nobody who stands in another such section."""
        return (self._sections[place].once or self._once) is Once.ALL

    def _elsewhere(self, place: int, person: str, found: Found) -> str | None:
        """The heading that takes the person already; None where this one may."""
        taken = self._taken.get(person)
        if taken is None or taken == place or not self._shares(place) or found.guaranteed:
            return None
        return self._sections[taken].heading

    def decide(self, place: int, person: str, found: Found) -> None:
        """Follow one person from the section that found them to where they stand or are held."""
        if self._ledger.people[person].wish is CreditWish.UNCREDITED:
            self._note(place, person, Outcome.UNCREDITED, found)
            return
        falls: list[Fall] = []
        seen: set[int] = set()
        while True:
            seen.add(place)
            section = self._sections[place]
            taken_by = self._elsewhere(place, person, found)
            if taken_by is not None:
                self._note(place, person, Outcome.ELSEWHERE, found, to=taken_by)
                return
            reached = self._reached(section, person, found)
            if reached is None or reached.enough or found.whatever:
                self._place(place, person, Placed(found, reached, tuple(falls)))
                return
            falls.append(Fall(section.heading, reached))
            onward = self._called.get(fold_words(section.below)) if goes_on(section) else None
            to = HELD_BELOW if onward is None else self._sections[onward].heading
            if onward in seen:
                to = ROUND
            self._note(place, person, Outcome.BELOW, found, reached, to)
            if onward is None or onward in seen:
                return
            place = onward

    def _reached(self, section: PlannedSection, person: str, found: Found) -> Reached | None:
        if section.at_least is None or not section.takes_people:
            return None
        entries = found.entries
        if found.engagements and not entries:
            own = self._ledger.entries_by_person.get(person, ())
            characters = section.characters
            entries = tuple(e for e in own if not characters or e.character in characters)
        return self._figures.reached(section.at_least, person, entries, section.characters)

    def _place(self, place: int, person: str, placed: Placed) -> None:
        here = self.routed.placed[place]
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
        to: str = "",
    ) -> None:
        self.routed.decided.append(Decided(place, person, outcome, found, reached, to))


def route(
    ledger: Ledger, plan: CreditPlan, sections: tuple[PlannedSection, ...], figures: FiguresOf
) -> Routed:
    """Send everybody whom the sections find to where they stand.

    ``sections``: those of the plan, written out (``sections_in_full``). A person who is found by a
    section and wants to be named stands in it, or below it, or in another by "once in all", or is
    held: always exactly one decision ends the way.
    """
    finder = Finder(ledger, sections)
    router = _Router(ledger, plan, sections, figures)
    every = [finder.found(place, section) for place, section in enumerate(sections)]
    for place, found in enumerate(every):
        router.reserve(place, found)
    for place, found in enumerate(every):
        for person, own in found.items():
            router.decide(place, person, own)
    return router.routed
