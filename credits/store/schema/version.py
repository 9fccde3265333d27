"""The version of a log, and how a log of the newest version is opened."""

from __future__ import annotations

from contextlib import suppress
from importlib import import_module
from pathlib import Path

from credits.errors import Finding, LogUnusable, Place
from credits.files import shipped
from credits.store.engines.driver import Driver, is_file, snapshot, table_names
from credits.store.engines.said import ServerError
from credits.store.engines.sqlite import to_wal
from credits.store.file import BUSY_MILLISECONDS, LOG_NAME, how_to_put_back, in_words
from credits.store.place import LogPlace, log_of, opened_log
from credits.store.schema.records import VERSION_COLUMN, VERSION_TABLE


def known_versions(folder: Path | None = None) -> tuple[str, ...]:
    """List the versions that the migrations in ``folder`` know, the first one first.

    A script's name begins with its version; they follow each other in the order of their names.
    """
    scripts = sorted(((folder or shipped("db")) / "versions").glob("*_*.py"))
    return tuple(script.name.partition("_")[0] for script in scripts)


def stored_version(driver: Driver, path: LogPlace) -> str:
    """Return the version that the log says it has. Raises LogUnusable when it is no log."""
    asked = f"SELECT {VERSION_COLUMN} FROM {VERSION_TABLE}"
    if not is_file(driver) and not driver.in_transaction:
        with suppress(ServerError):  # in one statement: a server may be far away
            row = driver.execute(asked).fetchone()
            return str((row and row[0]) or "")
    with snapshot(driver):
        tables = table_names(driver)
        if not {VERSION_TABLE, "entries"} <= tables:
            what = "is a database, but not a log" if tables else "is empty: it is not a log"
            hint = "Name the folder of a production."
            if not tables and isinstance(path, Path):
                hint = how_to_put_back(path.parent)
            raise LogUnusable(Finding(what, hint, Place(path.name), None, str(path)))
        row = driver.execute(asked).fetchone()
        return str((row and row[0]) or "")


def is_current(driver: Driver, path: LogPlace, folder: Path | None = None) -> bool:
    """Tell whether the log has the newest version; False when it is older.

    Raises LogUnusable when it is of a version that this program does not know.
    """
    known = known_versions(folder)
    stored = stored_version(driver, path)
    if stored == known[-1]:
        return True
    if stored in known:
        return False
    raise LogUnusable(
        Finding(
            f"was written by a newer program: this one knows the log up to version {known[-1]}",
            "Install the newest version of this program.",
            Place(path.name),
            "version",
            stored,
        )
    )


def opened_current(folder: Path, busy_milliseconds: int = BUSY_MILLISECONDS) -> Driver:
    """Open the log of the production in ``folder``; an older one is migrated, after a copy.

    busy_milliseconds: how long to wait for another program that writes. Raises NoProduction,
    LogUnusable.
    """
    with in_words(folder / LOG_NAME):
        path = log_of(folder, "Make one with `credits start`, or name another folder.")
        driver = opened_log(path, busy_milliseconds)
        try:
            if not is_current(driver, path):
                # Wanted for an older log alone, and takes longer to import than a question.
                migrate = import_module("credits.store.schema.migrate")
                migrate.bring_up_to_date(path, busy_milliseconds=busy_milliseconds)
            if is_file(driver):
                to_wal(driver)
        except BaseException:
            driver.close()
            raise
        return driver
