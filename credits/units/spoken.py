"""Days and lengths of work as people type them: ``monday``, ``6 mar``, ``8h``, ``½ day``."""

from __future__ import annotations

import calendar
import re
import unicodedata
from contextlib import suppress
from datetime import date, timedelta
from fractions import Fraction

_DAYS_BACK = re.compile(r"[-−–]([0-9]{1,3})")
_DAY_FIRST = re.compile(
    r"([0-9]{1,2})(?:\.|st|nd|rd|th)? ?(?:of )?([^\W\d_]{3,10})\.?,?(?: ([0-9]{4}))?"
)
_MONTH_FIRST = re.compile(r"([^\W\d_]{3,10})\.? ([0-9]{1,2})(?:st|nd|rd|th)?,?(?: ([0-9]{4}))?")
_LEAST_LETTERS = 3

_AMOUNT = r"(?:([0-9]{1,4}) )?([0-9]{1,4})/([0-9]{1,4})|([0-9]{1,6}(?:[.,][0-9]{1,4})?)"
_HOURS_AND_MINUTES = re.compile(r"([0-9]{1,3})(?::| ?h ?)([0-9]{1,2})(?::00| ?m(?:in)?)?")
_UNITS = {
    "m": "minute", "min": "minute", "mins": "minute", "minute": "minute", "minutes": "minute",
    "h": "hour", "hr": "hour", "hrs": "hour", "hour": "hour", "hours": "hour",
    "d": "day", "day": "day", "days": "day",
}  # fmt: skip
_LENGTH = re.compile(rf"(?:{_AMOUNT}) ?([a-z]+)")


def plain_digits(text: str) -> str:
    """Return the text with the decimal digits of every script as 0 to 9."""
    if text.isascii():
        return text
    return "".join(str(unicodedata.decimal(c)) if c.isdecimal() else c for c in text)


def plain_words(text: str) -> str:
    """Return the text in lower case with single blanks, ``½`` as ``1/2``, digits as 0 to 9."""
    separate = re.sub(r"(\d)([¼-¾⅐-⅞])", r"\1 \2", text)
    plain = unicodedata.normalize("NFKC", separate).replace("\N{FRACTION SLASH}", "/")
    return " ".join(plain_digits(plain).lower().split())


def _named(word: str, names: list[str]) -> int | None:
    """Return the place of the one name that begins with the word, of three letters at least."""
    found = [at for at, name in enumerate(names) if name.lower().startswith(word)]
    return found[0] if len(word) >= _LEAST_LETTERS and len(found) == 1 else None


_MONTHS = [
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
]  # fmt: skip
# Names that mean one month in whatever language they are, without their accents.
_OTHER_MONTHS = {
    name: at
    for at, names in enumerate(
        (
            "januar januari janvier enero gennaio janeiro janner",
            "februar februari fevrier febrero febbraio fevereiro",
            "marz mars marzo marco maart marts mrz",
            "avril abril aprile",
            "mai mayo maggio maio mei maj",
            "juni juin junio giugno junho",
            "juli juillet julio luglio julho",
            "aout agosto augustus augusti",
            "septembre septiembre settembre setembro",
            "oktober octobre octubre ottobre outubro okt",
            "novembre noviembre novembro",
            "dezember decembre diciembre dicembre dezembro dez",
        )
    )
    for name in names.split()
}
_WEEK = ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"]


def _month(word: str) -> int | None:
    """Return the place of the month that a word is the name of."""
    letters = unicodedata.normalize("NFKD", word)
    bare = "".join(c for c in letters if not unicodedata.combining(c))
    at = _named(bare, _MONTHS)
    return _OTHER_MONTHS.get(bare) if at is None else at


def spoken_day(text: str, today: date) -> date | None:
    """Return the day that somebody means; None where the text is no such word.

    ``today``, ``yesterday``, ``-1`` (days back), ``monday`` (the last one; today, if it is one),
    ``6 mar`` or ``march 6`` (the last one that is not in the future), ``6 mar 2026``.
    """
    plain = plain_words(text)
    if plain in ("today", "yesterday"):
        return today - timedelta(days=plain == "yesterday")
    if back := _DAYS_BACK.fullmatch(plain):
        return today - timedelta(days=int(back[1]))
    weekday = _named(plain, _WEEK)
    if weekday is not None:
        return today - timedelta(days=(today.weekday() - weekday) % 7)
    if match := _DAY_FIRST.fullmatch(plain):
        day, month, year = match.groups()
    elif match := _MONTH_FIRST.fullmatch(plain):
        month, day, year = match.groups()
    else:
        return None
    place = _month(month)
    if place is None:
        return None
    # A day without a year is the last one that has been; 29 February is at most 8 years back.
    years = [int(year)] if year else range(today.year, max(today.year - 9, 0), -1)
    for each in years:
        last = calendar.monthrange(each, place + 1)[1] if date.min.year <= each else 0
        if 1 <= int(day) <= last:
            found = date(each, place + 1, int(day))
            if year or found <= today:
                return found
    return None


def spoken_minutes(text: str, day_minutes: int) -> int | None:
    """Return a length of work in whole minutes; None where the text is no such length.

    ``8h``, ``8 hours``, ``1.5 h``, ``8:30`` (``08:30:00``, as workbooks keep it), ``8h30``,
    ``90 min``, ``1/2 day``, ``½ day``, ``2 days``. A bare number is no length here: it is minutes
    already. Fractions of a minute are refused rather than rounded.

    day_minutes: how long a working day of the production is.
    """
    plain = plain_words(text)
    if match := _HOURS_AND_MINUTES.fullmatch(plain):
        hours, minutes = int(match[1]), int(match[2])
        return hours * 60 + minutes if minutes < 60 else None
    match = _LENGTH.fullmatch(plain)
    if match is None or match[5] not in _UNITS:
        return None
    whole, above, below, decimal, unit = match.groups()
    with suppress(ZeroDivisionError):
        amount = (
            Fraction(decimal.replace(",", "."))
            if decimal
            else int(whole or 0) + Fraction(int(above), int(below))
        )
        length = amount * {"minute": 1, "hour": 60, "day": day_minutes}[_UNITS[unit]]
        return int(length) if length.denominator == 1 else None
    return None
