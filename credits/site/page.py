"""What every page has: its place, its frame, its model."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from credits.editions import Everyone
from credits.names import direction


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


@dataclass(frozen=True, slots=True)
class NavItem:
    """One part of the site in the line at the top of every page."""

    text: Everyone[str]
    href: Everyone[str]
    here: Everyone[bool]


@dataclass(frozen=True, slots=True)
class Frame:
    """What stands around every page: the film, the parts, the edition, the date of the data."""

    title: Everyone[str]
    film: Everyone[str]
    root: Everyone[str]
    nav: Everyone[tuple[NavItem, ...]]
    edition: Everyone[str]
    as_of: Everyone[str]
    crew: Everyone[bool]
    office: Everyone[bool]


@dataclass(frozen=True, slots=True)
class Page:
    """One page of the site before it is rendered. ``part``: the nav item that it belongs to."""

    path: str
    template: str
    title: str
    part: str
    model: Any


def with_neighbours(names: Sequence[str]) -> Iterator[tuple[str | None, str, str | None]]:
    """Yield every name between the one before and the one after it; None at the ends."""
    return zip((None, *names), names, (*names[1:], None), strict=False)


@dataclass(frozen=True, slots=True)
class DataFile:
    """A file that stands beside the pages: a CSV, a picture, the index of the jump box."""

    path: str
    content: bytes
