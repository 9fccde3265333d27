"""What something was in two logs, one value after the other: which of them knows of the other.

A log remembers what a row of a list said, and which cut was in use, in the order in which it came
to be so. Each value counts as often as it came in. A log knows what the other says now if it has
had that value as often as the other: then what it says itself came later. So no clock is asked, and
somebody who goes back to an older value is understood.

When two logs are joined, each value is afterwards known as often as either knew it. What a value
was only said to be elsewhere is noted for that, without ever being what is said here.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable
from dataclasses import dataclass
from enum import Enum, auto
from typing import Generic, TypeVar

V = TypeVar("V", bound=Hashable)


@dataclass(frozen=True, slots=True)
class Past(Generic[V]):
    """The values that something has had in one log, in the order in which they came to be known.

    said: what is said at last; None: it is not there. None among the values: it was taken out.
    """

    values: tuple[V | None, ...] = ()
    said: V | None = None


class Later(Enum):
    """Which of two logs says it later."""

    SAME = auto()
    OURS = auto()
    THEIRS = auto()
    APART = auto()
    """Each has changed without knowing what the other says now."""


def later(ours: Past[V], theirs: Past[V]) -> Later:
    """Tell which of two logs knows what the other says now, and so says it later."""
    if ours.said == theirs.said:
        return Later.SAME
    we_know = ours.values.count(theirs.said) >= theirs.values.count(theirs.said)
    they_know = theirs.values.count(ours.said) >= ours.values.count(ours.said)
    if we_know == they_know:
        return Later.APART
    return Later.OURS if we_know else Later.THEIRS


def later_value(ours: Past[V], theirs: Past[V], apart: V | None) -> V | None:
    """Return what the log says that says it later; apart: what to return where neither does."""
    found = later(ours, theirs)
    if found is Later.APART:
        return apart
    return theirs.said if found is Later.THEIRS else ours.said


def to_be_noted(
    ours: Past[V], theirs: Past[V], now: V | None, kept: Past[V] | None = None
) -> Counter[V | None]:
    """Return which values, and how often each, are to be noted in our log once it says this.

    now: what it is to say. Where it does not say it yet, the change itself makes it known once.
    kept: our past as the log keeps it, where ours has more than that.
    """
    kept = kept or ours
    mine = Counter(kept.values)
    goal = Counter(ours.values) | Counter(theirs.values)
    is_decided = later(ours, theirs) is Later.APART or now != later_value(ours, theirs, None)
    if is_decided:  # what is said now is later than what either says
        goal[now] += 1
    missing = goal - mine
    if now != kept.said:
        missing[now] -= 1
    return +missing


def last_in_common(ours: Past[V], theirs: Past[V]) -> V | None:
    """Return the value that both have had, the latest that there is; None: there is none."""

    def ago(values: tuple[V | None, ...], value: V) -> int:
        return values[::-1].index(value)

    both = (set(ours.values) & set(theirs.values)) - {None}
    rated = (
        (ago(ours.values, value) + ago(theirs.values, value), repr(value), value)
        for value in both
        if value is not None
    )
    return min(rated, key=lambda each: each[:2], default=(0, "", None))[2]
