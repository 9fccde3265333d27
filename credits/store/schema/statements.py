"""Statements that write rows, in plain SQL, made from the records of the log."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from credits.store.engines.driver import Driver
from credits.store.schema.records import RECORDS, Default


def insert_text(table: str, columns: Sequence[str]) -> str:
    """Return the statement that inserts a row with values in these columns."""
    marks = ", ".join("?" * len(columns))
    return f"INSERT INTO {table} ({', '.join(columns)}) VALUES ({marks})"


def update_text(table: str, columns: Sequence[str]) -> str:
    """Return the statement that changes these columns of the row at a place, which comes last."""
    changes = ", ".join(f"{column} = ?" for column in columns)
    return f"UPDATE {table} SET {changes} WHERE {RECORDS[table].key} = ?"


def delete_text(table: str) -> str:
    """Return the statement that removes the row at a place."""
    return f"DELETE FROM {table} WHERE {RECORDS[table].key} = ?"


def as_kept(table: str, column: str, values: Sequence[Any]) -> Iterable[Any]:
    """Return the values of a column as they are kept; of equal values one is made."""
    codec = RECORDS[table].columns[column].codec
    if codec is None:
        return values
    kept = {value: None if value is None else codec.write(value) for value in set(values)}
    return map(kept.__getitem__, values)


def rows_as_kept(
    table: str, columns: Sequence[str], rows: Sequence[Sequence[Any]]
) -> Iterator[tuple[Any, ...]]:
    """Return rows, with values in the order of the columns, as they are kept."""
    of_columns = zip(columns, zip(*rows, strict=True), strict=True)
    return zip(*(as_kept(table, name, values) for name, values in of_columns), strict=True)


def insert_rows(
    driver: Driver, table: str, columns: Sequence[str], rows: Sequence[Sequence[Any]]
) -> None:
    """Insert rows whose values stand in the order of the columns.

    A column that is empty in all of them is left out. Raises what the driver raises.
    """
    given = {
        name: values
        for name, values in zip(columns, zip(*rows, strict=True), strict=True)
        if values.count(None) < len(values) or _has_default(table, name)
    }
    kept = (as_kept(table, name, values) for name, values in given.items())
    driver.executemany(insert_text(table, list(given)), zip(*kept, strict=True))


def _has_default(table: str, column: str) -> bool:
    return any(isinstance(said, Default) for said in RECORDS[table].columns[column].said)
