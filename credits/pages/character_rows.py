"""The rows of a character's page, and of other pages that list the same things."""

from __future__ import annotations

from dataclasses import dataclass

from credits.editions import Crew, Everyone, Office
from credits.pages.page import Link
from credits.pages.words import Amount


@dataclass(frozen=True, slots=True)
class Credited:
    """A person opposite a craft. ``opens``: the first of the craft, where its name is written."""

    craft: Everyone[Link]
    opens: Everyone[bool]
    person: Everyone[Link]
    footage: Crew[Amount | None] = None
    days: Crew[str] = ""


@dataclass(frozen=True, slots=True)
class PuppetRow:
    """A copy of the character."""

    puppet: Everyone[Link]
    code: Everyone[str]
    scale: Everyone[str]
    makers: Everyone[tuple[Link, ...]]
    ready: Crew[str] = ""
    shots: Crew[int] = 0
    repairs: Crew[int] = 0


@dataclass(frozen=True, slots=True)
class PartRow:
    """A part made for the character."""

    code: Everyone[str]
    kind: Everyone[str]
    makers: Everyone[tuple[Link, ...]]
    fitted: Crew[str] = ""
    shown: Crew[str] = ""


@dataclass(frozen=True, slots=True)
class RepairRow:
    """One mending of one of its copies."""

    day: Everyone[str]
    sort: Everyone[str]
    puppet: Everyone[Link | None]
    person: Everyone[Link]
    shot: Everyone[Link | None]
    note: Everyone[str]
    wait: Office[str] = ""


@dataclass(frozen=True, slots=True)
class ShotRow:
    """A shot that the character is in, and who animated it there."""

    shot: Everyone[Link]
    frames: Everyone[str]
    animators: Everyone[tuple[Link, ...]]
    kept: Everyone[Amount]
    screen: Everyone[str]
    film: Everyone[str]
