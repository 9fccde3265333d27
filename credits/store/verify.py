"""The full check of a log: is the file sound, is it whole, can every line be read."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

from credits.errors import CreditsError, Finding, Place
from credits.store import reading
from credits.store.file import (
    LOG_NAME,
    Driver,
    damage,
    in_words,
    log_in,
    lost_codes,
    opened,
    snapshot,
    stored_triggers,
)
from credits.store.seal import broken_seals
from credits.store.settings import read_settings
from credits.store.triggers import triggers
from credits.store.version import is_current

_PLACE = Place(LOG_NAME)
_PUT_BACK = "Put back a copy made with `credits backup`: credits restore FILE"


def verify(folder: Path) -> tuple[Finding, ...]:
    """Find everything that is wrong with the log and the settings of a production.

    Nothing is changed, an older log is not migrated. Raises NoProduction, and LogUnusable when
    the file cannot be opened as a log at all.
    """
    settings: tuple[Finding, ...] = ()
    with in_words(folder / LOG_NAME):
        path = log_in(folder)
        with closing(opened(path)) as driver, snapshot(driver):
            try:
                read_settings(folder)
            except CreditsError as error:
                settings = error.findings
            return (*settings, *_log(driver, path))


def _log(driver: Driver, path: Path) -> Iterator[Finding]:
    current = is_current(driver, path)
    if found := damage(driver):
        yield from (Finding(f"is damaged: {what}", _PUT_BACK, _PLACE) for what in found)
        return
    for table, row, parent in lost_codes(driver):
        what = f"row {row} of {table} names something that is not in {parent}"
        yield Finding(what, _PUT_BACK, _PLACE)
    if not current:
        hint = "Any other command brings it to the newest version; then verify again."
        yield Finding("is of an older version: its rows were not looked at", hint, _PLACE)
        return
    yield from _triggers(driver)
    yield from _numbers(driver)
    yield from _proofs(driver)
    yield from _seals(driver)
    yield from _rows(driver)


def _triggers(driver: Driver) -> Iterator[Finding]:
    """Find whether what keeps the log append-only is there, and nothing beside it."""
    expected, found = triggers(), stored_triggers(driver)
    for name in sorted(expected.keys() | found.keys()):
        if name not in found:
            what = "the trigger is missing: the log is not guarded against changes"
        elif name not in expected:
            what = "the trigger was not made by this program"
        elif found[name] != expected[name]:
            what = "the trigger was changed: the log is not guarded against changes"
        else:
            continue
        yield Finding(what, _PUT_BACK, _PLACE, "trigger", name)


def _numbers(driver: Driver) -> Iterator[Finding]:
    """Ask that the numbers of each origin are 1, 2, 3, ... without holes: no line was taken out."""
    last: dict[str, int] = {}
    numbers = "SELECT origin, number FROM entries ORDER BY origin, number"
    for origin, number in driver.execute(numbers):
        before = last.get(origin, 0)
        last[origin] = number
        if number > before + 1:
            first, until = f"{origin}-{before + 1}", f"{origin}-{number - 1}"
            lines = f"line {first} is" if first == until else f"lines {first} to {until} are"
            yield Finding(f"{lines} missing", _PUT_BACK, _PLACE)


def _proofs(driver: Driver) -> Iterator[Finding]:
    """Ask that proofs are numbered 1, 2, 3, ..."""
    numbers = driver.execute("SELECT number FROM proofs ORDER BY number")
    for expected, (number,) in enumerate(numbers, 1):
        if number != expected:
            yield Finding(f"proof {expected} is missing", _PUT_BACK, _PLACE)
            return


def _seals(driver: Driver) -> Iterator[Finding]:
    """Ask that every proof fits its seal."""
    for number in broken_seals(driver):
        what = f"proof {number} does not fit its seal: it was altered after it was made"
        yield Finding(what, _PUT_BACK, _PLACE)


def _rows(driver: Driver) -> Iterator[Finding]:
    """Ask that every row can be read as what it is."""
    tables = (*reading.FACT_TABLES, reading.SETTLEMENTS, reading.CONFIRMATIONS)
    for which, wanted in (
        ("proof {0}", reading.PROOFS.wanted),
        *((f"row {{0}} of {table.name}", table.wanted) for table in tables),
        ("line {0}-{1}", reading.LINES),
    ):
        for row, error in _unreadable(driver, wanted):
            what = f"{which.format(*row)} cannot be read ({error})"
            yield Finding(what, _PUT_BACK, _PLACE)


def _unreadable(
    driver: Driver, wanted: reading.Wanted
) -> Iterator[tuple[tuple[Any, ...], Exception]]:
    """Find each row, as it is written, that holds what its columns cannot hold; and why."""
    for row in wanted.as_kept(driver):
        try:
            for at, read in wanted.readers:
                read(row[at])
        except (ValueError, TypeError, CreditsError) as error:
            yield row, error
