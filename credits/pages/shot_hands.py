"""Everybody whose hands are in a take, and by way of what (rule 3.6)."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from credits.compute.hand import Via
from credits.editions import Everyone
from credits.model.facts import Kind
from credits.pages.page import Link
from credits.pages.shot_frames import copy_link
from credits.pages.source import PageSource
from credits.pages.words import day_text, listed
from credits.units.frames import Frames

MOST_PARTS = 12
_WORDS = {
    Via.FRAME: "these frames",
    Via.SHOT: "the shot",
    Via.SEQUENCE: "the sequence",
}
_ORDER = {via: at for at, via in enumerate(Via)}


@dataclass(frozen=True, slots=True)
class HandRow:
    """One person's craft in a character: by way of what, since when, in which frames."""

    craft: Everyone[Link]
    person: Everyone[Link]
    way: Everyone[str]
    puppets: Everyone[tuple[Link, ...]]
    since: Everyone[str]
    frames: Everyone[str]


@dataclass(frozen=True, slots=True)
class HandGroup:
    """A character of the take and the hands in it. ``height``: rows its name stands beside."""

    character: Everyone[Link]
    height: Everyone[int]
    rows: Everyone[tuple[HandRow, ...]]


@dataclass(slots=True)
class _Reached:
    frames: list[tuple[int, int]] = field(default_factory=list)
    puppets: set[str] = field(default_factory=set)
    parts: set[str] = field(default_factory=set)
    days: set[date] = field(default_factory=set)


_Key = tuple[str, str, str, Via]


def people_in(source: PageSource, shot: str, takes: tuple[int, ...]) -> int:
    """How many people's hands are in the takes."""
    found = (hand.person for take in takes for hand in source.results.spread_of(shot, take))
    return len(frozenset(found))


def _reached(source: PageSource, shot: str, take: int) -> dict[_Key, _Reached]:
    found: dict[_Key, _Reached] = defaultdict(_Reached)
    for hand in source.results.spread_of(shot, take):
        own = found[hand.character, hand.craft, hand.person, hand.via]
        own.frames.extend(hand.frames.ranges)
        if hand.puppet is not None:
            own.puppets.add(hand.puppet)
        if hand.part is not None:
            own.parts.add(hand.part)
        if hand.since is not None:
            own.days.add(hand.since)
    return found


def way_text(source: PageSource, craft: str, via: Via, parts: set[str]) -> str:
    """By way of what a hand is in the frames; empty for puppets, which are named by links."""
    if via is Via.CHARACTER:
        whole = source.ledger.crafts[craft].kind is Kind.PERFORMANCE
        return "the whole part" if whole else "the character"
    if via is Via.PART:
        kinds: dict[str, list[str]] = defaultdict(list)
        for code in sorted(parts):
            kinds[source.ledger.parts[code].kind].append(code)
        return "; ".join(f"{kind} {listed(codes, MOST_PARTS)}" for kind, codes in kinds.items())
    return _WORDS.get(via, "")


def hand_groups(
    source: PageSource, shot: str, take: int, place: Mapping[str, int], crafts: Mapping[str, int]
) -> tuple[HandGroup, ...]:
    """The hands of a take by character, in the order of the crafts, from the voice to the repair.

    ``place``, ``crafts``: the places of characters and crafts in their tables.
    """
    reached = _reached(source, shot, take)

    def order(key: _Key) -> tuple[object, ...]:
        character, craft, person, via = key
        return (place[character], crafts[craft], source.name_order(person), _ORDER[via])

    rows: dict[str, list[HandRow]] = defaultdict(list)
    for key in sorted(reached, key=order):
        character, craft, person, via = key
        link = source.person(person)
        if link is None:
            continue
        own = reached[key]
        rows[character].append(
            HandRow(
                source.craft(craft),
                link,
                way_text(source, craft, via, own.parts),
                tuple(copy_link(source, code) for code in sorted(own.puppets)),
                day_text(min(own.days, default=None)) if own.days else "",
                Frames.of(*own.frames).text.replace(",", ", "),
            )
        )
    return tuple(
        HandGroup(source.character(code), len(own), tuple(own)) for code, own in rows.items()
    )
