"""PostgreSQL: a connection that fits the store's ``Driver``, and what this engine does its own way.

Statements come with ``?`` for each value, as for SQLite, and values as the log keeps them: texts
and whole numbers. What the server refuses is raised as SQLite says it (``postgres_errors.py``), so
that there is one way of wording a refusal.
"""

from __future__ import annotations

import atexit
import os
import re
import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from functools import lru_cache
from itertools import chain, islice
from typing import Any

import psycopg
from psycopg import sql as pieces
from psycopg.conninfo import conninfo_to_dict

from credits import waiting
from credits.errors import Finding, Place
from credits.store.engines.address import EXAMPLE, Address
from credits.store.engines.postgres_errors import in_words_of_sqlite
from credits.store.engines.said import ConnectionLostError, ServerBusyError, ServerError
from credits.store.schema.records import RECORDS, References

OLDEST = 130000  # of the server: older ones are cared for by nobody
LONGEST_WAIT = 10  # seconds, for a server that does not answer
KEPT_ALIVE = {
    "keepalives_idle": 30,
    "keepalives_interval": 10,
    "keepalives_count": 3,
    "tcp_user_timeout": 60_000,
}
"""When a line that has gone silent counts as lost, in seconds."""
MOST_IDLE = 2
LEFT_ALONE = "5min"
"""A transaction that writes, and whose program says nothing for so long, is ended: others wait."""
CHANNEL = "credits"
"""Where it is told that something was written: the schema, and the number of the moment."""
ROLE = "credits_log"
"""Who is granted this role may insert and read, and change lists as their triggers allow."""

# Every writer of a log holds this lock for as long as it writes; it is of the table of the entries.
_LOCK = "SELECT pg_advisory_xact_lock('entries'::regclass::oid::bigint)"
_WRITING = (
    "BEGIN ISOLATION LEVEL READ COMMITTED READ WRITE; SET LOCAL lock_timeout = {wait};"
    f" SET LOCAL idle_in_transaction_session_timeout = '{LEFT_ALONE}'; {_LOCK}"
)
_LAST_SEAL = "SELECT seal FROM moments ORDER BY moment DESC LIMIT 1"
_HAS_SEAL = "SELECT 1 FROM moments WHERE seal = $1"
_READING = b"BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY"
# Of the server's clock and its languages nothing comes into the log.
_SESSION = (
    "SET lock_timeout = {wait}; SET client_min_messages = warning; SET timezone = 'UTC';"
    " SET datestyle = 'ISO'; SET standard_conforming_strings = on"
)
FEW = 50
"""So many rows are inserted in one go, fewer one by one."""
_INSERT = re.compile(r"INSERT INTO (\w+) \(([\w, ]+)\) VALUES \(\?(?:, \?)*\)")
_MARK = re.compile(r"\?")


@lru_cache(maxsize=2048)
def _numbered(text: str) -> str:
    """Return a statement with the engine's own marks: ``$1``, ``$2``."""
    parts = _MARK.split(text)
    return parts[0] + "".join(f"${at}{part}" for at, part in enumerate(parts[1:], 1))


_IDLE: list[tuple[int, str, psycopg.Connection[Any]]] = []
"""Connections that nobody here uses now: the process, the address. What was begun in another
process is not touched."""


@atexit.register
def let_go() -> None:
    """Close the connections that nobody uses."""
    while _IDLE:
        process, _, connection = _IDLE.pop()
        if process == os.getpid():
            connection.close()


class PostgresDriver:
    """A connection to a log on a server. Each statement is one of its own until one begins."""

    def __init__(self, address: Address, busy_milliseconds: int) -> None:
        """busy_milliseconds: how long to wait for another program that writes."""
        self.address = address
        self._wait = busy_milliseconds
        self._closed = False
        self._is_writing = False
        self._to_begin = False
        self._schema = ""
        self.connection = self._idle() or self._connected()

    def _connected(self) -> psycopg.Connection[Any]:
        with in_words_of_sqlite(self.address):
            try:
                given = conninfo_to_dict(self.address.text)
            except psycopg.ProgrammingError as error:
                what = f"is no address of a database ({str(error).strip()})"
                raise ServerError(
                    Finding(what, f"Write it as {EXAMPLE}.", Place(self.address.name))
                ) from error
            usual: dict[str, Any] = {
                "connect_timeout": LONGEST_WAIT,
                "application_name": "credits",
                **KEPT_ALIVE,
            }
            usual = {name: value for name, value in usual.items() if name not in given}
            connection = psycopg.connect(
                self.address.text, autocommit=True, client_encoding="utf-8", **usual
            )
            try:
                connection.execute(self._session())
            except BaseException:
                connection.close()
                raise
            return connection

    @property
    def in_transaction(self) -> bool:
        """Tell whether a transaction was begun and goes on."""
        if self._to_begin:
            return True
        status = self.connection.info.transaction_status
        return status not in (
            psycopg.pq.TransactionStatus.IDLE,
            psycopg.pq.TransactionStatus.UNKNOWN,
        )

    @property
    def is_lost(self) -> bool:
        """Tell whether the connection is gone."""
        return self.connection.closed

    def _cursor(self) -> psycopg.RawCursor[Any]:
        if self._closed:
            raise sqlite3.ProgrammingError("Cannot operate on a closed database.")
        return psycopg.RawCursor(self.connection)

    def execute(self, sql: str, parameters: Sequence[Any] = (), /) -> psycopg.RawCursor[Any]:
        """Run a statement. Raises what SQLite would raise, and ServerError."""
        cursor = self._cursor()
        with self._in_words():
            if not self._to_begin:
                return self._run(cursor, sql, parameters)
            # The snapshot is of the moment of the first statement, with which it is begun at once.
            self._to_begin = False
            try:
                return self._run_first(cursor, sql, parameters)
            except psycopg.OperationalError:
                if not self.connection.closed:
                    raise
                self.again()  # nothing was under way
                return self._run_first(self._cursor(), sql, parameters)

    def _run_first(
        self, cursor: psycopg.RawCursor[Any], sql: str, parameters: Sequence[Any]
    ) -> psycopg.RawCursor[Any]:
        with self.connection.pipeline():
            self.connection.execute(_READING)
            return self._run(cursor, sql, parameters)

    def _run(
        self, cursor: psycopg.RawCursor[Any], sql: str, parameters: Sequence[Any]
    ) -> psycopg.RawCursor[Any]:
        if parameters:
            return cursor.execute(_numbered(sql).encode(), tuple(parameters))
        return cursor.execute(sql.encode())

    def executemany(
        self, sql: str, parameters: Iterable[Sequence[Any]], /
    ) -> psycopg.RawCursor[Any]:
        """Run a statement for every row of values: all of them, or none that is kept."""
        if self._to_begin:
            self.execute("SELECT 1")
        cursor = self._cursor()
        rows = iter(parameters)
        first = list(islice(rows, FEW))
        match = _INSERT.fullmatch(sql)
        with self._in_words():
            if match is None or len(first) < FEW:
                cursor.executemany(_numbered(sql).encode(), chain(first, rows))
                return cursor
            # Triggers and rules ask of every row what they ask; it takes a fifth of the time.
            copy = f"COPY {match[1]} ({match[2]}) FROM STDIN".encode()
            with psycopg.Cursor(self.connection).copy(copy) as new:
                for row in chain(first, rows):
                    new.write_row(row)
        return cursor

    @contextmanager
    def _in_words(self) -> Iterator[None]:
        """Raise what SQLite would raise; where a transaction is lost, that nothing was written."""
        try:
            with in_words_of_sqlite(self.address):
                yield
        except ConnectionLostError as error:
            if self._is_writing:
                raise _nothing_written(self.address) from error
            raise

    def listen(self) -> None:
        """Have the server tell whenever something is written."""
        self._schema = str(_one(self, "SELECT current_schema()"))
        self.execute(f"LISTEN {CHANNEL}")

    def heard(self, seconds: float) -> bool:
        """Wait until something was written to this log, or so long; True: something was."""
        with in_words_of_sqlite(self.address):
            told = self.connection.notifies(timeout=seconds, stop_after=1)
            found = [note.payload for note in told]
            found += [note.payload for note in self.connection.notifies(timeout=0)]
        return any(payload.rpartition(" ")[0] == self._schema for payload in found)

    def again(self) -> None:
        """Connect again, after the connection was lost."""
        self.connection.close()
        self._is_writing = self._to_begin = False
        self.connection = self._connected()

    def commit(self) -> None:
        """End the transaction; what was written stays.

        Where the connection goes as it ends, the server is asked whether it was written. Raises
        ConnectionLostError where nothing was, or where nobody can say.
        """
        # The seal of the last moment says what this is: no other transaction has the same. The
        # number of a transaction would not do, since a server that falls may give it out again.
        mark = _one(self, _LAST_SEAL) if self._is_writing else None
        try:
            with in_words_of_sqlite(self.address):
                self.connection.commit()
        except ConnectionLostError as error:
            if not self._was_written(mark):
                raise _nothing_written(self.address) from error
        finally:
            self._is_writing = False

    def _was_written(self, mark: str | None) -> bool:
        """Ask the server, on a new connection, whether what has this seal was written."""
        if mark is None:
            return False
        try:
            self.again()
            # The transaction may still be ending: whoever wrote holds the lock until it has.
            self.connection.execute(f"BEGIN; {_LOCK}".encode())
            row = self._cursor().execute(_HAS_SEAL.encode(), (mark,)).fetchone()
            self.connection.rollback()
        except (psycopg.Error, sqlite3.Error) as error:
            what = "went away as the writing ended, and nobody can say yet whether it was written"
            hint = (
                "See with `credits find` or `credits day` when the server is there again,"
                " before you write it once more."
            )
            place = Place(self.address.name)
            raise ConnectionLostError(Finding(what, hint, place)) from error
        return row is not None

    def rollback(self) -> None:
        """End the transaction as if it had never been; without a connection it is so already."""
        self._is_writing = False
        if self._to_begin:
            self._to_begin = False
        elif not self.connection.closed:
            with in_words_of_sqlite(self.address):
                self.connection.rollback()

    def _session(self) -> bytes:
        return _SESSION.format(wait=int(self._wait)).encode()

    def _idle(self) -> psycopg.Connection[Any] | None:
        """Take up a connection to the same log that somebody here has done with, if there is one:
        to begin one takes longer than most questions."""
        others, found = [], None
        while _IDLE and found is None:
            process, text, connection = _IDLE.pop()
            if (process, text) == (os.getpid(), self.address.text):
                with suppress(psycopg.Error):
                    connection.execute(self._session())
                    found = connection
            elif process == os.getpid():
                others.append((process, text, connection))
        _IDLE.extend(others)
        return found

    def close(self) -> None:
        """Be done with the connection; closing twice is no harm."""
        if self._closed:
            return
        self._closed = True
        is_idle = self.connection.info.transaction_status == psycopg.pq.TransactionStatus.IDLE
        if not is_idle or self._schema or len(_IDLE) >= MOST_IDLE:
            self.connection.close()
        else:
            _IDLE.append((os.getpid(), self.address.text, self.connection))

    def begin(self, *, writing: bool) -> None:
        """Begin a transaction. One that finds the connection lost begins on a new one: nothing was
        under way."""
        if not writing:
            if self.connection.closed:
                self.again()
            self._to_begin = True
            return
        try:
            self._begin_writing()
        except ConnectionLostError:
            self.again()
            self._begin_writing()

    def _begin_writing(self) -> None:
        """Wait for other writers; the server lets them in as they came."""
        quiet = min(self._wait, int(waiting.SAID_AFTER * 1000))
        try:
            self._lock(quiet)
        except ServerBusyError:
            if quiet >= self._wait:
                raise
            waiting.say_waiting()
            self._lock(self._wait - quiet)

    def _lock(self, milliseconds: int) -> None:
        try:
            self.execute(_WRITING.format(wait=max(1, milliseconds)))  # 0 is for ever
            self._is_writing = True
        except BaseException:
            self.rollback()
            raise


def _one(driver: PostgresDriver, query: str) -> Any:
    """Return the one value that is asked for."""
    row = driver.execute(query).fetchone()
    return None if row is None else row[0]


def _schema(driver: PostgresDriver) -> str:
    """Return the schema that tables are made in, quoted."""
    return pieces.Identifier(str(_one(driver, "SELECT current_schema()"))).as_string()


def _nothing_written(address: Address) -> ConnectionLostError:
    what = "the connection was lost: nothing of this was written"
    return ConnectionLostError(Finding(what, "Do it again.", Place(address.name)))


def begin(driver: PostgresDriver, *, writing: bool = False) -> None:
    """Begin a transaction; one that writes keeps every other writer out from the beginning."""
    driver.begin(writing=writing)


def table_names(driver: PostgresDriver) -> set[str]:
    """List the tables of the schema that is used."""
    query = "SELECT tablename FROM pg_catalog.pg_tables WHERE schemaname = current_schema()"
    return {str(row[0]) for row in driver.execute(query)}


_STORED = (
    "SELECT t.tgname, pg_get_triggerdef(t.oid, true), p.prosecdef, p.prosrc, t.tgenabled"
    " FROM pg_catalog.pg_trigger t JOIN pg_catalog.pg_class c ON c.oid = t.tgrelid"
    " JOIN pg_catalog.pg_proc p ON p.oid = t.tgfoid"
    " WHERE NOT t.tgisinternal AND c.relnamespace = current_schema()::regnamespace ORDER BY 1"
)


def trigger_text(definition: str, body: str, *, as_owner: bool) -> str:
    """Return a trigger as one text: the trigger, whose rights it has, and what it does."""
    return f"{definition};\n{'SECURITY DEFINER' if as_owner else 'SECURITY INVOKER'}\n{body}"


def stored_triggers(driver: PostgresDriver) -> dict[str, str]:
    """Give the name and the text of every trigger that the log has."""
    found = {}
    for name, definition, as_owner, body, enabled in driver.execute(_STORED):
        off = "" if enabled in ("O", b"O") else "turned off: "
        found[str(name)] = off + trigger_text(definition, body, as_owner=as_owner)
    return found


def make_trigger(driver: PostgresDriver, name: str, text: str) -> None:
    """Make a trigger and the function that it calls, which has its name."""
    definition, _, rest = text.partition(";\n")
    rights, _, body = rest.partition("\n")
    # A caller's own tables of the same names are not looked at.
    driver.execute(
        f"CREATE OR REPLACE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql {rights}"
        f" SET search_path TO {_schema(driver)}, pg_temp AS $body${body}$body$"
    )
    driver.execute(definition)


def drop_trigger(driver: PostgresDriver, name: str) -> None:
    """Drop the trigger of this name with the function that it calls."""
    called = pieces.Identifier(name).as_string()
    driver.execute(f"DROP FUNCTION {called} CASCADE")


def damage(driver: PostgresDriver) -> list[str]:
    """List the rules that rows were never held to; the server itself watches over its files."""
    query = (
        "SELECT conrelid::regclass::text, conname FROM pg_catalog.pg_constraint"
        " WHERE NOT convalidated AND connamespace = current_schema()::regnamespace ORDER BY 1, 2"
    )
    return [f"{table} was not held to {name}" for table, name in driver.execute(query)]


def lost_codes(driver: PostgresDriver) -> list[tuple[str, int, str]]:
    """List the rows that name what is not there: table, row, the table that is named."""
    found = []
    for record in RECORDS.values():
        for column in record.columns.values():
            for said in column.said:
                if isinstance(said, References):
                    parent, _, target = said.to.partition(".")
                    query = (
                        f"SELECT {record.key} FROM {record.name} r WHERE {column.name} IS NOT NULL"
                        f" AND NOT EXISTS (SELECT 1 FROM {parent} p"
                        f" WHERE p.{target} = r.{column.name}) ORDER BY 1"
                    )
                    found += [(record.name, row[0], parent) for row in driver.execute(query)]
    return found


def opened(address: Address, busy_milliseconds: int) -> PostgresDriver:
    """Connect to a log. Raises ServerError."""
    return PostgresDriver(address, busy_milliseconds)


def require_room(driver: PostgresDriver) -> None:
    """Raise ServerError where a log cannot be made: every letter must have room in it."""
    encoding, version = _one(driver, "SHOW server_encoding"), driver.connection.info.server_version
    what = hint = ""
    if encoding != "UTF8":
        what = f"keeps its texts as {encoding}"
        hint = "Make the database anew: CREATE DATABASE film ENCODING 'UTF8' TEMPLATE template0"
    elif version < OLDEST:
        what = f"is of version {version // 10000}"
        hint = f"A log needs PostgreSQL {OLDEST // 10000} or later."
    elif _one(driver, "SELECT current_schema()") is None:
        what, hint = "has no schema to make tables in", "See the search_path of the address."
    if what:
        raise ServerError(Finding(what, hint, Place(driver.address.name)))


# --- rights


def grant(driver: PostgresDriver, changeable: Iterable[str], grown: Iterable[str]) -> None:
    """Give the role of those who log what they need, and no more.

    changeable: the tables whose rows may change; grown: those that only grow, into which alone
    something may be put. Raises ServerError where the role is not there and may not be made.
    """
    roles = "FROM pg_catalog.pg_roles WHERE rolname"
    if _one(driver, f"SELECT count(*) {roles} = '{ROLE}'") == 0:
        if not _one(driver, f"SELECT rolcreaterole OR rolsuper {roles} = current_user"):
            what = f"has no role {ROLE}, and you may not make one"
            hint = f"Ask whoever keeps the server for: CREATE ROLE {ROLE} NOLOGIN"
            raise ServerError(Finding(what, hint, Place(driver.address.name)))
        driver.execute(f"CREATE ROLE {ROLE} NOLOGIN")
    schema = _schema(driver)
    changeable = [name for name in changeable if name != "log"]
    for statement in (
        f"REVOKE CREATE ON SCHEMA {schema} FROM PUBLIC",
        f"GRANT USAGE ON SCHEMA {schema} TO {ROLE}",
        f"GRANT SELECT ON ALL TABLES IN SCHEMA {schema} TO {ROLE}",
        f"GRANT INSERT ON {', '.join(grown)} TO {ROLE}",
        f"GRANT INSERT, UPDATE, DELETE ON {', '.join(changeable)} TO {ROLE}",
    ):
        driver.execute(statement)
