"""How the tables of the log are made in an engine: its types, and what the rules mean there.

And how the table classes come to a log that is open.
"""

from __future__ import annotations

import logging
import re
import sqlite3
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from weakref import WeakKeyDictionary

import sqlalchemy as sa
from sqlalchemy.ext.compiler import compiles
from sqlalchemy.schema import CreateIndex, CreateTable
from sqlalchemy.sql.compiler import DDLCompiler
from sqlmodel.sql.sqltypes import AutoString

from credits.store import file
from credits.store.engines.driver import Driver, begin
from credits.store.schema.tables import METADATA, VERSION

# A connection that Ctrl-C stops as it closes is no news to whoever has pressed it.
logging.getLogger("sqlalchemy").addHandler(logging.NullHandler())

# --- the tables of SQLite: strict, which know INTEGER, REAL, TEXT, BLOB and ANY alone

# What a rule of the tables asks -> how SQLite is asked. ``{}`` are the columns named in the rule.
_SQLITE_WORDS = {
    "is_date": "{} IS date({})",
    "is_letters": "{} GLOB '[A-Z]*' AND {} NOT GLOB '*[^A-Z]*'",
    "is_fraction": "{} <> '' AND {} NOT GLOB '*[^-0-9/]*'",
    "is_positive": "{} GLOB '[1-9]*' AND {} NOT GLOB '*[^0-9/]*'",
    "is_list": "CASE WHEN json_valid({}) THEN json_type({}) = 'array' ELSE 0 END",
    "is_object": "CASE WHEN json_valid({}) THEN json_type({}) = 'object' ELSE 0 END",
    "is_yes": "{}",
    "no_value": "coalesce({}) IS NULL",
}
_WORD = re.compile(rf"({'|'.join(_SQLITE_WORDS)})\(([\w, ]+)\)")

for _table in METADATA.tables.values():
    _table.dialect_options["sqlite"]["strict"] = True


@compiles(AutoString, "sqlite")
@compiles(sa.String, "sqlite")
def _text(*_: Any, **__: Any) -> str:
    return "TEXT"


@compiles(sa.CheckConstraint, "sqlite")
def _check(constraint: sa.CheckConstraint, compiler: DDLCompiler, **options: Any) -> str:
    return _rule(_SQLITE_WORDS, constraint, compiler, options)


def _rule(
    words: Mapping[str, str],
    constraint: sa.CheckConstraint,
    compiler: DDLCompiler,
    options: Mapping[str, Any],
) -> str:
    visit: Callable[..., str] = compiler.visit_table_or_column_check_constraint
    said = visit(constraint, **options)
    return _WORD.sub(lambda m: words[m[1]].replace("{}", m[2]), said)


# --- the tables of PostgreSQL: texts in the order of their letters, as SQLite has them; whole
# numbers as large as there; rows numbered by trigger

# ``is_date``, ``is_list`` and ``is_object`` are functions, made before the tables.
_POSTGRES_WORDS = {
    "is_date": "is_date({})",
    "is_letters": "{} ~ '^[A-Z]+$'",
    "is_fraction": "{} ~ '^[-0-9/]+$'",
    "is_positive": "{} ~ '^[1-9][0-9/]*$'",
    "is_list": "is_list({})",
    "is_object": "is_object({})",
    "is_yes": "{} <> 0",
    "no_value": "num_nonnulls({}) = 0",
}


@compiles(AutoString, "postgresql")
@compiles(sa.String, "postgresql")
@compiles(sa.Text, "postgresql")
def _text_of_postgres(*_: Any, **__: Any) -> str:
    return 'TEXT COLLATE "C"'


@compiles(sa.Integer, "postgresql")
def _number_of_postgres(*_: Any, **__: Any) -> str:
    return "BIGINT"


@compiles(sa.schema.CreateColumn, "postgresql")
def _column_of_postgres(element: Any, compiler: DDLCompiler, **options: Any) -> str:
    visit: Callable[..., str] = compiler.visit_create_column
    return re.sub(r"\bSERIAL\b", "BIGINT", visit(element, **options) or "")


@compiles(sa.CheckConstraint, "postgresql")
def _check_of_postgres(
    constraint: sa.CheckConstraint, compiler: DDLCompiler, **options: Any
) -> str:
    return _rule(_POSTGRES_WORDS, constraint, compiler, options)


def make_tables(driver: Driver) -> None:
    """Make the tables of the log and that of its version, inside the transaction that was begun."""
    engine = "sqlite" if isinstance(driver, sqlite3.Connection) else "postgresql"
    dialect: sa.Dialect = sa.dialects.registry.load(engine)()
    for table in (*METADATA.sorted_tables, VERSION):
        made: list[sa.schema.ExecutableDDLElement] = [CreateTable(table)]
        made += map(CreateIndex, sorted(table.indexes, key=_name))
        for each in made:
            driver.execute(str(each.compile(dialect=dialect)).strip())


def _name(index: sa.Index) -> str:
    return str(index.name)


# --- the connection

_DRIVERS: WeakKeyDictionary[Any, Driver] = WeakKeyDictionary()
"""Through what the store reads and writes, by the connection that the table classes know."""


def connect(driver: Driver) -> sa.Connection:
    """Connect the table classes to a log that was opened; whoever opened it closes it.

    Transactions are begun by ``begin_writing`` alone, never by the driver. Raises what the driver
    raises; callers stand in ``in_words``.
    """
    pool: dict[str, Any] = {"poolclass": sa.StaticPool, "pool_reset_on_return": None}
    if isinstance(driver, sqlite3.Connection):
        return sa.create_engine("sqlite://", creator=lambda: driver, **pool).connect()
    postgres: Any = driver
    _DRIVERS[postgres.connection] = driver
    return sa.create_engine(
        "postgresql+psycopg://", creator=lambda: postgres.connection, **pool
    ).connect()


def driver_of(connection: sa.Connection) -> Driver:
    """Return what a connection reads and writes through."""
    driver = connection.connection.driver_connection
    if isinstance(driver, sqlite3.Connection):
        return driver
    return _DRIVERS[driver]


def begin_writing(connection: sa.Connection) -> None:
    """Begin a transaction that keeps every other writer out from the beginning."""
    connection.begin()  # which the table classes are to know of; the drivers begin nothing by it
    begin(driver_of(connection), writing=True)


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
