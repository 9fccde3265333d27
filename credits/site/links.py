"""Pages and what stands around them, their addresses, and names that lead to them."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import lru_cache
from typing import Any

from credits.editions import Everyone
from credits.names import direction
from credits.units.film_time import day_text, iso_week
from credits.units.table import Marked


@dataclass(frozen=True, slots=True)
class Link:
    """A name that leads somewhere: the way from the site's root, or None where there is no page."""

    text: Everyone[str]
    href: Everyone[str | None] = None

    @property
    def direction(self) -> str:
        """How the name itself is written: ``ltr`` or ``rtl``."""
        return direction(self.text)

    def __str__(self) -> str:
        return self.text

    def __hash__(self) -> int:
        return hash(self.text)  # with its way it would be as long again


@lru_cache(maxsize=20_000)
def plain(name: Link) -> Link:
    """Return a name that leads nowhere."""
    return Link(name.text)


class LinkedOnce:
    """Lets each name lead somewhere the first time it stands in a part of a page, and no more."""

    def __init__(self) -> None:
        self._seen: dict[Link, Link] = {}

    def __call__(self, names: Iterable[Link]) -> tuple[Link, ...]:
        """Return names, those plain that stood here before."""
        found, seen = [], self._seen
        for name in names:
            again = seen.get(name)
            if again is None:
                seen[name] = plain(name)
            found.append(again or name)
        return tuple(found)


@dataclass(frozen=True, slots=True)
class Frame:
    """What stands around every page: the film, the parts, the edition, the date of the data.

    title: of the window: the page, then the film. nav: the parts of the site: text, place, and
    whether the page belongs to it. as_of: what the data is; empty: the page does not say it.
    description, picture: what is shown of the page where a link to it is passed on.
    alphabet: the language in whose order names stand, empty for the one that all share.
    """

    title: Everyone[str]
    film: Everyone[str]
    root: Everyone[str]
    nav: Everyone[tuple[tuple[str, str, bool], ...]]
    edition: Everyone[str]
    as_of: Everyone[str]
    crew: Everyone[bool]
    office: Everyone[bool]
    description: Everyone[str] = ""
    picture: Everyone[str] = ""
    alphabet: Everyone[str] = ""


def _nothing() -> None:
    """There is nothing more to say, and nothing to share."""


@dataclass(frozen=True, slots=True)
class About:
    """What a page is about, so that it is made again when that has changed.

    kind, code: the shot, person, character, puppet or week whose entries it is made of; "shots" or
    "repairs" without a code: all of them; empty: it is made of no entries. also: what else it reads
    of the production's figures, which entries on other things may change.
    """

    kind: str = ""
    code: str = ""
    also: Callable[[], object] = _nothing


@dataclass(frozen=True, slots=True)
class Page:
    """One page of the site before it is rendered. ``part``: the nav item that it belongs to.

    make: makes the page's model; it is called for a page that is rendered, and for no other.
    about: None for a page that is made each time. share: computes what it has in common with other
    pages; it is called before several are made at once.
    """

    path: str
    template: str
    title: str
    part: str
    make: Callable[[], Any]
    about: About | None = None
    share: Callable[[], object] = _nothing

    @property
    def model(self) -> Any:
        """Make the page's model."""
        return self.make()


Steps = tuple[Link | None, Link | None]
"""The page before and the page after; None at the ends."""


def with_steps(pages: Sequence[Link]) -> Iterator[tuple[str, Steps]]:
    """Yield the name of every page with those before and after it."""
    around = zip((None, *pages), (*pages[1:], None), strict=False)
    return zip(map(str, pages), around, strict=False)


@dataclass(frozen=True, slots=True)
class DataFile:
    """A file that stands beside the pages: a CSV, the index of the jump box. make: its bytes.

    about, share: as of a page.
    """

    path: str
    make: Callable[[], bytes]
    about: About | None = None
    share: Callable[[], object] = _nothing

    @property
    def content(self) -> bytes:
        """Make the bytes of the file."""
        return self.make()


_PLAIN = re.compile(r"^[a-z0-9][a-z0-9_-]{0,59}$")
_NOT_PLAIN = re.compile(r"[^a-z0-9_-]+")
# Names that some systems keep for devices, with any ending; and the first page of a folder.
_DEVICES = (f"{kind}{number}" for kind in ("com", "lpt") for number in range(10))
_RESERVED = frozenset({"con", "prn", "aux", "nul", "index", *_DEVICES})
# How the name of a code ends that could be that of a second page about another code, or of a code
# whose name was made with a digest.
_TAKEN = re.compile(r"-(?:[0-9a-f]{8}|replacements|parts)$")


@lru_cache(maxsize=100_000)
def file_name(code: str) -> str:
    """Return a file name for a code: itself if plain, else what is plain of it and a digest.

    Codes are unique without regard to case, and so are the file names.
    """
    folded = code.casefold()
    if _PLAIN.fullmatch(folded) and folded not in _RESERVED and not _TAKEN.search(folded):
        return folded
    digest = hashlib.sha256(folded.encode("utf-8", "surrogatepass")).hexdigest()[:8]
    plain = _NOT_PLAIN.sub("-", folded).strip("-_")[:40]
    return f"{plain}-{digest}" if plain else digest


def _in(folder: str, ending: str = "") -> Callable[[str], str]:
    """Return what tells the page of a code, from the root of the site."""
    return lambda code: f"{folder}/{file_name(code)}{ending}.html"


person_page = _in("people")
character_page = _in("characters")
replacements_page = _in("characters", "-replacements")
puppet_page = _in("puppets")
shot_page = _in("shots")
craft_page = _in("crafts")
review_page = _in("reviews")  # of an animator; the office edition alone has it
review_parts_page = _in("reviews", "-parts")  # the same by month and by sequence


def month_anchor(month: date) -> str:
    """Return the place of a month on a page: ``month-2026-03``."""
    return f"month-{month.isoformat()[:7]}"


def part_anchor(sequence: str) -> str:
    """Return the place of a sequence on a page."""
    return f"sequence-{file_name(sequence)}"


def week_page(week: str) -> str:
    """Return the page of an ISO week, ``2026-W10``."""
    return f"weeks/{week.lower()}.html"


def film_piece(name: str) -> str:
    """Return the data of a piece of the film."""
    return f"film/{name}.js"


def film_person(name: str) -> str:
    """Return where in the film a person's work is, by the file name of their code."""
    return f"film/people/{name}.js"


HOME = "index.html"
FILM = "film.html"
FILM_INDEX = "film/index.js"  # no sequence is called so: ``file_name`` keeps it free
CHARACTERS = "characters/index.html"
SHOTS = "shots/index.html"
PEOPLE = "people/index.html"
CRAFTS = "crafts/index.html"
WEEKS = "weeks/index.html"
CREDITS = "credits.html"
ROLL = "roll.html"
REASONS = "reasons.html"
FOOTAGE = "footage.html"
AHEAD = "ahead.html"
HOSPITAL = "hospital.html"
RETAKES = "retakes.html"
CHECKS = "checks.html"
COUNTED = "counted.html"
NOT_FOUND = "404.html"


def root_of(path: str) -> str:
    """Return the way from a page back to the root of the site: ``../`` for ``people/ana.html``."""
    return "../" * path.count("/")


@lru_cache(maxsize=20_000)
def linked_day(day: date | None) -> Marked:
    """Return a day in a table, leading to its week; ``undated`` leads nowhere and sorts last."""
    href, sort = (week_page(iso_week(day)), day.isoformat()) if day else (None, "")
    return Marked(value=Link(day_text(day), href), sort=sort)


@lru_cache(maxsize=20_000)
def plain_day(day: date | None) -> Marked:
    """Return a day in a table; it sorts as ``linked_day`` does and leads nowhere."""
    return replace(linked_day(day), value=day_text(day))


def week_link(week: str) -> Link:
    """Return ``2026-W10``, leading to its page."""
    return Link(week, week_page(week))
