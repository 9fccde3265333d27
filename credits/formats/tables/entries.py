"""Rows of entries: read and checked."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from credits.formats.tables.columns import TABLES, CodeBooks
from credits.formats.tables.lists import Checked, Rows, Wrong, backwards
from credits.model.facts import EntryNumber, Kind, Work
from credits.model.log import LogLine, Verb
from credits.model.replay import current_lines, records_of
from credits.text import fold_code

_COLUMNS = TABLES["entries"].columns


class SheetEntry(NamedTuple):
    """One row of an entries sheet: what it says, its own key, who logged it, where it stands."""

    work: Work
    ref: str | None
    logged_by: str | None
    rows: Rows
    at: int

    @property
    def source(self) -> str:
        """The file and row, as the log keeps it."""
        return str(self.rows.sheet.place(self.at))


def entry_rows(sheets: Sequence[Rows], books: CodeBooks, checked: Checked) -> list[SheetEntry]:
    """Read all entries of the sheets that hold no problem; problems go to the sheets' findings."""
    out: list[SheetEntry] = []
    for rows in sheets:
        fields = [column.field for column in _COLUMNS[1:-1]]
        can_conclude = all(rows.has(column.name) for column in _COLUMNS if column.required)
        for index, (ref, *values, logged_by) in enumerate(rows.by_row(books)):
            bad = rows.bad_in(index)
            work = Work(**dict(zip(fields, values, strict=True)))
            wrong = list(_wrong(work, checked))
            for column, value, what, hint in wrong:
                if _NEEDS[column].isdisjoint(bad):
                    rows.problem(index, column, value, what, hint)
            if not wrong and not bad and can_conclude:
                out.append(SheetEntry(work, ref, logged_by, rows, index))
    return out


# The cells that a finding about a column is concluded from: all of them must have been read.
_NEEDS = {
    "character": {"craft", "character", "puppet", "part"},
    "puppet": {"character", "puppet"},
    "part": {"character", "puppet", "part"},
    "sequence": {"sequence", "shot"},
    "take": {"shot", "take"},
    "frames": {"shot", "frames"},
    "finished_on": {"started_on", "finished_on"},
}


def _wrong(work: Work, checked: Checked) -> Iterator[Wrong]:
    """Everything that cannot be in an entry. Frames above the shot's length are for the checks."""
    yield from _wrong_target(work, checked)
    if work.shot is None:
        what = "the entry names no shot"
        if work.take is not None:
            yield "take", work.take, what, "Name the shot of the take."
        if work.frames is not None:
            yield "frames", work.frames.text, what, "Name the shot they are in."
    elif work.sequence is not None:
        known = checked["shots"].get(work.shot)
        if known and known.sequence != work.sequence:
            what = f"shot {work.shot} is in sequence {known.sequence}"
            yield "sequence", work.sequence, what, f"Write {known.sequence}, or leave it empty."
    yield from backwards(work)


def _wrong_target(work: Work, checked: Checked) -> Iterator[Wrong]:
    character = work.character
    if character is None and work.puppet is None and work.part is None:
        what = "the entry names no character, puppet or part"
        yield "character", None, what, "Name what was worked on."
        return
    puppet = checked["puppets"].get(work.puppet) if work.puppet else None
    part = checked["parts"].get(work.part) if work.part else None
    if puppet and character and puppet.character != character:
        what = f"is a puppet of {puppet.character}, not of {character}"
        yield "puppet", work.puppet, what, "Correct the puppet or the character."
    whose = character or (puppet.character if puppet else None)
    if part and part.character and whose and part.character != whose:
        what = f"is a part of {part.character}, not of {whose}"
        yield "part", work.part, what, "Correct the part, or the character or puppet."
    if character is None and work.puppet is None and part and part.character is None:
        craft = checked["crafts"].get(work.craft)
        if craft and craft.kind is Kind.PERFORMANCE:
            what = f"part {part.code} belongs to no character, so whose performance is not said"
            yield "character", None, what, "Name the character."


# --- Entries of the log with their corrections

_ENTRIES_KEY = re.compile(r"=([A-Z]+-[0-9]+)/[0-9a-f]+")


def entry_of_key(ref: str) -> EntryNumber | None:
    """Find the entry that a row of a day sheet shows by its key ``=A-17/7f3a``; else None."""
    match = _ENTRIES_KEY.fullmatch(ref)
    return EntryNumber.parse(match[1]) if match else None


@dataclass(slots=True, eq=False)
class Chain:
    """An entry of the log with its corrections: all it ever said, and the line that counts.

    ``counts``: None when it is void, by the line ``void``.
    ``sheets``: the sheets that said it, folded, each with the refs that it has there.
    """

    lines: list[LogLine]
    counts: LogLine | None = None
    void: LogLine | None = None
    sheets: dict[str, set[str]] = field(default_factory=dict)

    @property
    def number(self) -> EntryNumber:
        """The number under which it was first written."""
        return self.lines[0].number

    def note_sheet(self, line: LogLine) -> None:
        """Note in which sheet a line of it came."""
        if line.sheet is not None:
            refs = self.sheets.setdefault(fold_code(line.sheet), set())
            if line.ref is not None and entry_of_key(line.ref) is None:
                refs.add(line.ref)

    def last_loaded(self, ref: str | None, sheet: str | None = None) -> Work | None:
        """What a sheet said under this key when it was last loaded; without a name, any sheet."""
        loaded = (line for line in reversed(self.lines) if line.ref == ref and line.source)
        own = (line for line in loaded if sheet in (None, fold_code(line.sheet or "")))
        return next((line.work for line in own), None)

    def ever_said(self) -> set[Work]:
        """Every content the entry ever had."""
        return {line.work for line in self.lines if line.work is not None}


def chains_of(lines: Sequence[LogLine]) -> list[Chain]:
    """Return every entry ever recorded, by number, with its amendments as they were written."""
    chains = {line.number: Chain([line]) for line in lines if line.verb is Verb.RECORD}
    records = records_of(lines)
    for line in lines:
        chain = chains.get(records.get(line.number, line.number))
        if chain is not None and line.verb is Verb.AMEND:
            chain.lines.append(line)
        elif chain is not None and line.verb is Verb.VOID:
            chain.void = line
    for record, holds in current_lines(lines)[0]:
        chains[record.number].counts = holds
    for chain in chains.values():
        if len(chain.lines) > 2:
            chain.lines.sort(key=lambda line: (line.logged_at, line.number))
        for line in chain.lines:
            chain.note_sheet(line)
    return list(chains.values())
