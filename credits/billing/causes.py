"""Which of what came later is the cause of a change: found by trying.

A cause is a set of things (lines of the log, fields of rows, keys of the plan, the cut) without
which the newer credits are as the older ones in what the change is about. Every such set that is
named was tried: the credits were compiled with all that came later but that set.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from credits.billing.changes import CreditChange
from credits.billing.credits import Credits
from credits.billing.matters import Matters, Standing

MOST_LINES = 250_000
"""So many lines of credits are compiled at most, over all tries of a comparison."""
LEAST_TRIES, MOST_TRIES = 40, 400
TRIES_A_CHANGE = 30

Undone = frozenset[Hashable]


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
    of candidates; None: they cannot be compiled so. closed: a set with all that cannot be there
    without it.
    """

    def __init__(
        self,
        before: Credits,
        after: Credits,
        candidates: Sequence[Candidate],
        compiled: Callable[[Undone], Credits | None],
        closed: Callable[[Undone], Undone],
        one_person: Mapping[str, str],
    ) -> None:
        self._matters = Matters(before, after, one_person)
        self._paths = {candidate.key: candidate.path for candidate in candidates}
        self._compiled, self._closed = compiled, closed
        self._tried: dict[Undone, Standing | None] = {}
        self._left = max(LEAST_TRIES, min(MOST_TRIES, MOST_LINES // (len(before.lines) + 1)))
        self._own_left = 0

    def causes_of(self, change: CreditChange, guesses: Iterable[Iterable[Hashable]]) -> Undone:
        """Return the smallest set found that undoes the change when it is undone; empty: none.

        guesses: sets that are tried first, the likeliest first.
        """
        self._own_left = TRIES_A_CHANGE
        every = frozenset(self._paths)
        try:
            if not every or self._undoes(frozenset(), change) or not self._undoes(every, change):
                return frozenset()
        except _SpentError:
            return frozenset()
        found = min((s for s in self._tried if self._undoes(s, change)), key=len, default=every)
        try:
            for guess in guesses:
                one = self._closed(frozenset(guess) & every)
                if one and len(one) < len(found) and self._undoes(one, change):
                    found = one
                    break
            for level in range(max(map(len, self._paths.values())) + 1):
                found = [found, *self._smaller(found, level, change)][-1]
        except _SpentError:
            # What was found until then is among what was tried.
            pass
        return min((s for s in self._tried if self._undoes(s, change)), key=len)

    def _undoes(self, undone: Undone, change: CreditChange) -> bool:
        if undone not in self._tried:
            if not self._left or not self._own_left:
                raise _SpentError
            self._left -= 1
            self._own_left -= 1
            credits = self._compiled(undone)
            self._tried[undone] = None if credits is None else self._matters.standing(credits)
        found = self._tried[undone]
        edits = change.edits
        return found is not None and all(self._matters.as_before(e, found) for e in edits)

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
                if len(one) < len(frozenset().union(*parts)) and self._undoes(one, change):
                    yield one
                    parts = some
                    among = 2 if some in chunks else max(among - 1, 2)
                    break
            else:
                if among == len(parts):
                    return
                among *= 2
