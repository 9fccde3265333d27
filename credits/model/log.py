"""What was written: every line of the log as it was said, and what one command writes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields
from datetime import date, datetime
from enum import StrEnum
from typing import Any

from credits.model import facts
from credits.model.facts import EntryNumber

Value = str | int | None


class Verb(StrEnum):
    """What a line of the log does."""

    RECORD = "record"
    AMEND = "amend"
    VOID = "void"


@dataclass(frozen=True, slots=True, kw_only=True)
class NewLine:
    """A line to append to the log; its number and time are given when it is written.

    ``record`` and ``amend`` carry the whole work as it is to be read; ``amend`` and ``void`` name
    the line they correct. ``ref`` is the spreadsheet's own key; ``source`` says file and row.
    ``sheet``: the name by which the spreadsheet is known each time it comes; a ``ref`` is a row's
    key within it.
    """

    verb: Verb
    work: facts.Work | None = None
    corrects: EntryNumber | None = None
    logged_by: str | None = None
    why: str | None = None
    ref: str | None = None
    source: str | None = None
    sheet: str | None = None

    def written(self, number: EntryNumber, logged_at: datetime) -> LogLine:
        """Return the line that it is once it is written."""
        # A load writes many, so the fields are written out.
        return LogLine(
            verb=self.verb,
            work=self.work,
            corrects=self.corrects,
            logged_by=self.logged_by,
            why=self.why,
            ref=self.ref,
            source=self.source,
            sheet=self.sheet,
            number=number,
            logged_at=logged_at,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class LogLine(NewLine):
    """One line of the log, never changed once written."""

    number: EntryNumber
    logged_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class CutVersion:
    """One import of the cut, for the list of versions."""

    version: int
    source: str
    clips: int
    length: int
    brought_in_on: date | None
    current: bool


@dataclass(frozen=True, slots=True, kw_only=True)
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


@dataclass(frozen=True, slots=True, kw_only=True)
class ListCorrection:
    """Why a row of a list was voided, or another took its place (``instead``), as it was written.

    ``row`` and ``instead`` are the keys of the rows as people read them.
    """

    table: str
    row: str
    instead: str | None
    why: str
    corrected_by: str | None
    written_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Tables:
    """The reference tables, each once: a table stands after the tables whose codes it names.

    Each may be read only when somebody looks at it.
    """

    crafts: Sequence[facts.Craft] = ()
    people: Sequence[facts.Person] = ()
    engagements: Sequence[facts.Engagement] = ()
    characters: Sequence[facts.Character] = ()
    puppets: Sequence[facts.Puppet] = ()
    parts: Sequence[facts.Part] = ()
    fittings: Sequence[facts.Fitting] = ()
    sequences: Sequence[facts.Sequence] = ()
    shots: Sequence[facts.Shot] = ()
    stages: Sequence[facts.Stage] = ()
    takes: Sequence[facts.Take] = ()
    replacements: Sequence[facts.Replacement] = ()


REFERENCE_TABLES: tuple[str, ...] = tuple(table.name for table in fields(Tables))


@dataclass(frozen=True, slots=True, kw_only=True)
class WrittenLog(Tables):
    """Everything the store reads: the settings, the tables as they stand, every line of the log.

    ``lines`` may be read only when somebody looks at them; ``index_of`` finds single ones.
    """

    production: facts.Production
    lines: Sequence[LogLine] = ()
    cut: facts.Cut | None = None
    cut_versions: Sequence[CutVersion] = ()
    settlements: Sequence[facts.Settlement] = ()
    confirmations: Sequence[facts.Confirmation] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class NewProof:
    """Compiled credits to freeze; the number, the time and the place in the log are given then.

    ``content``: the credits as JSON text. ``plan``: its TOML text, or the name of the built-in
    plan. ``lines`` and ``people``: how many print. ``episode``: None: they are of the whole film.
    """

    content: str
    plan: str
    lines: int
    people: int
    saved_by: str | None = None
    note: str | None = None
    episode: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RowCorrection:
    """A row of a list to void, or to replace by one with another key.

    ``table``: the list. ``row``: the fact as it stands; ``instead``: the fact that takes its
    place, None: the row is void.
    """

    table: str
    row: Any
    instead: Any = None
    why: str
    corrected_by: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Batch(Tables):
    """Everything one command writes. Reference rows are new, or replace the row of the same key.

    Keys: the code; for engagements person, department, job title and start; for fittings part,
    puppet and start; for replacements shot, take, character and part; for takes shot and number.
    ``cleared_face_sheets`` names (shot, take) whose replacements are removed before the batch's
    own are written. ``corrections`` come before all rows. A cut's ``version`` is given
    when it is written.
    """

    cleared_face_sheets: tuple[tuple[str, int | None], ...] = ()
    corrections: tuple[RowCorrection, ...] = ()
    lines: tuple[NewLine, ...] = ()
    cut: facts.Cut | None = None
    settlements: tuple[facts.NewSettlement, ...] = ()
    confirmations: tuple[facts.NewConfirmation, ...] = ()
    proof: NewProof | None = None


@dataclass(frozen=True, slots=True)
class TableCount:
    """How many rows of a table were new, changed and already there."""

    new: int = 0
    changed: int = 0
    same: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Receipt:
    """What a batch became: the numbers of its lines in their order, the cut's version, the number
    of the proof."""

    numbers: tuple[EntryNumber, ...] = ()
    cut_version: int | None = None
    counts: Mapping[str, TableCount] = field(default_factory=dict)
    proof: int | None = None
