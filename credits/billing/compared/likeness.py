"""Which sections and lines of two compilations are the same, though they differ."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Hashable, Iterator, Mapping, Sequence
from importlib import import_module
from typing import TypeVar

from credits.billing.credits import Line, Section
from credits.text import fold_words

P = TypeVar("P", bound=Hashable)

LEAST_ALIKE = 60
"""Texts that are less alike, in per cent, are two texts."""
LEAST_ALIKE_HEADINGS = 75
LEAST_SHARED = 50
"""Sections that share fewer of their lines, in per cent, are two sections."""


def likeness(one: str, other: str) -> float:
    """Return how alike two texts are, in per cent of their letters."""
    if one == other:
        return 100.0
    # Only who compares texts that differ waits for the library.
    ratio: float = import_module("rapidfuzz.fuzz").ratio(one, other)
    return ratio


def pairs_by_likeness(
    old: Mapping[P, str], new: Mapping[P, str], least: int = LEAST_ALIKE
) -> dict[P, P]:
    """Pair texts that are alike, the likest first."""
    scored = [
        (-score, n, m, at, to)
        for n, (at, text) in enumerate(old.items())
        for m, (to, other) in enumerate(new.items())
        if (score := likeness(text, other)) >= least
    ]
    pairs: dict[P, P] = {}
    taken: set[P] = set()
    for *_, at, to in sorted(scored, key=lambda one: one[:3]):
        if at not in pairs and to not in taken:
            pairs[at] = to
            taken.add(to)
    return pairs


def section_pairings(
    old: Sequence[Section], new: Sequence[Section], one_person: Mapping[str, str]
) -> Iterator[Mapping[int, int]]:
    """Give the ways in which sections can be the same: by their headings first, or by what they
    hold, since headings may be given to others."""
    alike = _Alike(old, new, one_person)
    by_heading = alike.paired(heading_first=True)
    yield by_heading
    by_content = alike.paired(heading_first=False)
    if by_content != by_heading:
        yield by_content


class _Alike:
    """How much of what they hold the sections of both sides share."""

    def __init__(
        self, old: Sequence[Section], new: Sequence[Section], one_person: Mapping[str, str]
    ) -> None:
        self._old, self._new, self._one = old, new, one_person
        self._scores: dict[tuple[int, int], float] = {}
        self._score_lines()
        self._score_texts()

    def _key(self, line: Line) -> Hashable:
        return self._one.get(line.person, line.person) or (fold_words(line.name),)

    def _score_lines(self) -> None:
        """Look at sections alone that share a line."""
        own = [Counter(map(self._key, section.lines)) for section in self._old]
        others = [Counter(map(self._key, section.lines)) for section in self._new]
        holding: dict[Hashable, list[int]] = defaultdict(list)
        for to, lines in enumerate(others):
            for key in lines:
                holding[key].append(to)
        for at, lines in enumerate(own):
            for to in dict.fromkeys(to for key in lines for to in holding.get(key, ())):
                every = lines.total() + others[to].total()
                self._scores[at, to] = 200 * (lines & others[to]).total() / every

    def _score_texts(self) -> None:
        texts = [(to, section) for to, section in enumerate(self._new) if section.text]
        for at, section in enumerate(self._old):
            for to, other in texts if section.text else ():
                score = likeness(section.text, other.text)
                if score >= LEAST_ALIKE:
                    self._scores[at, to] = max(score, self._scores.get((at, to), 0))

    def paired(self, *, heading_first: bool) -> dict[int, int]:
        """Pair the sections, each with one at most."""
        pairs: dict[int, int] = {}
        steps = [self._by_heading, self._by_content]
        for step in steps if heading_first else reversed(steps):
            step(pairs)
        self._by_like_headings(pairs)
        self._by_neighbours(pairs)
        return dict(sorted(pairs.items()))

    def _take(self, pairs: dict[int, int], scored: Sequence[tuple[float, int, int]]) -> None:
        taken = set(pairs.values())
        for _, at, to in sorted(scored, key=lambda one: (-one[0], abs(one[1] - one[2]), one[1:])):
            if at not in pairs and to not in taken:
                pairs[at] = to
                taken.add(to)

    def _by_heading(self, pairs: dict[int, int]) -> None:
        """Of those that are called alike the likest first, then in their order."""
        called: dict[str, list[int]] = defaultdict(list)
        for to, section in enumerate(self._new):
            called[fold_words(section.heading)].append(to)
        scored = [
            (self._scores.get((at, to), 0) + 100 * (section == self._new[to]), at, to)
            for at, section in enumerate(self._old)
            for to in called.get(fold_words(section.heading), ())
        ]
        self._take(pairs, scored)

    def _by_content(self, pairs: dict[int, int]) -> None:
        """Of those that hold the same those first whose headings and whose setting are alike."""
        self._take(
            pairs,
            [
                (score + self._set_alike(at, to), at, to)
                for (at, to), score in self._scores.items()
                if score >= LEAST_SHARED
            ],
        )

    def _set_alike(self, at: int, to: int) -> float:
        old, new = self._old[at], self._new[to]
        headings = likeness(fold_words(old.heading), fold_words(new.heading))
        roles = {line.role for line in old.lines} & {line.role for line in new.lines}
        return headings / 2 + 25 * (old.layout is new.layout) + 25 * bool(roles)

    def _by_like_headings(self, pairs: dict[int, int]) -> None:
        """A heading of which a few letters are others, where nothing else is left to be it."""
        taken = set(pairs.values())
        old = {at: one.heading for at, one in enumerate(self._old) if at not in pairs}
        new = {to: one.heading for to, one in enumerate(self._new) if to not in taken}
        left, right = ({n: text for n, text in side.items() if text} for side in (old, new))
        pairs |= pairs_by_likeness(left, right, LEAST_ALIKE_HEADINGS)

    def _by_neighbours(self, pairs: dict[int, int]) -> None:
        """A heading that stands alone, behind the same section as before, is the same."""
        taken = set(pairs.values())
        for at, section in enumerate(self._old):
            to = 0 if at == 0 else pairs.get(at - 1, -1) + 1
            if at in pairs or to in taken or to >= len(self._new) or (at and not to):
                continue
            other = self._new[to]
            if not any((section.lines, section.text, other.lines, other.text)):
                pairs[at] = to
                taken.add(to)
