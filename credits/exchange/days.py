"""Working days as they are written: ISO 8601, and what to write instead of anything else."""

from __future__ import annotations

import re
from datetime import date, timedelta

from credits.exchange.values import Cell, Unreadable

FIRST_YEAR, LAST_YEAR = 1900, 2199
_ISO = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_ISO_WITH_TIME = re.compile(r"([0-9]{4}-[0-9]{2}-[0-9]{2})[T ][0-9:.,+Z -]+")
_THREE_NUMBERS = re.compile(r"([0-9]{1,4})[-./ ]+([0-9]{1,2})[-./ ]+([0-9]{1,4})\.?")
_DAY_NUMBER = re.compile(r"[34][0-9]{4}")
# Day 0 of the usual spreadsheet count, so that 1 March 1900 and later days come out right
# (ECMA-376 part 1, 18.17.4.1: the 1900 date base, with 29 February 1900 counted).
_SPREADSHEET_DAY_0 = date(1899, 12, 30)


def day(cell: Cell) -> date:
    """A day as ``2026-03-02``, or a workbook's real date. Raises Unreadable for anything else.

    Dates in a country's own order are never guessed: the finding names the day, or the days, that
    may be meant.
    """
    if isinstance(cell, date):
        return _likely(cell)
    if _ISO.fullmatch(cell):
        try:
            return _likely(date.fromisoformat(cell))
        except ValueError:
            hint = "Correct the month or the day."
            raise Unreadable("there is no such day", hint) from None
    raise Unreadable("is not a date as year-month-day", _instead(cell))


def _likely(found: date) -> date:
    if not FIRST_YEAR <= found.year <= LAST_YEAR:
        raise Unreadable(f"the year {found.year} cannot be right", "Correct the year.")
    return found


def _instead(text: str) -> str:
    if match := _ISO_WITH_TIME.fullmatch(text):
        return f"Write {match[1]}, without a time."
    if _DAY_NUMBER.fullmatch(text):
        counted = _SPREADSHEET_DAY_0 + timedelta(days=int(text))
        return f"Format the column as a date; as a spreadsheet counts days, it is {counted}."
    days = _readings(text)
    if len(days) == 1:
        return f"Write {days[0]}."
    if days:
        return f"Write {' or '.join(map(str, days))}, whichever is meant."
    return "Write it like 2026-03-02."


def _readings(text: str) -> list[date]:
    """The days that three numbers can mean, in the orders that countries write them."""
    match = _THREE_NUMBERS.fullmatch(text)
    if match is None:
        return []
    a, b, c = (int(number) for number in match.groups())
    if len(match[1]) == 4:
        orders = [(a, b, c)]
    elif len(match[3]) in (2, 4):
        year = c if len(match[3]) == 4 else 2000 + c
        orders = [(year, b, a), (year, a, b)]
    else:
        return []
    found: list[date] = []
    for year, month, number in orders:
        try:
            reading = date(year, month, number)
        except ValueError:
            continue
        if FIRST_YEAR <= year <= LAST_YEAR and reading not in found:
            found.append(reading)
    return found
