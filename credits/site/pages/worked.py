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
from credits.units.frames import Frames, Range

MOST_PARTS = 12
_WAY_WORDS = {Via.FRAME: "", Via.SHOT: "the shot", Via.SEQUENCE: "the sequence"}
_ORDER = {via: place for place, via in enumerate(Via)}
_FRAMES = (Via.FRAME, "")

InFrames = tuple[str, tuple[Link, ...]]
"""Some frames, and the people whose work is in them; without frames: in all of the character's."""
Way = tuple[str, tuple[Link, ...], tuple[InFrames, ...]]
"""Through what: in words, or the puppets; and whose work came that way, in which frames."""


@dataclass(frozen=True, slots=True)
class CharacterHands:
    """Everybody who worked on a character in a take: by craft, and by what it came through.

    Performers lead to their pages, each once; the page of a thing leads to who made it.
    frames: all frames of the take that keep the character. animation: frame by frame, with which
    puppets.
    """

    character: Everyone[Link]
    frames: Everyone[str]
    animation: Everyone[tuple[tuple[str, tuple[Way, ...]], ...]]
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


Handled = dict[frozenset[str], Frames]


def _handled(own: TakeRuns, character: str) -> dict[str, Handled]:
    """Return in which kept frames each animator of a character had which puppets."""
    found: dict[str, dict[frozenset[str], list[Range]]] = {}
    for first, stop, layers in own.kept_runs:
        for layer in layers:
            for claim in layer.claims if layer.character == character else ():
                ranges = found.setdefault(claim.person, {}).setdefault(claim.puppets, [])
                ranges.append((first, stop))
    return {
        person: {puppets: Frames.of(*ranges) for puppets, ranges in by_puppets.items()}
        for person, by_puppets in found.items()
    }


def _animated(
    source: PageSource,
    hands: ByFrames,
    handled: dict[str, Handled],
    whole: Frames,
    once: LinkedOnce,
) -> tuple[Way, ...]:
    """Return who animated a character, with which puppets, in which frames."""
    found: dict[frozenset[str], dict[Frames, list[str]]] = {}
    for frames, people in hands.items():
        for person in people:
            for puppets, own in handled.get(person, {frozenset(): frames}).items():
                if held := own & frames:
                    found.setdefault(puppets, {}).setdefault(held, []).append(person)
    ways = []
    for puppets, by_frames in found.items():
        named = {frames: tuple(people) for frames, people in by_frames.items()}
        if shown := _hands(source, named, whole):
            first = min(by_frames, key=lambda frames: frames.ranges)
            ways.append((first.ranges, puppets, shown))
    return tuple(
        [
            ("", once(source.copies(puppets)), tuple([(at, once(who)) for at, who in shown]))
            for _, puppets, shown in sorted(ways, key=lambda way: (way[0], sorted(way[1])))
        ]
    )


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


Crafts = tuple[tuple[str, tuple[Way, ...]], ...]


def _named(source: PageSource, found: Iterable[tuple[str, tuple[Way, ...]]]) -> Crafts:
    """Return crafts by their names, without those of which nothing may be told."""
    return tuple([(source.ledger.crafts[craft].name, ways) for craft, ways in found if ways])


ON_THE_TAKE = frozenset({Via.FRAME, Via.SHOT})


def hands_in_take(
    source: PageSource, own: TakeRuns, directly: bool = False
) -> tuple[CharacterHands, ...]:
    """Return whose work is in a take, by character in the order of the table.

    directly: only who worked on its frames and on the shot; not who made what is seen in it.
    """
    places = source.results.places
    by_character: dict[str, dict[str, ByThing]] = {}
    works: Iterable[CraftInTake] = source.results.hands.crafts_of_take(own.shot, own.take)
    if directly:
        works = [work for work in works if work.via in ON_THE_TAKE]
    for character, craft, via, thing, frames, people in sorted(works, key=_by_thing):
        by_craft = by_character.setdefault(character, {})
        by_craft.setdefault(craft, {}).setdefault((via, thing), {})[frames] = people
    found, once = [], LinkedOnce()
    for code in sorted(by_character, key=places.characters.__getitem__):
        whole, by_craft = own.kept_of(code), by_character[code]
        ordered = sorted(by_craft, key=places.crafts.__getitem__)
        handled = _handled(own, code)
        crafts = source.ledger.crafts
        # Who animated stands first, and leads to their page there.
        drawn = [
            (craft, by_craft[craft].pop(_FRAMES, {})) for craft in ordered if crafts[craft].footage
        ]
        animation = [
            (craft, _animated(source, hands, handled, whole, once)) for craft, hands in drawn
        ]
        others = [(craft, _ways(source, craft, by_craft[craft], whole, once)) for craft in ordered]
        held = CharacterHands(
            source.character(code), whole.shown, _named(source, animation), _named(source, others)
        )
        found.append(held)
    return tuple(found)
