"""Which of what came later is the cause of a change: found by trying.

A cause is a set of things (lines of the log, fields of rows, keys of the plan, the cut) without
which the newer credits are as the older ones in what the change is about. Every such set that is
named was tried: the credits were compiled with all that came later but that set.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from credits.billing.changes import CreditChange
from credits.billing.credits import Credits, Held, Line
from credits.billing.edits import CreditEdit, EditKind, EditOf, edits_between
from credits.text import fold_words

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
        self._before = before
        self._newer = _Difference(before, after, one_person)
        self._paths = {candidate.key: candidate.path for candidate in candidates}
        self._compiled, self._closed, self._one = compiled, closed, one_person
        self._tried: dict[Undone, _Difference | None] = {}
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
            found = None if credits is None else _Difference(self._before, credits, self._one)
            self._tried[undone] = found
        difference = self._tried[undone]
        return difference is not None and difference.has_undone(change, self._newer)

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


Named = tuple[object, ...]
"""What comes in, told without its place in a row."""


class _Difference:
    """What differs between the older credits and some that were tried."""

    def __init__(self, before: Credits, tried: Credits, one: Mapping[str, str]) -> None:
        self._before, self._tried, self._one = before, tried, one
        self._set: set[tuple[object, ...]] = set()
        self._gone: set[tuple[object, ...]] = set()
        self._moved: set[tuple[object, ...]] = set()
        self._away: set[tuple[object, ...]] = set()
        self._come: dict[Named, list[object]] = {}
        for edit in edits_between(before, tried, one):
            place = (edit.of, edit.at)
            if edit.kind is EditKind.SET:
                self._set.add((*place, edit.field))
            elif edit.kind is EditKind.REMOVED:
                self._gone.add(place)
            else:
                if edit.kind is EditKind.MOVED:
                    self._moved.add(place)
                    if not self._is_away(edit):
                        continue
                    self._away.add(place)
                self._come.setdefault(self.named(edit), []).append(self._role(edit))

    def _line(self, edit: CreditEdit) -> Line:
        assert edit.to is not None
        return self._tried.sections[edit.to[0]].lines[edit.to[1]]

    def _role(self, edit: CreditEdit) -> object:
        return self._line(edit).role if edit.of is EditOf.LINE else None

    def _is_away(self, edit: CreditEdit) -> bool:
        """Whether a line was moved to another section."""
        if edit.of is not EditOf.LINE or edit.at is None or edit.to is None:
            return False
        old, new = self._before.sections[edit.at[0]], self._tried.sections[edit.to[0]]
        return fold_words(old.heading) != fold_words(new.heading)

    def named(self, edit: CreditEdit) -> Named:
        """Return what comes in by an edit: a section, or somebody under a heading."""
        assert edit.to is not None
        if edit.of is EditOf.SECTION:
            section = self._tried.sections[edit.to[0]]
            return edit.of, fold_words(section.heading), section.text
        heading = ""
        if edit.of is EditOf.LINE:
            one: Line | Held = self._line(edit)
            heading = self._tried.sections[edit.to[0]].heading
        else:
            side = self._tried.held if edit.of is EditOf.HELD else self._tried.held_lines
            one = side[edit.to[0]]
            heading = one.heading
        who = self._one.get(one.person, one.person) or fold_words(one.name)
        return edit.of, who, fold_words(heading)

    def has_undone(self, change: CreditChange, newer: _Difference) -> bool:
        """Tell whether everything that a change is about is as it was.

        newer: what differs to the newer credits, of which the change is one.
        """
        return all(self._as_before(edit, newer) for edit in change.edits)

    def _as_before(self, edit: CreditEdit, newer: _Difference) -> bool:
        place = (edit.of, edit.at)
        if edit.kind is EditKind.SET:
            return (*place, edit.field) not in self._set and place not in self._gone
        if edit.kind is EditKind.REMOVED:
            return place not in self._gone and place not in self._away
        if edit.kind is EditKind.MOVED and not newer._is_away(edit):
            return place not in self._moved and place not in self._gone
        named = newer.named(edit)
        come, wanted = self._come.get(named, []), newer._come.get(named, [])
        stays = edit.kind is EditKind.ADDED or place not in self._moved | self._gone
        return stays and len(come) < len(wanted) and newer._role(edit) not in come
