"""SQLite: the triggers that keep the log append-only and its history, made from its records.

A column that is added later is in the history too.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import chain

from credits.store.schema.records import APPEND_ONLY, RECORDS, WITH_HISTORY, LogRecord

_NOW = "strftime('%Y-%m-%dT%H:%M:%fZ', 'now')"


def triggers() -> dict[str, str]:
    """Give the name and the text of every trigger, in the order in which they are made."""
    append_only = chain.from_iterable(_append_only(RECORDS[name]) for name in APPEND_ONLY)
    history = chain.from_iterable(_with_history(RECORDS[name]) for name in WITH_HISTORY)
    return dict((*append_only, _voids_stand(), *history, *_names_confirmed()))


def _trigger(name: str, event: str, table: str, body: str, when: str = "") -> tuple[str, str]:
    condition = f"WHEN {when} " if when else ""
    return name, f"CREATE TRIGGER {name} {event} ON {table} {condition}BEGIN {body}; END"


def _refuse(table: str, name: str, event: str, why: str, when: str = "") -> tuple[str, str]:
    refusing = f"SELECT RAISE(ABORT, '{why}')"
    return _trigger(f"{table}_{name}", f"BEFORE {event}", table, refusing, when)


def _new(expression: str) -> str:
    """Return what a column, or ``coalesce(take, 0)``, is in the new row."""
    start = "coalesce(" if expression.startswith("coalesce(") else ""
    return f"{start}NEW.{expression.removeprefix(start)}"


def _never_replaced(table: LogRecord, message: str) -> tuple[str, str]:
    """Refuse an existing key: INSERT OR REPLACE fires neither UPDATE nor DELETE triggers.

    The conditions are asked one by one, since SQLite looks each of them up in its own index.
    """
    keys = [(table.key,), *table.unique_keys]
    conditions = (" AND ".join(f"{each} = {_new(each)}" for each in key) for key in keys)
    taken = " OR ".join(f"EXISTS (SELECT 1 FROM {table.name} WHERE {each})" for each in conditions)
    return _refuse(table.name, "replaced", "INSERT", message, taken)


def _append_only(table: LogRecord) -> Iterator[tuple[str, str]]:
    message = f"the log is append-only: a row of {table.name} is never"
    yield _refuse(table.name, "changed", "UPDATE", f"{message} changed")
    yield _refuse(table.name, "removed", "DELETE", f"{message} removed")
    yield _never_replaced(table, f"{message} replaced")


def _with_history(table: LogRecord) -> Iterator[tuple[str, str]]:
    first, *_ = said = table.said_columns
    pairs = ", ".join(f"'{column}', NEW.{column}" for column in said)
    new = f"json_object({pairs})"
    old = new.replace("NEW.", "OLD.")
    for verb, key, before, after in (
        ("insert", "NEW", "NULL", new),
        ("update", "NEW", old, new),
        ("delete", "OLD", old, "NULL"),
    ):
        values = f"'{table.name}', {key}.{first}, '{verb}', {before}, {after}, {_NOW}"
        columns = "table_name, code, verb, old_row, new_row, changed_at"
        body = f"INSERT INTO history ({columns}) VALUES ({values})"
        yield _trigger(f"{table.name}_history_{verb}", f"AFTER {verb.upper()}", table.name, body)
    yield _never_replaced(table, f"the history is kept: a row of {table.name} is never replaced")


def _voids_stand() -> tuple[str, str]:
    """Refuse to correct a void: it would count nowhere, and nobody would see it."""
    void = (
        "EXISTS (SELECT 1 FROM entries WHERE origin = NEW.corrects_origin"
        " AND number = NEW.corrects_number AND verb = 'void')"
    )
    message = "a void is not corrected: write a new entry"
    return _refuse("entries", "corrects_void", "INSERT", message, void)


def _names_confirmed() -> Iterator[tuple[str, str]]:
    """Write a confirmation for a date that comes into the people table.

    It is a word on the name as it stands in that row; one that is taken out takes the word back. A
    name that changes alone says nothing.
    """
    word = "INSERT INTO confirmations (person, name, confirmed_on, is_right, written_at) VALUES"
    new = f"{word} (NEW.person, NEW.credit_name, NEW.name_confirmed_on, 1, {_NOW})"
    old = f"{word} (NEW.person, OLD.credit_name, OLD.name_confirmed_on, 0, {_NOW})"
    given = "NEW.name_confirmed_on IS NOT NULL"
    other = "NEW.name_confirmed_on IS NOT OLD.name_confirmed_on"
    yield _trigger("people_confirmed_new", "AFTER INSERT", "people", new, given)
    yield _trigger("people_confirmed", "AFTER UPDATE", "people", new, f"{given} AND {other}")
    yield _trigger("people_taken_back", "AFTER UPDATE", "people", old, f"NOT ({given}) AND {other}")
