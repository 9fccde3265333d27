"""The codes that a production knows: found without regard to case, kept as first spelled."""

from __future__ import annotations

from collections.abc import Iterable

from credits.formats.tables.cells import Cell, Unreadable, code
from credits.formats.tables.columns import TABLES
from credits.model.log import WrittenLog
from credits.text import fold_code, nearest

SUGGESTIONS = 200


class Codes:
    """The codes of one table. ``complete`` is False when some of them could not be read."""

    def __init__(self, table: str, known: Iterable[str] = (), complete: bool = True) -> None:
        self.table = table
        self.complete = complete
        self._spelled = {fold_code(spelled): spelled for spelled in known}
        self._suggested = 0

    def add(self, text: str) -> str:
        """Make a code known; return how it was first spelled."""
        return self._spelled.setdefault(fold_code(text), text)

    def get(self, text: str) -> str | None:
        """Return the code as first spelled, or None when it is not known."""
        return self._spelled.get(fold_code(text))

    def find(self, cell: Cell) -> str:
        """Find the code that a cell names, as first spelled. Raises Unreadable for another."""
        if isinstance(cell, str):
            spelled = self.get(cell)
            if spelled is not None:
                return spelled
        text = code(cell)
        if not self.complete:
            return text
        hint = f"Add it to the {self.table} table, or correct the code."
        like = self.like(text)
        if like is not None:
            hint = f"Write {like}, or add {text} to the {self.table} table."
        raise Unreadable(f"there is no such {TABLES[self.table].one}", hint)

    def like(self, text: str) -> str | None:
        """Find the known code most like this one. It is slow: after SUGGESTIONS times, None."""
        self._suggested += 1
        known = self._spelled.values() if self._suggested <= SUGGESTIONS else ()
        return next(iter(nearest(text, known, most=1)), None)


CodeBooks = dict[str, Codes]


def codes_of(written: WrittenLog, incomplete: Iterable[str] = ()) -> CodeBooks:
    """Return the codes of every table that has its own, as the log knows them."""
    missing = frozenset(incomplete)
    return {
        name: Codes(name, (row.code for row in getattr(written, name)), name not in missing)
        for name, table in TABLES.items()
        if table.coded
    }


def find_shot_and_take(text: str, shots: Codes) -> tuple[str, int | None]:
    """Read ``010-020`` or ``010-020/2``. Raises Unreadable for an unknown shot or a bad take."""
    shot, slash, take = text.strip().partition("/")
    if slash and not (take.isascii() and take.isdigit() and 0 < len(take) < 7 and int(take) > 0):
        raise Unreadable("the take is not a whole number from 1", "Write it like 010-020/2.")
    return shots.find(shot), int(take) if slash else None
