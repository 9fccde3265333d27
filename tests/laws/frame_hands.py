"""Hands and reach again, frame by frame: the second half of the slow reading."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from credits.model.facts import Kind
from tests.laws.frame_by_frame import NEVER, Day, FrameByFrame, Said

Hand = tuple[str, str, str, str, str | None, str | None]
"""person, craft, character, via, puppet, part; by way of the frame no puppet is named."""


def named(entry: Said) -> tuple[str, str] | None:
    """The most particular thing that a build entry names."""
    for kind, code in (
        ("part", entry.part),
        ("puppet", entry.puppet),
        ("character", entry.character),
    ):
        if code is not None:
            return kind, code
    return None


def _performed(film: FrameByFrame, shot: str, take: int, frame: int, who: str) -> Iterator[Hand]:
    sequence = next(own.sequence for own in film.log.shots if own.code == shot)
    for entry in film.entries:
        if entry.craft.kind is not Kind.PERFORMANCE or entry.craft.footage:
            continue
        if entry.character != who:
            continue
        if entry.shot is None:
            if entry.sequence is None:
                via = "character"
            elif entry.sequence == sequence:
                via = "sequence"
            else:
                continue
        elif entry.shot == shot and frame in entry.frames and entry.take in (None, take):
            via = "shot"
        else:
            continue
        yield entry.person, entry.craft.code, who, via, None, None


def _things(film: FrameByFrame, shot: str, take: int, frame: int, who: str) -> set[tuple[str, str]]:
    """The character, the puppets that the kept day names, and the parts on them or shown."""
    days = film.claimed[shot, take][frame][who]
    day = max(days)
    things = {("character", who)}
    things |= {("puppet", puppet) for puppet in days[day].puppets}
    for fitting in film.log.fittings:
        on = fitting.from_on <= day and (fitting.to_on is None or day <= fitting.to_on)
        if fitting.puppet in days[day].puppets and (on or day == NEVER):
            things.add(("part", fitting.part))
    for seen in film.log.replacements:
        here = any(first <= frame < stop for first, stop in seen.frames.ranges)
        if here and (seen.shot, seen.character) == (shot, who) and seen.take in (None, take):
            things.add(("part", seen.part))
    return things


def _built(film: FrameByFrame, shot: str, take: int, frame: int, who: str) -> Iterator[Hand]:
    things = _things(film, shot, take, frame, who)
    day = max(film.claimed[shot, take][frame][who])
    for entry in film.entries:
        thing = named(entry)
        if entry.craft.kind is not Kind.BUILD or thing not in things or thing is None:
            continue
        if day == NEVER or entry.day <= day:
            kind, code = thing
            puppet, part = (code if kind == "puppet" else None), (code if kind == "part" else None)
            yield entry.person, entry.craft.code, who, kind, puppet, part


def hands(film: FrameByFrame, shot: str, take: int, frame: int) -> set[Hand]:
    """Everybody whose work is in the frame; nobody where no character has a kept claim."""
    found: set[Hand] = set()
    for character, days in film.claimed.get((shot, take), {}).get(frame, {}).items():
        kept: Day = days[max(days)]
        found |= {(person, craft, character, "frame", None, None) for person, craft in kept.crafts}
        found |= set(_performed(film, shot, take, frame, character))
        found |= set(_built(film, shot, take, frame, character))
    return found


def reach(film: FrameByFrame) -> dict[str, tuple[int, int, frozenset[str], frozenset[str]]]:
    """Each person's frames, screen frames, characters and shots; in the cut, if there is one."""
    if film.log.cut is not None:
        counted = dict(film.shown)
    else:
        counted = {
            (shot, take, frame): 1
            for (shot, take), frames in film.claimed.items()
            if take == film.chosen_take(shot)
            for frame in frames
        }
    seen: dict[str, list[tuple[tuple[str, int, int], str]]] = defaultdict(list)
    for place in counted:
        for person, _, character, *_ in hands(film, *place):
            seen[person].append((place, character))
    out = {}
    for person, where in seen.items():
        places = {place for place, _ in where}
        out[person] = (
            len(places),
            sum(counted[place] for place in places),
            frozenset(character for _, character in where),
            frozenset(shot for shot, _, _ in places),
        )
    return out
