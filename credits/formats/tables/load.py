"""One load: every table and what it would write."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from credits.errors import Finding, Place, grouped
from credits.formats.tables.again import Choices, KnownEntries, SheetReport, plan_sheet
from credits.formats.tables.answered import plan_confirmations
from credits.formats.tables.columns import TABLES, CodeBooks, codes_of
from credits.formats.tables.entries import entry_rows
from credits.formats.tables.lists import Checked, ListChange, Rows, plan_reference, row_of
from credits.formats.tables.sheets import Sheets
from credits.model.log import Batch, NewLine, TableCount, WrittenLog
from credits.model.replay import Implied
from credits.text import fold_code
from credits.units.frames import Frames


@dataclass(frozen=True, slots=True, kw_only=True)
class FileRead:
    """A file or sheet that was read, the table it holds, and how many rows."""

    file: str
    table: str
    rows: int


@dataclass(frozen=True, slots=True, kw_only=True)
class FacesReport:
    """Which frames of a shot and take a face sheet replaces, and which stay as they are."""

    shot: str
    take: int | None
    replaced: Frames
    kept: Frames


@dataclass(frozen=True, slots=True)
class LoadPlan:
    """``batch`` is empty as soon as there is one problem: a load is written whole or not at all.

    ``counts``: for each table that was given, how many rows are new, changed and the same.
    ``notes``: what else the report says: rows that were not filled in, or that stay as they are.
    ``read`` and ``left_out``: what was read, and what was not and why. ``sheets``: each sheet of
    entries. ``lists``: rows of lists that change. ``faces``: what a face sheet replaces.
    ``questions``: how many questions of the checks were open before, and are; None: not asked.
    """

    batch: Batch = field(default_factory=Batch)
    problems: tuple[Finding, ...] = ()
    counts: Mapping[str, TableCount] = field(default_factory=dict)
    notes: tuple[Finding, ...] = ()
    read: tuple[FileRead, ...] = ()
    left_out: tuple[Finding, ...] = ()
    sheets: tuple[SheetReport, ...] = ()
    lists: tuple[ListChange, ...] = ()
    faces: FacesReport | None = None
    questions: tuple[int, int] | None = None

    @property
    def changes_nothing(self) -> bool:
        """Whether there is nothing to write."""
        return self.batch == Batch()

    @property
    def needs_word(self) -> bool:
        """Whether nothing was written because so much would change that somebody must say so."""
        return any(sheet.needs_word for sheet in self.sheets)

    @property
    def is_whole(self) -> bool:
        """Whether everything was written that the sheets say."""
        return not self.problems and not any(sheet.not_written for sheet in self.sheets)


# A table stands after those whose rows are needed to check its own.
_IN_ORDER = (
    "crafts", "people", "characters", "puppets", "parts", "sequences", "shots", "stages",
    "engagements", "fittings", "takes", "replacements",
)  # fmt: skip


def plan_load(
    read: Sheets,
    written: WrittenLog,
    choices: Choices | None = None,
    origin: str = "A",
    today: date | None = None,
) -> LoadPlan:
    """Plan what loading these sheets into this log writes; every problem of every row is found.

    Sheets of entries are planned one after the other: each meets what those before it add.

    origin: the letters under which the log numbers new lines. today: no answer about a name is of
    a later day; None: nothing is asked of that.
    """
    choices = choices or Choices()
    all_rows = [Rows(sheet) for sheet in read.sheets]
    by_table: dict[str, list[Rows]] = defaultdict(list)
    for rows in all_rows:
        by_table[rows.sheet.table].append(rows)
    unusable = {rows.sheet.table for rows in all_rows if not rows.usable}
    books = codes_of(written, read.unread | unusable)
    for rows in all_rows:
        if rows.table.coded and rows.usable:  # its codes are known, however bad its rows are
            rows.own_codes(books)
    checked: dict[str, dict[str, Any]] = {}
    new: dict[str, Any] = {}
    counted: dict[str, TableCount] = {}
    changes: list[ListChange] = []
    for name in _IN_ORDER:
        new[name], standing, counted[name] = plan_reference(
            TABLES[name], by_table[name], getattr(written, name), books, checked, changes
        )
        if TABLES[name].coded:
            checked[name] = {fact.code: fact for fact in standing}
    new["lines"], sheets = _plan_entries(
        by_table["entries"], written, books, checked, choices, origin
    )
    of_sheets = [sheet.count for sheet in sheets]
    counted["entries"] = TableCount(
        new=sum(count.new for count in of_sheets),
        changed=sum(count.changed for count in of_sheets),
        same=sum(count.same for count in of_sheets),
    )
    answers = plan_confirmations(
        by_table["confirmations"], written, checked["people"], by_table["people"], books, today
    )
    new["confirmations"], counted["confirmations"] = answers.words, answers.count
    found = (found for rows in all_rows for found in sorted(rows.findings, key=row_of))
    plan = LoadPlan(
        problems=grouped((*read.problems, *found, *_twice(sheets, choices))),
        counts={name: counted[name] for name in TABLES if by_table[name]},
        read=tuple(
            FileRead(file=rows.sheet.file, table=rows.sheet.table, rows=len(rows))
            for rows in all_rows
        ),
        left_out=tuple(read.left_out),
        notes=answers.notes,
        sheets=tuple(sheets),
        lists=tuple(changes),
    )
    if plan.problems or plan.needs_word:
        return plan
    # A correction is the last word on a row that this load writes too.
    new["people"] = ({person.code: person for person in new["people"]} | answers.people).values()
    facts: dict[str, Any] = {name: tuple(rows) for name, rows in new.items()}
    return replace(plan, batch=Batch(**facts))


def _twice(sheets: Sequence[SheetReport], choices: Choices) -> Iterator[Finding]:
    """Find files of one sheet in a load that voids what a sheet has no row for: each would void
    what the other holds."""
    first: dict[str, str] = {}
    for sheet in sheets if choices.void_missing is not None else ():
        earlier = first.setdefault(fold_code(sheet.sheet), sheet.file)
        if earlier is not sheet.file:
            what = f"is the sheet {sheet.sheet}, as {earlier} is, and each lacks the other's rows"
            yield Finding(what, "Load each alone, or without --void-missing.", Place(sheet.file))


def _plan_entries(
    sheets: Sequence[Rows],
    written: WrittenLog,
    books: CodeBooks,
    checked: Checked,
    choices: Choices,
    origin: str,
) -> tuple[list[NewLine], list[SheetReport]]:
    """Plan the sheets of entries in their order: the lines that they append, and what is said."""
    if not sheets:
        return [], []
    known = KnownEntries(written.lines, origin)
    tables: dict[str, Any] = {name: tuple(rows.values()) for name, rows in checked.items()}
    implied = Implied(replace(written, lines=(), **tables))
    lines: list[NewLine] = []
    reports = []
    for rows in sheets:
        name = choices.sheet or rows.sheet.known_as
        report = SheetReport(file=rows.sheet.file, sheet=name)
        entries = entry_rows([rows], books, checked)
        lines += plan_sheet(entries, report, known, choices, implied.character)
        reports.append(report)
    return lines, reports
