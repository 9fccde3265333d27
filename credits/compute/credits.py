"""The end credits: sections and lines by the plan, everybody else held, a reason for each.

Nobody with a current entry or an engagement is ever in neither.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace

from credits.compute.credit_lines import (
    Because,
    Considered,
    Credits,
    Held,
    Line,
    Outcome,
    Section,
)
from credits.compute.credit_plan import CreditPlan, PlannedSection
from credits.compute.plan_found import sections_in_full
from credits.compute.plan_lines import LinesOf
from credits.compute.plan_reasons import because, fall_words
from credits.compute.plan_route import HELD_BELOW, Decided, Fall, route
from credits.compute.threshold import FiguresOf
from credits.footage.footage import Footage
from credits.model.facts import CreditWish
from credits.model.ledger import Ledger
from credits.names import sort_key

__all__ = [
    "Because",
    "Considered",
    "Credits",
    "Held",
    "Line",
    "Outcome",
    "Section",
    "compile_credits",
    "people_owed",
]


def people_owed(ledger: Ledger) -> tuple[str, ...]:
    """Everybody with a current entry or an engagement: printed or held, never left out."""
    return tuple(sorted({*ledger.entries_by_person, *ledger.engagements}))


class _Holder:
    """Says who is held and why: by wish, below a threshold, or taken by no section."""

    def __init__(
        self, ledger: Ledger, sections: tuple[PlannedSection, ...], decided: list[Decided]
    ) -> None:
        self._ledger = ledger
        self._sections = sections
        self._below: dict[str, list[Decided]] = defaultdict(list)
        for one in decided:
            if one.outcome is Outcome.BELOW:
                self._below[one.person].append(one)

    def held(self, person: str) -> Held:
        """The whole person, held."""
        who = self._ledger.people[person]
        entries = self._ledger.entries_by_person.get(person, ())
        jobs = self._ledger.engagements.get(person, ())
        figures: tuple[tuple[str, int | str], ...] = (
            ("entries", len(entries)),
            ("engagements", len(jobs)),
        )
        numbers = tuple(entry.number for entry in entries)
        below = self._below.get(person, [])
        threshold = " ".join(self._words(one) for one in below)
        if who.wish is CreditWish.UNCREDITED:
            reason = "asked to be uncredited"
            rule = "A person who asks to be uncredited is not printed."
        elif below:
            reason = "below the threshold, held for a decision"
            rule = "The plan holds those who do not reach what the heading asks for."
            figures += tuple(
                (one.reached.threshold.counted_in, one.reached.shown)
                for one in below
                if one.reached is not None
            )
        else:
            reason = "no section of the plan takes this person"
            rule = "The plan has no section for this person's crafts or departments."
        return Held(person, who.credit_name, reason, Because(rule, figures, numbers, threshold))

    def _words(self, one: Decided) -> str:
        assert one.reached is not None
        return fall_words(self._ledger, Fall(self._sections[one.place].heading, one.reached)) + "."

    def lines(self, printed: frozenset[str]) -> tuple[Held, ...]:
        """The lines that are held of people who print elsewhere, in the order of the plan."""
        ends = [one for own in self._below.values() for one in own if one.to.startswith(HELD_BELOW)]
        ends.sort(key=lambda one: (one.place, self._name(one.person)))
        out = []
        for one in ends:
            if one.person in printed:
                section = self._sections[one.place]
                reason = because(self._ledger, section, one.found, one.reached)
                who = self._ledger.people[one.person]
                words = "below the threshold, this line is held for a decision"
                why = replace(reason, threshold=self._words(one))
                out.append(Held(one.person, who.credit_name, words, why, section.heading))
        return tuple(out)

    def _name(self, person: str) -> tuple[object, ...]:
        return (sort_key(self._ledger.people[person].files_under), person)

    def by_name(self, people: list[str]) -> tuple[Held, ...]:
        """The people, held, by sort name."""
        return tuple(self.held(person) for person in sorted(people, key=self._name))


def _considered(
    ledger: Ledger, sections: tuple[PlannedSection, ...], decided: list[Decided]
) -> tuple[Considered, ...]:
    return tuple(
        Considered(
            one.person,
            sections[one.place].heading,
            one.outcome,
            because(ledger, sections[one.place], one.found, one.reached),
            one.reached,
            one.to,
        )
        for one in sorted(decided, key=lambda one: one.place)
    )


def compile_credits(
    ledger: Ledger, plan: CreditPlan, appearance: tuple[str, ...], footage: Footage
) -> Credits:
    """The end credits by the plan.

    ``appearance``: characters in order of appearance; ``footage``: that of the same ledger, for
    thresholds and orders of footage.
    """
    figures = FiguresOf(ledger, footage)
    planned = sections_in_full(plan, ledger, appearance)
    routed = route(ledger, plan, planned, figures)
    lines = LinesOf(ledger, appearance, figures)
    compiled = [
        lines.section(section, routed.placed.get(place, {}))
        for place, section in enumerate(planned)
    ]
    sections = tuple(section for section in compiled if section.lines or section.text)
    printed = frozenset(line.person for section in sections for line in section.lines)
    holder = _Holder(ledger, planned, routed.decided)
    owed = [person for person in people_owed(ledger) if person not in printed]
    return Credits(
        plan.name,
        sections,
        holder.by_name(owed),
        appearance,
        holder.lines(printed),
        _considered(ledger, planned, routed.decided),
    )
