"""Rows of the lists: read, checked, and compared with the log."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from credits.errors import Finding, Place
from credits.formats.tables.cells import Cell, Reader, Unreadable
from credits.formats.tables.codes import CodeBooks
from credits.formats.tables.columns import TABLES, Column, Table
from credits.formats.tables.sheets import Sheet, shown
from credits.model import facts
from credits.model.log import TableCount
from credits.text import nearest

NOTHING_BAD: frozenset[str] = frozenset()


class Rows:
    """One sheet's rows as values. Findings gather in ``findings``.

    ``bad`` says which cells of a row could not be read (or are missing), ``doubtful`` which columns
    may stand under a name that is not known, so that nothing is concluded from them.
    """

    def __init__(self, sheet: Sheet, table: Table | None = None) -> None:
        self.sheet = sheet
        self.table = table or TABLES[sheet.table]
        self.findings: list[Finding] = []
        self.bad: dict[int, set[str]] = {}
        self.doubtful: set[str] = set()
        self._at: dict[str, int] = {}
        self._cells: list[tuple[Cell, ...]] = list(zip(*sheet.cells, strict=True))
        self._read: dict[str, list[object]] = {}
        self._understand_header()

    def __len__(self) -> int:
        return len(self.sheet.cells)

    @property
    def usable(self) -> bool:
        """Whether the columns that say which row is meant are all there."""
        return all(self.has(c.name) for c in self.table.columns if c.key and c.required)

    def has(self, column: str) -> bool:
        """Whether the sheet has the column."""
        return column in self._at

    def bad_in(self, index: int) -> set[str] | frozenset[str]:
        """The columns of a row that hold nothing to conclude from."""
        bad = self.bad.get(index)
        if self.doubtful:
            return self.doubtful | (bad or set())
        return bad or NOTHING_BAD

    def problem(
        self, index: int, column: str | None, value: object, what: str, hint: str = ""
    ) -> None:
        """Note what is wrong in a row; ``value`` None: the row as a whole."""
        text = None if value is None else str(value)
        self.findings.append(Finding(what, hint, self.sheet.place(index), column, text))

    def _understand_header(self) -> None:
        place = Place(self.sheet.file, self.sheet.header_row)
        known = self.table.column_names
        for position, name in enumerate(self.sheet.header):
            if not name:
                self._check_unheaded(position)
            elif name not in known:
                like = nearest(name, [c for c in known if c not in self.sheet.header])
                hint = f"Rename it {like[0]}, or take it out." if like else "Take it out."
                self.doubtful.update(like[:1] or known)
                hint += f" The columns of {self.table.name} are {', '.join(known)}."
                what = "is not a column of this table"
                self.findings.append(Finding(what, hint, place, "column", name))
            elif name in self._at:
                what = "is there more than once"
                self.findings.append(Finding(what, "Keep one.", place, "column", name))
            else:
                self._at[name] = position
        for column in self.table.columns:
            must = column.key or self.table.name == "entries"
            if column.required and must and column.name not in self._at:
                what = "this column is missing"
                hint = f"Every row of {self.table.name} needs one."
                self.findings.append(Finding(what, hint, place, "column", column.name))

    def _check_unheaded(self, position: int) -> None:
        for index, row in enumerate(self.sheet.cells):
            if row[position]:
                what = f"stands in column {position + 1}, which has no heading"
                self.problem(index, None, shown(row[position]), what, "Give it a heading.")
                return

    def column(self, column: Column, books: CodeBooks) -> list[object]:
        """The values of a column, read once; the column's ``empty`` where the sheet has no such
        column, where the cell is empty and where it cannot be read."""
        if column.name in self._read:
            return self._read[column.name]
        at = self._at.get(column.name)
        if at is None:
            values = [column.empty] * len(self)
        else:
            cells = self._cells[at] if self._cells else ()
            reads = column.reads if column.refers is None else books[column.refers].find
            values = list(self._values(column, cells, reads))
        self._read[column.name] = values
        return values

    def _values(
        self, column: Column, cells: tuple[Cell, ...], reads: Reader
    ) -> list[object] | Iterator[object]:
        read, wrong = _read_each(set(cells), reads)
        if column.required:
            wrong[""] = Unreadable("is empty", f"Every row of {self.table.name} needs one.")
        read[""] = column.empty
        found = wrong.keys() & set(cells)
        if found:
            for index, cell in enumerate(cells):
                if cell in found:
                    self.bad.setdefault(index, set()).add(column.name)
                    problem = wrong[cell]
                    value = shown(cell) or None
                    self.problem(index, column.name, value, problem.what, problem.hint)
                    read.setdefault(cell, column.empty)
        return map(read.__getitem__, cells)

    def own_codes(self, add: Callable[[str], str], books: CodeBooks) -> None:
        """Read the sheet's own codes and make them known; they become what was first spelled."""
        column = self.table.columns[0]
        values = self.column(column, books)
        values[:] = [add(value) if isinstance(value, str) else None for value in values]


def _read_each(
    cells: set[Cell], reads: Reader
) -> tuple[dict[Cell, object], dict[Cell, Unreadable]]:
    read: dict[Cell, object] = {}
    wrong: dict[Cell, Unreadable] = {}
    for cell in cells:
        if cell:
            try:
                read[cell] = reads(cell)
            except Unreadable as problem:
                wrong[cell] = problem
    return read, wrong


Wrong = tuple[str, object, str, str]
"""Column, value, what is wrong, what would be right."""


@dataclass(slots=True)
class Checked:
    """The rows as they will stand, by code, for the checks that look across tables."""

    parts: Mapping[str, facts.Part] = field(default_factory=dict)
    puppets: Mapping[str, facts.Puppet] = field(default_factory=dict)
    shots: Mapping[str, facts.Shot] = field(default_factory=dict)
    crafts: Mapping[str, facts.Craft] = field(default_factory=dict)


def questions_of(fact: Any, checked: Checked) -> Iterator[Wrong]:
    """Everything that is wrong with a fact that is about to be written."""
    check = _CHECKS.get(type(fact))
    if check is not None:
        yield from check(fact, checked)


def _person(person: facts.Person, _: Checked) -> Iterator[Wrong]:
    if person.same_as == person.code:
        yield "same_as", person.same_as, "names the person's own code", "Write another, or nothing."


def _engagement(job: facts.Engagement, _: Checked) -> Iterator[Wrong]:
    if job.starts_on and job.ends_on and job.ends_on < job.starts_on:
        what = f"ends before it starts ({job.starts_on})"
        yield "ends_on", job.ends_on, what, "Correct one of the two dates."


def _craft(craft: facts.Craft, _: Checked) -> Iterator[Wrong]:
    if craft.footage and craft.kind is facts.Kind.BUILD:
        what = "a build craft claims no frames"
        yield "footage", "yes", what, "Write no, or kind performance."


def _puppet(puppet: facts.Puppet, _: Checked) -> Iterator[Wrong]:
    if puppet.ready_on and puppet.retired_on and puppet.retired_on < puppet.ready_on:
        what = f"lies before ready_on ({puppet.ready_on})"
        yield "retired_on", puppet.retired_on, what, "Correct one of the two dates."


def _fitting(fitting: facts.Fitting, checked: Checked) -> Iterator[Wrong]:
    if fitting.to_on and fitting.to_on < fitting.from_on:
        what = f"lies before from_on ({fitting.from_on})"
        yield "to_on", fitting.to_on, what, "Correct one of the two dates."
    part, puppet = checked.parts.get(fitting.part), checked.puppets.get(fitting.puppet)
    if part and puppet and part.character and part.character != puppet.character:
        what = f"is a part of {part.character}, but puppet {puppet.code} is {puppet.character}"
        yield "part", part.code, what, "Correct the part or the puppet."


def _replacement(seen: facts.Replacement, checked: Checked) -> Iterator[Wrong]:
    part, shot = checked.parts.get(seen.part), checked.shots.get(seen.shot)
    if part and part.character and part.character != seen.character:
        what = f"is a part of {part.character}, not of {seen.character}"
        yield "part", part.code, what, "Correct the part or the character."
    if shot:
        yield from beyond_shot(seen.frames.last, seen.frames.text, shot)


def beyond_shot(last: int, text: str, shot: facts.Shot) -> Iterator[Wrong]:
    """Frames that show a replacement after the shot has ended: nothing else would ever tell."""
    if last > shot.length:
        what = f"shot {shot.code} has {shot.length} frames"
        yield "frames", text, what, "Shorten the range, or correct the shot's length."


_CHECKS: Mapping[type, Callable[[Any, Checked], Iterator[Wrong]]] = {
    facts.Person: _person,
    facts.Engagement: _engagement,
    facts.Craft: _craft,
    facts.Puppet: _puppet,
    facts.Fitting: _fitting,
    facts.Replacement: _replacement,
}


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
