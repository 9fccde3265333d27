"""SQLite: how the log is made and written there, as no other engine would do it.

What the rules of the tables mean here, the triggers that make the log append-only and keep its
history, and why a row was refused. What needs no table class stands in ``file.py``.
"""

from __future__ import annotations

import logging
import re
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from itertools import chain
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy.ext.compiler import compiles
from sqlalchemy.sql.compiler import DDLCompiler
from sqlmodel.sql.sqltypes import AutoString

from credits.store import file
from credits.store.file import Driver, stored_triggers
from credits.store.records import APPEND_ONLY, RECORDS, WITH_HISTORY, LogRecord
from credits.store.tables import METADATA

# A connection that Ctrl-C stops as it closes is no news to whoever has pressed it.
logging.getLogger("sqlalchemy").addHandler(logging.NullHandler())

# --- the tables: strict, which know INTEGER, REAL, TEXT, BLOB and ANY alone

# What a rule of the tables asks -> how SQLite is asked. ``{}`` are the columns named in the rule.
_ENGINE_WORDS = {
    "is_date": "{} IS date({})",
    "is_letters": "{} GLOB '[A-Z]*' AND {} NOT GLOB '*[^A-Z]*'",
    "is_fraction": "{} <> '' AND {} NOT GLOB '*[^-0-9/]*'",
    "is_positive": "{} GLOB '[1-9]*' AND {} NOT GLOB '*[^0-9/]*'",
    "is_list": "CASE WHEN json_valid({}) THEN json_type({}) = 'array' ELSE 0 END",
    "is_object": "CASE WHEN json_valid({}) THEN json_type({}) = 'object' ELSE 0 END",
    "is_yes": "{}",
    "no_value": "coalesce({}) IS NULL",
}
_ENGINE_WORD = re.compile(rf"({'|'.join(_ENGINE_WORDS)})\(([\w, ]+)\)")

for _table in METADATA.tables.values():
    _table.dialect_options["sqlite"]["strict"] = True


@compiles(AutoString, "sqlite")
@compiles(sa.String, "sqlite")
def _text(*_: Any, **__: Any) -> str:
    return "TEXT"


@compiles(sa.CheckConstraint, "sqlite")
def _check(constraint: sa.CheckConstraint, compiler: DDLCompiler, **options: Any) -> str:
    visit: Callable[..., str] = compiler.visit_table_or_column_check_constraint
    said = visit(constraint, **options)
    return _ENGINE_WORD.sub(lambda m: _ENGINE_WORDS[m[1]].replace("{}", m[2]), said)


# --- the connection


def connect(driver: Driver) -> sa.Connection:
    """Connect the table classes to a log that was opened; whoever opened it closes it.

    Transactions are begun by ``begin_writing`` alone, never by the driver. Raises what the driver
    raises; callers stand in ``in_words``.
    """
    pool: dict[str, Any] = {"poolclass": sa.StaticPool, "pool_reset_on_return": None}
    return sa.create_engine("sqlite://", creator=lambda: driver, **pool).connect()


def driver_of(connection: sa.Connection) -> Driver:
    """Return what a connection reads and writes through."""
    driver = connection.connection.driver_connection
    assert isinstance(driver, Driver)
    return driver


def begin_writing(connection: sa.Connection) -> None:
    """Begin a transaction that keeps every other writer out from the beginning."""
    connection.exec_driver_sql("BEGIN IMMEDIATE")


@contextmanager
def in_words(path: Path) -> Iterator[None]:
    """Raise LogUnusable for what SQLite or the disk raises inside, also through the table classes;
    our own errors as they are."""
    with file.in_words(path):
        try:
            yield
        except sa.exc.DBAPIError as error:
            raise error.orig or error from error
        except sa.exc.ResourceClosedError as error:
            raise sqlite3.ProgrammingError(str(error)) from error


def without_foreign_keys(connection: sa.Connection) -> None:
    """Let codes name what is not there, until the connection is closed.

    With foreign keys on, rebuilding a table would delete or refuse the rows that name it; the
    pragma has no effect inside a transaction. ``lost_codes`` finds what would not be whole.
    """
    connection.exec_driver_sql("PRAGMA foreign_keys=OFF")
    connection.rollback()


# --- the triggers, made from the records of the log: a column added later is in the history too

_NOW = "strftime('%Y-%m-%dT%H:%M:%fZ', 'now')"


def triggers() -> dict[str, str]:
    """Give the name and the text of every trigger, in the order in which they are made."""
    append_only = chain.from_iterable(_append_only(RECORDS[name]) for name in APPEND_ONLY)
    history = chain.from_iterable(_with_history(RECORDS[name]) for name in WITH_HISTORY)
    return dict((*append_only, _voids_stand(), *history, *_names_confirmed()))


def drop_triggers(connection: sa.Connection) -> None:
    """Drop every trigger: rebuilding a table loses its own silently, filling a new column is an
    UPDATE."""
    for name in stored_triggers(driver_of(connection)):
        connection.exec_driver_sql(f'DROP TRIGGER "{name}"')


def make_triggers(connection: sa.Connection) -> None:
    """Make every trigger."""
    for text in triggers().values():
        connection.exec_driver_sql(text)


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


# What SQLite and its driver raise for values that cannot be stored.
NOT_STORABLE = (
    sa.exc.IntegrityError,
    sa.exc.InterfaceError,
    sa.exc.ProgrammingError,
    OverflowError,
    UnicodeEncodeError,
)

_REFUSALS = (
    ("rule", re.compile(r"CHECK constraint failed: (?:ck_)?(\w+)")),
    ("missing", re.compile(r"NOT NULL constraint failed: \w+\.(\w+)")),
    ("taken", re.compile(r"UNIQUE constraint failed: (.+)")),
    ("whole number", re.compile(r"cannot store \w+ value in INTEGER column \w+\.(\w+)")),
    ("text", re.compile(r"cannot store \w+ value in TEXT column \w+\.(\w+)")),
    ("code", re.compile(r"FOREIGN KEY constraint failed()")),
)


def refusal(error: Exception) -> tuple[str, str]:
    """Say why a row was refused: the kind of refusal, and what it names.

    ``rule``: the name of the rule; ``missing``, ``whole number``, ``text``: the column;
    ``taken``: the columns of the key; ``code``: nothing; ``large`` and ``letters``: nothing;
    ``other``: what the database said.
    """
    said = str(getattr(error, "orig", None) or error)
    for kind, pattern in _REFUSALS:
        if match := pattern.search(said):
            return kind, match[1]
    if isinstance(error, OverflowError):
        return "large", ""
    return ("letters", "") if isinstance(error, UnicodeEncodeError) else ("other", said)
