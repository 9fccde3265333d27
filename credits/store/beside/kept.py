"""What is kept beside the log: ``figures.db``, which is made of the log alone and may be deleted.

Who stands behind the log's entries now, and what was computed of them, cut small enough that one
entry touches little of it. Nothing in it is a source of truth: where it is missing, from another
log, older than the program or not whole, it is made anew without a word. Where it may not be
written, the same tables are kept in memory for as long as a command runs.
"""

from __future__ import annotations

import json
import os
import sqlite3
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import closing, contextmanager, suppress
from functools import cache
from hashlib import sha256
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast
from weakref import WeakSet, finalize

from credits.errors import CreditsError, ReadElsewhereError
from credits.model.facts import EntryNumber
from credits.model.ledger import DoneRow
from credits.model.log import LogLine
from credits.store.beside.cases import KeptCases
from credits.store.beside.figures_db import (
    FIGURES_NAME,
    INDEXES,
    LOG,
    STANDING,
    TABLES,
    TAIL,
    attach_log,
    db_in_memory,
    forget,
    is_stranger,
    open_db,
)
from credits.store.beside.lists import KeptLists
from credits.store.beside.new_entries import NewEntries
from credits.store.beside.sites import KeptSites
from credits.store.beside.sums import KeptSums
from credits.store.beside.work import WorkRows
from credits.store.engines.driver import Driver, begin
from credits.store.file import LOG_NAME, in_words
from credits.store.opened import opened_current
from credits.store.reading import (
    LINES,
    OF_LOGGING,
    WORK,
    Position,
    Wanted,
    line_of,
)

if TYPE_CHECKING:
    from credits.store.beside.log_here import LogHere

_LINES_AND_PLACES = Wanted(WORK.name, (*LINES.columns, WORK.place))

_IN_USE: WeakSet[FiguresFile] = WeakSet()


def forget_damaged() -> list[Path]:
    """Remove the figures in use here whose pages are damaged; return the folders they lay in."""
    found = []
    for folder in sorted({file.folder for file in _IN_USE}):
        path = folder / FIGURES_NAME
        if not path.is_file():
            continue
        address = f"{path.absolute().as_uri()}?mode=ro"
        try:
            with closing(sqlite3.connect(address, uri=True)) as driver:
                is_sound = driver.execute("PRAGMA quick_check(1)").fetchone() == ("ok",)
        except sqlite3.Error:
            is_sound = False
        if not is_sound:
            forget(folder)
            found.append(folder)
    return found


class _Elsewhere:
    """Stands where the connection was, in a second process that is a copy of one that reads: the
    engine does not allow that it be used there. At the first question the copy opens the files for
    itself, where it may and they are of the same moment."""

    def __init__(self, file: FiguresFile) -> None:
        self._file = file

    def __getattr__(self, name: str) -> Any:
        self._file.open_again()
        return getattr(self._file.driver, name)


def _is_a_copy() -> None:
    for file in _IN_USE:
        file.driver = cast("sqlite3.Connection", _Elsewhere(file))


if hasattr(os, "register_at_fork"):
    os.register_at_fork(after_in_child=_is_a_copy)


@contextmanager
def if_possible() -> Iterator[None]:
    """Do what whoever asks next can do as well: where the disk or the log refuses, let it be."""
    with suppress(CreditsError, sqlite3.Error, OSError):
        yield


class FiguresFile(NewEntries, KeptSums, KeptLists, WorkRows, KeptCases, KeptSites):
    """The figures that are kept of a log, and the log, read at one moment.

    Everything that ``LogReader`` reads is read through the same connection, inside the same
    transaction, so that figures and log are never of two moments. in_memory: nothing is written
    to the disk. Raises what ``open_log`` raises.
    """

    def __init__(self, folder: Path, *, in_memory: bool = False) -> None:
        # Kept open until the other is closed: what only reads leaves the engine's own files behind.
        log = opened_current(folder)
        self._here = _here(log, folder)
        with in_words(folder / LOG_NAME):
            try:
                if self._here is not None:
                    self._here.renew()
                if not in_memory and is_stranger(folder):
                    forget(folder)
                driver = db_in_memory() if in_memory else open_db(folder)
            except BaseException:
                log.close()
                raise
            try:
                attach_log(driver, self._attached(folder))
            except BaseException:
                driver.close()
                log.close()
                raise
        super().__init__(folder, driver)
        self.driver: sqlite3.Connection = driver
        self._moment: tuple[Position, tuple[str, int]] | None = None
        _IN_USE.add(self)
        # Whoever reads lazily has nowhere to close it: it ends with the last who looks into it.
        self.close = finalize(self, _closed, driver, log, self._here)
        """Closes the files; closing twice is no harm."""

    def _attached(self, folder: Path) -> Path:
        return folder / LOG_NAME if self._here is None else self._here.path

    @property
    def is_on_disk(self) -> bool:
        """Tell whether what is written here is there for whoever comes next."""
        _, _, path = self.driver.execute("PRAGMA main.database_list").fetchone()
        return bool(path)

    def begin(self, *, writing: bool = False) -> None:
        """Begin to read, or to renew: one program renews at a time; the log is never locked."""
        if self._here is not None:
            self._renew_log(self._here)
        begin(self.driver, writing=writing)

    def _renew_log(self, here: LogHere) -> None:
        """Bring what is kept here of a log on a server up to date; a file that was made anew since
        is the one that is read from now on."""
        with self._in_words():
            before = here.made
            here.renew()
            if here.made != before:
                self.driver.execute(f"DETACH DATABASE {LOG}")
                attach_log(self.driver, here.path)

    def end(self, *, keep: bool) -> None:
        """End what was begun; keep: what was written stays."""
        if keep:
            self.driver.commit()
        else:
            self.driver.rollback()

    def let_copies_read(self) -> None:
        """Let a second process that begins as a copy of this one read what is read here."""
        self._moment = self.position(), self.renewals()

    def open_again(self) -> None:
        """Open the files in a copy of the process that has them open.

        Raises ReadElsewhereError where the copy may not, or they are of another moment by now.
        """
        before, moment = self.driver, self._moment
        if moment is None:
            raise ReadElsewhereError
        try:
            self.driver = open_db(self.folder)
            attach_log(self.driver, self._attached(self.folder))
            begin(self.driver)
            if (self.position(), self.renewals()) == moment:
                return
        except (CreditsError, sqlite3.Error, OSError):
            pass
        self.driver = before
        raise ReadElsewhereError

    # -- where the figures stand ----------------------------------------------------------------

    def state(self) -> dict[str, str]:
        """Read what the figures say of themselves."""
        return dict(self.driver.execute("SELECT name, value FROM main.state").fetchall())

    def say(self, **state: str) -> None:
        """Write what the figures say of themselves."""
        self.driver.executemany("INSERT OR REPLACE INTO main.state VALUES (?, ?)", state.items())

    def clear(self) -> None:
        """Take everything out."""
        for name in TABLES:
            self.driver.execute(f"DELETE FROM main.{name}")
        self._drop_indexes()

    def tail(self, lines: int, changes: int, moment: int) -> str:
        """Return a digest of the log's last lines and changes up to these places, and of its seal
        at a moment.

        Another log, or one that was put back, has others there. Two copies of a log that went on
        apart may have taken the same lines into the same places since: their seals differ.
        """
        digest = sha256()
        found = self.driver.execute(f"SELECT seal FROM {LOG}.moments WHERE moment = ?", (moment,))
        digest.update(repr(found.fetchall()).encode())
        for table, place, last in (("entries", "line", lines), ("history", "position", changes)):
            rows = self.driver.execute(
                f"SELECT * FROM {LOG}.{table} WHERE {place} <= ? ORDER BY {place} DESC LIMIT ?",
                (last, TAIL),
            )
            digest.update(repr(rows.fetchall()).encode("utf-8", "surrogatepass"))
        origin = self.driver.execute(f"SELECT origin, made_on FROM {LOG}.log").fetchall()
        digest.update(repr(origin).encode())
        return digest.hexdigest()

    def changes(self, after: int) -> Iterator[tuple[str, dict[str, Any], dict[str, Any]]]:
        """Read the changes of tables behind a place of the history: the table, the row before and
        the row after; empty where there was none."""
        found = self.driver.execute(
            f"SELECT table_name, old_row, new_row FROM {LOG}.history WHERE position > ?"
            " ORDER BY position",
            (after,),
        )
        for table, old, new in found:
            if old == new:  # noted of another log: nothing is otherwise
                continue
            yield table, json.loads(old) if old else {}, json.loads(new) if new else {}

    def last_places(self) -> tuple[int, int, int]:
        """Return the places of the log's last line, of its last change of a table, and its last
        moment."""
        last = self.driver.execute(
            f"SELECT (SELECT coalesce(max(line), 0) FROM {LOG}.entries),"
            f" (SELECT coalesce(max(position), 0) FROM {LOG}.history),"
            f" (SELECT coalesce(max(moment), 0) FROM {LOG}.moments)"
        )
        line, change, moment = last.fetchone()
        return line, change, moment

    # -- the log, as plain rows -----------------------------------------------------------------

    def new_corrections(self, after: int) -> Iterator[tuple[int, int]]:
        """Read the corrections behind a place: the place of each, and of the line it corrects."""
        return iter(
            self.driver.execute(
                f"SELECT c.line, e.line FROM {LOG}.entries c JOIN {LOG}.entries e"
                " ON e.origin = c.corrects_origin AND e.number = c.corrects_number"
                " WHERE c.line > ? AND c.corrects_number IS NOT NULL ORDER BY c.line",
                (after,),
            )
        )

    def record_of(self, line: int) -> int:
        """Return the place of the record that the line at a place goes back to."""
        found = self.driver.execute("SELECT record FROM main.corrections WHERE line = ?", (line,))
        row = found.fetchone()
        return line if row is None else int(row[0])

    def correct(self, pairs: Iterable[tuple[int, int]]) -> None:
        """Note which record each correction goes back to, both by their places."""
        self.driver.executemany("INSERT INTO main.corrections VALUES (?, ?)", pairs)

    def chains(self, records: Iterable[int]) -> Iterator[tuple[int, LogLine]]:
        """Read whole entries with all their corrections: every line behind its place in the log."""
        self._choose(records)
        where = (
            f"{WORK.place} IN (SELECT code FROM temp.chosen) OR {WORK.place} IN (SELECT"
            " c.line FROM main.corrections c JOIN temp.chosen t ON t.code = c.record)"
        )
        for row in _LINES_AND_PLACES.rows(self.driver, where):
            yield row[-1], line_of(row[:-1])

    # -- entries as they stand ------------------------------------------------------------------

    def standing(
        self, column: str, codes: Iterable[Any], where: str = "", values: Sequence[Any] = ()
    ) -> list[tuple[Any, ...]]:
        """Read the entries that have one of some values in a column, as STANDING.

        where: another condition on ``standing``, as SQL; its marks are filled with the values.
        """
        every, condition = tuple(codes), f" AND {where}" if where else ""
        if len(every) == 1:
            chosen = "= ?"
        else:
            self._choose(every)
            every, chosen = (), "IN (SELECT code FROM temp.chosen)"
        return self.driver.execute(
            f"SELECT {', '.join(STANDING)} FROM main.standing s WHERE {column} {chosen}{condition}",
            (*every, *values),
        ).fetchall()

    def every_standing(self, crafts: Sequence[str] = ()) -> Iterator[tuple[Any, ...]]:
        """Read every entry as STANDING, by the number of its record.

        crafts: only those of these.
        """
        of_crafts = f" WHERE craft IN ({', '.join('?' * len(crafts))})" if crafts else ""
        return iter(
            self.driver.execute(
                f"SELECT {', '.join(STANDING)} FROM main.standing NOT INDEXED{of_crafts}"
                " ORDER BY first_origin, first_number",
                tuple(crafts),
            )
        )

    def every_checked(self) -> Iterator[tuple[Any, ...]]:
        """Read every entry as STANDING, by the number of its record, and what checks look at.

        That is the take and the puppet that it names, its minutes, the days on which it was begun
        and finished, and the day on which it was logged.
        """
        columns = ", ".join(f"s.{name}" for name in STANDING)
        return iter(
            self.driver.execute(
                f"SELECT {columns}, e.take, e.puppet, e.minutes, e.started_on, e.finished_on,"
                f" substr(e.logged_at, 1, 10) FROM main.standing s JOIN {LOG}.entries e"
                " ON e.line = s.line ORDER BY s.first_origin, s.first_number"
            )
        )

    def stand(self, gone: Iterable[int], rows: Iterable[Sequence[Any]]) -> None:
        """Take entries out by the places of their records, then put entries in."""
        self.driver.executemany(
            "DELETE FROM main.standing WHERE record = ?", ((record,) for record in gone)
        )
        marks = ", ".join("?" * len(STANDING))
        self.driver.executemany(f"INSERT INTO main.standing VALUES ({marks})", rows)

    def say_words(self, records: Iterable[int] | None) -> None:
        """Keep the ref and the note of entries as they are searched: folded.

        records: the places of their records; None: of all entries.
        """
        of_chosen = ""
        if records is not None:
            self._choose(records)
            of_chosen = "record IN (SELECT code FROM temp.chosen) AND"
        self.driver.execute(f"DELETE FROM main.words WHERE {of_chosen} true")
        self.driver.create_function("words_of", 2, words_of, deterministic=True)
        self.driver.execute(
            "INSERT INTO main.words SELECT s.record, words_of(s.ref, e.note)"
            f" FROM main.standing s JOIN {LOG}.entries e ON e.line = s.line"
            f" WHERE {of_chosen} (s.ref IS NOT NULL OR e.note IS NOT NULL)"
        )

    def index(self) -> None:
        """Make the indexes where they are not there."""
        for name, table, columns in _indexes():
            self.driver.execute(f"CREATE INDEX IF NOT EXISTS main.{name} ON {table} ({columns})")

    def _drop_indexes(self) -> None:
        for name, _, _ in _indexes():
            self.driver.execute(f"DROP INDEX IF EXISTS main.{name}")

    def entries(
        self, where: str = "", values: Sequence[Any] = (), *, work_alone: bool = False
    ) -> Iterator[tuple[LogLine, str, int, str | None]]:
        """Read what entries say now, with the number and the ref of their records.

        where: a condition on ``standing``, as SQL; its marks are filled with the values.
        work_alone: not who logged them, why, and where they came from, which takes a fifth of the
        memory of all.
        """
        condition = f" WHERE {where}" if where else ""
        unread = {*OF_LOGGING} if work_alone else set()
        columns = ", ".join("NULL" if c in unread else f"e.{c}" for c in LINES.columns)
        ref = "NULL" if "ref" in unread else "s.ref"
        found = self.driver.execute(
            f"SELECT {columns}, first_origin, first_number, {ref} FROM main.standing s"
            f" JOIN {LOG}.entries e ON e.line = s.line{condition}"
            " ORDER BY first_origin, first_number",
            tuple(values),
        )
        for row in LINES.read(found):
            yield line_of(row[:-3]), row[-3], row[-2], row[-1]

    def place_of(self, number: EntryNumber) -> int | None:
        """Return the place of a line in the log; None: there is none of this number."""
        found = self.driver.execute(
            f"SELECT line FROM {LOG}.entries WHERE origin = ? AND number = ?", tuple(number)
        ).fetchone()
        return None if found is None else int(found[0])

    def done_rows(self, person: str) -> list[DoneRow]:
        """Read of every entry of a person who did what on which character, and when."""
        return self.driver.execute(
            "SELECT first_origin, first_number, origin, number, craft, person, character, day"
            " FROM main.standing WHERE person = ?",
            (person,),
        ).fetchall()

    def numbers(self) -> list[tuple[str, int]]:
        """Read the number of every line that says an entry now, by that of its record."""
        return self.driver.execute(
            "SELECT origin, number FROM main.standing ORDER BY first_origin, first_number"
        ).fetchall()

    def last_line(self) -> EntryNumber | None:
        """Return the highest number of a line of the log."""
        row = self.driver.execute(
            f"SELECT origin, number FROM {LOG}.entries ORDER BY origin DESC, number DESC LIMIT 1"
        ).fetchone()
        return None if row is None else EntryNumber(*row)

    def last_day(self) -> str | None:
        """Return the last day of an entry."""
        day = self.driver.execute("SELECT max(day) FROM main.standing").fetchone()[0]
        return None if day is None else str(day)

    def claimed_takes(self) -> list[tuple[str, int]]:
        """Read the takes in which frames are claimed."""
        return self.driver.execute("SELECT DISTINCT shot, take FROM main.claimed").fetchall()

    def distinct(self, column: str) -> list[str]:
        """Read every value of a column of the entries, in the order in which they first come."""
        found = self.driver.execute(
            f"SELECT {column}, first_origin, min(first_number) FROM main.standing"
            f" WHERE {column} IS NOT NULL GROUP BY {column}, first_origin"
            " ORDER BY first_origin, min(first_number)"
        )
        return list(dict.fromkeys(row[0] for row in found))

    def days_written_undated(self) -> list[str]:
        """Read the days on which entries without a day were written, as they first come."""
        found = self.driver.execute(
            "SELECT substr(e.logged_at, 1, 10) FROM main.standing s"
            f" JOIN {LOG}.entries e ON e.line = s.line WHERE s.day IS NULL"
            " ORDER BY first_origin, first_number"
        )
        return list(dict.fromkeys(row[0] for row in found))

    # -- what was renewed, and what waits to be computed again -------------------------------------

    def renewals(self) -> tuple[str, int]:
        """Read where the log stood when the figures were made whole, and the number of their last
        renewal."""
        state = self.state()
        return state.get("made", ""), int(state.get("renewal", 0))

    def touch(self, shots: Mapping[str, Iterable[str]]) -> None:
        """Note shots that are to be computed again, by kind."""
        self.driver.executemany(
            "INSERT OR IGNORE INTO main.touched VALUES (?, ?)",
            ((kind, code) for kind, codes in shots.items() for code in codes),
        )

    def touched(self, kind: str) -> list[str]:
        """Read the shots that are to be computed again, of one kind."""
        found = self.driver.execute("SELECT code FROM main.touched WHERE kind = ?", (kind,))
        return [row[0] for row in found]

    def touched_kinds(self) -> list[str]:
        """Read of which kinds anything is to be computed again."""
        return [row[0] for row in self.driver.execute("SELECT DISTINCT kind FROM main.touched")]

    def untouch(self, kind: str) -> None:
        """Note that everything of a kind was computed."""
        self.driver.execute("DELETE FROM main.touched WHERE kind = ?", (kind,))

    # -- single lines of the log ------------------------------------------------------------------

    def chain(self, number: EntryNumber) -> tuple[LogLine, ...]:
        """Read the entry that a line belongs to, with all its corrections; empty: no such line."""
        found = self.driver.execute(
            f"SELECT line FROM {LOG}.entries WHERE origin = ? AND number = ?", number
        ).fetchone()
        if found is None:
            return ()
        return tuple(line for _, line in self.chains([self.record_of(found[0])]))

    def chains_with_ref(self, ref: str, *, of_sheets: bool) -> tuple[LogLine, ...]:
        """Read the entries that have a ref. of_sheets: also where a sheet gave it."""
        where = "" if of_sheets else " AND sheet IS NULL"
        found = self.driver.execute(
            f"SELECT line FROM {LOG}.entries WHERE ref = ?{where}", (ref,)
        ).fetchall()
        return tuple(line for _, line in self.chains({self.record_of(row[0]) for row in found}))

    def last_standing(self, origin: str) -> EntryNumber | None:
        """Return the number of the line that says the last entry of an origin now."""
        row = self.driver.execute(
            f"SELECT s.origin, s.number FROM {LOG}.entries e JOIN main.standing s"
            " ON s.record = e.line WHERE e.origin = ? ORDER BY e.number DESC LIMIT 1",
            (origin,),
        ).fetchone()
        return None if row is None else EntryNumber(*row)

    def last_number(self, origin: str) -> EntryNumber | None:
        """Return the highest number of an origin."""
        last = self.driver.execute(
            f"SELECT max(number) FROM {LOG}.entries WHERE origin = ?", (origin,)
        ).fetchone()[0]
        return None if last is None else EntryNumber(origin, last)

    def last_day_but(self, records: Iterable[EntryNumber]) -> str | None:
        """Return the last day of all entries but these, by the numbers of their records."""
        gone = set(records)
        found = self.driver.execute(
            "SELECT first_origin, first_number, day FROM main.standing WHERE day IS NOT NULL"
            " ORDER BY day DESC"
        )
        return next((day for *number, day in found if EntryNumber(*number) not in gone), None)


def _indexes() -> Iterator[tuple[str, str, str]]:
    """Yield the name of every index, its table and its columns."""
    for table, indexes in INDEXES.items():
        for columns in indexes:
            yield f"{table}_{columns.partition(',')[0]}", table, columns


def words_of(*texts: str | None) -> str:
    """Return texts as they are searched: folded, one behind the other."""
    said = [text for text in texts if text]
    return " ".join(map(_folding(), said)) if said else ""


@cache
def _folding() -> Callable[[str], str]:
    # Only what has a ref or a note waits for the table of letters.
    fold: Callable[[str], str] = import_module("credits.names").fold
    return fold


def _here(log: Driver, folder: Path) -> LogHere | None:
    """Return what keeps the rows of a log on a server here; None: the log is a file here."""
    if isinstance(log, sqlite3.Connection):
        return None
    # Whoever reads a file waits for nothing of this.
    made: LogHere = import_module("credits.store.beside.log_here").LogHere(log, folder)
    return made


def _closed(driver: Driver, log: Driver, here: LogHere | None) -> None:
    driver.close()
    log.close()
    if here is not None:
        here.close()
