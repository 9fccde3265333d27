"""How the rows of reference tables changed: the history that triggers write."""

from __future__ import annotations

import json
import sqlite3

from credits.errors import Finding, WrongCall
from credits.model.log import Change, Value
from credits.store.columns import FACT_TABLES, moment_of
from credits.text import fold_code

_CHANGES = """
    SELECT code, verb, old_row, new_row, changed_at FROM history
    WHERE table_name = ? AND fold_code(code) = ? ORDER BY position
"""
_LATER = """
    SELECT table_name, code, verb, old_row, new_row, changed_at FROM history
    WHERE position > ? ORDER BY position
"""


def read_history(connection: sqlite3.Connection, table: str, code: str) -> tuple[Change, ...]:
    """The changes of the rows of a code, the first one first; none: an empty tuple.

    Upper and lower case are the same. Raises WrongCall for a table that has no history.
    """
    names = ["log", *(known.name for known in FACT_TABLES)]
    if table not in names:
        hint = f"The tables are {', '.join(names)}."
        raise WrongCall(Finding("is not a table with a history", hint, None, "table", table))
    connection.create_function("fold_code", 1, fold_code, deterministic=True)
    return tuple(
        Change(table, key, verb, _differing(old, new), moment_of(changed_at))
        for key, verb, old, new, changed_at in connection.execute(
            _CHANGES, (table, fold_code(code))
        )
    )


def read_changes(connection: sqlite3.Connection, after: int) -> tuple[Change, ...]:
    """Every change of every table that was written behind the first ``after`` of them."""
    return tuple(
        Change(table, key, verb, _differing(old, new), moment_of(changed_at))
        for table, key, verb, old, new, changed_at in connection.execute(_LATER, (after,))
    )


def _differing(old: str | None, new: str | None) -> dict[str, tuple[Value, Value]]:
    before: dict[str, Value] = json.loads(old) if old else {}
    after: dict[str, Value] = json.loads(new) if new else {}
    return {
        column: (before.get(column), after.get(column))
        for column in {**before, **after}
        if before.get(column) != after.get(column)
    }
