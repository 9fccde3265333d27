"""How the rows of reference tables changed: the history that triggers write."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from credits.errors import Finding, WrongCall
from credits.store.columns import FACT_TABLES, Value, code_key, moment_of

_CHANGES = """
    SELECT code, verb, old_row, new_row, changed_at FROM history
    WHERE table_name = ? AND code_key(code) = ? ORDER BY position
"""


@dataclass(frozen=True, slots=True)
class Change:
    """One change of one row. ``key``: its code; where a table has none, its first column.

    ``verb``: insert, update or delete. ``columns``: column -> (old value, new value), of the
    columns that differ; None on the side on which there was no row.
    """

    table: str
    key: str
    verb: str
    columns: Mapping[str, tuple[Value, Value]]
    changed_at: datetime


def read_history(connection: sqlite3.Connection, table: str, code: str) -> tuple[Change, ...]:
    """The changes of the rows of a code, the first one first; none: an empty tuple.

    Upper and lower case are the same. Raises WrongCall for a table that has no history.
    """
    names = ["log", *(known.name for known in FACT_TABLES)]
    if table not in names:
        mend = f"The tables are {', '.join(names)}."
        raise WrongCall(Finding("is not a table with a history", mend, None, "table", table))
    connection.create_function("code_key", 1, code_key, deterministic=True)
    return tuple(
        Change(table, key, verb, _differing(old, new), moment_of(changed_at))
        for key, verb, old, new, changed_at in connection.execute(_CHANGES, (table, code_key(code)))
    )


def _differing(old: str | None, new: str | None) -> dict[str, tuple[Value, Value]]:
    before: dict[str, Value] = json.loads(old) if old else {}
    after: dict[str, Value] = json.loads(new) if new else {}
    return {
        column: (before.get(column), after.get(column))
        for column in {**before, **after}
        if before.get(column) != after.get(column)
    }
