"""The tables and their columns: what a spreadsheet may hold, and which fact each row becomes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from credits.formats.tables import cells as v
from credits.formats.tables.cells import day
from credits.model import facts
from credits.units.frames import HIGHEST_FRAME


@dataclass(frozen=True, slots=True)
class Column:
    """One column. ``field``: the fact's; ``refers``: the table whose codes it holds.

    ``empty`` is the value of an empty cell; ``key`` columns say which row is meant.
    """

    name: str
    reads: v.Reader
    field: str
    required: bool = False
    key: bool = False
    refers: str | None = None
    empty: object = None


@dataclass(frozen=True, slots=True)
class Table:
    """One table of the production: ``one`` is the word for what a row is about.

    ``fact`` is the class a row becomes. ``coded``: the first column is the row's own code.
    ``told_apart_by``: a key column that may be left out where the rest of the key is enough.
    """

    name: str
    one: str
    fact: type[Any]
    columns: tuple[Column, ...]
    coded: bool = True
    told_apart_by: str | None = None

    @property
    def column_names(self) -> tuple[str, ...]:
        """The names in the order of the design."""
        return tuple(column.name for column in self.columns)

    def column(self, name: str) -> Column:
        """The column of that name. Raises KeyError."""
        for column in self.columns:
            if column.name == name:
                return column
        raise KeyError(name)


def _to(table: str, name: str, field: str | None = None, **marks: Any) -> Column:
    return Column(name, v.code, field or name, refers=table, **marks)


def _is(name: str, reads: v.Reader, field: str | None = None, **marks: Any) -> Column:
    return Column(name, reads, field or name, **marks)


def _own(name: str) -> Column:
    return Column(name, v.code, "code", required=True, key=True)


_MUST: dict[str, Any] = {"required": True}
_KEY: dict[str, Any] = {"required": True, "key": True}
_NUMBER = v.whole(1)
_MINUTES = v.whole(0)
_NO: dict[str, Any] = {"empty": False}

_ALL = (
    Table("people", "person", facts.Person, (
        _own("person"), _is("credit_name", v.name, **_MUST), _is("sort_name", v.name),
        _is("legal_name", v.name), _is("email", v.email), _is("isni", v.isni),
        _is("credit_wish", v.word(facts.CreditWish), "wish", empty=facts.CreditWish.CREDITED),
        _is("name_confirmed_on", day), _to("people", "same_as"), _is("note", v.note),
    )),
    Table("engagements", "engagement", facts.Engagement, (
        _to("people", "person", **_KEY), _is("department", v.name, **_KEY),
        _is("job_title", v.name, **_KEY), _is("starts_on", day, key=True), _is("ends_on", day),
        _is("guaranteed_heading", v.name), _is("billing_number", _NUMBER),
    ), coded=False, told_apart_by="starts_on"),
    Table("crafts", "craft", facts.Craft, (
        _own("craft"), _is("name", v.name, **_MUST), _is("department", v.name, **_MUST),
        _is("kind", v.word(facts.Kind), **_MUST), _is("footage", v.yes_no, **_NO),
        _is("heading", v.name), _is("repair", v.yes_no, **_NO),
    )),
    Table("characters", "character", facts.Character, (
        _own("character"), _is("name", v.name, **_MUST), _is("silent", v.yes_no, **_NO),
        _is("note", v.note),
    )),
    Table("puppets", "puppet", facts.Puppet, (
        _own("puppet"), _to("characters", "character", **_MUST), _is("copy", v.name),
        _is("scale", v.name), _is("ready_on", day), _is("retired_on", day), _is("note", v.note),
    )),
    Table("parts", "part", facts.Part, (
        _own("part"), _is("kind", v.name, **_MUST), _to("characters", "character"),
        _is("note", v.note),
    )),
    Table("fittings", "fitting", facts.Fitting, (
        _to("parts", "part", **_KEY), _to("puppets", "puppet", **_KEY),
        _is("from_on", day, **_KEY), _is("to_on", day),
    ), coded=False),
    Table("replacements", "replacement", facts.Replacement, (
        _to("shots", "shot", **_KEY), _is("take", _NUMBER, key=True),
        _to("characters", "character", **_KEY), _to("parts", "part", **_KEY),
        _is("frames", v.frames, **_MUST),
    ), coded=False),
    Table("sequences", "sequence", facts.Sequence, (_own("sequence"), _is("name", v.name))),
    Table("shots", "shot", facts.Shot, (
        _own("shot"), _to("sequences", "sequence", **_MUST),
        _is("frames", v.whole(1, HIGHEST_FRAME), "length", **_MUST),
        _is("status", v.word(facts.ShotStatus), empty=facts.ShotStatus.PLANNED),
        _is("description", v.note),
    )),
    Table("stages", "stage", facts.Stage, (_own("stage"), _is("unit", v.name))),
    Table("takes", "take", facts.Take, (
        _to("shots", "shot", **_KEY), _is("take", _NUMBER, "number", **_KEY),
        _is("purpose", v.word(facts.Purpose), empty=facts.Purpose.SHOOT),
        _is("decision", v.word(facts.Decision), empty=facts.Decision.OPEN),
        _is("decided_on", day),
    ), coded=False),
    # The columns of an entry from craft to private stand in the order of the fields of Work.
    Table("entries", "entry", facts.Work, (
        _is("ref", v.name), _to("crafts", "craft", **_MUST), _to("people", "person", **_MUST),
        _to("characters", "character"), _to("puppets", "puppet"), _to("parts", "part"),
        _to("sequences", "sequence"), _to("shots", "shot"), _is("take", _NUMBER),
        _is("frames", v.frames), _is("poses_on", _NUMBER), _is("share", v.share),
        _is("started_on", day), _is("finished_on", day), _is("minutes", _MINUTES),
        _is("wait_minutes", _MINUTES), _to("stages", "stage"), _is("note", v.note),
        _is("private", v.yes_no, **_NO), _is("logged_by", v.name),
    ), coded=False),
    # The sheet that asks how names are spelled, as it comes back.
    Table("confirmations", "confirmation", facts.Confirmation, (
        _to("people", "person", **_KEY), _is("credit_name", v.name), _is("headings", v.note),
        _is("confirmed", v.yes_no), _is("correction", v.name), _is("confirmed_on", day),
    ), coded=False),
)  # fmt: skip

TABLES: dict[str, Table] = {table.name: table for table in _ALL}
