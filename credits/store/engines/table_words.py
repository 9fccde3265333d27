"""How the tables of the log are made in an engine: its types, and what the rules mean there.

And how the table classes come to a log that is open.
"""

from __future__ import annotations

import logging
import re
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy.ext.compiler import compiles
from sqlalchemy.sql.compiler import DDLCompiler
from sqlmodel.sql.sqltypes import AutoString

from credits.store import file
from credits.store.engines.driver import Driver
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
    assert isinstance(driver, sqlite3.Connection)
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
