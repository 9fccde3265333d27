"""Who worked on a take: by character and craft, and by what the work came through."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from credits.editions import Everyone
from credits.footage.claims import TakeRuns
from credits.hands.hands import CraftInTake, Via
from credits.model.facts import Kind
from credits.model.words import listed
from credits.site.links import Link, LinkedOnce
from credits.site.source import PageSource, grouped, plain
from credits.units.frames import Frames

MOST_PARTS = 12
_WAY_WORDS = {Via.FRAME: "", Via.SHOT: "the shot", Via.SEQUENCE: "the sequence"}
_ORDER = {via: place for place, via in enumerate(Via)}

InFrames = tuple[str, tuple[Link, ...]]
"""Some frames, and the people whose work is in them; without frames: in all of the character's."""
Way = tuple[str, tuple[Link, ...], tuple[InFrames, ...]]
"""Through what: in words, or the puppets; and whose work came that way, in which frames."""


@dataclass(frozen=True, slots=True)
class CharacterHands:
    """Everybody who worked on a character in a take: by craft, and by what it came through.

    Performers lead to their pages, each once; the page of a thing leads to who made it.
    frames: all frames of the take that keep the character.
    """

    character: Everyone[Link]
    frames: Everyone[str]
    crafts: Everyone[tuple[tuple[str, tuple[Way, ...]], ...]]


def _through(
    source: PageSource, craft: str, via: Via, things: Iterable[str], once: LinkedOnce
) -> tuple[str, tuple[Link, ...]]:
    """Tell through what work is in the frames: words, or the puppets."""
    if via is Via.CHARACTER:
        whole = source.ledger.crafts[craft].kind is Kind.PERFORMANCE
        return "the whole role" if whole else "the character", ()
    if via is Via.PUPPET:
        return "", once(source.copies(things))
    if via is Via.PART:
        kinds = grouped(sorted(things), lambda code: source.ledger.parts[code].kind)
        said = (f"{kind} {listed(codes, MOST_PARTS)}" for kind, codes in kinds.items())
        return "; ".join(said), ()
    return _WAY_WORDS[via], ()


ByFrames = dict[Frames, tuple[str, ...]]
ByThing = dict[tuple[Via, str], ByFrames]


def _by_thing(work: CraftInTake) -> tuple[int, str]:
    return _ORDER[work.via], work.thing


def _hands(source: PageSource, hands: ByFrames, whole: Frames) -> tuple[InFrames, ...]:
    """Return people by the frames that their work on one thing is in, all frames first."""
    ordered = sorted(hands, key=lambda frames: (frames != whole, frames.ranges))
    named = [
        ("" if frames == whole else frames.shown, source.names(hands[frames])) for frames in ordered
    ]
    return tuple([(frames, people) for frames, people in named if people])


def _ways(
    source: PageSource, craft: str, hands: ByThing, whole: Frames, once: LinkedOnce
) -> tuple[Way, ...]:
    """Return through what a craft is in the frames; things with the same people stand together."""
    made = source.ledger.crafts[craft].kind is Kind.BUILD
    shown = plain if made else once
    things: dict[tuple[Via, tuple[InFrames, ...]], list[str]] = defaultdict(list)
    for (via, thing), own in hands.items():
        if people := _hands(source, own, whole):
            people = tuple([(frames, shown(names)) for frames, names in people])
            things[via, people].append(thing)
    ordered = sorted(things.items(), key=lambda item: (_ORDER[item[0][0]], item[1]))
    return tuple(
        [(*_through(source, craft, via, own, once), people) for (via, people), own in ordered]
    )


def hands_in_take(source: PageSource, own: TakeRuns) -> tuple[CharacterHands, ...]:
    """Return whose work is in a take, by character in the order of the table."""
    places = source.results.places
    by_character: dict[str, dict[str, ByThing]] = {}
    works = source.results.hands.crafts_of_take(own.shot, own.take)
    for character, craft, via, thing, frames, people in sorted(works, key=_by_thing):
        by_craft = by_character.setdefault(character, {})
        by_craft.setdefault(craft, {}).setdefault((via, thing), {})[frames] = people
    found, once = [], LinkedOnce()
    for code in sorted(by_character, key=places.characters.__getitem__):
        whole, by_craft = own.kept_of(code), by_character[code]
        crafts = (
            (source.ledger.crafts[craft].name, _ways(source, craft, by_craft[craft], whole, once))
            for craft in sorted(by_craft, key=places.crafts.__getitem__)
        )
        seen = tuple((craft, ways) for craft, ways in crafts if ways)
        found.append(CharacterHands(source.character(code), whole.shown, seen))
    return tuple(found)
