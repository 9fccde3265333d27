"""One load: every table and what it would write."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from credits.errors import Finding
from credits.formats.tables.columns import TABLES, codes_of
from credits.formats.tables.confirmations import plan_confirmations
from credits.formats.tables.entries import entry_rows, plan_entries
from credits.formats.tables.lists import Rows, plan_reference, row_of
from credits.formats.tables.sheets import Sheets
from credits.model.log import Batch, TableCount, WrittenLog


@dataclass(frozen=True, slots=True)
class LoadPlan:
    """``batch`` is empty as soon as there is one problem: a load is written whole or not at all.

    ``counts``: for each table that was given, how many rows are new, changed and the same.
    ``notes``: what else the report says: rows that were not filled in, or that stay as they are.
    """

    batch: Batch = field(default_factory=Batch)
    problems: tuple[Finding, ...] = ()
    counts: Mapping[str, TableCount] = field(default_factory=dict)
    notes: tuple[Finding, ...] = ()

    @property
    def changes_nothing(self) -> bool:
        """Whether there is nothing to write."""
        return self.batch == Batch()


# A table stands after those whose rows are needed to check its own.
_IN_ORDER = (
    "crafts", "people", "characters", "puppets", "parts", "sequences", "shots", "stages",
    "engagements", "fittings", "takes", "replacements",
)  # fmt: skip


def plan_load(read: Sheets, written: WrittenLog) -> LoadPlan:
    """Plan what loading these sheets into this log writes; every problem of every row is found."""
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
    for name in _IN_ORDER:
        new[name], standing, counted[name] = plan_reference(
            TABLES[name], by_table[name], getattr(written, name), books, checked
        )
        if TABLES[name].coded:
            checked[name] = {fact.code: fact for fact in standing}
    entries = entry_rows(by_table["entries"], books, checked)
    new["lines"], counted["entries"] = plan_entries(entries, written.lines)
    new["confirmations"], corrected, counted["confirmations"] = plan_confirmations(
        by_table["confirmations"], written, checked["people"], by_table["people"], books
    )
    counts = {name: counted[name] for name in TABLES if by_table[name]}
    found = (found for rows in all_rows for found in sorted(rows.findings, key=row_of))
    problems = (*read.problems, *found)
    if problems:
        return LoadPlan(problems=problems, counts=counts)
    # A correction is the last word on a row that this load writes too.
    new["people"] = ({person.code: person for person in new["people"]} | corrected).values()
    facts: dict[str, Any] = {name: tuple(rows) for name, rows in new.items()}
    return LoadPlan(Batch(**facts), counts=counts)
