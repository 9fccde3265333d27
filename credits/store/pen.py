"""The pen: what writes, inside one transaction of the log."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from datetime import datetime
from itertools import repeat
from pathlib import Path
from typing import Any

from credits.errors import Finding, Place, ProblemsFound
from credits.model.facts import Cut, EntryNumber, Proof, ProofMark
from credits.model.log import (
    Batch,
    NewConfirmation,
    NewLine,
    NewProof,
    NewSettlement,
    Receipt,
    TableCount,
    Verb,
    WrittenLog,
)
from credits.store.columns import (
    CLIPS,
    FACT_TABLES,
    PROOFS,
    FactTable,
    Row,
    confirmation_row,
    line_row,
    moment_text,
    settlement_row,
)
from credits.store.connection import LOG_NAME, in_words
from credits.store.reading import (
    next_mark,
    read_cut,
    read_cut_versions,
    read_log,
    read_proof,
    read_proofs,
)
from credits.store.refused import NOT_STORABLE, refused
from credits.store.settings import read_settings
from credits.store.statements import statements

FaceSheets = Sequence[tuple[str, int | None]]


class LogWriter:
    """Writes batches; given out by ``Log.writing()``, which commits when its block ends well."""

    def __init__(
        self,
        folder: Path,
        connection: sqlite3.Connection,
        origin: str,
        clock: Callable[[], datetime],
    ) -> None:
        self._folder = folder
        self._connection = connection
        self._origin = origin
        self._clock = clock

    def read(self) -> WrittenLog:
        """Everything written, with what this transaction has written so far."""
        production = read_settings(self._folder)
        with in_words(self._folder / LOG_NAME):
            return read_log(self._connection, production)

    def write(self, batch: Batch) -> Receipt:
        """Write the whole batch, or nothing of it.

        Lines get the next numbers of the log's origin in their order. Reference rows that are
        there already with the same values are left alone. Raises ProblemsFound with every row
        that the log refuses, of the first table that has such rows.
        """
        now = self._clock()
        with in_words(self._folder / LOG_NAME), self._all_or_nothing():
            counts: dict[str, TableCount] = {}
            for table in FACT_TABLES:
                facts = getattr(batch, table.name)
                cleared = batch.cleared_face_sheets if table.name == "replacements" else ()
                if facts or cleared:
                    counts[table.name] = self._put(table, facts, cleared)
            if batch.people:
                self._check_same_as()
            numbers = self._append(batch.lines, now)
            if batch.lines:
                new = sum(line.verb is Verb.RECORD for line in batch.lines)
                counts["entries"] = TableCount(new=new, changed=len(batch.lines) - new)
            version = None if batch.cut is None else self._bring_in(batch.cut, now)
            self._settle(batch.settlements, now)
            self._confirm(batch.confirmations, now)
            proof = None if batch.proof is None else self._freeze(batch.proof, now)
        return Receipt(numbers, version, counts, proof)

    def use_cut(self, version: int) -> None:
        """Make a version of the cut the current one. Raises WrongCall when there is none such."""
        with in_words(self._folder / LOG_NAME), self._all_or_nothing():
            read_cut(self._connection, version)
            current = [v.version for v in read_cut_versions(self._connection) if v.current]
            if current != [version]:
                self._use(version, self._clock())

    @contextmanager
    def _all_or_nothing(self) -> Iterator[None]:
        """A batch that fails leaves nothing, even if its caller goes on with the transaction."""
        connection = self._connection
        if not connection.in_transaction:
            raise RuntimeError("the pen is used outside the block of Log.writing()")
        connection.execute("SAVEPOINT batch")
        try:
            yield
        except BaseException:
            if connection.in_transaction:
                connection.execute("ROLLBACK TO batch")
                connection.execute("RELEASE batch")
            raise
        connection.execute("RELEASE batch")

    def _many(self, name: str, rows: Sequence[Row], places: Callable[[], Iterable[Place]]) -> None:
        statement = statements()[name]
        try:
            self._connection.executemany(statement, rows)
        except NOT_STORABLE as error:
            # What went in before the refused row is taken back, so that each row can be tried.
            self._connection.execute("ROLLBACK TO batch")
            table = name.split()[1]
            raise refused(self._connection, table, statement, rows, places(), error) from error

    def _put(self, table: FactTable[Any], facts: Sequence[Any], cleared: FaceSheets) -> TableCount:
        """Insert what is new, update what has other values, remove cleared face sheet rows."""
        there: dict[Row, tuple[int, Row]] = {}
        for position, *values in self._connection.execute(statements()[f"select {table.name}"]):
            old = tuple(values)
            there[table.key_of(old)] = (position, old)
        wanted: dict[Row, Row] = {}
        for fact in facts:
            row = table.row(fact)
            wanted[table.key_of(row)] = row
        gone = [
            (position,)
            for key, (position, old) in there.items()
            if key not in wanted and old[:2] in cleared
        ]
        inserts: list[Row] = []
        updates: list[Row] = []
        for key, row in wanted.items():
            if key not in there:
                inserts.append((*row, *key) if table.has_code else row)
                continue
            position, old = there[key]
            # The first spelling of a code stays: rows of an append-only log name it.
            if row[1:] != old[1:]:
                updates.append((*row[1:], position))
        places = repeat(Place(table.name))
        for verb, rows in (("delete", gone), ("update", updates), ("insert", inserts)):
            if rows:
                self._many(f"{verb} {table.name}", rows, lambda: places)
        changed = len(updates) + len(gone)
        return TableCount(len(inserts), changed, len(wanted) - len(inserts) - len(updates))

    def _check_same_as(self) -> None:
        lost = self._connection.execute(
            "SELECT person, same_as FROM people"
            " WHERE same_as IS NOT NULL AND same_as NOT IN (SELECT person FROM people)"
        ).fetchall()
        if lost:
            hint = "Name a code of the people table."
            raise ProblemsFound(
                *(
                    Finding(f"{person} is the same as nobody", hint, Place("people"), "same_as", of)
                    for person, of in lost
                )
            )

    def _append(self, lines: Sequence[NewLine], now: datetime) -> tuple[EntryNumber, ...]:
        if not lines:
            return ()
        (last,) = self._connection.execute(
            "SELECT coalesce(max(number), 0) FROM entries WHERE origin = ?", (self._origin,)
        ).fetchone()
        logged_at = moment_text(now)
        numbers = tuple(
            EntryNumber(self._origin, number) for number in range(last + 1, last + 1 + len(lines))
        )
        rows = [
            line_row(number, line, logged_at) for number, line in zip(numbers, lines, strict=True)
        ]
        self._many("insert entries", rows, lambda: _of_lines(lines))
        return numbers

    def _settle(self, settlements: Sequence[NewSettlement], now: datetime) -> None:
        rows = [settlement_row(each, now) for each in settlements]
        if rows:
            places = [Place("answers", at) for at in range(1, len(rows) + 1)]
            self._many("insert settlements", rows, lambda: places)

    def _confirm(self, confirmations: Sequence[NewConfirmation], now: datetime) -> None:
        rows = [confirmation_row(each, now) for each in confirmations]
        if rows:
            places = [Place("confirmations", at) for at in range(1, len(rows) + 1)]
            self._many("insert confirmations", rows, lambda: places)

    def _freeze(self, new: NewProof, now: datetime) -> int:
        """Number the proof and note how far the log goes, this transaction included."""
        mark = next_mark(self._connection, new, now)
        row = (*PROOFS.row(mark), new.content)
        self._many("insert proofs", [row], lambda: [Place("the proof")])
        return mark.number

    def proofs(self) -> tuple[ProofMark, ...]:
        """What every proof says of itself, the first one first."""
        with in_words(self._folder / LOG_NAME):
            return read_proofs(self._connection)

    def proof(self, number: int) -> Proof:
        """One proof with what it froze. Raises WrongCall when there is none of this number."""
        with in_words(self._folder / LOG_NAME):
            return read_proof(self._connection, number)

    def _bring_in(self, cut: Cut, now: datetime) -> int:
        (version,) = self._connection.execute(
            "SELECT coalesce(max(version), 0) + 1 FROM cut_versions"
        ).fetchone()
        day = cut.brought_in_on or now.date()
        row: Row = (version, cut.source, cut.length, day.isoformat())
        self._many("insert cut_versions", [row], lambda: [Place("the cut")])
        clips = [(version, *CLIPS.row(clip)) for clip in cut.clips]
        self._many(
            "insert cut_clips", clips, lambda: [Place("the cut", clip.order) for clip in cut.clips]
        )
        self._use(version, now)
        return int(version)

    def _use(self, version: int, now: datetime) -> None:
        self._connection.execute(statements()["insert cut_uses"], (version, moment_text(now)))


def _of_lines(lines: Sequence[NewLine]) -> Iterator[Place]:
    for at, line in enumerate(lines, start=1):
        yield Place(line.source) if line.source else Place("entry", at)
