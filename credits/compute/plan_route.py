"""Where everybody goes: thresholds, where those below them go, and who is named once in all."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field

from credits.compute.credit_lines import Outcome
from credits.compute.credit_plan import CreditPlan, Once, PlannedSection
from credits.compute.plan_found import Finder, Found, goes_on
from credits.compute.threshold import FiguresOf, Reached
from credits.model.facts import CreditWish
from credits.model.ledger import Ledger
from credits.text import fold_words

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
