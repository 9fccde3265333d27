"""The tables, their columns and their codes: what a spreadsheet may hold, and which fact a row is.

The columns of a table are the fields of its fact, in their order. A field's type says how its cells
are read, its default what an empty cell means; only what a type cannot say is written here.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import MISSING, Field, dataclass, fields
from datetime import date
from enum import StrEnum
from fractions import Fraction
from functools import cached_property
from types import NoneType
from typing import Any, get_args, get_type_hints

from credits.errors import Place
from credits.formats.tables import cells as v
from credits.model import facts
from credits.model.lazy import FEW, Listed
from credits.model.log import WrittenLog
from credits.text import fold_code, nearest
from credits.units.frames import HIGHEST_FRAME, Frames


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetColumn:
    """One column. ``field``: the fact's; ``refers``: the table whose codes it holds.

    ``empty`` is the value of an empty cell; ``key`` columns say which row is meant.
    """

    name: str
    reads: v.Reader
    field: str = ""
    required: bool = False
    key: bool = False
    refers: str | None = None
    empty: object = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetTable:
    """One table of the production: ``one`` is the word for what a row is about.

    ``fact`` is the class a row becomes. ``coded``: the first column is the row's own code.
    ``apart``: a key column that may be left out where the rest of the key is enough.
    """

    name: str
    one: str
    fact: type[Any]
    columns: tuple[SheetColumn, ...]
    coded: bool = False
    apart: str = ""

    @property
    def column_names(self) -> tuple[str, ...]:
        """The names of the columns in their order."""
        return tuple(column.name for column in self.columns)


_REFERS = {
    "person": "people",
    "same_as": "people",
    **{
        one: f"{one}s"
        for one in ("craft", "character", "puppet", "part", "sequence", "shot", "stage")
    },
}
LENGTHS = ("minutes", "wait_minutes")
_NAMES = {"wish": "credit_wish", "length": "frames", "number": "take"}
_BY_FIELD: dict[str, v.Reader] = {
    "note": v.note,
    "description": v.note,
    "email": v.email,
    "isni": v.isni,
    "length": v.whole(1, HIGHEST_FRAME),
    "minutes": v.minutes,
    "wait_minutes": v.minutes,
}
_BY_TYPE: dict[type, v.Reader] = {
    str: v.name,
    int: v.whole(1),
    bool: v.yes_no,
    date: v.day,
    Frames: v.frames,
    Fraction: v.share,
}


def _column(field: Field[Any], hint: Any, one: str, key: bool) -> SheetColumn:
    kinds = get_args(hint) or (hint,)
    kind = next(kind for kind in kinds if kind is not NoneType)
    refers = _REFERS.get(field.name)
    if refers or field.name == "code":
        reads: v.Reader = v.code
    elif issubclass(kind, StrEnum):
        reads = v.word(kind)
    else:
        reads = _BY_FIELD.get(field.name) or _BY_TYPE[kind]
    has_default = field.default is not MISSING
    return SheetColumn(
        name=one if field.name == "code" else _NAMES.get(field.name, field.name),
        reads=reads,
        field=field.name,
        required=not has_default and NoneType not in kinds,
        key=key,
        refers=refers,
        empty=field.default if has_default else None,
    )


def _columns(fact: type[Any], one: str, keys: str) -> tuple[SheetColumn, ...]:
    hints = get_type_hints(fact)
    return tuple(_column(f, hints[f.name], one, f.name in keys.split()) for f in fields(fact))


def _table(name: str, one: str, fact: type[Any], keys: str = "code", apart: str = "") -> SheetTable:
    columns, coded = _columns(fact, one, keys), keys == "code"
    return SheetTable(name=name, one=one, fact=fact, columns=columns, coded=coded, apart=apart)


_OF_ENTRIES = (
    SheetColumn(name="ref", reads=v.name),
    *_columns(facts.Work, "entry", ""),
    SheetColumn(name="logged_by", reads=v.name),
)
_ENTRIES = SheetTable(name="entries", one="entry", fact=facts.Work, columns=_OF_ENTRIES)
# The sheet that asks how names are spelled, as it comes back.
_CONFIRMATIONS = SheetTable(
    name="confirmations",
    one="confirmation",
    fact=facts.Confirmation,
    columns=(
        SheetColumn(name="person", reads=v.code, refers="people", required=True, key=True),
        SheetColumn(name="credit_name", reads=v.name),
        SheetColumn(name="headings", reads=v.note),
        SheetColumn(name="confirmed", reads=v.yes_no),
        SheetColumn(name="correction", reads=v.name),
        SheetColumn(name="confirmed_on", reads=v.day),
        SheetColumn(name="legal_name", reads=v.name),  # where the office asks for it
        SheetColumn(name="answer_by", reads=v.day),
        SheetColumn(name="asked_name", reads=v.name),  # hidden: the name as it went out
    ),
)
_ENGAGEMENT_KEYS = "person department job_title starts_on"

TABLES: dict[str, SheetTable] = {
    table.name: table
    for table in (
        _table("people", "person", facts.Person),
        _table("engagements", "engagement", facts.Engagement, _ENGAGEMENT_KEYS, apart="starts_on"),
        _table("crafts", "craft", facts.Craft),
        _table("characters", "character", facts.Character),
        _table("puppets", "puppet", facts.Puppet),
        _table("parts", "part", facts.Part),
        _table("fittings", "fitting", facts.Fitting, "part puppet from_on"),
        _table("replacements", "replacement", facts.Replacement, "shot take character part"),
        _table("sequences", "sequence", facts.Sequence),
        _table("shots", "shot", facts.Shot),
        _table("stages", "stage", facts.Stage),
        _table("takes", "take", facts.Take, "shot number"),
        _ENTRIES,
        _CONFIRMATIONS,
    )
}


def tables_listed() -> Iterator[tuple[str, str]]:
    """List the tables and their columns, required ones marked with a star; last the crafts."""
    for table in TABLES.values():
        yield table.name, ", ".join(c.name + "*" * c.required for c in table.columns)
    yield "built-in crafts", ", ".join(craft.code for craft in facts.BUILT_IN_CRAFTS)


# --- The codes that a production knows

SUGGESTIONS = 200


class Codes:
    """The codes of one table. ``complete`` is False when some of them could not be read.

    Of a table of which single facts are found, no more is read for a single code.
    """

    def __init__(self, table: str, known: Iterable[str] = (), complete: bool = True) -> None:
        self.table = table
        self.complete = complete
        self._known = known
        self._listed: Listed[Any] | None = None
        self._some: dict[str, str | None] = {}
        self._suggested = 0

    @classmethod
    def of(cls, table: str, rows: Sequence[Any], complete: bool = True) -> Codes:
        """Return the codes of the facts of a table."""

        def known() -> Iterator[str]:
            for row in rows:
                yield row.code

        own = cls(table, known(), complete)
        own._listed = rows if isinstance(rows, Listed) else None
        return own

    @cached_property
    def _spelled(self) -> dict[str, str]:
        self._listed = None
        return {fold_code(spelled): spelled for spelled in self._known}

    def add(self, text: str) -> str:
        """Make a code known; return how it was first spelled."""
        return self._spelled.setdefault(fold_code(text), text)

    def get(self, text: str) -> str | None:
        """Return the code as first spelled, or None when it is not known."""
        key = fold_code(text)
        if self._listed is None:
            return self._spelled.get(key)
        if key not in self._some:
            if len(self._some) >= FEW:
                return self._spelled.get(key)
            fact = self._listed.of_key(key)
            self._some[key] = None if fact is None else fact.code
        return self._some[key]

    def find(self, cell: v.Cell) -> str:
        """Find the code that a cell names, as first spelled. Raises Unreadable for another."""
        if isinstance(cell, str) and (spelled := self.get(cell)) is not None:
            return spelled
        text = v.code(cell)
        if not self.complete:
            return text
        hint = f"Add it to the {self.table} table, or correct the code."
        if like := self.like(text):
            hint = f"Write {like}, or add {text} to the {self.table} table."
        raise v.Unreadable(f"there is no such {TABLES[self.table].one}", hint)

    def like(self, text: str) -> str | None:
        """Find the known code most like this one. It is slow: after SUGGESTIONS times, None."""
        self._suggested += 1
        known = self._spelled.values() if self._suggested <= SUGGESTIONS else ()
        return next(iter(nearest(text, known, most=1)), None)


CodeBooks = dict[str, Codes]


def codes_of(written: WrittenLog, incomplete: Collection[str] = ()) -> CodeBooks:
    """Return the codes of every table that has its own, as the log knows them."""
    return {
        name: Codes.of(name, getattr(written, name), name not in incomplete)
        for name, table in TABLES.items()
        if table.coded
    }


def find_shot_and_take(text: str, shots: Codes) -> tuple[str, int | None]:
    """Read ``010-020`` or ``010-020/2``. Raises Unreadable for an unknown shot or a bad take."""
    shot, slash, take = text.strip().partition("/")
    if slash and not (take.isascii() and take.isdigit() and 0 < len(take) < 7 and int(take) > 0):
        raise v.Unreadable("the take is not a whole number from 1", "Write it like 010-020/2.")
    return shots.find(shot), int(take) if slash else None


_FILE_AND_SHEET = re.compile(r"(?:.*/)?(?P<file>[^/]+?)\.[A-Za-z]+(?: sheet (?P<sheet>.+))?")


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """The rows of one table in one file, as wide as its header; cells run beside numbers."""

    table: str
    file: str
    header_row: int = 1
    header: tuple[str, ...]
    numbers: tuple[int, ...]
    cells: tuple[tuple[v.Cell, ...], ...]

    def place(self, index: int | None = None) -> Place:
        """Return where the row of that index was read; without one, the header."""
        return Place(self.file, self.header_row if index is None else self.numbers[index])

    @property
    def known_as(self) -> str:
        """Return the name that it comes under again: the file's without folder and ending, and in
        a workbook the sheet's."""
        found = _FILE_AND_SHEET.fullmatch(self.file)
        return "/".join(filter(None, found.groups())) if found else self.file
