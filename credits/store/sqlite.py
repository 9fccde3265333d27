"""SQLite: everything of the log that no other engine would do in the same way.

Opening and closing the file, what the rules of the tables mean here, the triggers that make the log
append-only and keep its history, and what SQLite says, in words.
"""

from __future__ import annotations

import logging
import re
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from functools import lru_cache
from itertools import chain
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy.ext.compiler import compiles
from sqlalchemy.sql.compiler import DDLCompiler
from sqlmodel.sql.sqltypes import AutoString

from credits.errors import CreditsError, Finding, LogUnusable, NoProduction, Place, WrongCall
from credits.store.file import BUSY_MILLISECONDS as BUSY_MILLISECONDS
from credits.store.file import LOG_NAME as LOG_NAME
from credits.store.file import opened
from credits.store.tables import APPEND_ONLY, METADATA, WITH_HISTORY, said_columns, unique_keys
from credits.written import note, unbroken

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


# --- the file


def connect(path: Path, busy_milliseconds: int = BUSY_MILLISECONDS) -> sa.Connection:
    """Connect to an existing log, for reading and, where it is allowed, for writing.

    Transactions are begun by ``begin`` alone, never by the driver. ``synchronous=FULL``: a line
    that was acknowledged survives a power cut. busy_milliseconds: how long to wait for another
    program. Raises what the driver raises; callers stand in ``in_words``.
    """
    return _engine(path, busy_milliseconds).connect()


@lru_cache(maxsize=8)
def _engine(path: Path, busy_milliseconds: int) -> sa.Engine:
    """Make what compiles statements and keeps them; it holds no connection."""
    return sa.create_engine(
        "sqlite://", creator=lambda: opened(path, busy_milliseconds), poolclass=sa.NullPool
    )


def log_in(folder: Path, hint: str = "Name the folder of a production.") -> Path:
    """Find the log of the production in ``folder``. Raises NoProduction, with the hint."""
    path = folder / LOG_NAME
    if not path.exists():
        raise NoProduction(Finding("holds no production.db", hint, value=str(folder)))
    return path


def begin(connection: sa.Connection, *, writing: bool = False) -> None:
    """Begin a transaction; one that writes keeps every other writer out from the beginning."""
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")


@contextmanager
def snapshot(connection: sa.Connection) -> Iterator[None]:
    """Read one state of the log inside; nothing new inside a transaction."""
    if connection.in_transaction():
        yield
        return
    try:
        begin(connection)
        yield
    finally:
        connection.rollback()


def to_wal(connection: sa.Connection) -> None:
    """Let others read while one writes. A log that may not be written stays as it is.

    To be called when the file is known to be a log: a stranger's database is left alone.
    """
    if connection.exec_driver_sql("PRAGMA journal_mode").scalar() != "wal":
        try:
            connection.exec_driver_sql("PRAGMA journal_mode=WAL")
        except sa.exc.DBAPIError as error:
            if "readonly" not in str(error.orig):
                raise
    connection.rollback()


def without_foreign_keys(connection: sa.Connection) -> None:
    """Let codes name what is not there, until the connection is closed.

    With foreign keys on, rebuilding a table would delete or refuse the rows that name it; the
    pragma has no effect inside a transaction. ``lost_codes`` finds what would not be whole.
    """
    connection.exec_driver_sql("PRAGMA foreign_keys=OFF")
    connection.rollback()


def copy_log(path: Path, target: Path) -> Path:
    """Copy the log to a file that does not exist yet; it appears there whole or not at all.

    Others may write the log meanwhile. The copy is a single file (no WAL beside it), so that it can
    be read from any medium.
    """
    unfinished = target.with_name(target.name + ".unfinished")
    try:
        with in_words(path), closing(connect(path)) as source:
            driver = source.connection.driver_connection
            assert isinstance(driver, sqlite3.Connection)
            with in_words(target), closing(sqlite3.connect(unfinished)) as copy:
                driver.backup(copy)
                copy.execute("PRAGMA journal_mode=DELETE")
                sound = copy.execute("PRAGMA quick_check(1)").fetchone()[0]
            if sound != "ok":
                raise LogUnusable(
                    Finding(f"is damaged ({sound})", "Put back an older copy.", Place(path.name))
                )
        with in_words(target):
            if target.exists():
                raise already_there(target)
            with unbroken():
                unfinished.rename(target)
                note(target)
    finally:
        with in_words(target):
            unfinished.unlink(missing_ok=True)
    return target


def already_there(target: Path) -> WrongCall:
    """Return the error of a copy to a file that is there."""
    hint = "Name a file that is not there yet, or a folder."
    return WrongCall(Finding("is there already; nothing was copied", hint, value=str(target)))


def damage(connection: sa.Connection) -> list[str]:
    """List what is wrong with the file and with its rules; empty: the file is sound."""
    said = [str(row[0]) for row in connection.exec_driver_sql("PRAGMA integrity_check")]
    return [] if said == ["ok"] else said


def lost_codes(connection: sa.Connection) -> list[tuple[str, int, str]]:
    """List the rows that name what is not there: table, row, the table that is named."""
    return [
        (table, row, parent)
        for table, row, parent, _ in connection.exec_driver_sql("PRAGMA foreign_key_check")
    ]


# --- the triggers, made from the table classes: a column added later is in the history too

_NOW = "strftime('%Y-%m-%dT%H:%M:%fZ', 'now')"


def triggers() -> dict[str, str]:
    """Give the name and the text of every trigger, in the order in which they are made."""
    append_only = chain.from_iterable(_append_only(METADATA.tables[name]) for name in APPEND_ONLY)
    history = chain.from_iterable(_with_history(METADATA.tables[name]) for name in WITH_HISTORY)
    return dict((*append_only, _voids_stand(), *history, *_names_confirmed()))


def stored_triggers(connection: sa.Connection) -> dict[str, str]:
    """Give the name and the text of every trigger that the log has."""
    query = "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' ORDER BY name"
    return {str(name): str(text) for name, text in connection.exec_driver_sql(query)}


def drop_triggers(connection: sa.Connection) -> None:
    """Drop every trigger: rebuilding a table loses its own silently, filling a new column is an
    UPDATE."""
    for name in stored_triggers(connection):
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


def _never_replaced(table: sa.Table, message: str) -> tuple[str, str]:
    """Refuse an existing key: INSERT OR REPLACE fires neither UPDATE nor DELETE triggers.

    The conditions are asked one by one, since SQLite looks each of them up in its own index.
    """
    keys = [tuple(table.primary_key.columns.keys()), *unique_keys(table)]
    conditions = (" AND ".join(f"{each} = {_new(each)}" for each in key) for key in keys)
    taken = " OR ".join(f"EXISTS (SELECT 1 FROM {table.name} WHERE {each})" for each in conditions)
    return _refuse(table.name, "replaced", "INSERT", message, taken)


def _append_only(table: sa.Table) -> Iterator[tuple[str, str]]:
    message = f"the log is append-only: a row of {table.name} is never"
    yield _refuse(table.name, "changed", "UPDATE", f"{message} changed")
    yield _refuse(table.name, "removed", "DELETE", f"{message} removed")
    yield _never_replaced(table, f"{message} replaced")


def _with_history(table: sa.Table) -> Iterator[tuple[str, str]]:
    first, *_ = said = [column.name for column in said_columns(table)]
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


# --- what SQLite says, in words

_BACKUP = "Put back a copy made with `credits backup`."
# A pattern of SQLite's message -> what is wrong, what would be right. The first that fits is said.
_WORDS: tuple[tuple[str, str, str], ...] = (
    ("file is not a database", "is not a log", f"Name the right folder. {_BACKUP}"),
    ("malformed", "is damaged", _BACKUP),
    ("disk i/o error", "cannot be read or written: the disk reports an error", _BACKUP),
    ("locked|busy", "is being written by another program", "Try again when that program is done."),
    (
        "readonly",
        "may be read, but not written",
        "Ask for permission to write the file and its folder, or copy the folder elsewhere.",
    ),
    ("disk is full", "cannot be written: the disk is full", "Make room and try again."),
    (
        "unable to open",
        "cannot be opened",
        "See that it is a file that you may read, in a folder that you may read.",
    ),
    ("no such (table|column)", "is a database, but not a log", "Name the folder of a production."),
    (
        "permission denied",
        "may not be opened by you",
        "Ask for permission to read and write the file and its folder.",
    ),
    ("append-only", "only grows: a line of the log is never changed or removed", ""),
)


@contextmanager
def in_words(path: Path) -> Iterator[None]:
    """Raise LogUnusable for what SQLite or the disk raises inside; our own errors as they are."""
    try:
        yield
    except CreditsError:
        raise
    except (sa.exc.DBAPIError, sa.exc.ResourceClosedError, sqlite3.Error, OSError) as error:
        cause = getattr(error, "orig", None) or error
        said = (isinstance(cause, OSError) and cause.strerror) or str(cause)
        for part, what, hint in _WORDS:
            if re.search(part, said.lower()):
                finding = Finding(what, hint, Place(path.name), None, str(path.parent))
                raise LogUnusable(finding) from error
        raise LogUnusable(Finding(f"cannot be used ({said})", "", Place(path.name))) from error


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
