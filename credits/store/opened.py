"""A log as everybody opens it: of the newest version, whatever version it had."""

from __future__ import annotations

from importlib import import_module
from pathlib import Path

from credits.store.engines.driver import Driver, is_file
from credits.store.engines.sqlite import to_wal
from credits.store.file import BUSY_MILLISECONDS, LOG_NAME, in_words
from credits.store.place import log_of, opened_log
from credits.store.schema.version import is_current


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
