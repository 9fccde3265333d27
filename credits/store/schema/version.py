"""The version of a log: which one it has, and whether that is the newest."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

from credits.errors import Finding, LogUnusable, Place
from credits.files import shipped
from credits.store.engines.driver import Driver, is_file, snapshot, table_names
from credits.store.engines.said import ServerError
from credits.store.file import how_to_put_back
from credits.store.place import LogPlace
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
