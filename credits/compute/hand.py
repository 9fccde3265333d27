"""A hand: one person's craft in a frame, and by way of what it is there (rule 3.6)."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Protocol

from credits.model.facts import EntryNumber
from credits.model.ledger import Entry, Ledger


class Via(StrEnum):
    """By way of what a hand is in a frame."""

    FRAME = "frame"
    SHOT = "shot"
    SEQUENCE = "sequence"
    CHARACTER = "character"
    PUPPET = "puppet"
    PART = "part"


class HandLike(Protocol):
    """What tells where a hand stands among others."""

    @property
    def person(self) -> str: ...
    @property
    def craft(self) -> str: ...
    @property
    def character(self) -> str: ...
    @property
    def via(self) -> Via: ...
    @property
    def puppet(self) -> str | None: ...
    @property
    def part(self) -> str | None: ...


_VIA_ORDER = {via: place for place, via in enumerate(Via)}


@dataclass(frozen=True, slots=True)
class Hand:
    """One person's craft in a frame, by way of what, and the entries that say so."""

    person: str
    craft: str
    character: str
    via: Via
    puppet: str | None
    part: str | None
    entries: tuple[EntryNumber, ...]
    since: date | None


@dataclass(frozen=True, slots=True)
class HandRun:
    """Frames ``first .. stop - 1`` of a take, in all of which the same hands are."""

    first: int
    stop: int
    hands: tuple[Hand, ...]

    @property
    def people(self) -> frozenset[str]:
        """Everybody whose hands are in these frames."""
        return frozenset(hand.person for hand in self.hands)


def build_target(entry: Entry) -> tuple[Via, str] | None:
    """What a build entry was done on: the most particular thing it names."""
    if entry.part is not None:
        return Via.PART, entry.part
    if entry.puppet is not None:
        return Via.PUPPET, entry.puppet
    if entry.character is not None:
        return Via.CHARACTER, entry.character
    return None


class HandOrder:
    """The order of hands: characters as in their table, by way of what, crafts as in theirs."""

    def __init__(self, ledger: Ledger) -> None:
        self._characters = {code: place for place, code in enumerate(ledger.characters)}
        self._crafts = {code: place for place, code in enumerate(ledger.crafts)}

    def __call__(self, hand: HandLike) -> tuple[int, int, int, str, str]:
        """The key of a hand."""
        return (
            self._characters[hand.character],
            _VIA_ORDER[hand.via],
            self._crafts[hand.craft],
            hand.puppet or hand.part or "",
            hand.person,
        )
