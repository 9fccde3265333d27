"""The codes that a production knows: found without regard to case, kept as first spelled."""

from __future__ import annotations

from collections.abc import Iterable

from credits.exchange.columns import TABLES
from credits.exchange.values import Cell, Unreadable, code, folded
from credits.ledger.written import WrittenLog

SUGGESTIONS = 200
LEAST_LIKENESS = 70


class Codes:
    """The codes of one table. ``complete`` is False when some of them could not be read."""

    def __init__(self, table: str, known: Iterable[str] = (), complete: bool = True) -> None:
        self.table = table
        self.one = TABLES[table].one
        self.complete = complete
        self._spelled = {folded(spelled): spelled for spelled in known}
        self._suggested = 0

    def add(self, text: str) -> str:
        """Make a code known; returns how it was first spelled."""
        return self._spelled.setdefault(folded(text), text)

    def get(self, text: str) -> str | None:
        """The code as first spelled, or None when it is not known."""
        return self._spelled.get(folded(text))

    def find(self, cell: Cell) -> str:
        """The code that a cell names, as first spelled. Raises Unreadable when it is not known."""
        if isinstance(cell, str):
            spelled = self._spelled.get(folded(cell))
            if spelled is not None:
                return spelled
        text = code(cell)
        if not self.complete:
            return text
        mend = f"Add it to the {self.table} table, or correct the code."
        like = self.like(text)
        if like is not None:
            mend = f"Write {like}, or add {text} to the {self.table} table."
        raise Unreadable(f"there is no such {self.one}", mend)

    def like(self, text: str) -> str | None:
        """The known code that is most like this one. It is slow: after SUGGESTIONS times, None."""
        low = folded(text)
        if low.isdigit():
            bare = low.lstrip("0")
            for known, spelled in self._spelled.items():
                if known.isdigit() and known.lstrip("0") == bare:
                    return spelled
        self._suggested += 1
        if self._suggested > SUGGESTIONS:
            return None
        from rapidfuzz import fuzz, process

        found = process.extractOne(
            low, self._spelled.keys(), scorer=fuzz.ratio, score_cutoff=LEAST_LIKENESS
        )
        return self._spelled[found[0]] if found else None


CodeBooks = dict[str, Codes]


def codes_of(written: WrittenLog, incomplete: Iterable[str] = ()) -> CodeBooks:
    """The codes of every table that has its own, as the log knows them."""
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
