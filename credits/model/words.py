"""The words of the checks: people and things by name and code, days, frames, lists."""

from __future__ import annotations

import shlex
from collections.abc import Iterable, Sequence
from datetime import date

from credits.errors import quoted
from credits.model.facts import EntryNumber
from credits.model.ledger import Ledger
from credits.units.frames import Frames

MOST_LISTED = 6
MOST_RANGES = 12


def one_line(text: str) -> str:
    """Any text as it can stand in a sentence: on one line, of a readable length."""
    return quoted(text)[1:-1]


def begin(text: str) -> str:
    """A text as it begins a sentence; names and codes further on keep their letters."""
    return text[:1].upper() + text[1:]


def typed(code: str) -> str:
    """A code as it is typed on a command line: in quotes where it needs them."""
    return shlex.quote(code)


def _name_and_code(name: str | None, code: str) -> str:
    return code if name is None else f"{one_line(name)} ({code})"


def person(ledger: Ledger, code: str) -> str:
    """``Ana Lind (ana)``."""
    known = ledger.people.get(code)
    return _name_and_code(known.credit_name if known else None, code)


def character(ledger: Ledger, code: str) -> str:
    """``Wick (wick)``."""
    known = ledger.characters.get(code)
    return _name_and_code(known.name if known else None, code)


def puppet(ledger: Ledger, code: str) -> str:
    """``puppet wick-1 of Wick (wick)``."""
    known = ledger.puppets.get(code)
    return f"puppet {code} of {character(ledger, known.character)}" if known else f"puppet {code}"


def part(ledger: Ledger, code: str) -> str:
    """``part wick-face-3 (face)``: the kind of part stands behind the code."""
    known = ledger.parts.get(code)
    return f"part {code} ({one_line(known.kind)})" if known else f"part {code}"


def take(shot: str, number: int) -> str:
    """``take 2 of shot 010-020``."""
    return f"take {number} of shot {shot}"


def listed(items: Iterable[str], most: int = MOST_LISTED) -> str:
    """``a``, ``a and b``, ``a, b and c``; a long list is cut: ``a, b, c, d, e, f and 12 more``."""
    texts = list(items)
    if len(texts) > most:
        texts = [*texts[:most], f"{len(texts) - most} more"]
    return " and ".join(part for part in (", ".join(texts[:-1]), *texts[-1:]) if part)


def numbers(entries: Sequence[EntryNumber]) -> str:
    """The numbers of some entries, as a list."""
    return listed(str(number) for number in entries)


def counted(number: int, one: str, many: str = "") -> str:
    """``1 entry``, ``3 entries``; the plural is that of the word with an s where none is given."""
    return f"{number} {one if number == 1 else many or one + 's'}"


def days(dates: Iterable[date]) -> str:
    """``on 2026-03-02``, or ``on 3 days from 2026-03-02 to 2026-03-09``."""
    every = sorted(set(dates))
    if len(every) == 1:
        return f"on {every[0]}"
    return f"on {len(every)} days from {every[0]} to {every[-1]}"


def frames(some: Frames) -> str:
    """``frame 17``, ``frames 1-20,25-48``; very many ranges are cut, with what is left counted."""
    shown = Frames(some.ranges[:MOST_RANGES])
    left = some.count - shown.count
    more = f" and {left} more" if left else ""
    return f"{'frame' if some.count == 1 else 'frames'} {shown.text}{more}"
