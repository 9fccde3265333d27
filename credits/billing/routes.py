"""Where people go from the section that finds them: they stand there, go on, or are held."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from credits.billing.credits import (
    Considered,
    Outcome,
)
from credits.billing.found import Found, found_by, reasons_of, without_left_out
from credits.billing.plan import (
    CreditPlan,
    Once,
    PlannedSection,
    called_so,
    stages_of,
)
from credits.billing.reasons import Reason, ReasonKind
from credits.billing.stages import WorkOnStages
from credits.billing.thresholds import FiguresOf, Reached
from credits.model.facts import CreditWish
from credits.model.ledger import Ledger
from credits.model.replay import grouped
from credits.text import fold_words


@dataclass(frozen=True, slots=True)
class Placed:
    """A person in a section: why, what was reached, thresholds that they fell below before."""

    found: Found
    reached: Reached | None = None
    falls: tuple[Reason, ...] = ()

    def __add__(self, other: Placed) -> Placed:
        falls = tuple(dict.fromkeys((*self.falls, *other.falls)))
        return Placed(self.found + other.found, self.reached or other.reached, falls)


class Router:
    """Follows people from the section that found them to where they stand or are held.

    They stand in the section, or below it, or in another by "once in all", or are held; always
    exactly one decision ends the way.

    sections: those of the plan, written out (``sections_in_full``).
    placed: who stands in which section, by its place among the sections.
    decided: every decision of a section, by its place, in the order in which it was made.
    """

    def __init__(
        self,
        ledger: Ledger,
        plan: CreditPlan,
        sections: tuple[PlannedSection, ...],
        figures: FiguresOf,
        work: WorkOnStages,
    ) -> None:
        self.ledger, self.plan, self.sections, self.figures = ledger, plan, sections, figures
        self.placed: dict[int, dict[str, Placed]] = defaultdict(dict)
        self.decided: list[tuple[int, Considered]] = []
        self._called = called_so(sections)
        self._excepted = [frozenset(map(self._known_as, each.excepted)) for each in sections]
        self._rules = grouped(plan.names, lambda rule: self._known_as(rule.person))
        # Who stands in which section of a group of sections that name people once.
        self._taken: dict[tuple[str, str], int] = {}
        every = list(found_by(ledger, sections, work))
        for place, person, found in every:
            # Whom a contract guarantees a heading are taken by it before any is asked.
            if found.guaranteed and (group := self._group(place)):
                self._taken.setdefault((group, person), place)
        for each in every:
            self.decide(*each)

    def _known_as(self, person: str) -> str:
        return self.ledger.one_person.get(person, person)

    def _group(self, place: int) -> str:
        """The sections that name a person once between them; empty: the section is alone."""
        once = self.sections[place].once or self.plan.once
        return "" if once == Once.SECTION else once

    def decide(self, place: int, person: str, found: Found) -> None:
        """Follow one person whom the section at a place found."""
        if self.ledger.people[person].wish is CreditWish.UNCREDITED:
            self._note(place, person, Outcome.UNCREDITED, found)
            return
        falls: dict[int, Reason] = {}
        while True:
            section, group = self.sections[place], self._group(place)
            printed = without_left_out(found, section, self._rules.get(person, ()))
            if person in self._excepted[place] or printed.is_nothing:
                self._note(place, person, Outcome.LEFT_OUT, found)
                return
            found = printed
            taken = self._taken.get((group, person), place)
            if taken != place and group and not found.guaranteed:
                to = self.sections[taken].heading
                self._note(place, person, Outcome.ELSEWHERE, found, to=to)
                return
            reached = self._reached(section, person, found)
            if reached is None or reached.enough or found.guaranteed or found.named:
                placed, here = Placed(found, reached, tuple(falls.values())), self.placed[place]
                here[person] = here[person] + placed if person in here else placed
                if group:
                    self._taken.setdefault((group, person), place)
                self._note(place, person, Outcome.PRINTED, found, reached)
                return
            fell = ReasonKind.FELL_THROUGH
            falls[place] = Reason(kind=fell, headings=(section.heading,), reached=reached)
            onward = None if section.below is None else self._called.get(fold_words(section.below))
            if onward is None or onward in falls:
                circle = onward is not None
                self._note(place, person, Outcome.BELOW, found, reached, in_circle=circle)
                return
            to = self.sections[onward].heading
            self._note(place, person, Outcome.BELOW, found, reached, to)
            place = onward

    def _reached(self, section: PlannedSection, person: str, found: Found) -> Reached | None:
        if section.at_least is None or section.text:
            return None
        figures = self.figures.on(stages_of(section, self.ledger))
        work, characters = found.done, section.characters or section.performances
        if found.engagements and not work:
            work = figures.work_of(person, characters)
        return figures.reached(section.at_least, person, work, characters)

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
