"""A copy of a log put in the place of the log, and what was there kept aside.

A copy may not simply be laid over the file: what SQLite keeps beside it (``-wal``) belongs to the
file that was there, and would be read into the copy. A log that can be read is written over by the
engine, in one transaction that every reader and writer sees; one that cannot is moved aside with
what lies beside it.
"""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing, contextmanager
from datetime import datetime
from pathlib import Path

from credits.errors import Finding, LogUnusable, Place
from credits.store.engines.driver import damage, table_names
from credits.store.engines.sqlite import is_busy
from credits.store.file import (
    BUSY_MILLISECONDS,
    LOG_NAME,
    copy_into,
    copy_log,
    in_words,
    opened,
)
from credits.store.settings import SETTINGS_NAME
from credits.unfinished import sync_folder, unfinished
from credits.waiting import tries
from credits.written import note, unbroken

BESIDE = ("", "-wal", "-shm")
_AT_ONCE = 100  # milliseconds: between two tries it is said that something waits
_RESTORED = "restored"  # the folder in which a copy is looked at


@contextmanager
def copied_beside(file: Path, folder: Path) -> Iterator[Path]:
    """Copy a backup into a folder of its own within the production's, where it can be looked at.

    Yields the folder; the copy is its log. Raises LogUnusable.
    """
    with (
        in_words(folder / LOG_NAME),
        unfinished(folder / _RESTORED, folder=True, mode=0o700) as beside,
    ):
        try:
            copy_log(file, beside / LOG_NAME)
        except LogUnusable as error:
            raise not_sound(file, error.findings) from error
        settings = folder / SETTINGS_NAME
        if settings.exists():
            (beside / SETTINGS_NAME).write_bytes(settings.read_bytes())
        yield beside


def is_readable(log: Path) -> bool:
    """Tell whether the engine can read all of a log, and so can write over it; an empty file is
    none."""
    try:
        with closing(opened(log)) as driver:
            return bool(table_names(driver)) and not damage(driver)
    except sqlite3.Error as error:
        if is_busy(error):  # it is no worse than another program that has it open
            with in_words(log):
                raise
        return False


def keep_aside(log: Path, now: datetime, *, readable: bool) -> Path:
    """Keep what is there under another name, before it is written over. Returns the file.

    What an earlier try has kept, which was stopped before it wrote anything, is not kept twice.
    """
    aside = log.with_name(f"{LOG_NAME}.before-restore-{now:%Y%m%d-%H%M%S}")
    if readable:
        earlier = log.parent.glob(f"{LOG_NAME}.before-restore-*")
        return copy_log(log, aside, numbered=True, same_as=sorted(earlier))
    with in_words(log), unbroken():
        aside = _free(aside)
        for end in reversed(BESIDE):  # the log itself comes last: then the others are there
            source = log.with_name(log.name + end)
            if source.exists():
                with unfinished(aside, mode=0o600) as new:
                    new.write_bytes(source.read_bytes())
                    shutil.copymode(source, new)
                    new.rename(aside.with_name(aside.name + end))
        note(aside)
    return aside


def _free(path: Path) -> Path:
    """Find a name that is not there yet."""
    found, number = path, 1
    while found.exists():
        number += 1
        found = path.with_name(f"{path.name}-{number}")
    return found


def put_in_place(copy: Path, log: Path, *, readable: bool) -> None:
    """Put a sound copy in the place of the log. Raises LogUnusable; what was there then stays."""
    if readable:
        with (
            in_words(log),
            closing(sqlite3.connect(copy)) as source,
            closing(opened(log, _AT_ONCE)) as target,
            unbroken(),
        ):
            source.backup(target, progress=_while_it_is_held())
            note(log)
        return
    with in_words(log), unfinished(log, mode=0o600) as new:
        copy_into(copy, new, log)
        if log.exists():
            shutil.copymode(log, new)
        with unbroken():
            for end in BESIDE[1:]:  # what lies beside belongs to the log that goes
                log.with_name(log.name + end).unlink(missing_ok=True)
            new.rename(log)
            note(log)
        sync_folder(log.parent)


def _while_it_is_held() -> Callable[[int, int, int], None]:
    """Wait while another program writes, as every writer does; the engine itself waits for ever."""
    turns = tries(BUSY_MILLISECONDS / 1000)

    def wait(status: int, _left: int, _pages: int) -> None:
        if status in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED) and next(turns):
            raise sqlite3.OperationalError("database is locked")

    return wait


def lines_of(log: Path, tables: Sequence[str]) -> dict[str, int]:
    """Count the rows of the tables that only grow. Raises LogUnusable."""
    with in_words(log), closing(opened(log)) as driver:
        there = {row[0] for row in driver.execute("SELECT name FROM sqlite_master")}
        counts = ((table, f"SELECT count(*) FROM {table}") for table in tables if table in there)
        return {table: driver.execute(query).fetchone()[0] for table, query in counts}


def first_lines_differ(log: Path, copy: Path) -> str | None:
    """Return the number of the first line of the log that the copy has otherwise, or has not."""
    with in_words(log), closing(opened(log)) as ours, closing(sqlite3.connect(copy)) as theirs:
        query = "SELECT * FROM entries ORDER BY line"
        others = theirs.execute(query)
        for row in ours.execute(query):
            if tuple(row) != tuple(others.fetchone() or ()):
                names = [column[0] for column in others.description]
                said = dict(zip(names, row, strict=False))
                return f"{said.get('origin')}-{said.get('number')}"
    return None


def not_sound(file: Path, findings: Sequence[Finding]) -> LogUnusable:
    """Return the error of a copy that is not to be put back."""
    what = findings[0].what
    what = what if what.startswith("cannot be put back") else f"cannot be put back: {what}"
    return LogUnusable(Finding(what, "Take another copy.", Place(file.name)))
