"""The log as written: every line that was ever said, and the tables as they stand now."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from enum import StrEnum

from credits.model.facts import (
    Character,
    Confirmation,
    Craft,
    Cut,
    Engagement,
    EntryNumber,
    Fitting,
    Part,
    Person,
    Production,
    Puppet,
    Replacement,
    Sequence,
    Settlement,
    Shot,
    Stage,
    Take,
    Work,
)

Value = str | int | None


class Verb(StrEnum):
    """What a line of the log does."""

    RECORD = "record"
    AMEND = "amend"
    VOID = "void"


@dataclass(frozen=True, slots=True)
class Written:
    """One line of the log, never changed once written.

    ``record`` and ``amend`` carry the whole work as it is to be read; ``amend`` and ``void`` name
    the line they correct. ``ref`` is the spreadsheet's own key; ``source`` says file and row.
    """

    number: EntryNumber
    verb: Verb
    logged_at: datetime
    work: Work | None = None
    corrects: EntryNumber | None = None
    logged_by: str | None = None
    why: str | None = None
    ref: str | None = None
    source: str | None = None


@dataclass(frozen=True, slots=True)
class CutVersion:
    """One import of the cut, for the list of versions."""

    version: int
    source: str
    clips: int
    length: int
    brought_in_on: date | None
    current: bool


@dataclass(frozen=True, slots=True)
class Change:
    """One change of one row. ``key``: its code; where a table has none, its first column.

    ``verb``: insert, update or delete. ``columns``: column -> (old value, new value), of the
    columns that differ; None on the side on which there was no row.
    """

    table: str
    key: str
    verb: str
    columns: Mapping[str, tuple[Value, Value]]
    changed_at: datetime


@dataclass(frozen=True, slots=True)
class WrittenLog:
    """Everything the store reads: the settings, the tables as they stand, every line of the log."""

    production: Production
    crafts: tuple[Craft, ...] = ()
    people: tuple[Person, ...] = ()
    engagements: tuple[Engagement, ...] = ()
    characters: tuple[Character, ...] = ()
    puppets: tuple[Puppet, ...] = ()
    parts: tuple[Part, ...] = ()
    fittings: tuple[Fitting, ...] = ()
    replacements: tuple[Replacement, ...] = ()
    sequences: tuple[Sequence, ...] = ()
    shots: tuple[Shot, ...] = ()
    stages: tuple[Stage, ...] = ()
    takes: tuple[Take, ...] = ()
    lines: tuple[Written, ...] = ()
    cut: Cut | None = None
    cut_versions: tuple[CutVersion, ...] = field(default=())
    settlements: tuple[Settlement, ...] = ()
    confirmations: tuple[Confirmation, ...] = ()
