"""Facts and rows, from the records of the log alone; and the reading of a log."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager
from dataclasses import fields, replace
from datetime import datetime
from functools import wraps
from operator import attrgetter
from pathlib import Path
from typing import Any, Concatenate, ParamSpec, TypeVar

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
from credits.store.engines.driver import Cursor, Driver, snapshot
from credits.store.engines.said import ConnectionLostError
from credits.store.file import LOG_NAME, in_words
from credits.store.schema.records import APPEND_ONLY, RECORDS, WITH_HISTORY
from credits.store.seals.chain import seal_with
from credits.store.settings import read_settings
from credits.text import fold_code

Values = dict[str, Any]
AT_ONCE = 1000
"""So many rows are read together: one by one they take half as long again."""


def same_texts() -> Callable[[Any, Any], Any]:
    """Return what gives one and the same text for equal texts, so that it is held once.

    It is told each text twice over: ``map(same, texts, texts)``. Whole numbers and None pass.
    """
    found: dict[Any, Any] = {}
    return found.setdefault


class Wanted:
    """What is to be read of each row of a table, and how what it holds becomes values."""

    def __init__(self, table: str, columns: Sequence[str], order: str = "") -> None:
        """order: the column that rows are ordered by, the table's key where none is named."""
        self.table = table
        self.columns = tuple(columns)
        self.order = order or RECORDS[table].key
        codecs = ((at, RECORDS[table].columns[each].codec) for at, each in enumerate(columns))
        self.readers = [(at, codec.read) for at, codec in codecs if codec is not None]
        kinds = ((at, RECORDS[table].columns[each].kind) for at, each in enumerate(columns))
        self.texts = [at for at, kind in kinds if kind in (str, str | None)]

    def text(self, where: str = "") -> str:
        """Return the statement. where: a condition on the rows."""
        condition = f" WHERE {where}" if where else ""
        columns = ", ".join(self.columns)
        return f"SELECT {columns} FROM {self.table}{condition} ORDER BY {self.order}"

    def as_kept(self, driver: Driver) -> Iterator[tuple[Any, ...]]:
        """Read what every row holds as it is kept."""
        return iter(driver.execute(self.text()))

    def rows(
        self, driver: Driver, where: str = "", values: Sequence[Any] = ()
    ) -> Iterator[tuple[Any, ...]]:
        """Read the values of rows.

        where: a condition, as SQL; its marks are filled with the values, as they are kept.
        """
        return self.read(driver.execute(self.text(where), tuple(values)))

    def read(self, found: Cursor) -> Iterator[tuple[Any, ...]]:
        """Read the values of rows that were found: of these columns, others may stand behind."""
        one = same_texts()  # codes stand in many rows
        while rows := found.fetchmany(AT_ONCE):
            columns: list[Any] = list(zip(*rows, strict=True))
            for at in self.texts:
                columns[at] = map(one, columns[at], columns[at])
            for at, read in self.readers:
                columns[at] = map(read, columns[at])
            yield from zip(*columns, strict=True)


class FactTable:
    """A table with the columns that hold the fields of its facts, in the fields' order."""

    def __init__(self, name: str, order: str = "") -> None:
        """order: the columns that facts are ordered by, where it is not the order of writing."""
        record = RECORDS[name]
        assert record.fact is not None
        self.name = name
        self.fact = record.fact
        self.fields = tuple(field.name for field in fields(self.fact))
        self._take = attrgetter(*self.fields)
        self._fill = [getattr(self.fact, field).__set__ for field in self.fields]
        self.names = tuple(record.renamed.get(field, field) for field in self.fields)
        self.place = record.key
        self.wanted = Wanted(name, (self.place, *self.names), order)
        """What reads every fact, behind the place of its row, in the order of first writing."""
        self.has_code = self.fields[0] == "code"
        self.key = (f"{self.names[0]}_key",) if self.has_code else record.key_columns

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
        """Make the fact that has the values of the columns ``names``.

        They give every field, so the slots are filled as they are: the constructor, which
        takes names, makes reading a large log a third slower.
        """
        fact = object.__new__(self.fact)
        for fill, value in zip(self._fill, values, strict=True):
            fill(fact, value)
        return fact

    def having(self, driver: Driver, where: str, *values: Any) -> tuple[Any, ...]:
        """Read those facts of the table that meet a condition on its columns."""
        rows = self.wanted.rows(driver, where, values)
        return tuple([self.fact_of(row[1:]) for row in rows])

    def column(self, field: str) -> str:
        """Return the column that holds a field of the facts."""
        return self.names[self.fields.index(field)]

    def rows(self, driver: Driver) -> Iterator[tuple[int, Any]]:
        """Read the facts of the table, each behind the place of its row."""
        for row in self.wanted.rows(driver):
            yield row[0], self.fact_of(row[1:])

    def facts(self, driver: Driver) -> tuple[Any, ...]:
        """Read the facts of the table, in the order of first writing."""
        return tuple(fact for _, fact in self.rows(driver))


FACT_TABLES = tuple(FactTable(name) for name in REFERENCE_TABLES)
CLIPS = FactTable("cut_clips")
# Those of another log come in when logs are joined: what counts is when somebody said it.
SETTLEMENTS = FactTable("settlements", "settled_at, position")
CONFIRMATIONS = FactTable("confirmations", "written_at, position")
PROOFS = FactTable("proofs")
LIST_CORRECTIONS = FactTable("list_corrections", "written_at, position")
WORK = FactTable("entries")

_NUMBERED = ("origin", "number", "verb", "logged_at", "corrects_origin", "corrects_number")
OF_LOGGING = ("logged_by", "why", "ref", "source", "sheet")
"""The columns of a line that say who logged it, why, and where it came from."""
LINES = Wanted(WORK.name, (*_NUMBERED, *OF_LOGGING, *WORK.names))
"""What reads every line of the log, in the order in which they were written."""


def line_of(row: Sequence[Any]) -> LogLine:
    """Make a line from the values of ``LINES``; made for 125,000 of them, so written out."""
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


def _lines(driver: Driver, after: int = 0) -> Iterator[LogLine]:
    """Read every line of the log.

    after: the place of the last line that is known already.
    """
    return map(line_of, LINES.rows(driver, f"{WORK.place} > ?", (after,)))


_VERSIONS = Wanted("cut_versions", tuple(RECORDS["cut_versions"].columns))
_MARKS = Wanted(PROOFS.name, (*PROOFS.names, "content"))
_OF_A_CUT = Wanted(CLIPS.name, CLIPS.names, order="clip_order")
_CHANGES = Wanted("history", ("table_name", "code", "verb", "old_row", "new_row", "changed_at"))

Position = tuple[int, ...]

_CURRENT = "SELECT version FROM cut_uses ORDER BY position DESC LIMIT 1"
_CLIP_COUNTS = "SELECT version, count(*) FROM cut_clips GROUP BY version"
# The seals say nothing that the other tables do not.
_THAT_GROW = tuple(name for name in APPEND_ONLY if name not in ("moments", "seals"))
_LAST_ROWS = ", ".join(
    f"(SELECT coalesce(max({RECORDS[name].key}), 0) FROM {name})" for name in _THAT_GROW
)

_LINES_AT = _THAT_GROW.index(WORK.name)


def but_lines(position: Position) -> Position:
    """Return the position without the place of the last line."""
    return (*position[:_LINES_AT], *position[_LINES_AT + 1 :])


Answer = TypeVar("Answer")
Asked = ParamSpec("Asked")


def _again_if_lost(
    read: Callable[Concatenate[Any, Asked], Answer],
) -> Callable[Concatenate[Any, Asked], Answer]:
    """Read once more where the connection to a server was lost, but within a transaction: what
    was read in it before was of another moment."""

    @wraps(read)
    def reading(self: Any, /, *given: Asked.args, **named: Asked.kwargs) -> Answer:
        with self._in_words():
            within = self.driver.in_transaction
        try:
            return read(self, *given, **named)
        except ConnectionLostError:
            if within:
                raise
            return read(self, *given, **named)

    return reading


class LogReader:
    """Reads a log; each answer is of one moment, inside a transaction as far as it has written."""

    def __init__(self, folder: Path, driver: Driver) -> None:
        self.folder = folder
        self.driver = driver

    def _in_words(self) -> AbstractContextManager[None]:
        return in_words(self.folder / LOG_NAME)

    @contextmanager
    def _reading(self) -> Iterator[Driver]:
        with self._in_words(), snapshot(self.driver):
            yield self.driver

    @_again_if_lost
    def position(self) -> Position:
        """Say how far the log goes now: the last row of every table that only grows.

        Whatever is written, reference tables included (by their history), makes another position.
        Ask before reading: what is written in between then makes the positions differ.
        """
        with self._reading() as driver:
            return tuple(driver.execute(f"SELECT {_LAST_ROWS}").fetchone())

    @_again_if_lost
    def read(self) -> WrittenLog:
        """Read everything written. ProblemsFound for ``production.toml``; LogUnusable when a row
        holds what its column cannot hold.
        """
        production = read_settings(self.folder)
        with self._reading() as driver, unreadable(), all_kept():
            versions, current = self.cut_versions(), self.current_cut()
            return WrittenLog(
                production=production,
                **{table.name: table.facts(driver) for table in FACT_TABLES},
                lines=tuple(_lines(driver)),
                cut=None if current is None else self.cut(current),
                cut_versions=versions,
                settlements=SETTLEMENTS.facts(driver),
                confirmations=CONFIRMATIONS.facts(driver),
            )

    @_again_if_lost
    def read_on(
        self, known: tuple[Position, WrittenLog] | None = None
    ) -> tuple[Position, WrittenLog]:
        """Read everything written, and say how far it goes.

        known: what was read before, and its position: where since then nothing but lines was
        written, these lines alone are read. Errors as in ``read``.
        """
        with self._reading() as driver, unreadable():
            now = self.position()
            if known is None or but_lines(known[0]) != but_lines(now):
                return now, self.read()
            before, written = known
            production = read_settings(self.folder)
            if now != before:
                new = tuple(_lines(driver, before[_LINES_AT]))
                written = replace(written, lines=(*written.lines, *new))
            if production != written.production:
                written = replace(written, production=production)
            return now, written

    @_again_if_lost
    def facts_of(self, table: FactTable) -> tuple[Any, ...]:
        """Read the facts of a table, in the order of first writing. LogUnusable as ``read``."""
        with self._reading() as driver, unreadable(), all_kept():
            return table.facts(driver)

    @_again_if_lost
    def line_count(self) -> int:
        """Return how many lines the log has."""
        with self._reading() as driver:
            return int(_first(driver, "SELECT count(*) FROM entries"))

    @_again_if_lost
    def cut_versions(self) -> tuple[CutVersion, ...]:
        """Read every import of the cut, the first one first."""
        with self._reading() as driver:
            current = _first(driver, _CURRENT)
            clips = dict(driver.execute(_CLIP_COUNTS).fetchall())
            return tuple(
                CutVersion(**row, clips=clips.get(version, 0), current=version == current)
                for version, row in _versions(driver)
            )

    @_again_if_lost
    def current_cut(self) -> int | None:
        """Return the version of the cut in use; None: there is none."""
        with self._reading() as driver:
            version = _first(driver, _CURRENT)
            return None if version is None else int(version)

    @_again_if_lost
    def cut(self, version: int) -> Cut:
        """Read one version of the cut, clips in film order. WrongCall without such a one."""
        with self._reading() as driver:
            cut = self.cut_but_clips(version)
            clips = _OF_A_CUT.rows(driver, "version = ?", (version,))
            return replace(cut, clips=tuple(map(CLIPS.fact_of, clips)))

    @_again_if_lost
    def cut_but_clips(self, version: int) -> Cut:
        """Read one version of the cut without its clips. WrongCall without such a one."""
        with self._reading() as driver:
            row = dict(_versions(driver)).get(version)
            if row is not None:
                return Cut(**row, clips=())
        known = ", ".join(str(v.version) for v in self.cut_versions())
        hint = f"The versions are {known}." if known else "Import a cut with `credits cut FILE`."
        raise WrongCall(Finding("is not a version of the cut", hint, value=str(version)))

    @_again_if_lost
    def proofs(self) -> tuple[ProofMark, ...]:
        """Read what every proof says of itself, the first one first, without what it froze."""
        with self._reading() as driver, unreadable():
            return PROOFS.facts(driver)

    @_again_if_lost
    def proof(self, number: int) -> Proof:
        """Read one proof with what it froze. WrongCall when there is none of this number."""
        with self._reading() as driver, unreadable():
            for mark in _MARKS.rows(driver, f"{PROOFS.place} = ?", (number,)):
                return Proof(PROOFS.fact_of(mark[:-1]), mark[-1])
        last = len(self.proofs())
        hint = (
            f"The proofs are numbered 1 to {last}." if last else "Freeze one: credits roll --save"
        )
        raise WrongCall(Finding("is not the number of a proof", hint, value=str(number)))

    @_again_if_lost
    def log_seal(self, proof: int) -> str:
        """Read the seal that the log had when a proof was made; empty: it had none yet."""
        with self._reading() as driver:
            return seal_with(driver, PROOFS.name, proof)

    @_again_if_lost
    def list_corrections(self) -> tuple[ListCorrection, ...]:
        """Read why rows of lists were voided or replaced, the first one first."""
        with self._reading() as driver:
            return LIST_CORRECTIONS.facts(driver)

    @_again_if_lost
    def history(self, table: str, code: str) -> tuple[Change, ...]:
        """Read how the rows of a code in a reference table changed, the first change first.

        Upper and lower case are the same. WrongCall for a table that has no history.
        """
        if table not in WITH_HISTORY:
            hint = f"The tables are {', '.join(WITH_HISTORY)}."
            raise WrongCall(Finding("is not a table with a history", hint, None, "table", table))
        with self._reading() as driver:
            codes = driver.execute(
                "SELECT DISTINCT code FROM history WHERE table_name = ?", (table,)
            ).fetchall()
            same = [each for (each,) in codes if fold_code(each) == fold_code(code)]
            if not same:
                return ()
            marks = ", ".join("?" * len(same))
            return _changes(driver, f"table_name = ? AND code IN ({marks})", table, *same)

    @_again_if_lost
    def updates(self, of: Iterable[str]) -> tuple[Change, ...]:
        """Read how rows that were there already changed, the first change first.

        of: the reference tables that are looked at.
        """
        names = tuple(of)
        if not names:
            return ()
        marks = ", ".join("?" * len(names))
        with self._reading() as driver:
            return _changes(driver, f"verb = 'update' AND table_name IN ({marks})", *names)

    @_again_if_lost
    def changes_since(self, mark: ProofMark) -> tuple[Change, ...]:
        """Read how the reference tables changed since a proof was made, the first change first."""
        with self._reading() as driver:
            return _changes(driver, "position > ?", mark.changes)


def _versions(driver: Driver) -> Iterator[tuple[int, Values]]:
    """Read the imports of the cut: the version of each, and its values by column."""
    for row in _VERSIONS.rows(driver):
        yield row[0], dict(zip(_VERSIONS.columns, row, strict=True))


def _first(driver: Driver, query: str) -> Any:
    """Return the first column of the first row that is found; None: there is none."""
    row = driver.execute(query).fetchone()
    return None if row is None else row[0]


def last_number(driver: Driver, origin: str) -> int:
    """Return the highest number of a line of an origin; 0: it has none."""
    row = driver.execute("SELECT max(number) FROM entries WHERE origin = ?", (origin,)).fetchone()
    return int(row[0] or 0)


def next_mark(driver: Driver, new: NewProof, now: datetime) -> ProofMark:
    """Make the mark of a proof that is made now: the next number, and how far the log goes."""
    last = driver.execute("SELECT origin, number FROM entries ORDER BY line DESC LIMIT 1")
    number = last.fetchone()
    return ProofMark(
        number=1 + (_first(driver, "SELECT max(number) FROM proofs") or 0),
        saved_at=now,
        saved_by=new.saved_by or None,
        note=new.note or None,
        plan=new.plan,
        cut=_first(driver, _CURRENT),
        last_line=None if number is None else EntryNumber(*number),
        log_lines=_first(driver, "SELECT count(*) FROM entries"),
        changes=_first(driver, "SELECT max(position) FROM history") or 0,
        lines=new.lines,
        people=new.people,
        episode=new.episode,
    )


def _changes(driver: Driver, where: str, *values: Any) -> tuple[Change, ...]:
    return tuple(
        Change(
            table=table,
            key=code,
            verb=verb,
            columns=_differing(old, new),
            changed_at=changed_at,
        )
        for table, code, verb, old, new, changed_at in _CHANGES.rows(driver, where, values)
        if old != new  # else it was noted of another log
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
def unreadable() -> Iterator[None]:
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
