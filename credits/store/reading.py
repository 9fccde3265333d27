"""Reading: rows become the facts of the model. Nothing else leaves this room."""

from __future__ import annotations

import gc
import json
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Select, func, select

from credits.errors import CreditsError, Finding, LogUnusable, Place, WrongCall
from credits.model.facts import Cut, EntryNumber, Production, Proof, ProofMark
from credits.model.log import (
    Change,
    CutVersion,
    NewProof,
    Value,
    WrittenLog,
)
from credits.store.rows import (
    CLIPS,
    CONFIRMATIONS,
    FACT_TABLES,
    LINES,
    PROOFS,
    SETTLEMENTS,
    read_lines,
)
from credits.store.sqlite import LOG_NAME
from credits.store.tables import (
    APPEND_ONLY,
    METADATA,
    WITH_HISTORY,
    CutUseRecord,
    CutVersionRecord,
    HistoryRecord,
    table_of,
)
from credits.text import fold_code

VERSIONS = table_of(CutVersionRecord)
USES = table_of(CutUseRecord)
HISTORY = table_of(HistoryRecord)

Position = tuple[int, ...]

_CURRENT = select(USES.c.version).order_by(USES.c.position.desc()).limit(1)
_CLIP_COUNT = (
    select(func.count()).where(CLIPS.table.c.version == VERSIONS.c.version).scalar_subquery()
)
_LAST_ROWS = select(
    *(
        select(func.coalesce(func.max(place), 0)).scalar_subquery()
        for name in APPEND_ONLY
        for place in METADATA.tables[name].primary_key.columns
    )
)


def read_log(connection: Connection, production: Production) -> WrittenLog:
    """Read everything written. Raises LogUnusable when a row holds what its column cannot hold."""
    with _unreadable(), _many_objects():
        versions = read_cut_versions(connection)
        current = next((v.version for v in versions if v.current), None)
        return WrittenLog(
            production=production,
            **{table.name: table.facts(connection) for table in FACT_TABLES},
            lines=tuple(read_lines(connection)),
            cut=None if current is None else read_cut(connection, current),
            cut_versions=versions,
            settlements=SETTLEMENTS.facts(connection),
            confirmations=CONFIRMATIONS.facts(connection),
        )


def read_position(connection: Connection) -> Position:
    """Read how far the log goes: the last row of every table that only grows.

    Whatever is written, reference tables included (by their history), makes another position.
    """
    return tuple(connection.execute(_LAST_ROWS).one())


# --- the cut


def read_cut_versions(connection: Connection) -> tuple[CutVersion, ...]:
    """Read every import of the cut, the first one first."""
    current = connection.scalar(_CURRENT)
    rows = connection.execute(select(VERSIONS, _CLIP_COUNT).order_by(VERSIONS.c.version))
    return tuple(
        CutVersion(version, source, clips, length, day, version == current)
        for version, source, length, day, clips in rows
    )


def read_cut(connection: Connection, version: int) -> Cut:
    """Read one version of the cut, clips in film order. Raises WrongCall without such a one."""
    found = connection.execute(select(VERSIONS).where(VERSIONS.c.version == version)).first()
    if found is None:
        known = ", ".join(str(v.version) for v in read_cut_versions(connection))
        hint = f"The versions are {known}." if known else "Bring a cut in with `credits cut FILE`."
        raise WrongCall(Finding("is not a version of the cut", hint, value=str(version)))
    of_it = CLIPS.table.c.version == version
    rows = connection.execute(
        select(*CLIPS.columns).where(of_it).order_by(CLIPS.table.c.clip_order)
    )
    clips = tuple(CLIPS.fact(*row) for row in rows)
    return Cut(version, found.source, found.length, clips, found.brought_in_on)


# --- proofs


def read_proofs(connection: Connection) -> tuple[ProofMark, ...]:
    """Read what every proof says of itself, the first one first."""
    with _unreadable():
        return PROOFS.facts(connection)


def read_proof(connection: Connection, number: int) -> Proof:
    """Read one proof with what it froze. Raises WrongCall without such a one."""
    with _unreadable():
        wanted = select(*PROOFS.columns, PROOFS.table.c.content).where(PROOFS.place == number)
        row = connection.execute(wanted).first()
        if row is not None:
            *mark, content = row
            return Proof(PROOFS.fact(*mark), content)
    last = len(read_proofs(connection))
    hint = f"The proofs are numbered 1 to {last}." if last else "Freeze one: credits roll --save"
    raise WrongCall(Finding("is not the number of a proof", hint, value=str(number)))


def next_mark(connection: Connection, new: NewProof, now: datetime) -> ProofMark:
    """Make the mark of a proof that is made now: the next number, and how far the log goes."""
    last = connection.execute(
        select(LINES.c.origin, LINES.c.number).order_by(LINES.c.line.desc()).limit(1)
    ).first()
    return ProofMark(
        number=1 + (connection.scalar(select(func.max(PROOFS.place))) or 0),
        saved_at=now,
        saved_by=new.saved_by or None,
        note=new.note or None,
        plan=new.plan,
        cut=connection.scalar(_CURRENT),
        last_line=None if last is None else EntryNumber(*last),
        log_lines=connection.scalar(select(func.count()).select_from(LINES)) or 0,
        changes=connection.scalar(select(func.max(HISTORY.c.position))) or 0,
        lines=new.lines,
        people=new.people,
    )


# --- the history of the reference tables


def read_history(connection: Connection, table: str, code: str) -> tuple[Change, ...]:
    """Read the changes of the rows of a code, the first one first; none: an empty tuple.

    Upper and lower case are the same. Raises WrongCall for a table that has no history.
    """
    if table not in WITH_HISTORY:
        hint = f"The tables are {', '.join(WITH_HISTORY)}."
        raise WrongCall(Finding("is not a table with a history", hint, None, "table", table))
    of_it = HISTORY.c.table_name == table
    codes = connection.scalars(select(HISTORY.c.code).where(of_it).distinct())
    same = [each for each in codes if fold_code(each) == fold_code(code)]
    return _changes(connection, select(HISTORY).where(of_it, HISTORY.c.code.in_(same)))


def read_changes(connection: Connection, after: int) -> tuple[Change, ...]:
    """Read every change of every table that was written behind the first ``after`` of them."""
    return _changes(connection, select(HISTORY).where(HISTORY.c.position > after))


def _changes(connection: Connection, wanted: Select[Any]) -> tuple[Change, ...]:
    return tuple(
        Change(
            row.table_name, row.code, row.verb, _differing(row.old_row, row.new_row), row.changed_at
        )
        for row in connection.execute(wanted.order_by(HISTORY.c.position))
    )


def _differing(old: str | None, new: str | None) -> dict[str, tuple[Value, Value]]:
    before: dict[str, Value] = json.loads(old) if old else {}
    after: dict[str, Value] = json.loads(new) if new else {}
    return {
        column: (before.get(column), after.get(column))
        for column in {**before, **after}
        if before.get(column) != after.get(column)
    }


@contextmanager
def _unreadable() -> Iterator[None]:
    """Say of a value that no program of ours wrote that the log is not to be trusted."""
    try:
        yield
    except (ValueError, TypeError, CreditsError) as error:
        raise LogUnusable(
            Finding(
                f"holds a row that cannot be read ({error})",
                "See `credits verify`, and put back a copy made with `credits backup`.",
                Place(LOG_NAME),
            )
        ) from error


@contextmanager
def _many_objects() -> Iterator[None]:
    """Do without the collector of circles, which looks in vain among 500,000 new facts."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()
