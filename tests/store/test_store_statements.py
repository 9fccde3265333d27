"""The statements that write rows are those of the table classes, and so is what is kept."""

from __future__ import annotations

from datetime import UTC, date, datetime
from enum import StrEnum
from fractions import Fraction
from types import UnionType
from typing import Any, get_args

import pytest
from sqlalchemy import bindparam, delete, insert, update
from sqlalchemy.dialects.sqlite import dialect
from sqlalchemy.sql import ClauseElement

from credits.model.facts import EntryNumber, Subjects
from credits.store.schema.records import RECORDS, LogRecord
from credits.store.schema.statements import as_kept, delete_text, insert_text, update_text
from credits.store.schema.tables import METADATA
from credits.units.frames import Frames

VALUES: dict[Any, list[Any]] = {
    str: ["wick", ""],
    int: [0, 7],
    bool: [True, False],
    date: [date(2026, 3, 2)],
    datetime: [datetime(2026, 3, 2, 18, 5, tzinfo=UTC)],
    Fraction: [Fraction(1, 2), Fraction(3)],
    Frames: [Frames.of((1, 21), (25, 49))],
    EntryNumber: [EntryNumber("A", 17)],
    Subjects: [(("puppet", "wick-1"),)],
}


def of_classes(statement: ClauseElement, columns: list[str]) -> str:
    """A statement as the table classes say it, without quotes and line breaks."""
    said = statement.compile(dialect=dialect(), column_keys=columns)
    return " ".join(str(said).replace('"', "").replace("=?", " = ?").split())


@pytest.mark.parametrize("record", RECORDS.values(), ids=RECORDS)
def test_statements_are_those_of_the_table_classes(record: LogRecord) -> None:
    table, columns = METADATA.tables[record.name], list(record.columns)
    place = table.c[record.key] == bindparam("at")
    others = columns[1:]
    assert insert_text(record.name, columns) == of_classes(insert(table), columns)
    assert insert_text(record.name, others) == of_classes(insert(table), others)
    changed = of_classes(update(table).where(place), others)
    named = f"{record.name}.{record.key}"
    assert update_text(record.name, others) == changed.replace(named, record.key)
    removed = of_classes(delete(table).where(place), [])
    assert delete_text(record.name) == removed.replace(named, record.key)


@pytest.mark.parametrize("record", RECORDS.values(), ids=RECORDS)
def test_values_are_kept_as_the_table_classes_keep_them(record: LogRecord) -> None:
    for name, column in record.columns.items():
        kind = get_args(column.kind)[0] if isinstance(column.kind, UnionType) else column.kind
        is_word = isinstance(kind, type) and issubclass(kind, StrEnum)
        values = [*(kind if is_word else VALUES[kind]), None]
        write = METADATA.tables[record.name].c[name].type.bind_processor(dialect())
        kept = values if write is None else [write(value) for value in values]
        assert list(as_kept(record.name, name, values)) == kept
