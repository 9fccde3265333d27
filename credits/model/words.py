"""Facts in words: people and things by name and code, counts, lists, days, frames."""

from __future__ import annotations

import shlex
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from credits.errors import quoted
from credits.model.facts import EntryNumber
from credits.model.ledger import Ledger
from credits.units.frames import Frames

MOST_LISTED = 6
MOST_RANGES = 12


def in_sentence(text: str) -> str:
    """Return any text as it can stand in a sentence: on one line, of a readable length."""
    return quoted(text)[1:-1]


def begin(text: str) -> str:
    """Return a text as it begins a sentence; names and codes further on keep their letters."""
    return text[:1].upper() + text[1:]


def typed(code: str) -> str:
    """Return a code as it is typed on a command line: in quotes where it needs them."""
    return shlex.quote(code)


@dataclass(frozen=True, slots=True)
class Named:
    """Somebody or something by code and name; as text ``Ana Lind (ana)``. name: None: not known."""

    code: str
    name: str | None

    def __str__(self) -> str:
        return self.code if self.name is None else f"{in_sentence(self.name)} ({self.code})"


@dataclass(frozen=True, slots=True)
class NamedPuppet:
    """A puppet; as text ``puppet wick-1 of Wick (wick)``. character: None: not known."""

    code: str
    character: Named | None

    def __str__(self) -> str:
        return f"puppet {self.code}{'' if self.character is None else f' of {self.character}'}"


@dataclass(frozen=True, slots=True)
class NamedPart:
    """A part; as text ``part wick-face-3 (face)``. kind: None: not known."""

    code: str
    kind: str | None

    def __str__(self) -> str:
        return f"part {self.code}{'' if self.kind is None else f' ({in_sentence(self.kind)})'}"


def person(ledger: Ledger, code: str) -> Named:
    """Return the person of this code by name."""
    known = ledger.people.get(code)
    return Named(code, known.credit_name if known else None)


def character(ledger: Ledger, code: str) -> Named:
    """Return the character of this code by name."""
    known = ledger.characters.get(code)
    return Named(code, known.name if known else None)


def puppet(ledger: Ledger, code: str) -> NamedPuppet:
    """Return the puppet of this code with its character."""
    known = ledger.puppets.get(code)
    return NamedPuppet(code, character(ledger, known.character) if known else None)


def part(ledger: Ledger, code: str) -> NamedPart:
    """Return the part of this code with its kind."""
    known = ledger.parts.get(code)
    return NamedPart(code, known.kind if known else None)


def take(shot: str, number: int) -> str:
    """Return ``take 2 of shot 010-020``."""
    return f"take {number} of shot {shot}"


def listed(
    items: Iterable[str], most: int | None = None, other: str = "other", others: str = "others"
) -> str:
    """Return ``a``, ``a and b``, ``a, b and c``; past ``most`` ``a, b and 3 others``."""
    texts = list(items)
    if most is not None and len(texts) > most:
        texts = [*texts[:most], counted(len(texts) - most, other, others)]
    return " and ".join(part for part in (", ".join(texts[:-1]), *texts[-1:]) if part)


def some_of(items: Iterable[str]) -> str:
    """Return a list that may be long: ``a, b, c, d, e, f and 12 more``."""
    return listed(items, MOST_LISTED, "more", "more")


def numbers(entries: Sequence[EntryNumber]) -> str:
    """Return the numbers of some entries, as a list that may be long."""
    return some_of(str(number) for number in entries)


def entry_count(entries: Sequence[EntryNumber]) -> str:
    """Return ``1 entry``, ``3 entries``."""
    return counted(len(entries), "entry", "entries", grouped=False)


def counted(number: int, one: str, many: str | None = None, *, grouped: bool = True) -> str:
    """Return ``1 shot``, ``12 shots``, ``1,204 frames``.

    many: the plural where it is not the word with an s. grouped: whether thousands have commas.
    """
    figure = f"{number:,}" if grouped else str(number)
    return f"{figure} {one if number == 1 else many or f'{one}s'}"


def days(dates: Iterable[date]) -> str:
    """Return ``on 2026-03-02``, or ``on 3 days from 2026-03-02 to 2026-03-09``."""
    every = sorted(set(dates))
    if len(every) == 1:
        return f"on {every[0]}"
    return f"on {len(every)} days from {every[0]} to {every[-1]}"


def frames(some: Frames) -> str:
    """Return ``frame 17``, ``frames 1-20,25-48``; of very many ranges the rest is counted."""
    shown = Frames(some.ranges[:MOST_RANGES])
    left = some.count - shown.count
    more = f" and {left} more" if left else ""
    return f"{'frame' if some.count == 1 else 'frames'} {shown.text}{more}"
