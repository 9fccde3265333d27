"""Rows of entries: read and checked."""

from __future__ import annotations

import re
from collections import defaultdict, deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import repeat
from operator import attrgetter
from typing import Any, NamedTuple

from credits.errors import in_row
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
        sheet = self.rows.sheet
        return in_row(sheet.file, sheet.numbers[self.at])


def entry_rows(sheets: Sequence[Rows], books: CodeBooks, checked: Checked) -> list[SheetEntry]:
    """Read all entries of the sheets that hold no problem; problems go to the sheets' findings."""
    out: list[SheetEntry] = []
    for rows in sheets:
        can_conclude = all(rows.has(column.name) for column in _COLUMNS if column.required)
        refs, *said, logged_by = (rows.column(column, books) for column in _COLUMNS)
        works = _works(said, len(rows))
        rows.forget()
        wrong = _wrong_rows(works, checked)
        for index in sorted(wrong):
            bad = rows.bad_in(index)
            for column, value, what, hint in wrong[index]:
                if _NEEDS[column].isdisjoint(bad):
                    rows.problem(index, column, value, what, hint)
        if not can_conclude or rows.doubtful:
            continue
        entries = map(SheetEntry, works, refs, logged_by, repeat(rows), range(len(rows)))
        left_out = wrong.keys() | rows.bad.keys()
        out.extend(entry for entry in entries if entry.at not in left_out)
    return out


_SET_FIELDS = [getattr(Work, column.field).__set__ for column in _COLUMNS[1:-1]]


def _works(columns: Iterable[Iterable[object]], count: int) -> list[Work]:
    """Make the work of each row, of the columns of its fields.

    Every field is given, so the slots are filled column by column: the constructor, which takes
    names, takes three times as long.
    """
    works = list(map(object.__new__, repeat(Work, count)))
    for set_field, values in zip(_SET_FIELDS, columns, strict=True):
        deque(map(set_field, works, values), maxlen=0)
    return works


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


def _wrong_rows(works: Sequence[Work], checked: Checked) -> dict[int, list[Wrong]]:
    """Find by row everything that cannot be in an entry.

    What is alike in the fields that a rule looks at is looked at once.
    """
    found: dict[int, list[Wrong]] = defaultdict(list)
    for wrong_in, fields in _RULES:
        wrong = {
            values: said
            for values, work in dict(zip(map(fields, works), works, strict=True)).items()
            if (said := list(wrong_in(work, checked)))
        }
        for index, work in enumerate(works) if wrong else ():
            if (values := fields(work)) in wrong:
                found[index] += wrong[values]
    return found


def _wrong_place(work: Work, checked: Checked) -> Iterator[Wrong]:
    """Frames above the shot's length are for the checks."""
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


def _wrong_days(work: Work, _: Checked) -> Iterator[Wrong]:
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


# Each rule, and the fields that it looks at.
_RULES: tuple[tuple[Callable[[Work, Checked], Iterator[Wrong]], Callable[[Work], Any]], ...] = (
    (_wrong_target, attrgetter("craft", "character", "puppet", "part")),
    (_wrong_place, attrgetter("shot", "sequence", "take", "frames")),
    (_wrong_days, attrgetter("started_on", "finished_on")),
)


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
    """

    lines: list[LogLine]
    counts: LogLine | None = None
    void: LogLine | None = None

    @property
    def number(self) -> EntryNumber:
        """The number under which it was first written."""
        return self.lines[0].number

    def is_of(self, sheet: str) -> bool:
        """Whether a sheet, by its folded name, ever said it."""
        return any(_came_in(line, sheet) for line in self.lines)

    def has_key_in(self, sheet: str) -> bool:
        """Whether it has a key of its own in a sheet, by its folded name."""
        return any(
            line.ref is not None and _came_in(line, sheet) and entry_of_key(line.ref) is None
            for line in self.lines
        )

    def last_loaded(self, ref: str | None, sheet: str | None = None) -> Work | None:
        """What a sheet said under this key when it was last loaded; without a name, any sheet."""
        loaded = (line for line in reversed(self.lines) if line.ref == ref and line.source)
        own = (line for line in loaded if sheet in (None, fold_code(line.sheet or "")))
        return next((line.work for line in own), None)

    def ever_said(self) -> set[Work]:
        """Every content the entry ever had."""
        return {line.work for line in self.lines if line.work is not None}


def _came_in(line: LogLine, sheet: str) -> bool:
    return line.sheet is not None and fold_code(line.sheet) == sheet


def chains_of(lines: Sequence[LogLine]) -> list[Chain]:
    """Return every entry ever recorded, by number, with its amendments as they were written."""
    chains = {line.number: Chain([line], line) for line in lines if line.verb is Verb.RECORD}
    records = records_of(lines)
    touched = {record: chains[record] for record in records.values() if record in chains}
    for chain in touched.values():
        chain.counts = None
    of_touched = []
    for line in lines if touched else ():
        record = records.get(line.number, line.number)
        if record in touched:
            of_touched.append(line)
            if line.verb is Verb.AMEND:
                touched[record].lines.append(line)
            elif line.verb is Verb.VOID:
                touched[record].void = line
    for first, holds in current_lines(of_touched)[0]:
        touched[first.number].counts = holds
    for chain in touched.values():
        if len(chain.lines) > 2:
            chain.lines.sort(key=lambda line: (line.logged_at, line.number))
    return list(chains.values())
