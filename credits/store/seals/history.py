"""The lists held against their history: whoever changes a row behind the triggers is found."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

from credits.store.engines.driver import Driver
from credits.store.schema.records import RECORDS, WITH_HISTORY, Default, LogRecord


class NotInHistory(NamedTuple):
    """A row of a list that its history does not know, or that it knows and the list has not.

    code: the code or the first column of the row. is_there: whether the list has it.
    """

    table: str
    code: str
    is_there: bool


def not_in_history(driver: Driver) -> Iterator[NotInHistory]:
    """Yield the rows of every list that are not as their history says, by list."""
    for name in WITH_HISTORY:
        record = RECORDS[name]
        first = record.said_columns[0]
        columns = ", ".join(record.said_columns)
        now = Counter(
            _said(record, dict(zip(record.said_columns, row, strict=True)))
            for row in driver.execute(f"SELECT {columns} FROM {name}")
        )
        then: Counter[str] = Counter()
        history = "SELECT old_row, new_row FROM history WHERE table_name = ? ORDER BY position"
        try:
            for old, new in driver.execute(history, (name,)):
                if old is not None:
                    then[_said(record, _row(old))] -= 1
                if new is not None:
                    then[_said(record, _row(new))] += 1
        except ValueError:  # a row of the history was altered: its seal says which
            continue
        for row in now.keys() | then.keys():
            if now[row] != then[row]:
                code = json.loads(row).get(first, "")
                yield NotInHistory(name, str(code), now[row] > then[row])


def _row(text: str) -> dict[str, Any]:
    """Return the row that the history holds. Raises ValueError where it holds none."""
    row = json.loads(text)
    if not isinstance(row, dict):
        raise ValueError("no row")
    return row


def _said(record: LogRecord, row: Mapping[str, Any]) -> str:
    """Return what a row says, as one text: its columns that hold something, but what they hold
    where nothing is said. A column that came later is in no row of the history before."""
    usual = {
        name: each.sql.strip("'")
        for name, column in record.columns.items()
        for each in column.said
        if isinstance(each, Default)
    }
    said = {
        name: value
        for name, value in row.items()
        if value is not None and str(value) != usual.get(name)
    }
    return json.dumps(said, ensure_ascii=False, sort_keys=True)
