"""The rows of the account of who did what to which thing, and which edition may hold what."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from credits.compute.provenance import Thing
from credits.editions import Crew, Everyone, Office


@dataclass(frozen=True, slots=True)
class AgentRow:
    """A person whom the edition names; or, without a key, all the uncredited together."""

    key: Everyone[str]
    name: Everyone[str]
    isni: Crew[str] = ""


@dataclass(frozen=True, slots=True)
class ThingRow:
    """A character, puppet, part or shot."""

    thing: Everyone[Thing]
    name: Everyone[str]
    character: Everyone[str] = ""
    frames: Crew[int] = 0


@dataclass(frozen=True, slots=True)
class WorkRow:
    """One entry; in the public edition all entries of a person, craft and thing."""

    key: Everyone[str]
    craft: Everyone[str]
    craft_name: Everyone[str]
    agent: Everyone[str]
    character: Everyone[str]
    made: Everyone[tuple[Thing, ...]]
    used: Everyone[tuple[Thing, ...]]
    shot: Crew[str] = ""
    take: Crew[int | None] = None
    frames: Crew[str] = ""
    sequence: Crew[str] = ""
    started_on: Crew[date | None] = None
    finished_on: Crew[date | None] = None
    stage: Crew[str] = ""
    note: Crew[str] = ""
    minutes: Office[int | None] = None
    wait_minutes: Office[int | None] = None


@dataclass(frozen=True, slots=True)
class DerivedRow:
    """A part on a puppet, a copy cast from its character, a replacement seen in a shot."""

    thing: Everyone[Thing]
    of: Everyone[Thing]
    how: Everyone[str]
    work: Everyone[str] = ""
    from_on: Crew[date | None] = None
    to_on: Crew[date | None] = None
    take: Crew[int | None] = None
    frames: Crew[str] = ""


@dataclass(frozen=True, slots=True)
class Provenance:
    """The whole account."""

    title: Everyone[str]
    code: Everyone[str]
    about: Everyone[Thing]
    edition: Everyone[str]
    as_of: Everyone[str]
    cautions: Everyone[tuple[str, ...]]
    agents: Everyone[tuple[AgentRow, ...]]
    things: Everyone[tuple[ThingRow, ...]]
    works: Everyone[tuple[WorkRow, ...]]
    derived: Everyone[tuple[DerivedRow, ...]]
