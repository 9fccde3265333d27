"""Which of what came later is the cause of a change: found by trying.

A cause is a set of things (lines of the log, fields of rows, keys of the plan, the cut) without
which the newer credits are as the older ones in what the change is about. Every such set that is
named was tried: the credits were compiled with all that came later but that set.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from credits.billing.compared.changes import CreditChange
from credits.billing.compared.edits import edits_between
from credits.billing.compared.matters import Matters, Standing
from credits.billing.credits import Credits

MOST_LINES = 60_000
"""So many lines of credits are compiled at most, over all tries of a comparison that are of the
credits as a whole."""
LEAST_TRIES, MOST_TRIES = 16, 400
OF_PEOPLE = 600
"""So many tries are of the lines of single people alone, which are much quicker."""
TRIES_A_CHANGE = 30

Undone = frozenset[Hashable]
People = frozenset[str]


@dataclass(frozen=True, slots=True)
class Candidate:
    """Something that came later and may be a cause.

    ``path``: the groups that it is in, the largest first: ``("lines", "ana", "voice")``.
    """

    key: Hashable
    path: tuple[str, ...]


class _SpentError(Exception):
    """No more is to be tried."""


class CauseSearch:
    """Finds the causes of changes; what was compiled for one is looked at for all.

    before, after: the older and the newer credits. compiled: compiles the newer ones without a set
    of candidates, where people are named only as far as their lines go; None: they cannot be
    compiled so. closed: a set with all that cannot be there without it.
    """

    def __init__(
        self,
        before: Credits,
        after: Credits,
        candidates: Sequence[Candidate],
        compiled: Callable[[Undone, People | None], Credits | None],
        closed: Callable[[Undone], Undone],
        one_person: Mapping[str, str],
    ) -> None:
        self._after, self._one = after, one_person
        self._matters = Matters(before, after, one_person)
        self._paths = {candidate.key: candidate.path for candidate in candidates}
        self._compiled, self._closed = compiled, closed
        self._tried: dict[tuple[Undone, People | None], Standing | None] = {}
        self._left = max(LEAST_TRIES, min(MOST_TRIES, MOST_LINES // (len(before.lines) + 1)))
        self._left_of_people = OF_PEOPLE
        self._own_left = 0
        self.is_spent = False
        """Whether the last change was not looked at to the end: enough was tried."""
        self._codes: dict[str, set[str]] = defaultdict(set)
        for code, one in one_person.items():
            self._codes[one].add(code)

    def causes_of(self, change: CreditChange, guesses: Iterable[Iterable[Hashable]]) -> Undone:
        """Return the smallest set found that undoes the change when it is undone; empty: none.

        guesses: sets that are tried first, the likeliest first.
        """
        self._own_left = TRIES_A_CHANGE
        self.is_spent = False
        every = frozenset(self._paths)
        if not every or not self._is_known:
            return frozenset()
        try:
            if not self._undoes(every, change):
                return frozenset()
        except _SpentError:
            self.is_spent = True
            return frozenset()
        found = self._least_tried(change)
        try:
            for guess in guesses:
                one = self._closed(frozenset(guess) & every)
                if one and len(one) <= len(found) and self._undoes(one, change):
                    found = one
                    break
            for level in range(max(map(len, self._paths.values())) + 1):
                start = found
                for smaller in self._smaller(start, level, change):
                    found = smaller
        except _SpentError:
            pass  # what was found until then
        return found

    @cached_property
    def _is_known(self) -> bool:
        """Whether the newer credits can be compiled as they are: else no try says anything."""
        made = self._compiled(frozenset(), None)
        if made is None or edits_between(self._after, made, self._one):
            return False
        every = frozenset(self._paths)
        without_all = self._compiled(every, None)  # asked of every change, so once as a whole
        if without_all is not None:
            self._tried[every, None] = self._matters.standing(without_all)
        return without_all is not None

    def _least_tried(self, change: CreditChange) -> Undone:
        """The smallest set that undoes a change, of those that were tried; empty: none does."""
        people = self._people(change)
        tried = (undone for undone, of in self._tried if undone and of in (None, people))
        return min((s for s in tried if self._undoes(s, change)), key=len, default=frozenset())

    def _people(self, change: CreditChange) -> People | None:
        """The codes of the one person whose lines a change is about; None: it is about more."""
        if change.person and all(map(self._matters.is_of_one_person, change.edits)):
            return frozenset((change.person, *self._codes.get(change.person, ())))
        return None

    def _undoes(self, undone: Undone, change: CreditChange) -> bool:
        people = self._people(change)
        key = (undone, None) if (undone, None) in self._tried else (undone, people)
        if key not in self._tried:
            self._spend(people)
            credits = self._compiled(undone, people)
            self._tried[key] = None if credits is None else self._matters.standing(credits)
        found = self._tried[key]
        edits = change.edits
        return found is not None and all(self._matters.as_before(e, found) for e in edits)

    def _spend(self, people: People | None) -> None:
        left = self._left if people is None else self._left_of_people
        if not left or not self._own_left:
            raise _SpentError
        self._own_left -= 1
        if people is None:
            self._left -= 1
        else:
            self._left_of_people -= 1

    def _smaller(self, found: Undone, level: int, change: CreditChange) -> Iterator[Undone]:
        """Yield ever smaller sets that undo the change, made of the groups of a level (delta
        debugging, Zeller 1999); beyond the last level of the single candidates."""
        groups: dict[Hashable, set[Hashable]] = {}
        for key in sorted(found, key=repr):
            path = self._paths[key]
            group = path[: level + 1] if level < len(path) else (*path, key)
            groups.setdefault(group, set()).add(key)
        parts = [frozenset(own) for own in groups.values()]
        among = 2
        while len(parts) > 1:
            among = min(among, len(parts))
            chunks = [parts[n::among] for n in range(among)]
            rests = [[p for p in parts if p not in chunk] for chunk in chunks] if among > 2 else []
            for some in (*chunks, *rests):
                one = self._closed(frozenset().union(*some))
                if len(one) < len(found) and self._undoes(one, change):
                    yield one
                    found, parts = one, some
                    among = 2 if some in chunks else max(among - 1, 2)
                    break
            else:
                if among == len(parts):
                    return
                among *= 2
