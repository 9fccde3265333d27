"""Whose hands are in which frames, and by which ways, read of the figures that are kept."""

from __future__ import annotations

import json
from collections import Counter, defaultdict
from collections.abc import Callable, Collection, Iterable, Mapping
from functools import cache, lru_cache, partial
from itertools import islice
from typing import Any, NamedTuple

from credits.figures.lookups import frames_of
from credits.hands.reach import Reach
from credits.hands.ways import WayRow, Ways
from credits.memory import all_kept
from credits.model.lazy import Read
from credits.model.ledger import Ledger
from credits.store.beside.kept import FiguresFile
from credits.store.reading import AT_ONCE, same_texts
from credits.units.frames import NO_FRAMES, Frames

_one_code = same_texts()


@lru_cache(maxsize=65536)
def names_of(text: str) -> tuple[str, ...]:
    """Read codes as they are kept; each is held once."""
    # Where nothing is escaped, no quotation mark stands in a code.
    codes = json.loads(text) if "\\" in text or len(text) < 4 else text[2:-2].split('", "')
    return tuple([_one_code(code, code) for code in codes])


def _among(only: Collection[str] | None) -> Callable[[str], tuple[str, ...]]:
    """Return what reads those of some codes that are kept in a text; None: all."""
    if only is None:
        return names_of
    return cache(lambda text: tuple([code for code in names_of(text) if code in only]))


@all_kept()
def kept_reach(
    file: FiguresFile, ledger: Ledger, only: Collection[str] | None = None
) -> dict[str, Reach]:
    """Read the reach of everybody whose hands are in the film, by person, in code order.

    only: of these people alone.
    """
    named = _among(only)
    every = cache(lambda: _frames_reached(file, ledger, named))
    # Many rows are of the same people: these are looked at once for each thing that is counted.
    counts: dict[str, list[int]] = defaultdict(lambda: [0, 0])
    in_shot: dict[str, set[str]] = defaultdict(set)
    on_characters: dict[str, set[str]] = defaultdict(set)
    for shot, _, _, _, count, screen, names, people in file.each_row("reached"):
        if not named(people):
            continue
        own = counts[people]
        own[0] += count
        own[1] += screen
        in_shot[shot].add(people)
        on_characters[names].add(people)
    frames: Counter[str] = Counter()
    on_screen: Counter[str] = Counter()
    shots: Counter[str] = Counter()
    characters: dict[str, set[str]] = defaultdict(set)
    for people, (count, screen) in counts.items():
        for person in named(people):
            frames[person] += count
            on_screen[person] += screen
    for some in in_shot.values():
        shots.update(set[str]().union(*map(named, some)))
    for names, some in on_characters.items():
        for person in set[str]().union(*map(named, some)):
            characters[person].update(names_of(names))
    return {
        person: Reach(
            person=person,
            frames=frames[person],
            screen_frames=on_screen[person],
            characters=frozenset(characters[person]),
            shots=shots[person],
            in_shots=Read(partial(_in_shots, every, person)),
        )
        for person in sorted(frames)
    }


def _everybody(texts: Iterable[str]) -> set[str]:
    """Return everybody whom some texts name."""
    return set[str]().union(*map(names_of, texts))


class HandsIn(NamedTuple):
    """Whose hands are in the film, and how many people's are on each character."""

    people: frozenset[str]
    on: Mapping[str, int]


def kept_hands_in(file: FiguresFile) -> HandsIn:
    """Read whose hands are in the film and on whom, without how many frames that is."""
    together: dict[str, list[str]] = defaultdict(list)
    for names, people in file.reached_together():
        together[names].append(people)
    everybody: set[str] = set()
    on: dict[str, set[str]] = defaultdict(set)
    for names, texts in together.items():
        own = _everybody(texts)
        everybody |= own
        for character in names_of(names):
            on[character] |= own
    return HandsIn(frozenset(everybody), {code: len(own) for code, own in on.items()})


def kept_ways(file: FiguresFile, ledger: Ledger, only: Collection[str] | None = None) -> Ways:
    """Read by which ways everybody's hands are in the film, in the order of the shots.

    only: of these people alone.
    """
    named = _among(only)
    place = {shot: at for at, shot in enumerate(ledger.shots)}
    one = same_texts()

    def same(texts: tuple[Any, ...]) -> Iterable[Any]:
        return map(one, texts, texts)

    rows: list[WayRow] = []
    # Takes come in their order, and hands in theirs within a take.
    every = (row for row in file.each_row("ways", "shot, take, at") if named(row[-1]))
    while some := tuple(islice(every, AT_ONCE)):
        shots, takes, _, vias, things, ranges, frames, people = zip(*some, strict=True)
        said = (same(shots), takes, same(vias), same(things), same(ranges), frames)
        rows += map(WayRow._make, zip(*said, map(named, people), strict=True))
    rows.sort(key=lambda row: place[row.shot])
    return Ways(rows)


_InShots = dict[str, list[tuple[str, int, Frames]]]


def _in_shots(every: Callable[[], _InShots], person: str) -> tuple[tuple[str, int, Frames], ...]:
    return tuple(every()[person])


def _frames_reached(
    file: FiguresFile, ledger: Ledger, named: Callable[[str], Iterable[str]]
) -> _InShots:
    """Read in which frames people's hands are, by person, in the order of the shots."""
    place = {shot: at for at, shot in enumerate(ledger.shots)}
    found: _InShots = defaultdict(list)
    rows = (row for row in file.each_row("reached") if named(row[-1]))
    ordered = sorted(rows, key=lambda row: (place[row[0]], row[1]))
    for shot, take, _, ranges, _, _, _, people in ordered:
        own = (shot, take, frames_of(ranges) or NO_FRAMES)
        for person in named(people):
            found[person].append(own)
    return found
