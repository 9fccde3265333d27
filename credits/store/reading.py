"""Facts and rows, from the table classes alone; and the reading of a log."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager
from dataclasses import fields, replace
from datetime import datetime
from operator import attrgetter
from pathlib import Path
from typing import Any

from sqlalchemy import ColumnElement, Connection, Executable, Select, func, select

from credits.errors import CreditsError, Finding, LogUnusable, Place, WrongCall
from credits.memory import all_kept
from credits.model.facts import Cut, EntryNumber, Proof, ProofMark
from credits.model.log import (
    REFERENCE_TABLES,
    Change,
    CutVersion,
    ListCorrection,
    LogLine,
    NewProof,
    Value,
    WrittenLog,
)
from credits.store import tables
from credits.store.settings import read_settings
from credits.store.sqlite import LOG_NAME, in_words, snapshot
from credits.text import fold_code

Values = dict[str, Any]


def many(connection: Connection, statement: Executable) -> Iterator[Sequence[Any]]:
    """Read the rows by the thousand: one by one they take half as long again."""
    for rows in connection.execute(statement).partitions(1000):
        yield from rows


class FactTable:
    """A table class with the columns that hold the fields of its facts, in the fields' order."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.table = tables.METADATA.tables[name]
        self.fact = self.table.info["fact"]
        self.fields = tuple(field.name for field in fields(self.fact))
        self._take = attrgetter(*self.fields)
        self._fill = [getattr(self.fact, field).__set__ for field in self.fields]
        self.names = tuple(self.table.info["renamed"].get(field, field) for field in self.fields)
        self.columns = tuple(self.table.c[name] for name in self.names)
        (self.place,) = self.table.primary_key.columns
        self.has_code = self.fields[0] == "code"
        self.key = (f"{self.names[0]}_key",) if self.has_code else tables.key_columns(self.table)

    def values(self, fact: Any) -> Values:
        """Return the fact as values by column."""
        values = dict(zip(self.names, self._take(fact), strict=True))
        if self.has_code:
            values[f"{self.names[0]}_key"] = fold_code(values[self.names[0]])
        return values

    def key_of(self, values: Values) -> tuple[Any, ...]:
        """Return what makes a row of the table unique: its folded code, or several columns."""
        return tuple(values[name] for name in self.key)

    def key_text(self, fact: Any) -> str:
        """Return the key of a fact's row as people read it: ``ana, Animation, Animator``."""
        values = dict(zip(self.names, self._take(fact), strict=True))
        said = [values[name] for name in ((self.names[0],) if self.has_code else self.key)]
        return ", ".join(str(value) for value in said if value is not None)

    def fact_of(self, values: Sequence[Any]) -> Any:
        """Make the fact that has the values of ``columns``.

        The columns give every field, so the slots are filled as they are: the constructor, which
        takes names, makes reading a large log a third slower.
        """
        fact = object.__new__(self.fact)
        for fill, value in zip(self._fill, values, strict=True):
            fill(fact, value)
        return fact

    def select(self) -> Select[Any]:
        """Make what reads every row in the order of first writing: its place, the fact's values."""
        return select(self.place, *self.columns).order_by(self.place)

    def rows(self, connection: Connection) -> Iterator[tuple[int, Any]]:
        """Read the facts of the table, each behind the place of its row."""
        for row in many(connection, self.select()):
            yield row[0], self.fact_of(row[1:])

    def facts(self, connection: Connection) -> tuple[Any, ...]:
        """Read the facts of the table, in the order of first writing."""
        return tuple(fact for _, fact in self.rows(connection))


FACT_TABLES = tuple(FactTable(name) for name in REFERENCE_TABLES)
CLIPS = FactTable("cut_clips")
SETTLEMENTS = FactTable("settlements")
CONFIRMATIONS = FactTable("confirmations")
PROOFS = FactTable("proofs")
LIST_CORRECTIONS = FactTable("list_corrections")
WORK = FactTable("entries")

LINES = WORK.table
_OF_A_LINE = (
    "origin", "number", "verb", "logged_at", "corrects_origin", "corrects_number", "logged_by",
    "why", "ref", "source", "sheet",
)  # fmt: skip


def select_lines() -> Select[Any]:
    """Make what reads every line of the log, in the order in which they were written."""
    return select(*(LINES.c[name] for name in _OF_A_LINE), *WORK.columns).order_by(WORK.place)


def line_of(row: Sequence[Any]) -> LogLine:
    """Make a line from the values of ``select_lines``; made for 125,000 of them, so written out."""
    (origin, number, verb, logged_at, corrects_origin, corrects_number,
     logged_by, why, ref, source, sheet, craft) = row[:12]  # fmt: skip
    return LogLine(
        number=EntryNumber(origin, number),
        verb=verb,
        logged_at=logged_at,
        work=None if craft is None else WORK.fact_of(row[11:]),
        corrects=corrects_number and EntryNumber(corrects_origin, corrects_number),
        logged_by=logged_by,
        why=why,
        ref=ref,
        source=source,
        sheet=sheet,
    )


def _lines(connection: Connection, after: int = 0) -> Iterator[LogLine]:
    """Read every line of the log.

    after: the place of the last line that is known already.
    """
    wanted = select_lines()
    return map(line_of, many(connection, wanted.where(WORK.place > after) if after else wanted))


VERSIONS, USES, HISTORY = (
    tables.METADATA.tables[name] for name in ("cut_versions", "cut_uses", "history")
)

Position = tuple[int, ...]

_CURRENT = select(USES.c.version).order_by(USES.c.position.desc()).limit(1)
_CLIP_COUNT = select(func.count()).where(CLIPS.table.c.version == VERSIONS.c.version)
_CUT_VERSIONS = select(VERSIONS, _CLIP_COUNT.scalar_subquery().label("clips")).order_by(
    VERSIONS.c.version
)
_LAST_ROWS = select(
    *(
        select(func.coalesce(func.max(place), 0)).scalar_subquery()
        for name in tables.APPEND_ONLY
        for place in tables.METADATA.tables[name].primary_key.columns
    )
)

_LINES_AT = tables.APPEND_ONLY.index(LINES.name)


def but_lines(position: Position) -> Position:
    """Return the position without the place of the last line."""
    return (*position[:_LINES_AT], *position[_LINES_AT + 1 :])


class LogReader:
    """Reads a log; each answer is of one moment, inside a transaction as far as it has written."""

    def __init__(self, folder: Path, connection: Connection) -> None:
        self.folder = folder
        self._connection = connection

    def _in_words(self) -> AbstractContextManager[None]:
        return in_words(self.folder / LOG_NAME)

    @contextmanager
    def _reading(self) -> Iterator[Connection]:
        with self._in_words(), snapshot(self._connection):
            yield self._connection

    def position(self) -> Position:
        """Say how far the log goes now: the last row of every table that only grows.

        Whatever is written, reference tables included (by their history), makes another position.
        Ask before reading: what is written in between then makes the positions differ.
        """
        with self._reading() as connection:
            return tuple(connection.execute(_LAST_ROWS).one())

    def read(self, *, lines: bool = True) -> WrittenLog:
        """Read everything written. ProblemsFound for ``production.toml``; LogUnusable when a row
        holds what its column cannot hold.

        lines: False: all but the lines of the log.
        """
        production = read_settings(self.folder)
        with self._reading() as connection, _unreadable(), all_kept():
            versions = self.cut_versions()
            current = next((v.version for v in versions if v.current), None)
            return WrittenLog(
                production=production,
                **{table.name: table.facts(connection) for table in FACT_TABLES},
                lines=tuple(_lines(connection)) if lines else (),
                cut=None if current is None else self.cut(current),
                cut_versions=versions,
                settlements=SETTLEMENTS.facts(connection),
                confirmations=CONFIRMATIONS.facts(connection),
            )

    def read_on(
        self, known: tuple[Position, WrittenLog] | None = None
    ) -> tuple[Position, WrittenLog]:
        """Read everything written, and say how far it goes.

        known: what was read before, and its position: where since then nothing but lines was
        written, these lines alone are read. Errors as in ``read``.
        """
        with self._reading() as connection, _unreadable():
            now = self.position()
            if known is None or but_lines(known[0]) != but_lines(now):
                return now, self.read()
            before, written = known
            production = read_settings(self.folder)
            if now != before:
                new = tuple(_lines(connection, before[_LINES_AT]))
                written = replace(written, lines=(*written.lines, *new))
            if production != written.production:
                written = replace(written, production=production)
            return now, written

    def line_count(self) -> int:
        """Return how many lines the log has."""
        with self._reading() as connection:
            return connection.scalar(select(func.count()).select_from(LINES)) or 0

    def cut_versions(self) -> tuple[CutVersion, ...]:
        """Read every import of the cut, the first one first."""
        with self._reading() as connection:
            current = connection.scalar(_CURRENT)
            return tuple(
                CutVersion(**row, current=row["version"] == current)
                for row in connection.execute(_CUT_VERSIONS).mappings()
            )

    def cut(self, version: int) -> Cut:
        """Read one version of the cut, clips in film order. WrongCall without such a one."""
        with self._reading() as connection:
            of_it = CLIPS.table.c.version == version
            in_order = CLIPS.table.c.clip_order
            clips = connection.execute(select(*CLIPS.columns).where(of_it).order_by(in_order))
            found = connection.execute(select(VERSIONS).where(VERSIONS.c.version == version))
            row = found.mappings().first()
            if row is not None:
                return Cut(**row, clips=tuple(CLIPS.fact_of(clip) for clip in clips))
        known = ", ".join(str(v.version) for v in self.cut_versions())
        hint = f"The versions are {known}." if known else "Import a cut with `credits cut FILE`."
        raise WrongCall(Finding("is not a version of the cut", hint, value=str(version)))

    def proofs(self) -> tuple[ProofMark, ...]:
        """Read what every proof says of itself, the first one first, without what it froze."""
        with self._reading() as connection, _unreadable():
            return PROOFS.facts(connection)

    def proof(self, number: int) -> Proof:
        """Read one proof with what it froze. WrongCall when there is none of this number."""
        with self._reading() as connection, _unreadable():
            wanted = select(*PROOFS.columns, PROOFS.table.c.content).where(PROOFS.place == number)
            row = connection.execute(wanted).first()
            if row is not None:
                *mark, content = row
                return Proof(PROOFS.fact_of(mark), content)
        last = len(self.proofs())
        hint = (
            f"The proofs are numbered 1 to {last}." if last else "Freeze one: credits roll --save"
        )
        raise WrongCall(Finding("is not the number of a proof", hint, value=str(number)))

    def list_corrections(self) -> tuple[ListCorrection, ...]:
        """Read why rows of lists were voided or replaced, the first one first."""
        with self._reading() as connection:
            return LIST_CORRECTIONS.facts(connection)

    def history(self, table: str, code: str) -> tuple[Change, ...]:
        """Read how the rows of a code in a reference table changed, the first change first.

        Upper and lower case are the same. WrongCall for a table that has no history.
        """
        if table not in tables.WITH_HISTORY:
            hint = f"The tables are {', '.join(tables.WITH_HISTORY)}."
            raise WrongCall(Finding("is not a table with a history", hint, None, "table", table))
        of_it = HISTORY.c.table_name == table
        with self._reading() as connection:
            codes = connection.scalars(select(HISTORY.c.code).where(of_it).distinct())
            same = [each for each in codes if fold_code(each) == fold_code(code)]
            return _changes(connection, of_it, HISTORY.c.code.in_(same))

    def updates(self, of: Iterable[str]) -> tuple[Change, ...]:
        """Read how rows that were there already changed, the first change first.

        of: the reference tables that are looked at.
        """
        with self._reading() as connection:
            return _changes(connection, HISTORY.c.verb == "update", HISTORY.c.table_name.in_(of))

    def changes_since(self, mark: ProofMark) -> tuple[Change, ...]:
        """Read how the reference tables changed since a proof was made, the first change first."""
        with self._reading() as connection:
            return _changes(connection, HISTORY.c.position > mark.changes)


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


def _changes(connection: Connection, *wanted: ColumnElement[bool]) -> tuple[Change, ...]:
    return tuple(
        Change(
            table=row.table_name,
            key=row.code,
            verb=row.verb,
            columns=_differing(row.old_row, row.new_row),
            changed_at=row.changed_at,
        )
        for row in connection.execute(select(HISTORY).where(*wanted).order_by(HISTORY.c.position))
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
