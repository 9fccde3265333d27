"""The full check of a log: is the file sound, is it whole, can every line be read."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import Any

from credits.errors import CreditsError, Finding, LogUnusable, Place
from credits.store import reading
from credits.store.engines.driver import Driver, damage, lost_codes, snapshot, stored_triggers
from credits.store.file import LOG_NAME, in_words
from credits.store.place import LogPlace, log_of, opened_log
from credits.store.schema.triggers import triggers
from credits.store.schema.version import is_current
from credits.store.seals.chain import (
    ENTRIES,
    MOMENTS,
    Broken,
    Moment,
    broken,
    chain_of_lines,
    moments,
)
from credits.store.seals.history import not_in_history
from credits.store.seals.seal import broken_seals
from credits.store.settings import read_settings

_PLACE = Place(LOG_NAME)
_PUT_BACK = "Put back a copy made with `credits backup`: credits restore FILE"


def verify(folder: Path) -> tuple[Finding, ...]:
    """Find everything that is wrong with the log and the settings of a production.

    Nothing is changed, an older log is not migrated. Raises NoProduction, and LogUnusable when
    the file cannot be opened as a log at all.
    """
    settings: tuple[Finding, ...] = ()
    with in_words(folder / LOG_NAME):
        path = log_of(folder)
        try:
            read_settings(folder)
        except CreditsError as error:
            settings = error.findings
    return (*settings, *verify_file(path))


def verify_file(file: LogPlace) -> tuple[Finding, ...]:
    """Find everything that is wrong with a log, or with a backup of one. Raises LogUnusable."""
    with in_words(_path(file)), closing(opened_log(file)) as driver, snapshot(driver):
        return problems_of(driver, file)


def problems_of(driver: Driver, log: LogPlace) -> tuple[Finding, ...]:
    """Find everything that is wrong with a log that is open."""
    return tuple(replace(found, place=Place(log.name)) for found in _log(driver, log))


def moments_of(file: LogPlace) -> list[Moment]:
    """Read the moments of a log, each with the seal of all that was in it then.

    Raises LogUnusable, also where it is of an older version, which has no seals.
    """
    with in_words(_path(file)), closing(opened_log(file)) as driver, snapshot(driver):
        if not is_current(driver, file):
            what = "is of an older version, which has no seals"
            hint = "Any other command brings it to the newest version."
            raise LogUnusable(Finding(what, hint, Place(file.name)))
        return moments(driver)


def _path(log: LogPlace) -> Path:
    """Return what errors of the disk are said of."""
    return log if isinstance(log, Path) else Path(log.name)


def _log(driver: Driver, path: LogPlace) -> Iterator[Finding]:
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
    told: set[Row] = set()
    for what_is in (_numbers, _proofs, _rows, _chains):
        yield from _as_far_as_readable(what_is(driver, told))
    yield from _as_far_as_readable(_lists(driver))


def _as_far_as_readable(found: Iterator[Finding]) -> Iterator[Finding]:
    """Go on behind what no program of ours can have written; it is told as what it is."""
    try:
        yield from found
    except (ValueError, TypeError) as error:
        yield Finding(f"holds what cannot be read ({error})", _PUT_BACK, _PLACE)


def _triggers(driver: Driver) -> Iterator[Finding]:
    """Find whether what keeps the log append-only is there, and nothing beside it."""
    expected, found = triggers(driver), stored_triggers(driver)
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


Row = tuple[str, int]
"""A row of a chain, by its place."""


def _numbers(driver: Driver, told: set[Row]) -> Iterator[Finding]:
    """Ask that the numbers of each origin are 1, 2, 3, ... without holes: no line was taken out."""
    last: dict[str, int] = {}
    numbers = "SELECT origin, number FROM entries ORDER BY origin, number"
    for origin, number in driver.execute(numbers):
        before = last.get(origin, 0)
        last[origin] = number
        if number > before + 1:
            first, until = f"{origin}-{before + 1}", f"{origin}-{number - 1}"
            lines = f"line {first} is" if first == until else f"lines {first} to {until} are"
            told.add((chain_of_lines(origin), before + 1))
            yield Finding(f"{lines} missing", _PUT_BACK, _PLACE)


def _proofs(driver: Driver, told: set[Row]) -> Iterator[Finding]:
    """Ask that proofs are numbered 1, 2, 3, ..., and that each fits its own seal."""
    numbers = driver.execute("SELECT number FROM proofs ORDER BY number")
    for expected, (number,) in enumerate(numbers, 1):
        if number != expected:
            told.add((reading.PROOFS.name, expected))
            yield Finding(f"proof {expected} is missing", _PUT_BACK, _PLACE)
            break
    for number in broken_seals(driver):
        told.add((reading.PROOFS.name, number))
        what = f"proof {number} does not fit its seal: it was altered after it was made"
        yield Finding(what, _PUT_BACK, _PLACE)


_HOW = {
    "altered": ("was altered after it was written", ""),
    "missing": ("is missing", "are missing"),
    "unsealed": (
        "has no seal: another program wrote it",
        "have no seal: another program wrote them",
    ),
    "seal altered": (
        "does not fit its seal: seals were altered",
        "do not fit their seal: seals were altered",
    ),
}
"""What is wrong with one row, and with several."""


def _chains(driver: Driver, told: Collection[Row]) -> Iterator[Finding]:
    """Ask that every row that only grows is as it was sealed, in its place in its chain.

    told: of which rows something was said already.
    """
    for one in broken(driver):
        if (one.chain, one.first) not in told:
            several = one.last > one.first
            what = f"{_rows_named(one)} {_HOW[one.how][several]}"
            yield Finding(what, _PUT_BACK, _PLACE)


def _rows_named(one: Broken) -> str:
    """Say which rows: ``line A-7``, ``rows 3 to 5 of history``, ``moment 2``."""
    table, _, origin = one.chain.partition(" ")
    before = f"{origin}-" if origin else ""
    what = {ENTRIES: "line", MOMENTS: "moment"}.get(table, "row")
    places = f"{what} {before}{one.first}"
    if one.last > one.first:
        places = f"{what}s {before}{one.first} to {before}{one.last}"
    return places if table in (ENTRIES, MOMENTS) else f"{places} of {table}"


def _lists(driver: Driver) -> Iterator[Finding]:
    """Ask that every list is as its history says."""
    for table, code, is_there in not_in_history(driver):
        what = f"{code} of {table} is not as the history of the list says"
        if not is_there:
            what = f"{table} have not what the history of the list says of {code}"
        yield Finding(what, _PUT_BACK, _PLACE)


def _rows(driver: Driver, told: set[Row]) -> Iterator[Finding]:
    """Ask that every row can be read as what it is."""
    tables = (*reading.FACT_TABLES, reading.SETTLEMENTS, reading.CONFIRMATIONS)
    for row, error in _unreadable(driver, reading.LINES):
        told.add((chain_of_lines(row[0]), row[1]))
        yield Finding(f"line {row[0]}-{row[1]} cannot be read ({error})", _PUT_BACK, _PLACE)
    for table in (reading.PROOFS, *tables):
        named = "proof {}" if table is reading.PROOFS else f"row {{}} of {table.name}"
        for row, error in _unreadable(driver, table.wanted):
            told.add((table.name, row[0]))
            yield Finding(f"{named.format(row[0])} cannot be read ({error})", _PUT_BACK, _PLACE)


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
