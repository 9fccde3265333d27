"""Which rows and entries belong together: by what they say, and by likeness."""

from __future__ import annotations

from array import array
from bisect import bisect_right
from collections import defaultdict, deque
from collections.abc import Callable, Collection, Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, fields
from functools import reduce
from itertools import islice
from operator import attrgetter, xor
from typing import TypeVar

from credits.model.facts import Work

T = TypeVar("T", bound=Hashable)


def most_pairs(
    wanted: Sequence[T],
    offered: Sequence[Collection[T]],
    begun: Mapping[int, int] | None = None,
) -> dict[int, int]:
    """Pair the positions of ``wanted`` each with its own one of ``offered``; return the pairs.

    An offer can be paired with any one of the things in it. The number of pairs is the greatest
    possible: augmenting paths (Berge's theorem), searched breadth first.

    begun: pairs to begin with; all that they pair stays paired, if not with the same.
    """
    if not offered:
        return {}
    offers: dict[T, list[int]] = defaultdict(list)
    for position, things in enumerate(offered):
        for thing in things:
            offers[thing].append(position)
    offer_of = dict(begun or {})
    taker_of = {offer: at for at, offer in offer_of.items()}
    hopeless: set[T] = set()
    for asking, thing in enumerate(wanted):
        if asking in offer_of:
            continue
        came_from: dict[int, int] = {}
        queue, tried, free = deque([asking]), set[T](), None
        while queue and free is None:
            at = queue.popleft()
            if wanted[at] in hopeless or wanted[at] in tried:
                continue
            tried.add(wanted[at])
            ways = [offer for offer in offers.get(wanted[at], ()) if offer not in came_from]
            came_from.update(dict.fromkeys(ways, at))
            free = next((offer for offer in ways if offer not in taker_of), None)
            queue.extend(taker_of[offer] for offer in ways if offer in taker_of)
        if free is None:
            # What no path leads from now, no path will lead from later: pairs only move about.
            hopeless.add(thing)
        while free is not None:  # the last on the path takes it, and frees one for the one before
            at = came_from[free]
            freed = offer_of.get(at)
            taker_of[free], offer_of[at] = at, free
            free = freed
    return offer_of


# --- Likeness

WHAT_IT_IS_ABOUT = (
    "craft", "person", "character", "puppet", "part", "sequence", "shot", "take", "frames", "day",
)  # fmt: skip
"""Of these two like pieces of work differ in one at the most; started and finished are one day."""
_DAY = WHAT_IT_IS_ABOUT.index("day")

CANDIDATES = 4
_about = attrgetter(*WHAT_IT_IS_ABOUT)
_all_columns = attrgetter(*(column.name for column in fields(Work)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Likely:
    """Something that may be like another: a row, or an entry.

    ``works``: what it says, or said. ``keyed``: it has a key of its own, and two that have are
    never the same. ``at``: its place in the order of the entries; of a row, that of the last entry
    which a row before it was paired with. ``until``: of a row, the place of the next entry which a
    row behind it was paired with. None: no row of its sheet was paired.
    """

    works: tuple[Work, ...]
    keyed: bool
    at: int
    until: float | None = None


@dataclass(slots=True)
class _Shelf:
    """Entries that agree in some columns, in their order; those that are taken are passed over."""

    entries: list[int] = field(default_factory=list)
    places: list[int] = field(default_factory=list)
    after: list[int] = field(default_factory=list)

    def add(self, entry: int, place: int) -> None:
        if not self.entries or self.entries[-1] != entry:
            self.after.append(len(self.entries))
            self.entries.append(entry)
            self.places.append(place)

    def free(self, start: int, taken: Collection[int]) -> Iterator[int]:
        """Yield what is not taken, from a position on."""
        at = self._next(start, taken)
        while at < len(self.entries):
            yield self.entries[at]
            at = self._next(at + 1, taken)

    def _next(self, at: int, taken: Collection[int]) -> int:
        passed = []
        while at < len(self.entries) and self.entries[at] in taken:
            passed.append(at)
            at = self.after[at] if self.after[at] > at else at + 1
        for position in passed:
            self.after[position] = at
        return at


def like_pairs(rows: Sequence[Likely], entries: Sequence[Likely]) -> dict[int, int]:
    """Pair rows with entries that they are like, as positions; both stand in their order.

    At most one of the columns that say what the work is about differs. The same work on another
    day is like only between the same neighbours: the rows of a new week, sent under an old name,
    are no corrections of the old week's. Of several entries the one
    is taken with which most columns are equal, then the next in the order.
    The time follows the number of rows and entries, never that of their pairs.
    """
    found: dict[int, int] = {}
    taken: set[int] = set()
    for numbers_of in (_number_of_all, _numbers_but_one):
        asking = [at for at in range(len(rows)) if at not in found]
        offering = [
            (at, work)
            for at, entry in enumerate(entries)
            if at not in taken
            for work in entry.works
        ]
        wanted = _Numbers(numbers_of, (rows[at].works[0] for at in asking))
        offered = _Numbers(numbers_of, (work for _, work in offering))
        shared = wanted.shared_with(offered)
        shelves: dict[Hashable, _Shelf] = defaultdict(_Shelf)
        for (at, _), numbers in zip(offering, offered.sets(), strict=True):
            for number in numbers:
                if number in shared:
                    shelves[number, entries[at].keyed].add(at, entries[at].at)
        for at, numbers in zip(asking, wanted.sets(), strict=True):
            keys = [number for number in numbers if number in shared]
            best = _most_like(rows[at], entries, shelves, taken, keys) if keys else None
            if best is not None:
                found[at] = best
                taken.add(best)
    return found


def _number_of_all(work: Work) -> Collection[int]:
    return (hash(_about(work)),)


def _numbers_but_one(work: Work) -> Collection[int]:
    """Return for each column a number of all others: works that differ there alone share it."""
    own = [hash(each) for each in enumerate(_about(work))]
    together = reduce(xor, own)
    return [together ^ number for number in own]


class _Numbers:
    """The numbers of many works, as many of each, in the room of the bare numbers."""

    def __init__(
        self, numbers_of: Callable[[Work], Collection[int]], works: Iterable[Work]
    ) -> None:
        self._flat = array("q")
        self._each = 1
        for work in works:
            numbers = numbers_of(work)
            self._each = len(numbers)
            self._flat.extend(numbers)

    def sets(self) -> Iterator[array[int]]:
        """Yield the numbers of each work."""
        for start in range(0, len(self._flat), self._each):
            yield self._flat[start : start + self._each]

    def shared_with(self, other: _Numbers) -> set[int]:
        """Return the numbers that works of both have at the same place."""
        if not self._flat or not other._flat:
            return set()
        each = self._each
        columns = ((self._flat[at::each], other._flat[at::each]) for at in range(each))
        return set().union(*(set(mine).intersection(yours) for mine, yours in columns))


def _is_like(row: Likely, entry: Likely) -> bool:
    between = row.until is not None and row.at < entry.at < row.until
    own = _about(row.works[0])
    for work in entry.works:
        pairs = enumerate(zip(own, _about(work), strict=True))
        differ = [at for at, (mine, yours) in pairs if mine != yours]
        if not differ or (len(differ) == 1 and (differ[0] != _DAY or between)):
            return True
    return False


def _most_like(
    row: Likely,
    entries: Sequence[Likely],
    shelves: Mapping[Hashable, _Shelf],
    taken: Collection[int],
    keys: Iterable[Hashable],
) -> int | None:
    candidates: dict[int, None] = {}
    for key in keys:
        for keyed in (False,) if row.keyed else (True, False):
            if (shelf := shelves.get((key, keyed))) is None:
                continue
            for start in {bisect_right(shelf.places, row.at): None, 0: None}:
                for entry in islice(shelf.free(start, taken), CANDIDATES):
                    candidates[entry] = None
    like = [at for at in candidates if _is_like(row, entries[at])]
    if len(like) < 2:
        return next(iter(like), None)
    said = _all_columns(row.works[0])

    def unlike(entry: int) -> tuple[int, bool, int]:
        equal = max(
            sum(one == other for one, other in zip(said, _all_columns(work), strict=True))
            for work in entries[entry].works
        )
        return -equal, entries[entry].at <= row.at, entries[entry].at

    return min(like, key=unlike)
