"""Reading: plain rows become the frozen facts of the ledger. Nothing else leaves this room."""

from __future__ import annotations

import gc
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from typing import Any

from credits.errors import CreditsError, Finding, LogUnusable, Place, WrongCall
from credits.model.facts import Cut, EntryNumber, Production, Proof, ProofMark
from credits.model.log import CutVersion, NewProof, WrittenLog
from credits.store.columns import (
    CLIPS,
    CONFIRMATIONS,
    FACT_TABLES,
    PROOFS,
    SETTLEMENTS,
    FactTable,
    date_of,
    lines_of,
)
from credits.store.connection import LOG_NAME
from credits.store.statements import statements

_CLIPS_OF = "SELECT * FROM cut_clips WHERE version = ? ORDER BY clip_order"
_VERSIONS = """
    SELECT version, source, length, brought_in_on,
           (SELECT count(*) FROM cut_clips WHERE cut_clips.version = cut_versions.version)
    FROM cut_versions ORDER BY version
"""
_PROOFS = f"SELECT {', '.join(PROOFS.columns)} FROM proofs"
_PROOF = f"SELECT {', '.join(PROOFS.columns)}, content FROM proofs WHERE number = ?"
_STANDS = """
    SELECT (SELECT coalesce(max(number), 0) + 1 FROM proofs),
           (SELECT count(*) FROM entries), (SELECT coalesce(max(position), 0) FROM history)
"""
_LAST_LINE = "SELECT origin, number FROM entries ORDER BY line DESC LIMIT 1"
_CURRENT = "SELECT version FROM cut_uses ORDER BY position DESC LIMIT 1"


def read_log(connection: sqlite3.Connection, production: Production) -> WrittenLog:
    """Everything written. Raises LogUnusable when a row holds what its column cannot hold."""
    with _unreadable(), _many_objects():
        tables = {table.name: tuple(read_table(connection, table)) for table in FACT_TABLES}
        versions = read_cut_versions(connection)
        current = next((v.version for v in versions if v.current), None)
        return WrittenLog(
            production,
            **tables,
            lines=tuple(lines_of(connection.execute(statements()["select entries"]))),
            cut=None if current is None else read_cut(connection, current),
            cut_versions=versions,
            settlements=tuple(read_table(connection, SETTLEMENTS)),
            confirmations=tuple(read_table(connection, CONFIRMATIONS)),
        )


def read_table(connection: sqlite3.Connection, table: FactTable[Any]) -> Iterator[Any]:
    """The facts of one table in the order of first writing."""
    for _, *row in connection.execute(statements()[f"select {table.name}"]):
        yield table.read(row)


def read_cut_versions(connection: sqlite3.Connection) -> tuple[CutVersion, ...]:
    """Every import of the cut, the first one first."""
    row = connection.execute(_CURRENT).fetchone()
    current = row and row[0]
    return tuple(
        CutVersion(version, source, clips, length, day and date_of(day), version == current)
        for version, source, length, day, clips in connection.execute(_VERSIONS)
    )


def read_cut(connection: sqlite3.Connection, version: int) -> Cut:
    """One version of the cut, clips in film order. Raises WrongCall when there is no such one."""
    found = connection.execute(
        "SELECT source, length, brought_in_on FROM cut_versions WHERE version = ?", (version,)
    ).fetchone()
    if found is None:
        known = ", ".join(str(v.version) for v in read_cut_versions(connection))
        hint = f"The versions are {known}." if known else "Bring a cut in with `credits cut FILE`."
        raise WrongCall(Finding("is not a version of the cut", hint, value=str(version)))
    source, length, day = found
    clips = tuple(CLIPS.read(row) for _, _, *row in connection.execute(_CLIPS_OF, (version,)))
    return Cut(version, source, length, clips, day and date_of(day))


def read_proofs(connection: sqlite3.Connection) -> tuple[ProofMark, ...]:
    """What every proof says of itself, the first one first."""
    with _unreadable():
        return tuple(PROOFS.read(row) for row in connection.execute(f"{_PROOFS} ORDER BY number"))


def read_proof(connection: sqlite3.Connection, number: int) -> Proof:
    """One proof with what it froze. Raises WrongCall when there is no such one."""
    with _unreadable():
        row = connection.execute(_PROOF, (number,)).fetchone()
        if row is not None:
            *mark, content = row
            return Proof(PROOFS.read(mark), content)
    last = len(read_proofs(connection))
    hint = f"The proofs are numbered 1 to {last}." if last else "Freeze one: credits roll --save"
    raise WrongCall(Finding("is not the number of a proof", hint, value=str(number)))


def next_mark(connection: sqlite3.Connection, new: NewProof, now: datetime) -> ProofMark:
    """The mark of a proof that is made now: the next number, and how far the log goes."""
    number, lines, changes = connection.execute(_STANDS).fetchone()
    last = connection.execute(_LAST_LINE).fetchone()
    current = connection.execute(_CURRENT).fetchone()
    return ProofMark(
        number, now, new.saved_by or None, new.note or None, new.plan,
        current[0] if current else None, EntryNumber(*last) if last else None,
        lines, changes, new.lines, new.people,
    )  # fmt: skip


@contextmanager
def _unreadable() -> Iterator[None]:
    """A value that no program of ours wrote: the log is not to be trusted, and says so."""
    try:
        yield
    except (ValueError, TypeError, KeyError, CreditsError) as error:
        raise LogUnusable(
            Finding(
                f"holds a row that cannot be read ({error})",
                "See `credits verify`, and put back a copy made with `credits backup`.",
                Place(LOG_NAME),
            )
        ) from error


@contextmanager
def _many_objects() -> Iterator[None]:
    """Without the collector of circles, which looks for them in vain among 500,000 new facts."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()
