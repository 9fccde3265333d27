"""Rows of the lists: read, checked, and compared with the log."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from credits.errors import Finding, Place
from credits.formats.tables.cells import Cell, Reader, Unreadable, shown
from credits.formats.tables.columns import TABLES, CodeBooks, Sheet, SheetColumn, SheetTable
from credits.formats.tables.headings import unknown_heading
from credits.model import facts
from credits.model.log import TableCount
from credits.model.replay import one_person
from credits.units.frames import Frames

NOTHING_BAD: frozenset[str] = frozenset()


class Rows:
    """One sheet's rows as values. Findings gather in ``findings``.

    ``bad`` says which cells of a row could not be read (or are missing), ``doubtful`` which columns
    may stand under a name that is not known, so that nothing is concluded from them.
    """

    def __init__(self, sheet: Sheet, table: SheetTable | None = None) -> None:
        self.sheet = sheet
        self.table = table or TABLES[sheet.table]
        self.findings: list[Finding] = []
        self.bad: dict[int, set[str]] = {}
        self.doubtful: set[str] = set()
        self._at: dict[str, int] = {}
        self._read: dict[str, list[Any]] = {}
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

    def is_empty(self, index: int, column: str) -> bool:
        """Whether a row has nothing in a column of the sheet."""
        return not self.sheet.cells[index][self._at[column]]

    def bad_in(self, index: int) -> set[str] | frozenset[str]:
        """Return the columns of a row that hold nothing to conclude from."""
        bad = self.bad.get(index, NOTHING_BAD)
        return self.doubtful | bad if self.doubtful else bad

    def problem(
        self, index: int | None, column: str | None, value: object, what: str, hint: str = ""
    ) -> None:
        """Note what is wrong in a row, or in the header; ``value`` None: the row as a whole."""
        text = None if value is None else str(value)
        self.findings.append(Finding(what, hint, self.sheet.place(index), column, text))

    def _understand_header(self) -> None:
        known = self.table.column_names
        for position, name in enumerate(self.sheet.header):
            if not name:
                cells = (row[position] for row in self.sheet.cells)
                if stray := next(((at, cell) for at, cell in enumerate(cells) if cell), None):
                    what = f"stands in column {position + 1}, which has no heading"
                    self.problem(stray[0], None, shown(stray[1]), what, "Give it a heading.")
            elif name not in known:
                data = any(row[position] for row in self.sheet.cells)
                like, hint = unknown_heading(name, self.table, self.sheet.header, data)
                self.doubtful.update(like or known)
                self.problem(None, "column", name, "is not a column of this table", hint)
            elif name in self._at:
                self.problem(None, "column", name, "is there more than once", "Keep one.")
            else:
                self._at[name] = position
        for column in self.table.columns:
            must = column.key or self.table.name == "entries"
            if column.required and must and column.name not in self._at:
                hint = f"Every row of {self.table.name} needs one."
                self.problem(None, "column", column.name, "this column is missing", hint)

    def column(self, column: SheetColumn, books: CodeBooks) -> list[Any]:
        """Return a column's values, read once; ``empty`` where nothing is said or can be read."""
        if column.name not in self._read and self.has(column.name):
            reads = column.reads if column.refers is None else books[column.refers].find
            self._read[column.name] = self._values(column, reads)
        return self._read.setdefault(column.name, [column.empty] * len(self))

    def forget(self) -> None:
        """Let go of the values of all columns, once something else is made of them."""
        self._read.clear()

    def by_row(self, books: CodeBooks, *names: str) -> Iterator[tuple[Any, ...]]:
        """Return each row's values of the columns of these names; without names, of all."""
        columns = (c for c in self.table.columns if not names or c.name in names)
        return zip(*(self.column(column, books) for column in columns), strict=True)

    def _values(self, column: SheetColumn, reads: Reader) -> list[object]:
        """Read each cell that is different once: a long sheet repeats itself."""
        at = self._at[column.name]
        cells = [row[at] for row in self.sheet.cells]
        read: dict[Cell, object] = {"": column.empty}
        wrong: dict[Cell, Unreadable] = {}
        for cell in set(cells):
            try:
                if cell:
                    read[cell] = reads(cell)
                elif column.required:
                    raise Unreadable("is empty", f"Every row of {self.table.name} needs one.")
            except Unreadable as problem:
                wrong[cell], read[cell] = problem, column.empty
        for index, cell in enumerate(cells) if wrong else ():
            if cell in wrong:
                self.bad.setdefault(index, set()).add(column.name)
                what, hint = wrong[cell].what, wrong[cell].hint
                self.problem(index, column.name, shown(cell) or None, what, hint)
        return list(map(read.__getitem__, cells))

    def own_codes(self, books: CodeBooks) -> None:
        """Read the sheet's own codes and make them known; they become what was first spelled."""
        own = books[self.table.name]
        values = self.column(self.table.columns[0], books)
        values[:] = [own.add(value) if isinstance(value, str) else None for value in values]


def row_of(finding: Finding) -> int:
    """Return the row that a finding is about; 0 where it is about no row."""
    return (finding.place.row or 0) if finding.place else 0


# --- What cannot be in a row

Wrong = tuple[str, object, str, str]
"""SheetColumn, value, what is wrong, what would be right."""

Checked = Mapping[str, Mapping[str, Any]]
"""The rows as they will stand, by table and code, for the checks that look across tables."""

_DAYS = {
    facts.Engagement: ("starts_on", "ends_on"),
    facts.Puppet: ("ready_on", "retired_on"),
    facts.Fitting: ("from_on", "to_on"),
    facts.Work: ("started_on", "finished_on"),
}


def backwards(fact: Any) -> Iterator[Wrong]:
    """Find a last day that lies before the first day of the same fact."""
    first, last = _DAYS[type(fact)]
    begin, end = getattr(fact, first), getattr(fact, last)
    if begin is not None and end is not None and end < begin:
        yield last, end, f"lies before {first} ({begin})", "Correct one of the two dates."


def beyond_shot(last: int, shot: facts.Shot) -> str | None:
    """Say that frames show a replacement after the shot has ended: nothing else ever would."""
    return f"shot {shot.code} has {shot.length} frames" if last > shot.length else None


def wrong_in(fact: Any, checked: Checked) -> Iterator[Wrong]:
    """Find everything that cannot be in a fact of a reference table."""
    if type(fact) in _DAYS:
        yield from backwards(fact)
    match fact:
        case facts.Person() if fact.same_as == fact.code:
            yield "same_as", fact.code, "names the person's own code", "Write another, or nothing."
        case facts.Craft(footage=True, kind=facts.Kind.BUILD):
            what = "a build craft claims no frames"
            yield "footage", "yes", what, "Write no, or kind performance."
        case facts.Fitting():
            part, puppet = checked["parts"].get(fact.part), checked["puppets"].get(fact.puppet)
            if part and puppet and part.character not in (None, puppet.character):
                whose = f"puppet {puppet.code} is {puppet.character}"
                what = f"is a part of {part.character}, but {whose}"
                yield "part", part.code, what, "Correct the part or the puppet."
        case facts.Replacement():
            part, shot = checked["parts"].get(fact.part), checked["shots"].get(fact.shot)
            if part and part.character not in (None, fact.character):
                what = f"is a part of {part.character}, not of {fact.character}"
                yield "part", part.code, what, "Correct the part or the character."
            if shot and (beyond := beyond_shot(fact.frames.last, shot)):
                hint = "Shorten the range, or correct the shot's length."
                yield "frames", fact.frames.text, beyond, hint


def named_by_joining(people: Iterable[facts.Person]) -> Iterator[tuple[str, Wrong]]:
    """Find codes of people who asked not to be named, and stand for somebody who did not."""
    by_code = {person.code: person for person in people}
    for code, one in one_person(by_code.values()).items():
        asked = by_code[code].wish is facts.CreditWish.UNCREDITED
        if asked and by_code[one].wish is not facts.CreditWish.UNCREDITED:
            what = f"would name {code}, who asked not to be named, as {one}"
            hint = "Give both the same credit_wish first, the one that holds."
            yield code, ("same_as", one, what, hint)


# --- What a table becomes

Key = tuple[object, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ListChange:
    """A row of a list that changes: where the sheet says it, and old and new text of its columns.

    ``key``: what says which row is meant, as people read it.
    """

    table: str
    key: str
    place: Place
    columns: Mapping[str, tuple[str, str]]


@dataclass(slots=True)
class _Said:
    """What the sheets say of one key: by field the value, and the row that said it first."""

    rows: Rows
    index: int
    fields: dict[str, tuple[object, Rows, int]]
    bad: bool = False


def plan_reference(
    table: SheetTable,
    sheets: Sequence[Rows],
    existing: Iterable[Any],
    books: CodeBooks,
    checked: Checked,
    changes: list[ListChange],
) -> tuple[list[Any], list[Any], TableCount]:
    """Plan one reference table: the rows to write, all rows as they will stand, the count.

    changes: takes up what changes in rows that are there.
    """
    keys = [column for column in table.columns if column.key]
    before_all = tuple(existing)
    by_key: dict[Key, Any] = {tuple(getattr(f, k.field) for k in keys): f for f in before_all}
    said: dict[Key, _Said] = {}
    for rows in sheets:
        if rows.usable:
            _gather(rows, keys, by_key, said, books)
    written: list[Any] = []
    counts: Counter[str] = Counter()
    for key, what in said.items():
        before = by_key.get(key)
        if (fact := _fact(table, before, what)) is None:
            continue
        counts["same" if fact == before else "new" if before is None else "changed"] += 1
        if fact != before:
            for wrong in wrong_in(fact, checked):
                _, by, at = what.fields.get(wrong[0], (None, what.rows, what.index))
                by.problem(at, *wrong)
            _keep_wish(before, fact, what)
            if before is not None:
                changes.append(_change(table, before, fact, what))
            by_key[key] = fact
            written.append(fact)
    if table.fact is facts.Person:
        known = dict(named_by_joining(before_all))
        for code, wrong in named_by_joining(by_key.values()):
            if code not in known and (row := said.get((code,))):
                row.rows.problem(row.index, *wrong)
    return written, list(by_key.values()), TableCount(**counts)


def _gather(
    rows: Rows,
    keys: list[SheetColumn],
    existing: dict[Key, Any],
    said: dict[Key, _Said],
    books: CodeBooks,
) -> None:
    """Take the rows' word for fields; two rows of one load must not contradict each other."""
    columns = [c for c in rows.table.columns if c.key or rows.has(c.name)]
    apart = rows.table.apart
    for index, values in enumerate(rows.by_row(books, *(c.name for c in columns))):
        bad = rows.bad.get(index, NOTHING_BAD)
        if any(column.name in bad for column in keys):
            continue
        given = list(zip(columns, values, strict=True))
        key: Key = tuple(value for column, value in given if column.key)
        if apart and not rows.has(apart):
            if (match := _only_match(rows, index, key, keys, existing)) is None:
                continue
            key = match
        parts = {k.field: (part, rows, index) for k, part in zip(keys, key, strict=True)}
        own = said.setdefault(key, _Said(rows, index, parts))
        own.bad |= bool(bad)
        for column, value in given:
            if column.key or column.name in bad:
                continue
            before, by, at = own.fields.setdefault(column.field, (value, rows, index))
            if isinstance(before, Frames) and isinstance(value, Frames):
                # One row an exposure is how face sheets are written: together they are the part's.
                longest = (by, at) if before.last >= value.last else (rows, index)
                own.fields[column.field] = (before | value, *longest)
            elif before != value:
                what = (
                    f"{by.sheet.place(at)} says '{plain_cell(before)}' of the same {rows.table.one}"
                )
                rows.problem(
                    index, column.name, plain_cell(value), what, "Keep one of the two rows."
                )


def _keep_wish(before: Any, fact: Any, said: _Said) -> None:
    """Refuse an empty cell that would name somebody who asked not to be named."""
    if not isinstance(before, facts.Person) or fact.wish is before.wish:
        return
    _, rows, index = said.fields["wish"]
    if rows.is_empty(index, "credit_wish"):
        what = f"is empty, and would change {before.code} from {before.wish} to {fact.wish}"
        hint = f"Write {before.wish} to keep it, or {fact.wish}."
        rows.problem(index, "credit_wish", None, what, hint)


def _change(table: SheetTable, before: Any, fact: Any, said: _Said) -> ListChange:
    values = [(c, getattr(before, c.field), getattr(fact, c.field)) for c in table.columns]
    return ListChange(
        table=table.name,
        key=" ".join(plain_cell(new) for column, _, new in values if column.key and new),
        place=said.rows.sheet.place(said.index),
        columns={
            column.name: (plain_cell(old), plain_cell(new))
            for column, old, new in values
            if old != new
        },
    )


def plain_cell(value: object) -> str:
    """Return a value as a cell would hold it."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "" if value is None else str(getattr(value, "text", value))


def _only_match(
    rows: Rows, index: int, key: Key, keys: list[SheetColumn], existing: dict[Key, Any]
) -> Key | None:
    """The key of the one existing row that agrees in all but the column that was left out."""
    apart = rows.table.apart
    known = [at for at, column in enumerate(keys) if column.name != apart]
    found = [other for other in existing if all(other[at] == key[at] for at in known)]
    if len(found) > 1:
        what = f"{len(found)} {rows.table.name} are like this one, apart from {apart}"
        rows.problem(index, keys[0].name, key[0], what, f"Add the column {apart}.")
        return None
    return found[0] if found else key


def _fact(table: SheetTable, before: Any, said: _Said) -> Any:
    """The fact as it will stand; None when a cell was bad or a new row lacks what it needs."""
    if said.bad:
        return None
    values = {name: value for name, (value, *_) in said.fields.items()}
    if before is not None:
        known = {column.field: getattr(before, column.field) for column in table.columns}
        return table.fact(**(known | values))
    lacking = [c for c in table.columns if c.required and c.field not in values]
    own = table.columns[0]
    for name in [c.name for c in lacking if c.name not in said.rows.doubtful][:1]:
        what = f"this {table.one} is new and needs a {name}"
        hint = f"Add the column {name}, or correct the {own.name}."
        said.rows.problem(said.index, own.name, values[own.field], what, hint)
    empty = {column.field: column.empty for column in table.columns}
    return None if lacking else table.fact(**(empty | values))
