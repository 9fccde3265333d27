"""The file of a log: which one is meant, and how it is opened, by the driver alone.

What is needed before the tables are known stands here: a half-typed word waits for no table class.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Mapping
from pathlib import Path

from credits.errors import Finding, NoProduction

LOG_NAME = "production.db"
BUSY_MILLISECONDS = 5000
VARIABLE = "CREDITS_PRODUCTION"
_HINT = (
    f"Go into a production's folder, or name it with --production DIR or {VARIABLE}, "
    "or make one with `credits start`."
)


def find_production(folder: Path | None, environ: Mapping[str, str], cwd: Path) -> Path:
    """Find the production's folder. Raises NoProduction that says what to do.

    It is ``folder``, else CREDITS_PRODUCTION, else ``cwd`` or the nearest parent that holds a log.
    """
    if folder is not None:
        return _named(cwd / folder, "--production")
    if environ.get(VARIABLE):
        return _named(cwd / environ[VARIABLE], VARIABLE)
    for candidate in (cwd, *cwd.parents):
        if os.path.isfile(candidate / LOG_NAME):  # noqa: PTH113 - False where one may not look
            return candidate
    raise NoProduction(
        Finding("is in no production: neither it nor a folder above it holds production.db", _HINT,
                value=str(cwd))
    )  # fmt: skip


def _named(folder: Path, by: str) -> Path:
    if folder.name == LOG_NAME and not folder.is_dir():
        folder = folder.parent
    if os.path.exists(folder / LOG_NAME):  # noqa: PTH110 - False where one may not look
        return folder
    what = "holds no production.db" if folder.is_dir() else "is not a folder"
    raise NoProduction(Finding(what, _HINT, column=by, value=str(folder)))


def _connected(path: Path, mode: str, busy_milliseconds: int, *pragmas: str) -> sqlite3.Connection:
    address = f"{path.absolute().as_uri()}?mode={mode}"
    connection = sqlite3.connect(
        address, uri=True, isolation_level=None, timeout=busy_milliseconds / 1000
    )
    try:
        # The first one reads the first page: whether the file can be opened at all shows here.
        for pragma in ("schema_version", *pragmas):
            connection.execute(f"PRAGMA {pragma}").fetchone()
    except BaseException:
        connection.close()
        raise
    return connection


def opened(path: Path, busy_milliseconds: int = BUSY_MILLISECONDS) -> sqlite3.Connection:
    """Open a log; for reading alone in a folder that may not be written.

    SQLite cannot keep its WAL there. Where no WAL is left over the file is whole, and nobody can be
    writing it: it is read as it is. Raises what the driver raises.
    """
    try:
        return _connected(path, "rw", busy_milliseconds, "foreign_keys=ON", "synchronous=FULL")
    except sqlite3.OperationalError as error:
        # So SQLite says that it cannot keep its WAL beside the log.
        kept_out = ("unable to open", "readonly")
        if not any(words in str(error) for words in kept_out) or not path.is_file():
            raise
        left_over = path.with_name(path.name + "-wal")
        as_it_is = "" if left_over.exists() and left_over.stat().st_size else "&immutable=1"
        return _connected(path, f"ro{as_it_is}", busy_milliseconds, "query_only=ON")
