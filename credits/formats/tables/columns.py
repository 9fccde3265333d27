"""The tables and their columns: what a spreadsheet may hold, and which fact each row becomes.

The columns of a table are the fields of its fact, in their order. A field's type says how its cells
are read, its default what an empty cell means; only what a type cannot say is written here.
"""

from __future__ import annotations

from dataclasses import MISSING, Field, dataclass, fields
from datetime import date
from enum import StrEnum
from fractions import Fraction
from types import NoneType
from typing import Any, get_args, get_type_hints

from credits.formats.tables import cells as v
from credits.model import facts
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
    ``told_apart_by``: a key column that may be left out where the rest of the key is enough.
    """

    name: str
    one: str
    fact: type[Any]
    columns: tuple[SheetColumn, ...]
    coded: bool = False
    told_apart_by: str | None = None

    @property
    def column_names(self) -> tuple[str, ...]:
        """The names of the columns in their order."""
        return tuple(column.name for column in self.columns)


_REFERS = {
    "person": "people",
    "same_as": "people",
    "craft": "crafts",
    "character": "characters",
    "puppet": "puppets",
    "part": "parts",
    "sequence": "sequences",
    "shot": "shots",
    "stage": "stages",
}
_NAMES = {"wish": "credit_wish", "length": "frames", "number": "take"}
_BY_FIELD: dict[str, v.Reader] = {
    "note": v.note,
    "description": v.note,
    "email": v.email,
    "isni": v.isni,
    "length": v.whole(1, HIGHEST_FRAME),
    "minutes": v.whole(0),
    "wait_minutes": v.whole(0),
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
    columns = _columns(fact, one, keys)
    coded = keys == "code"
    return SheetTable(
        name=name, one=one, fact=fact, columns=columns, coded=coded, told_apart_by=apart or None
    )


_ENTRIES = SheetTable(
    name="entries",
    one="entry",
    fact=facts.Work,
    columns=(
        SheetColumn(name="ref", reads=v.name),
        *_columns(facts.Work, "entry", ""),
        SheetColumn(name="logged_by", reads=v.name),
    ),
)
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
