"""What PostgreSQL says, in the words of SQLite that the store knows, and in ours where there are
none."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager

import psycopg
from psycopg import errors

from credits.errors import Finding, Place
from credits.store.engines.address import Address
from credits.store.engines.said import ConnectionLostError, ServerBusyError, ServerError
from credits.store.schema.records import APPEND_ONLY, RECORDS, Rule

_ASK = "Ask whoever keeps the database."
# An error of the server -> what is wrong, what would be right.
_WORDS: dict[type[psycopg.Error], tuple[str, str]] = {
    errors.LockNotAvailable: (
        "is being written by another program",
        "Try again when that program is done.",
    ),
    errors.DiskFull: (
        "cannot be written: the disk of the server is full",
        "Make room there and try again.",
    ),
    errors.ReadOnlySqlTransaction: (
        "may be read, but not written",
        "Name the server that is written to.",
    ),
    errors.UndefinedTable: ("is a database, but not a log", "Name the database of a production."),
}
# What the server says to whoever is not let in -> what is wrong, what would be right.
_NOT_LET_IN = (
    (
        "no password supplied",
        "asks for a password",
        "Give it in the variable PGPASSWORD, or in the file ~/.pgpass.",
    ),
    (
        "password authentication failed",
        "does not take the password",
        "See PGPASSWORD and ~/.pgpass.",
    ),
    ("does not exist", "is not there, for you at least", f"See that the address is right. {_ASK}"),
    ("pg_hba.conf", "does not let you in from here", _ASK),
    ("too many", "has too many connections", "Try again when others are done."),
)
_GONE = (
    errors.AdminShutdown,
    errors.CrashShutdown,
    errors.CannotConnectNow,
    errors.IdleInTransactionSessionTimeout,
    errors.ConnectionException,
    errors.ConnectionFailure,
    errors.ConnectionDoesNotExist,
)


@contextmanager
def in_words_of_sqlite(address: Address) -> Iterator[None]:
    """Raise what SQLite would raise for what the server or its driver raises inside."""
    try:
        yield
    except psycopg.Error as error:
        raise _said(error, address) from error


def _said(error: psycopg.Error, address: Address) -> Exception:
    if isinstance(error, psycopg.IntegrityError):
        return sqlite3.IntegrityError(_refusal(error))
    if isinstance(error, errors.RaiseException):
        return sqlite3.IntegrityError(error.diag.message_primary or str(error))
    if isinstance(error, errors.NumericValueOutOfRange):
        return OverflowError(str(error))
    if isinstance(error, psycopg.DataError | errors.DatatypeMismatch):
        return sqlite3.IntegrityError(_not_of_the_kind(error))
    return _server_error(error, address)


def _server_error(error: psycopg.Error, address: Address) -> Exception:
    place = Place(address.name)
    said = (error.diag.message_primary or str(error)).strip()
    if isinstance(error, errors.InsufficientPrivilege):
        what, hint = f"does not let you do this ({said})", f"{_ASK} The role is credits_log."
        return ServerError(Finding(what, hint, place))
    for kind, (what, hint) in _WORDS.items():
        if isinstance(error, kind):
            busy = kind is errors.LockNotAvailable
            return (ServerBusyError if busy else ServerError)(Finding(what, hint, place))
    if isinstance(error, _GONE) or (
        isinstance(error, psycopg.OperationalError) and error.sqlstate is None
    ):
        for part, what, hint in _NOT_LET_IN:
            if part in str(error):
                return ServerError(Finding(what, hint, place))
        reason = str(error).strip().partition("\n")[0].rpartition(": ")[2].strip()
        hint = "See that the server runs and that you can reach it."
        return ConnectionLostError(Finding(f"cannot be reached ({reason})", hint, place))
    return ServerError(Finding(f"cannot be used ({said})", "", place))


def _refusal(error: psycopg.IntegrityError) -> str:
    """Say of a row that is refused what SQLite says."""
    about = error.diag
    table = about.table_name or ""
    if isinstance(error, errors.CheckViolation):
        return f"CHECK constraint failed: {_rule(table, about.constraint_name or '')}"
    if isinstance(error, errors.NotNullViolation):
        return f"NOT NULL constraint failed: {table}.{about.column_name}"
    if isinstance(error, errors.ForeignKeyViolation):
        return "FOREIGN KEY constraint failed"
    if table in APPEND_ONLY:
        return f"the log is append-only: a row of {table} is never replaced"
    return f"the history is kept: a row of {table} is never replaced"


def _rule(table: str, constraint: str) -> str:
    """Return the whole name of a rule: the engine has room for the first 63 letters, of which the
    last ones tell apart what was cut off."""
    record = RECORDS.get(table)
    for rule in () if record is None else (*record.rules, *_of_columns(table)):
        whole = f"ck_{table}_{rule.name}"
        if whole == constraint or whole.startswith(constraint[:-5]):
            return whole
    return constraint


def _of_columns(table: str) -> Iterator[Rule]:
    for column in RECORDS[table].columns.values():
        yield from (said for said in column.said if isinstance(said, Rule))


def _not_of_the_kind(error: psycopg.Error) -> str:
    said = str(error).splitlines()[0]
    if "type bigint" in said and isinstance(error, errors.InvalidTextRepresentation):
        return "cannot store TEXT value in INTEGER column"
    return said
