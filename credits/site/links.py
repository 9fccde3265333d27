"""Addresses of pages."""

from __future__ import annotations

import hashlib
import re
from datetime import date
from functools import lru_cache

from credits.site.page import Link
from credits.units.film_time import MONTHS, day_text, iso_week
from credits.units.table import Marked

_PLAIN = re.compile(r"^[a-z0-9][a-z0-9_-]{0,59}$")
_NOT_PLAIN = re.compile(r"[^a-z0-9_-]+")
# Names that some file systems keep for themselves.
_RESERVED = frozenset({"con", "prn", "aux", "nul", "index"})


@lru_cache(maxsize=100_000)
def file_name(code: str) -> str:
    """Return a file name for a code: itself if plain, else what is plain of it and a digest.

    Codes are unique without regard to case, and so are the file names.
    """
    folded = code.casefold()
    if (
        _PLAIN.match(folded)
        and folded not in _RESERVED
        and not re.fullmatch(r".*-[0-9a-f]{8}", folded)
    ):
        return folded
    digest = hashlib.sha256(folded.encode("utf-8", "surrogatepass")).hexdigest()[:8]
    plain = _NOT_PLAIN.sub("-", folded).strip("-_")[:40]
    return f"{plain}-{digest}" if plain else digest


def person_page(code: str) -> str:
    """Return the page of a person, from the root of the site."""
    return f"people/{file_name(code)}.html"


def character_page(code: str) -> str:
    """Return the page of a character."""
    return f"characters/{file_name(code)}.html"


def replacements_page(code: str) -> str:
    """Return the page of a character's replacements."""
    return f"characters/{file_name(code)}-replacements.html"


def puppet_page(code: str) -> str:
    """Return the page of a puppet."""
    return f"puppets/{file_name(code)}.html"


def shot_page(code: str) -> str:
    """Return the page of a shot."""
    return f"shots/{file_name(code)}.html"


def craft_page(code: str) -> str:
    """Return the page of a craft."""
    return f"crafts/{file_name(code)}.html"


def review_page(code: str) -> str:
    """Return the review page of an animator. Only the office edition has it."""
    return f"reviews/{file_name(code)}.html"


def week_page(week: str) -> str:
    """Return the page of an ISO week, ``2026-W10``."""
    return f"weeks/{week.lower()}.html"


HOME = "index.html"
CHARACTERS = "characters/index.html"
SHOTS = "shots/index.html"
PEOPLE = "people/index.html"
CRAFTS = "crafts/index.html"
WEEKS = "weeks/index.html"
CREDITS = "credits.html"
FOOTAGE = "footage.html"
CHECKS = "checks.html"
COUNTED = "counted.html"


def root_of(path: str) -> str:
    """Return the way from a page back to the root of the site: ``../`` for ``people/ana.html``."""
    return "../" * path.count("/")


WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


def day_link(day: date | None) -> Link:
    """Return a day of work, leading to its week; ``undated`` leads nowhere."""
    return Link(day_text(day), None if day is None else week_page(iso_week(day)))


def linked_day(day: date | None) -> Marked:
    """Return the day as it stands in a table, leading to its week; undated work sorts last."""
    return Marked(value=day_link(day), sort=day.isoformat() if day is not None else "")


def days_text(first: date, last: date) -> str:
    """Write days in short: ``2–8 March 2026``, ``29 December 2025 – 4 January 2026``."""
    if first.year != last.year:
        return f"{day_text(first)} – {day_text(last)}"
    if first.month != last.month:
        return f"{first.day} {MONTHS[first.month - 1]} – {day_text(last)}"
    return f"{first.day}–{day_text(last)}"
