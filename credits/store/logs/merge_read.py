"""What joining two logs reads of each: the past of every row of a list, chains of lines, cuts.

Codes are one code in upper and lower case. Where the other log spells one otherwise than ours, all
that it says is read in our spelling, since rows of ours name that.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import zip_longest
from operator import itemgetter
from typing import Any, NamedTuple

from credits.model.facts import Confirmation, EntryNumber
from credits.model.log import LogLine
from credits.model.merging import Key, RowOf
from credits.model.pasts import Past
from credits.store.file import Driver
from credits.store.reading import (
    CONFIRMATIONS,
    FACT_TABLES,
    LINES,
    WORK,
    FactTable,
    LogReader,
    line_of,
)
from credits.store.schema.records import RECORDS, References
from credits.store.seals.chain import SEALS, chain_of_lines, digests
from credits.store.seals.rewind import fact_then
from credits.text import fold_code

Row = tuple[Any, ...]
Shown = tuple[Any, ...]
"""What a cut shows: its length and its clips."""
Spelling = Mapping[str, Mapping[str, str]]
"""For each list how its codes are spelled, by the folded code."""

ENTRIES = "entries"
LINE_COLUMNS = tuple(name for name in RECORDS[ENTRIES].columns if name != RECORDS[ENTRIES].key)
"""The columns of a line, but its place in the file."""


_CORRECTS = tuple(LINE_COLUMNS.index(f"corrects_{name}") for name in ("origin", "number"))
_OF_WORK = itemgetter(*(LINE_COLUMNS.index(name) for name in WORK.names))
assert LINE_COLUMNS[:2] == ("origin", "number")


def _work_in(line: Row) -> Row:
    """Return what a line, as it is kept, says of work."""
    work: Row = _OF_WORK(line)
    return work


def _named(table: str) -> dict[str, str]:
    """Return the columns of a table that hold codes, its own too, and of which lists."""
    return {
        name: said.to.partition(".")[0]
        for name, column in RECORDS[table].columns.items()
        for said in column.said
        if isinstance(said, References) and "." in said.to and said.to.split(".")[0] in _CODED
    }


_CODED = {table.name for table in FACT_TABLES if table.has_code}
CODES_IN = {name: _named(name) for name in (*(t.name for t in FACT_TABLES), ENTRIES)}
"""The columns of lists and of lines that hold codes of lists, and of which."""
REFERS = {
    table.name: {
        field: CODES_IN[table.name][column]
        for field, column in zip(table.fields, table.names, strict=True)
        if column in CODES_IN[table.name]
    }
    for table in FACT_TABLES
}
"""The fields of the facts of each list that hold codes of lists, and of which."""


@dataclass(frozen=True, slots=True)
class KeptCut:
    """A cut as a log keeps it: its row but the version, and its clips.

    What makes two imports one cut is what they show: the length and the clips.
    """

    row: Row
    clips: tuple[Row, ...]

    @property
    def shows(self) -> Shown:
        """Return what the cut shows."""
        length = self.row[CUT_COLUMNS.index("length")]
        return length, self.clips


CUT_COLUMNS = tuple(name for name in RECORDS["cut_versions"].columns if name != "version")
CLIP_COLUMNS = tuple(
    name for name in RECORDS["cut_clips"].columns if name not in ("position", "version")
)


class DifferentLines(NamedTuple):
    """The first line that two logs have under one number, each in its way."""

    number: EntryNumber
    ours: LogLine
    theirs: LogLine


class MergeReader:
    """Reads a log for a merge. spelling: how our log spells codes; None: it is our log."""

    def __init__(self, log: LogReader, spelling: Spelling | None = None) -> None:
        self._driver = log.driver
        self.spelling: Spelling = spelling or {
            table.name: {fold_code(fact.code): fact.code for fact in table.facts(self._driver)}
            for table in FACT_TABLES
            if table.has_code
        }

    def _code(self, table: str, code: str) -> str:
        return self.spelling[table].get(fold_code(code), code)

    def _fact(self, table: FactTable, fact: Any) -> Any:
        """Return a fact in our spelling."""
        named = dict(REFERS[table.name])
        if table.has_code:
            named["code"] = table.name
        other = {}
        for name, of in named.items():
            code = getattr(fact, name)
            if code is not None and (ours := self._code(of, code)) != code:
                other[name] = ours
        return replace(fact, **other) if other else fact

    # -- lists ------------------------------------------------------------------------------------

    @cached_property
    def lists(self) -> dict[str, dict[Key, Past[Any]]]:
        """The past of every row of every list."""
        found: dict[str, dict[Key, list[Any]]] = {t.name: defaultdict(list) for t in FACT_TABLES}
        tables = {table.name: table for table in FACT_TABLES}
        history = "SELECT table_name, verb, old_row, new_row FROM history ORDER BY position"
        read: dict[tuple[str, str], tuple[Key, Any]] = {}

        def known(table: FactTable, text: str) -> tuple[Key, Any]:
            at = table.name, text
            if at not in read:
                fact = self._fact(table, fact_then(table, json.loads(text)))
                read[at] = table.key_of(table.values(fact)), fact
            return read[at]

        for name, verb, old, new in self._driver.execute(history):
            table = tables.get(name)
            if table is None:
                continue
            key = None if new is None else known(table, new)[0]
            if verb == "delete" or (old is not None and known(table, old)[0] != key):
                found[name][known(table, old)[0]].append(None)
            if verb != "delete" and new is not None:
                found[name][known(table, new)[0]].append(known(table, new)[1])
        pasts: dict[str, dict[Key, Past[Any]]] = {}
        for table in FACT_TABLES:
            own = found[table.name]
            facts = (self._fact(table, fact) for fact in table.facts(self._driver))
            now = {table.key_of(table.values(fact)): fact for fact in facts}
            for key, fact in now.items():
                if fact not in own[key]:  # another program wrote it behind the history
                    own[key].append(fact)
            pasts[table.name] = {
                key: Past(tuple(values), now.get(key)) for key, values in own.items()
            }
        return pasts

    def named(self) -> Iterator[RowOf]:
        """Yield the rows of lists that lines and confirmations name: they cannot be taken out."""
        named = {ENTRIES: CODES_IN[ENTRIES], CONFIRMATIONS.name: {"person": "people"}}
        for table, columns in named.items():
            for column, of in columns.items():
                query = f"SELECT DISTINCT {column} FROM {table} WHERE {column} IS NOT NULL"
                for (code,) in self._driver.execute(query):
                    yield of, (fold_code(code),)

    # -- lines ------------------------------------------------------------------------------------

    @cached_property
    def last_numbers(self) -> dict[str, int]:
        """The number of the last line of each origin."""
        query = "SELECT origin, max(number) FROM entries GROUP BY origin ORDER BY origin"
        return dict(self._driver.execute(query).fetchall())

    def lines_after(self, known: Mapping[str, int]) -> list[Row]:
        """Read the lines that another log does not have, as they are kept, in their order.

        known: the last number that it has of each origin.
        """
        columns = ", ".join(LINE_COLUMNS)
        place = RECORDS[ENTRIES].key
        found: list[tuple[Any, ...]] = []
        for origin, last in self.last_numbers.items():
            if last > known.get(origin, 0):
                query = f"SELECT {place}, {columns} FROM entries WHERE origin = ? AND number > ?"
                found += self._driver.execute(query, (origin, known.get(origin, 0)))
        return [self._line(row[1:]) for row in sorted(found, key=lambda row: row[0])]

    def _line(self, row: Sequence[Any]) -> Row:
        """Return a line, as it is kept, in our spelling."""
        named = CODES_IN[ENTRIES]
        return tuple(
            self._code(named[name], value) if name in named and value is not None else value
            for name, value in zip(LINE_COLUMNS, row, strict=True)
        )

    def uncorrected(self) -> dict[EntryNumber, Row]:
        """Return what every record says that nothing corrects, as it is kept, in our spelling; the
        last one first."""
        columns = ", ".join(LINE_COLUMNS)
        query = f"SELECT {columns} FROM entries ORDER BY {RECORDS[ENTRIES].key} DESC"
        found: dict[EntryNumber, Row] = {}
        corrected: set[tuple[str, int]] = set()
        for row in self._driver.execute(query):  # from the last: a correction before its line
            if row[_CORRECTS[1]] is not None:
                corrected.add((row[_CORRECTS[0]], row[_CORRECTS[1]]))
            elif (row[0], row[1]) not in corrected:
                found[EntryNumber(row[0], row[1])] = _work_in(self._line(row))
        return found

    def line_kept(self, origin: str, number: int) -> Row:
        """Read one line as it is kept, in our spelling."""
        query = f"SELECT {', '.join(LINE_COLUMNS)} FROM entries WHERE origin = ? AND number = ?"
        return self._line(self._driver.execute(query, (origin, number)).fetchone())

    def line(self, number: EntryNumber) -> LogLine:
        """Read one line."""
        rows = LINES.rows(self._driver, "origin = ? AND number = ?", number)
        return line_of(next(rows))

    def seals(self, origin: str) -> dict[int, str]:
        """Read the seals of an origin's lines, each by the last number that it seals."""
        query = f"SELECT last_row, seal FROM {SEALS} WHERE chain = ?"
        return dict(self._driver.execute(query, (chain_of_lines(origin),)).fetchall())

    def digests(self, origin: str, after: int, until: int) -> Iterator[tuple[int, bytes]]:
        """Yield the number of each line of an origin, and the SHA-256 of what it says."""
        for number, digest in digests(self._driver, chain_of_lines(origin), after):
            if number > until:
                return
            yield number, digest

    # -- what only grows beside lines -------------------------------------------------------------

    def every_row(self, table: str, but: str = "") -> list[Row]:
        """Read the rows of a table as they are kept, but their places; but: no such column."""
        columns = [name for name in RECORDS[table].columns if name not in (RECORDS[table].key, but)]
        query = f"SELECT {', '.join(columns)} FROM {table} ORDER BY {RECORDS[table].key}"
        return [tuple(row) for row in self._driver.execute(query)]

    def confirmations(self) -> tuple[Confirmation, ...]:
        """Read the words on how names are spelled, in our spelling of codes."""
        words: tuple[Confirmation, ...] = CONFIRMATIONS.facts(self._driver)
        return tuple(replace(word, person=self._code("people", word.person)) for word in words)

    @cached_property
    def cuts(self) -> dict[int, KeptCut]:
        """Every import of the cut, by its version."""
        return cuts_of(self._driver)

    def uses(self) -> list[tuple[int, str]]:
        """Read which version of the cut was in use, one after the other, and since when."""
        query = "SELECT version, used_at FROM cut_uses ORDER BY position"
        return [(version, at) for version, at in self._driver.execute(query)]

    def past_of_cuts(self) -> Past[Shown]:
        """Return what the cut in use has shown."""
        shown = tuple(self.cuts[version].shows for version, _ in self.uses())
        return Past(shown, shown[-1] if shown else None)

    def proofs(self) -> dict[int, str | None]:
        """Read the seal of each proof, by its number."""
        found = self._driver.execute("SELECT number, seal FROM proofs ORDER BY number")
        return dict(found.fetchall())


def cuts_of(driver: Driver) -> dict[int, KeptCut]:
    """Read every import of the cut, by its version."""
    columns, of_clips = ", ".join(CUT_COLUMNS), ", ".join(CLIP_COLUMNS)
    clips: dict[int, list[Row]] = defaultdict(list)
    query = f"SELECT version, {of_clips} FROM cut_clips ORDER BY version, clip_order"
    for version, *clip in driver.execute(query):
        clips[version].append(tuple(clip))
    rows = driver.execute(f"SELECT version, {columns} FROM cut_versions ORDER BY version")
    return {version: KeptCut(tuple(row), tuple(clips[version])) for version, *row in rows}


def first_difference(ours: MergeReader, theirs: MergeReader) -> DifferentLines | None:
    """Find the first line that both logs have under one number, each in its way.

    What has the same seal in both is the same. A line that only spells codes otherwise is too.
    """
    for origin, last in theirs.last_numbers.items():
        until = min(last, ours.last_numbers.get(origin, 0))
        sealed, others = ours.seals(origin), theirs.seals(origin)
        same = [n for n, seal in sealed.items() if n <= until and others.get(n) == seal]
        start = max(same, default=0)
        pairs = zip_longest(
            ours.digests(origin, start, until), theirs.digests(origin, start, until)
        )
        for own, other in pairs:
            if own == other:
                continue
            number = EntryNumber(origin, min(one[0] for one in (own, other) if one is not None))
            is_in_both = own is not None and other is not None and own[0] == other[0]
            if is_in_both and ours.line_kept(*number) == theirs.line_kept(*number):
                continue
            return DifferentLines(number, ours.line(number), theirs.line(number))
    return None
