"""Facts and rows: how the facts of a table are read and written, from the table classes alone."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import fields
from typing import Any

from sqlalchemy import Connection, Executable, Select, select

from credits.model.facts import EntryNumber, Work
from credits.model.log import REFERENCE_TABLES, LogLine
from credits.store.tables import (
    ConfirmationRecord,
    CutClipRecord,
    LineRecord,
    LogTable,
    ProofRecord,
    SettlementRecord,
    key_columns,
    table_of,
)
from credits.text import fold_code

Values = dict[str, Any]


def many(connection: Connection, statement: Executable) -> Iterator[Sequence[Any]]:
    """Read the rows by the thousand: one by one they take half as long again."""
    for rows in connection.execute(statement).partitions(1000):
        yield from rows


class FactTable:
    """A table class with the columns that hold the fields of its facts, in the fields' order."""

    def __init__(self, record: type[LogTable]) -> None:
        self.table = table_of(record)
        self.name = self.table.name
        self.fact = record.fact
        self.fields = tuple(field.name for field in fields(record.fact))
        self.names = tuple(record.renamed.get(field, field) for field in self.fields)
        self.columns = tuple(self.table.c[name] for name in self.names)
        (self.place,) = self.table.primary_key.columns
        self.has_code = self.fields[0] == "code"
        self.key = (f"{self.names[0]}_key",) if self.has_code else key_columns(self.table)

    def values(self, fact: Any) -> Values:
        """The fact as values by column."""
        values = {
            name: getattr(fact, field) for name, field in zip(self.names, self.fields, strict=True)
        }
        if self.has_code:
            values[f"{self.names[0]}_key"] = fold_code(values[self.names[0]])
        return values

    def key_of(self, values: Values) -> tuple[Any, ...]:
        """What makes a row of a reference table unique: its folded code, or several columns."""
        return tuple(values[name] for name in self.key)

    def select(self) -> Select[Any]:
        """What reads every row in the order of first writing: its place, the fact's values."""
        return select(self.place, *self.columns).order_by(self.place)

    def rows(self, connection: Connection) -> Iterator[tuple[int, Any]]:
        """The facts of the table, each behind the place of its row."""
        for row in many(connection, self.select()):
            yield row[0], self.fact(*row[1:])

    def facts(self, connection: Connection) -> tuple[Any, ...]:
        """The facts of the table, in the order of first writing."""
        return tuple(fact for _, fact in self.rows(connection))


RECORDS = {str(record.__tablename__): record for record in LogTable.__subclasses__()}
FACT_TABLES = tuple(FactTable(RECORDS[name]) for name in REFERENCE_TABLES)
CLIPS = FactTable(CutClipRecord)
SETTLEMENTS = FactTable(SettlementRecord)
CONFIRMATIONS = FactTable(ConfirmationRecord)
PROOFS = FactTable(ProofRecord)
WORK = FactTable(LineRecord)

LINES = table_of(LineRecord)
_OF_A_LINE = (
    "origin", "number", "verb", "logged_at", "corrects_origin", "corrects_number", "logged_by",
    "why", "ref", "source",
)  # fmt: skip


def select_lines() -> Select[Any]:
    """What reads every line of the log, in the order in which they were written."""
    return select(*(LINES.c[name] for name in _OF_A_LINE), *WORK.columns).order_by(WORK.place)


def read_lines(connection: Connection) -> Iterator[LogLine]:
    """Every line of the log; made for 125,000 of them, so written out."""
    for row in many(connection, select_lines()):
        (origin, number, verb, logged_at, corrects_origin, corrects_number,
         logged_by, why, ref, source, craft) = row[:11]  # fmt: skip
        yield LogLine(
            EntryNumber(origin, number),
            verb,
            logged_at,
            None if craft is None else Work(*row[10:]),
            None if corrects_number is None else EntryNumber(corrects_origin, corrects_number),
            logged_by,
            why,
            ref,
            source,
        )
