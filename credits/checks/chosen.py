"""Choose among the checks: those of some days, stages, people and kinds."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from functools import cache
from itertools import chain

from credits.checks.rule import Check
from credits.model.facts import EntryNumber
from credits.model.ledger import BriefEntry, Ledger
from credits.units.film_time import WHOLE_TIME, Period

MOST_DAYS = 31
"""The entries of so many days are looked up day by day."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckFilter:
    """What a check must be about. What is None asks for nothing.

    A check is about a day, a stage or a person where it names it, or where an entry that it rests
    on does; of several wishes one entry must meet all that the check itself does not name.
    """

    kinds: frozenset[str] | None = None
    period: Period = WHOLE_TIME
    stages: frozenset[str] | None = None
    people: frozenset[str] | None = None

    @property
    def is_given(self) -> bool:
        """Tell whether it leaves anything out."""
        chosen = (self.kinds, self.stages, self.people)
        return self.period != WHOLE_TIME or any(each is not None for each in chosen)

    def of(self, checks: Iterable[Check], ledger: Ledger) -> tuple[Check, ...]:
        """Return the checks that are about what is wanted, in their order."""
        if not self.is_given:
            return tuple(checks)
        numbers = cache(lambda *asked: self._numbers(ledger, *asked))
        return tuple(check for check in checks if self._takes(check, ledger, numbers))

    def _takes(
        self, check: Check, ledger: Ledger, numbers: Callable[..., frozenset[EntryNumber]]
    ) -> bool:
        if self.kinds is not None and check.kind not in self.kinds:
            return False
        named = check.subjects
        days = (date.fromisoformat(code) for kind, code in named if kind == "date")
        stages = {code for kind, code in named if kind == "stage"}
        people = {ledger.one_person.get(code, code) for kind, code in named if kind == "person"}
        by_day = self.period == WHOLE_TIME or any(map(self.period.holds, days))
        by_stage = self.stages is None or not self.stages.isdisjoint(stages)
        by_person = self.people is None or not self.people.isdisjoint(people)
        if by_day and by_stage and by_person:
            return True
        return not numbers(not by_day, not by_stage, not by_person).isdisjoint(check.entries)

    def _numbers(
        self, ledger: Ledger, by_day: bool, by_stage: bool, by_person: bool
    ) -> frozenset[EntryNumber]:
        """Find the entries that meet some of the wishes."""
        found: Iterable[BriefEntry] = ledger.brief
        days = self.period.days if by_day else None
        if days is not None and len(days) <= MOST_DAYS:
            found = chain.from_iterable(ledger.entries_by_day.get(day, ()) for day in days)
        elif by_person:
            people = self.people or ()
            found = chain.from_iterable(ledger.entries_by_person.get(one, ()) for one in people)
        return frozenset(
            entry.number
            for entry in found
            if (not by_day or self.period.holds(entry.day))
            and (not by_stage or entry.stage in (self.stages or ()))
            and (not by_person or entry.person in (self.people or ()))
        )
