"""Where the log of a production is: a file in its folder, or a database on a server."""

from __future__ import annotations

from importlib import import_module
from pathlib import Path

from credits.errors import Finding, LogUnusable, Place
from credits.store.engines.address import Address, address_in
from credits.store.engines.driver import Driver
from credits.store.file import BUSY_MILLISECONDS, LOG_NAME, log_in, opened

LogPlace = Path | Address


def log_of(folder: Path, hint: str = "Name the folder of a production.") -> LogPlace:
    """Find the log of the production in a folder: its file, else what its settings name.

    Raises NoProduction, with the hint; ProblemsFound for an address that is none.
    """
    return address_of(folder) or log_in(folder, hint)


def address_of(folder: Path) -> Address | None:
    """Return the address of the log of the production in a folder; None: it is a file there."""
    return None if (folder / LOG_NAME).exists() else address_in(folder)


def opened_log(log: LogPlace, busy_milliseconds: int = BUSY_MILLISECONDS) -> Driver:
    """Open a log, wherever it is. Raises what the engine raises."""
    if isinstance(log, Path):
        return opened(log, busy_milliseconds)
    try:
        postgres = import_module("credits.store.engines.postgres")
    except ImportError as error:
        what = "cannot be opened: this program was set up without PostgreSQL"
        hint = "Ask whoever set it up for the same with its part `postgres`."
        raise LogUnusable(Finding(what, hint, Place(log.name))) from error
    driver: Driver = postgres.opened(log, busy_milliseconds)
    return driver
