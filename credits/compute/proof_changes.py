"""What changed between a proof and the credits as they stand: each change is a value with words."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import TypeVar

from credits.compute.check_words import one_line
from credits.model.facts import EntryNumber, ProofMark

T = TypeVar("T", bound=Hashable)


class ChangeKind(StrEnum):
    """What happened, in the order in which changes are told."""

    CAME = "came"
    WENT = "went"
    MOVED = "moved"
    ROLE = "role"
    RESPELLED = "respelled"
    ORDER = "order"
    HELD = "held"
    SECTION = "section"


@dataclass(frozen=True, slots=True)
class CreditChange:
    """One change. ``person`` empty: a section changed. ``heading``: where it is now, or was.

    ``what``: one sentence. ``why``: the causes in words. ``entries``: lines of the log that were
    written since and are about the person.
    """

    kind: ChangeKind
    person: str
    name: str
    heading: str
    what: str
    why: tuple[str, ...] = ()
    entries: tuple[EntryNumber, ...] = ()

    @property
    def words(self) -> str:
        """The sentence and its causes: ``Ana moved from A to B. Why: the plan changed.``"""
        return f"{self.what} Why: {'; '.join(self.why)}." if self.why else self.what


@dataclass(frozen=True, slots=True)
class Comparison:
    """A proof against the credits as they stand. ``same``: exactly those, by plan and cut too."""

    mark: ProofMark
    same: bool
    changes: tuple[CreditChange, ...]

    @property
    def rows(self) -> tuple[tuple[str, str, str], ...]:
        """The changes as a table: kind, name, what happened and why."""
        return tuple((str(c.kind), c.name or c.heading, c.words) for c in self.changes)


def shown(heading: str) -> str:
    """A heading as it stands in a sentence."""
    return f"'{one_line(heading)}'" if heading else "no heading"


def with_role(role: str | None) -> str:
    """A role as it stands in a sentence."""
    return f"'{one_line(role)}'" if role else "none"


def moved_among(before: Sequence[T], after: Iterable[T]) -> list[T]:
    """The fewest items that were moved to turn one order into the other, in the new order.

    Only items that are in both orders, each once, are looked at: what stays is a longest
    increasing subsequence of the old places (Schensted 1961).
    """
    places = {item: place for place, item in enumerate(before)}
    items = [item for item in dict.fromkeys(after) if item in places]
    ends: list[int] = []  # the lowest place that ends a run of each length
    lengths: list[int] = []
    for item in items:
        length = bisect_left(ends, places[item])
        ends[length : length + 1] = [places[item]]
        lengths.append(length)
    stays: set[T] = set()
    wanted = len(ends) - 1
    for item, length in zip(reversed(items), reversed(lengths), strict=True):
        if length == wanted:
            stays.add(item)
            wanted -= 1
    return [item for item in items if item not in stays]
