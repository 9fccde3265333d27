"""Rows of the reference tables become facts: new, changed or already there.

A row is matched by its key. A column that a sheet does not have leaves an existing fact's value as
it is; an empty cell in a column it has empties the value.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

from credits.errors import Finding
from credits.exchange.codes import CodeBooks
from credits.exchange.columns import Column, Table
from credits.exchange.reference_checks import Checked, questions_of
from credits.exchange.rows import NOTHING_BAD, Rows
from credits.model.batch import TableCount

Key = tuple[object, ...]


@dataclass(slots=True)
class _Said:
    """What the sheets say of one key: values by field, the row that said each first."""

    rows: Rows
    index: int
    values: dict[str, object] = field(default_factory=dict)
    said_in: dict[str, tuple[Rows, int]] = field(default_factory=dict)
    bad: bool = False


@dataclass(slots=True)
class TablePlan:
    """What a table becomes: the rows to write, all rows as they will stand, the count."""

    to_write: list[Any] = field(default_factory=list)
    by_key: dict[Key, Any] = field(default_factory=dict)
    count: TableCount = field(default_factory=TableCount)


def plan_reference(
    table: Table,
    sheets: Sequence[Rows],
    existing: Iterable[Any],
    books: CodeBooks,
    checked: Checked,
) -> TablePlan:
    """Plan one reference table; problems go to the sheets' findings."""
    keys = [column for column in table.columns if column.key]
    plan = TablePlan(by_key={tuple(getattr(f, k.field) for k in keys): f for f in existing})
    said: dict[Key, _Said] = {}
    for rows in sheets:
        if rows.usable:
            _gather(rows, keys, plan.by_key, said, books)
    new = changed = same = 0
    for key, what in said.items():
        before = plan.by_key.get(key)
        fact = _fact(table, before, what)
        if fact is None:
            continue
        if fact == before:
            same += 1
            continue
        _judge(fact, what, checked)
        plan.by_key[key] = fact
        plan.to_write.append(fact)
        new, changed = (new + 1, changed) if before is None else (new, changed + 1)
    plan.count = TableCount(new, changed, same)
    return plan


def _gather(
    rows: Rows,
    keys: list[Column],
    existing: dict[Key, Any],
    said: dict[Key, _Said],
    books: CodeBooks,
) -> None:
    columns = [column for column in rows.table.columns if rows.has(column.name)]
    given = [column for column in columns if not column.key]
    values = {c.name: rows.column(c, books) for c in (*keys, *given)}
    apart = rows.table.told_apart_by
    for index in range(len(rows)):
        bad = rows.bad.get(index, NOTHING_BAD)
        if any(column.name in bad for column in keys):
            continue
        key: Key = tuple(values[column.name][index] for column in keys)
        if apart is not None and not rows.has(apart):
            found = _only_match(rows, index, key, keys, existing)
            if found is None:
                continue
            key = found
        at = said.get(key)
        if at is None:
            at = said[key] = _Said(rows, index)
            at.values = {column.field: part for column, part in zip(keys, key, strict=True)}
        at.bad = at.bad or bool(bad)
        for column in given:
            if column.name not in bad:
                _say(at, rows, index, column, values[column.name][index])


def _say(at: _Said, rows: Rows, index: int, column: Column, value: object) -> None:
    """Take a row's word for a field; two rows of one load must not contradict each other."""
    if column.field in at.values:
        if at.values[column.field] != value:
            other_rows, other = at.said_in[column.field]
            place = other_rows.sheet.place(other)
            what = f"{place} says '{_plain(at.values[column.field])}' of the same {rows.table.one}"
            text = "" if value is None else _plain(value)
            rows.problem(index, column.name, text, what, "Keep one of the two rows.")
        return
    at.values[column.field] = value
    at.said_in[column.field] = (rows, index)


def _plain(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "" if value is None else str(getattr(value, "text", value))


def _only_match(
    rows: Rows, index: int, key: Key, keys: list[Column], existing: dict[Key, Any]
) -> Key | None:
    """The key of the one existing row that agrees in all but the column that was left out."""
    apart = rows.table.told_apart_by
    known = [at for at, column in enumerate(keys) if column.name != apart]
    found = [other for other in existing if all(other[at] == key[at] for at in known)]
    if len(found) > 1:
        what = f"{len(found)} {rows.table.name} are like this one, apart from {apart}"
        rows.problem(index, keys[0].name, key[0], what, f"Add the column {apart}.")
        return None
    return found[0] if found else key


def _fact(table: Table, before: Any, said: _Said) -> Any:
    """The fact as it will stand; None when a cell was bad or a new row lacks what it needs."""
    values = said.values
    if before is None:
        for column in table.columns:
            missing = column.required and column.field not in values
            if missing and not said.bad and column.name not in said.rows.doubtful:
                what = f"this {table.one} is new and needs a {column.name}"
                hint = f"Add the column {column.name}, or correct the {table.columns[0].name}."
                own = table.columns[0]
                said.rows.problem(said.index, own.name, values[own.field], what, hint)
                said.bad = True
    if said.bad or (before is None and any(_lacks(table, values))):
        return None
    if before is None:
        filled = {column.field: column.empty for column in table.columns}
    else:
        filled = {column.field: getattr(before, column.field) for column in table.columns}
    return table.fact(**(filled | values))


def _lacks(table: Table, values: dict[str, object]) -> Iterable[bool]:
    return (column.required and column.field not in values for column in table.columns)


def _judge(fact: Any, said: _Said, checked: Checked) -> None:
    for column, value, what, hint in questions_of(fact, checked):
        said.rows.problem(said.index, column, value, what, hint)


def findings_of(sheets: Iterable[Rows]) -> list[Finding]:
    """All findings of the sheets: sheet by sheet, row by row."""
    out: list[Finding] = []
    for rows in sheets:
        out += sorted(rows.findings, key=lambda f: (f.place.row or 0) if f.place else 0)
    return out
