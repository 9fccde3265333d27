"""Pairing rows with entries one to one, so that as many rows as possible find one."""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Collection, Hashable, Sequence
from typing import Generic, TypeVar

T = TypeVar("T", bound=Hashable)


def most_pairs(wanted: Sequence[T], offered: Sequence[Collection[T]]) -> frozenset[int]:
    """The positions of ``wanted`` that can be paired, each with its own one of ``offered``.

    An offer can be paired with any one of the things in it. The number of pairs is the greatest
    possible: augmenting paths (Berge's theorem), searched breadth first.
    """
    offers: dict[T, list[int]] = defaultdict(list)
    for position, things in enumerate(offered):
        for thing in things:
            offers[thing].append(position)
    pairs = _Pairs(wanted, offers)
    hopeless: set[T] = set()
    for asking, thing in enumerate(wanted):
        # What no path leads from now, no path will lead from later: pairs only move about.
        if thing not in hopeless and not pairs.find_for(asking):
            hopeless.add(thing)
    return frozenset(pairs.offer_of)


class _Pairs(Generic[T]):
    """The pairs found so far, seen from both sides."""

    def __init__(self, wanted: Sequence[T], offers: dict[T, list[int]]) -> None:
        self._wanted = wanted
        self._offers = offers
        self._taker_of: dict[int, int] = {}
        self.offer_of: dict[int, int] = {}

    def find_for(self, asking: int) -> bool:
        """Find an offer for one more, if need be by moving others to another of theirs."""
        came_from: dict[int, int] = {}
        queue = deque([asking])
        tried: set[T] = set()
        while queue:
            at = queue.popleft()
            if self._wanted[at] in tried:
                continue
            tried.add(self._wanted[at])
            for offer in self._offers.get(self._wanted[at], ()):
                if offer in came_from:
                    continue
                came_from[offer] = at
                if offer not in self._taker_of:
                    self._move(offer, came_from)
                    return True
                queue.append(self._taker_of[offer])
        return False

    def _move(self, offer: int, came_from: dict[int, int]) -> None:
        """Give the free offer to the last on the path, the one that frees to the one before it."""
        free: int | None = offer
        while free is not None:
            at = came_from[free]
            freed = self.offer_of.get(at)
            self._taker_of[free] = at
            self.offer_of[at] = free
            free = freed
