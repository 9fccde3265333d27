"""What every table class stands on: names of constraints, strict types, checks in words.

The table classes are the one definition of the log. ``db/schema.sql`` and ``db/statements.sql``
are compiled from them (``schema.py``), and migrations are compared with them. They never leave
this room, and reading and writing a log does not import them: see ``log.py``.
"""

from __future__ import annotations

from typing import Any

from sqlalchemy import (
    Boolean,
    CheckConstraint,
    Date,
    DateTime,
    Enum,
    Float,
    Index,
    MetaData,
    String,
    UniqueConstraint,
)
from sqlalchemy.ext.compiler import compiles
from sqlalchemy.orm import registry
from sqlmodel import Field, SQLModel
from sqlmodel.sql.sqltypes import AutoString

# Batch migrations must be able to name every constraint that they rebuild.
NAMES = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_name)s_%(referred_table_name)s",
    "pk": "pk_%(table_name)s",
}


# STRICT tables know INTEGER, REAL, TEXT, BLOB and ANY; nothing else may stand in the schema.
@compiles(AutoString, "sqlite")
@compiles(String, "sqlite")
@compiles(Enum, "sqlite")
@compiles(Date, "sqlite")
@compiles(DateTime, "sqlite")
def _text(*_: Any, **__: Any) -> str:
    return "TEXT"


@compiles(Boolean, "sqlite")
def _integer(*_: Any, **__: Any) -> str:
    return "INTEGER"


@compiles(Float, "sqlite")
def _real(*_: Any, **__: Any) -> str:
    return "REAL"


class LogTable(SQLModel, registry=registry(metadata=MetaData(naming_convention=NAMES))):
    """The common base: one metadata with the names above, apart from SQLModel's own."""


METADATA = LogTable.metadata


def rules(*others: UniqueConstraint | Index | Any, **checks: str) -> tuple[Any, ...]:
    """The ``__table_args__`` of a strict table.

    The name of a check is its wording: when it refuses a row, ``refused.py`` shows the name to
    people as "the take counts from 1".
    """
    named = (CheckConstraint(sql, name=name) for name, sql in checks.items())
    return (*others, *named, {"sqlite_strict": True})


def position() -> Any:
    """The order of first writing, which is the order in which a table is read."""
    return Field(default=None, primary_key=True)


def code_of(target: str, **options: Any) -> Any:
    """A column that holds a code of another table."""
    return Field(foreign_key=target, **options)


def is_date(*columns: str) -> str:
    """Each column holds an ISO 8601 date of the calendar, or nothing."""
    return " AND ".join(f"{column} IS date({column})" for column in columns)


def one_of(column: str, words: Any) -> str:
    """The column holds one of the words, or nothing."""
    return f"{column} IN ({', '.join(repr(str(word)) for word in words)})"


def yes_or_no(column: str) -> str:
    """The column holds 0 or 1."""
    return f"{column} IN (0, 1)"


def has_text(*columns: str) -> str:
    """Each column holds more than blanks."""
    return " AND ".join(f"length(trim({column})) > 0" for column in columns)
