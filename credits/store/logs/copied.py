"""A log carried from one engine to another: every row as it is, with its seals and its history."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing, contextmanager
from functools import partial
from importlib import import_module
from pathlib import Path

from credits.errors import Finding, LogUnusable, Place
from credits.store.engines import table_words
from credits.store.engines.driver import Driver, begin, snapshot
from credits.store.file import already_there, opened
from credits.store.place import LogPlace, opened_log
from credits.store.reading import LogReader
from credits.store.schema.records import RECORDS, VERSION_COLUMN, VERSION_TABLE
from credits.store.schema.statements import insert_text
from credits.store.schema.tables import METADATA
from credits.store.schema.triggers import make_triggers
from credits.store.schema.version import is_current, stored_version
from credits.store.seals.verify import problems_of
from credits.unfinished import unfinished
from credits.written import note, unbroken


def _put_rows(source: Driver, target: Driver) -> None:
    """Copy the rows of every table, and which version the log has."""
    for table in METADATA.sorted_tables:  # what is named comes before what names it
        name, record = table.name, RECORDS[table.name]
        columns = list(record.columns)
        rows = source.execute(f"SELECT {', '.join(columns)} FROM {name} ORDER BY {record.key}")
        target.executemany(insert_text(name, columns), rows)
    version = source.execute(f"SELECT {VERSION_COLUMN} FROM {VERSION_TABLE}").fetchone()
    target.execute(f"INSERT INTO {VERSION_TABLE} ({VERSION_COLUMN}) VALUES (?)", version)


@contextmanager
def reading_of(log: LogPlace, settings: Path) -> Iterator[LogReader]:
    """Read one moment of a log, wherever it is. settings: the folder that has its settings.

    Raises LogUnusable, also where the log is of an older version.
    """
    with table_words.in_words(Path(log.name)), closing(opened_log(log)) as driver, snapshot(driver):
        if not is_current(driver, log):
            what = f"is of an older version ({stored_version(driver, log)})"
            hint = "Any other command brings it to the newest version."
            raise LogUnusable(Finding(what, hint, Place(log.name)))
        yield LogReader(settings, driver)


@contextmanager
def copied_to(source: LogReader, target: LogPlace, settings: Path) -> Iterator[LogReader]:
    """Copy a log that is read to a place that has none; yields what reads the copy.

    It stands when the block ends well; else nothing is there. Whoever asks compares both inside.
    Raises WrongCall where something is there already, LogUnusable, also where the copy is not
    sound.
    """
    if not isinstance(target, Path):
        fill = partial(_put_rows, source.driver)
        on_server = import_module("credits.store.logs.on_server")
        with on_server.new_log(target, fill, guarded=False) as driver:
            _require_sound(driver, target)
            yield LogReader(settings, driver)
        note(target)
        return
    with table_words.in_words(target), unfinished(target, mode=0o600) as new:
        with closing(opened(new)) as driver:
            driver.execute("PRAGMA foreign_keys=OFF")  # rows come as they are
            begin(driver, writing=True)
            table_words.make_tables(driver)
            _put_rows(source.driver, driver)
            make_triggers(driver)
            driver.commit()
            driver.execute("PRAGMA journal_mode=DELETE")
            _require_sound(driver, target)
            yield LogReader(settings, driver)
        if target.exists():
            raise already_there(target)
        with unbroken():
            new.rename(target)
            note(target)


def _require_sound(driver: Driver, target: LogPlace) -> None:
    found = problems_of(driver, target)
    if found:
        what = f"the copy is not sound: {found[0].what}; nothing was copied"
        hint = "See what `credits verify` says of the log that was to be copied."
        raise LogUnusable(Finding(what, hint, Place(target.name)))


def backed_up(log: LogPlace, target: Path) -> Path:
    """Copy a log on a server to a file that is not there yet: whole, at one moment."""
    with reading_of(log, target.parent) as source, copied_to(source, target, target.parent):
        pass
    return target
