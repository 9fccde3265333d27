"""The values of cells: read strictly, and told what would be right."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable
from contextlib import suppress
from datetime import date, timedelta
from enum import StrEnum
from fractions import Fraction
from importlib import import_module

from credits.errors import ProblemsFound
from credits.units.frames import Frames
from credits.units.spoken import plain_digits, plain_words, spoken_day

Cell = str | date
Reader = Callable[[Cell], object]

LONGEST_CODE = 60
LONGEST_NAME = 300
LONGEST_NOTE = 20_000
HIGHEST_NUMBER = 999_999_999

_DIGITS = re.compile(r"[0-9]+")
# With exactly three digits behind it, the sign may part thousands.
_WHOLE_DECIMAL = re.compile(r"([0-9]+)[.,](?!0{3}\Z)0+")
_DECIMAL = re.compile(r"[+-]?[0-9]+[.,][0-9]+")
_PERCENT = re.compile(r"([0-9]{1,9}(?:[.,][0-9]{1,9})?) ?%")
_SHARE = re.compile(r"(?:([0-9]{1,9}) )?([0-9]{1,9})(?: ?/ ?([0-9]{1,9}))?")
# A workbook keeps 1/3 as a number of some sixteen digits; fewer may be another number, rounded.
_ROUNDED_BY_A_WORKBOOK, _MOST_PARTS = 12, 100
# A code is written in lists, in shot/take and on a command line, so it keeps clear of their signs.
_NOT_IN_CODES = re.compile(r"[\s,/]")
_JOINERS = "\u200c\u200d"
_YES_NO = {"yes": True, "true": True, "1": True, "no": False, "false": False, "0": False}
_MONTH_TEXT = re.compile(
    r"\d{1,2}[-. /]+[^\W\d_]{3,9}\.?([-. /]+\d{2,4})?|[^\W\d_]{3,9}\.?[-. /]+\d{1,4}"
)
_DAY_TEXT = re.compile(r"\d{4}-\d{1,2}-\d{1,2}([T ].*)?|\d{1,2}[./]\d{1,2}[./](\d{2}|\d{4})?")
_AS_TEXT = "Format the column as text before you type"


class Unreadable(Exception):
    """A cell that cannot be read: what is wrong, and what would be right."""

    def __init__(self, what: str, hint: str = "") -> None:
        self.what = what
        self.hint = hint
        super().__init__(f"{what}. {hint}")


def shown(cell: Cell) -> str:
    """Return a cell as a finding quotes it."""
    return cell.isoformat() if isinstance(cell, date) else cell


def _without_control(text: str, allowed: str = "") -> str:
    if text.isascii() and text.isprintable():
        return text
    for c in text:
        if c not in allowed and unicodedata.category(c) in ("Cc", "Cs", "Zl", "Zp"):
            name = "a line break" if c in "\r\n\u2028\u2029" else f"U+{ord(c):04X}"
            raise Unreadable(f"holds a control character ({name})", "Take it out.")
    return unicodedata.normalize("NFC", text)


def name(cell: Cell) -> str:
    """Read a name, a title, a heading: one line of any script, NFC-normalised."""
    text = _without_control(str(cell))
    if len(text) > LONGEST_NAME:
        raise Unreadable(f"has {len(text)} characters", f"Shorten it to {LONGEST_NAME}.")
    return text


def note(cell: Cell) -> str:
    """Read a note or a description: any text, with line breaks, which become LF."""
    text = str(cell)
    if len(text) > LONGEST_NOTE:
        raise Unreadable(f"has {len(text)} characters", f"Shorten it to {LONGEST_NOTE}.")
    return _without_control(text.replace("\r\n", "\n").replace("\r", "\n"), allowed="\n\t")


def email(cell: Cell) -> str:
    """Read an e-mail address: something on both sides of one @, no white space."""
    text = name(cell)
    before, _, after = text.partition("@")
    if not before or not after or "@" in after or any(c.isspace() for c in text):
        raise Unreadable("is not an e-mail address", "Write it as name@place.example.")
    return text


def code(cell: Cell) -> str:
    """Read a code: any script; no white space, no comma, no slash, and no '-' at the beginning."""
    if isinstance(cell, date):
        hint = f"{_AS_TEXT} codes into it, and write the code again."
        raise Unreadable("a spreadsheet has turned this code into a date", hint)
    text = _without_control(cell)
    if found := _NOT_IN_CODES.search(text):
        sign = "white space" if found[0].isspace() else f"a '{found[0]}'"
        hint = f"Write {_NOT_IN_CODES.sub('-', text)}, or another code."
        raise Unreadable(f"a code cannot hold {sign}", hint)
    if text.startswith("-"):
        raise Unreadable("a code cannot begin with '-'", "Begin with a letter or a digit.")
    if len(text) > LONGEST_CODE:
        what = f"a code of {len(text)} characters is too long"
        raise Unreadable(what, f"Shorten it to {LONGEST_CODE}.")
    for c in "" if text.isascii() else text:
        if unicodedata.category(c) == "Cf" and c not in _JOINERS:
            what = f"holds an invisible character (U+{ord(c):04X})"
            raise Unreadable(what, "Type the code again.")
    return text


def whole(least: int, highest: int = HIGHEST_NUMBER) -> Callable[[Cell], int]:
    """Return the reader of whole numbers from ``least`` to ``highest``."""

    def read(cell: Cell) -> int:
        if isinstance(cell, date):
            raise Unreadable("is a date, not a whole number", "Format the column as a number.")
        text = plain_digits(cell)
        if match := _WHOLE_DECIMAL.fullmatch(text):
            text = match[1]
        if not _DIGITS.fullmatch(text):
            raise Unreadable(_NOT_WHOLE, _whole_instead(text))
        if len(text) > 12 or int(text) > highest:
            raise Unreadable("is too high", f"The highest number here is {highest}.")
        if int(text) < least:
            raise Unreadable("is too low", f"The lowest number here is {least}.")
        return int(text)

    return read


def _whole_instead(text: str) -> str:
    if _DECIMAL.fullmatch(text):
        return "Write a whole number, without a point or a comma."
    return "Write it in digits, such as 12."


_NOT_WHOLE = "is not a whole number"
_WHOLE_MINUTES = whole(0)


def minutes(cell: Cell) -> int:
    """Read whole minutes; lengths such as ``8h`` are minutes before cells are read."""
    try:
        return _WHOLE_MINUTES(cell)
    except Unreadable as problem:
        if problem.what != _NOT_WHOLE:
            raise
        hint = "Write whole minutes such as 90, or a length such as 1:30, 1.5 h or 1/2 day."
        raise Unreadable("is not a length in minutes", hint) from None


def yes_no(cell: Cell) -> bool:
    """Read yes or no (also true, false, 1, 0)."""
    if (value := _YES_NO.get(str(cell).lower())) is None:
        raise Unreadable("is neither yes nor no", "Write yes or no.")
    return value


def share(cell: Cell) -> Fraction:
    """Read a share: ``2``, ``1/2``, ``½``, ``50 %``, or a decimal that is a clear fraction."""
    if isinstance(cell, date):
        hint = f"{_AS_TEXT} shares into it, and write the fraction again."
        raise Unreadable("a spreadsheet has turned a fraction such as 1/2 into a date", hint)
    text = plain_words(cell)
    hint = "Write a whole number such as 2, or a fraction such as 1/2."
    found: Fraction | None = None
    if match := _SHARE.fullmatch(text):
        whole_part, above, below = match.groups()
        if below is not None or whole_part is None:
            parts = int(below or 1)
            found = Fraction(int(above), parts) + int(whole_part or 0) if parts else Fraction(0)
    elif match := _PERCENT.fullmatch(text):
        found = Fraction(match[1].replace(",", ".")) / 100
    elif _DECIMAL.fullmatch(text) and len(text) < 24:
        said = Fraction(text.replace(",", "."))
        near = said.limit_denominator(_MOST_PARTS)
        digits = len(re.split("[.,]", text)[1])
        noise = Fraction(1, 10**_ROUNDED_BY_A_WORKBOOK)
        if said == near or (digits >= _ROUNDED_BY_A_WORKBOOK and abs(said - near) < noise):
            found = near
        elif near > 0:
            hint = f"Write {near}."
    if found is None:
        raise Unreadable("is not a share", hint)
    if found <= 0:
        raise Unreadable("a share is positive", "Write 1, 2 or 1/2.")
    return found


def word(kind: type[StrEnum]) -> Reader:
    """Return the reader of one of a few code words, without regard to case."""
    *words, last = map(str, kind)
    hint = f"Write {', '.join(words)} or {last}."

    def read(cell: Cell) -> StrEnum:
        try:
            return kind(str(cell).lower())
        except ValueError:
            raise Unreadable("is not one of the words for this column", hint) from None

    return read


def frames(cell: Cell) -> Frames:
    """Read frames as ``1-20,25-48``. Says so when a spreadsheet has made a date of them."""
    if isinstance(cell, date) or _DAY_TEXT.fullmatch(cell) or _MONTH_TEXT.fullmatch(cell):
        hint = f"{_AS_TEXT} frames into it, and write the range again."
        raise Unreadable("a spreadsheet has turned a range such as 1-12 into a date", hint)
    try:
        return Frames.parse(plain_digits(cell))
    except ProblemsFound as found:
        first = found.findings[0]
        raise Unreadable(first.what, first.hint) from None


def isni(cell: Cell) -> str:
    """Read an ISNI (ISO 27729, check character by ISO 7064 MOD 11-2), spaced or not, as compact."""
    # Few cells are ISNIs, and the library asks the system for its certificates as it loads.
    isnis = import_module("stdnum.isni")
    number: str = isnis.compact(str(cell))
    if _ISNI.fullmatch(number) is None:
        hint = "An ISNI has sixteen figures, the last of which may be X: 0000 0001 2281 955X."
        raise Unreadable("is not an ISNI", hint)
    right: str = import_module("stdnum.iso7064.mod_11_2").calc_check_digit(number[:-1])
    if number[-1] != right:
        what = f"the check character is {number[-1]}, but {number[:-1]} asks for {right}"
        meant = isnis.format(number[:-1] + right)
        raise Unreadable(what, f"Compare every figure; with these it would be {meant}.")
    return number


FIRST_YEAR, LAST_YEAR = 1900, 2199
_ISO = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_ISNI = re.compile(r"[0-9]{15}[0-9X]")
_ISO_WITH_TIME = re.compile(r"([0-9]{4}-[0-9]{2}-[0-9]{2})[T ][0-9:.,+Z -]+")
_THREE_NUMBERS = re.compile(r"([0-9]{1,4})[-./ ]+([0-9]{1,2})[-./ ]+([0-9]{1,4})\.?")
_SIGNED_DATE = re.compile(r"([0-9]{4}) ?[年년] ?([0-9]{1,2}) ?[月월] ?([0-9]{1,2}) ?[日일]")
_WITH_YEAR = re.compile(r".*(?<![0-9])[0-9]{4}(?![0-9])")
_WEEKDAY_BEFORE = re.compile(r"((?:mon|tue|wed|thu|fri|sat|sun)[a-z]*)[.,]* (.+)", re.IGNORECASE)
_BETWEEN_PARTS_OF_A_DATE = re.compile(r"(?<=[^\W_])[-/ ]+(?=[^\W_])")
_DAY_NUMBER = re.compile(r"[34][0-9]{4}")
# Day 0 of the usual spreadsheet count, so that 1 March 1900 and later days come out right
# (ECMA-376 part 1, 18.17.4.1: the 1900 date base, with 29 February 1900 counted).
_SPREADSHEET_DAY_0 = date(1899, 12, 30)


def day(cell: Cell) -> date:
    """Read a day as ``2026-03-02``, a workbook's real date, or a date that has one meaning.

    ``2 March 2026``, ``2026/3/2`` and ``13/3/2026`` have one; ``3/4/2026`` has two, by country,
    and is never guessed: the finding names both.
    """
    if isinstance(cell, date):
        return _likely(cell)
    if _ISO.fullmatch(cell):
        try:
            return _likely(date.fromisoformat(cell))
        except ValueError:
            raise Unreadable("there is no such day", "Correct the month or the day.") from None
    text = plain_digits(cell)
    if match := _SIGNED_DATE.fullmatch(text):
        text = "-".join(match.groups())
    days = _readings(text)
    # With two digits a year may be a day.
    if len(days) == 1 and _WITH_YEAR.match(text):
        return days[0]
    if not days and _WITH_YEAR.match(text):
        spoken = _BETWEEN_PARTS_OF_A_DATE.sub(" ", text)
        weekday = None
        if match := _WEEKDAY_BEFORE.fullmatch(spoken):
            weekday, spoken = spoken_day(match[1], _SPREADSHEET_DAY_0), match[2]
        named = spoken_day(spoken, _SPREADSHEET_DAY_0)
        if named is not None and weekday is not None and weekday.weekday() != named.weekday():
            hint = "Correct the day, or leave the day of the week out."
            raise Unreadable(f"{named} is a {named:%A}", hint)
        if named is not None:
            return _likely(named)
    raise Unreadable("is not a date as year-month-day", _instead(text))


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
    days = [str(day) for day in _readings(text)]
    whichever = ", whichever is meant" if len(days) > 1 else ""
    return f"Write {' or '.join(days)}{whichever}." if days else "Write it like 2026-03-02."


def _readings(text: str) -> list[date]:
    """The days that three numbers can mean, in the orders that countries write them."""
    match = _THREE_NUMBERS.fullmatch(text)
    if match is None:
        return []
    a, b, c = match.groups()
    year = {2: f"20{c}", 4: c}.get(len(c), "0")
    found: dict[date, None] = {}
    for order in [(a, b, c)] if len(a) == 4 else [(year, b, a), (year, a, b)]:
        with suppress(ValueError):
            found[date(*map(int, order))] = None
    return [day for day in found if FIRST_YEAR <= day.year <= LAST_YEAR]
