"""The rows of a puppet's page: its builders, its parts, its repairs, the shots it is in."""

from __future__ import annotations

from dataclasses import dataclass

from credits.editions import Crew, Everyone, Office
from credits.pages.page import Link


@dataclass(frozen=True, slots=True)
class Builder:
    """Somebody who built it, opposite the craft. ``opens``: where the craft's name is written."""

    craft: Everyone[Link]
    opens: Everyone[bool]
    person: Everyone[Link]
    days: Crew[str] = ""


@dataclass(frozen=True, slots=True)
class FittedRow:
    """A part fitted to it, and who made the part."""

    part: Everyone[str]
    kind: Everyone[str]
    makers: Everyone[tuple[Link, ...]]
    first: Crew[str] = ""
    first_sort: Crew[str] = ""
    last: Crew[str] = ""
    last_sort: Crew[str] = ""


@dataclass(frozen=True, slots=True)
class MendedRow:
    """One mending of it, or of a part that it wore."""

    day: Everyone[Link]
    sort: Everyone[str]
    person: Everyone[Link]
    part: Everyone[str]
    shot: Everyone[Link | None]
    note: Everyone[str]
    wait: Office[str] = ""


@dataclass(frozen=True, slots=True)
class SeenRow:
    """A take that it is in."""

    shot: Everyone[Link]
    take: Everyone[str]
    frames: Everyone[str]
    animators: Everyone[tuple[Link, ...]]
    days: Everyone[str]
    sort: Everyone[str]
    kept: Everyone[str]
    in_cut: Everyone[str]
