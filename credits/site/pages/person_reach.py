"""How much of the film a person's hands are in, and through what."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from credits.editions import Crew
from credits.figures.results import Results
from credits.hands.hands import Spread, Via
from credits.hands.reach import counted_hands, together
from credits.model.words import counted
from credits.site.page import Link
from credits.site.source import PageSource
from credits.site.strips import BlockSpec, RowSpec, Strip, film_marks, merged, strip
from credits.units.film_time import FrameRate, clock, seconds
from credits.units.frames import Frames, Range
from credits.units.rounding import decimal_text, half_up


class FilmPlaces:
    """The places of frames in the current cut; without a cut, nothing is anywhere."""

    def __init__(self, source: PageSource) -> None:
        self._use = source.results.use
        self._rate = source.ledger.production.rate
        self._takes: dict[str, list[int]] = defaultdict(list)
        for shot, take in self._use.used if self._use is not None else ():
            self._takes[shot].append(take)
        self._known: dict[tuple[str, int | None, tuple[Range, ...]], tuple[Range, ...]] = {}
        self._clocks: dict[int, str] = {}

    def spans(self, shot: str, take: int | None, frames: Frames) -> tuple[Range, ...]:
        """Half-open film frames, from 1, in film order; take None: of whichever take is used."""
        key = (shot, take, frames.ranges)
        known = self._known.get(key)
        if known is None:
            known = self._known[key] = tuple(sorted(self._spans(shot, take, frames)))
        return known

    def _spans(self, shot: str, take: int | None, frames: Frames) -> Iterable[Range]:
        if self._use is not None:
            for one in [take] if take is not None else self._takes.get(shot, ()):
                yield from self._use.film_spans(shot, one, frames)

    def clock(self, frame: int) -> str:
        """The running time of the film before a film frame, from 1: ``0:42``."""
        known = self._clocks.get(frame)
        if known is None:
            known = self._clocks[frame] = clock(frame - 1, self._rate)
        return known


OwnFrames = tuple[str, int, Frames]


@dataclass(slots=True)
class Extent:
    """Frames and shots, summed take by take; the takes of one shot come one after the other."""

    frames: int = 0
    shots: int = 0
    last: str = ""

    def add(self, shot: str, frames: int) -> None:
        """Add frames of a take."""
        self.frames += frames
        if shot != self.last:
            self.shots += 1
            self.last = shot


def _thing(spread: Spread) -> str:
    if spread.via is Via.PUPPET:
        return spread.puppet or ""
    return (spread.part or "") if spread.via is Via.PART else spread.character


class Ways:
    """What reach counts, by way of what, by thing and by character."""

    def __init__(self, results: Results) -> None:
        self._by_via: dict[tuple[str, Via], Extent] = defaultdict(Extent)
        self._by_thing: dict[tuple[str, Via, str], Extent] = defaultdict(Extent)
        self._by_character: dict[str, dict[str, list[OwnFrames]]] = {}
        found = counted_hands(results.ledger, results.runs, results.use, results.hands)
        for shot, take, hands in found:
            self._add(shot, take, hands)

    def _add(self, shot: str, take: int, hands: Iterable[tuple[Spread, Frames]]) -> None:
        via: dict[tuple[str, Via], set[Frames]] = defaultdict(set)
        things: dict[tuple[str, Via, str], set[Frames]] = defaultdict(set)
        characters: dict[tuple[str, str], set[Frames]] = defaultdict(set)
        for spread, frames in hands:
            via[spread.person, spread.via].add(frames)
            things[spread.person, spread.via, _thing(spread)].add(frames)
            characters[spread.person, spread.character].add(frames)
        for way, sets in via.items():
            self._by_via[way].add(shot, together(sets).count)
        for thing, sets in things.items():
            self._by_thing[thing].add(shot, together(sets).count)
        for (person, character), sets in characters.items():
            own = self._by_character.setdefault(person, {})
            own.setdefault(character, []).append((shot, take, together(sets)))

    def by_via(self, person: str) -> Iterator[tuple[Via, Extent]]:
        """The ways of a person, in the order of directness."""
        for via in Via:
            found = self._by_via.get((person, via))
            if found is not None:
                yield via, found

    def by_thing(self, person: str, via: Via, thing: str) -> Extent:
        """How far somebody's work on a thing reaches; nowhere, where it was never photographed."""
        return self._by_thing.get((person, via, thing)) or Extent()

    def by_character(self, person: str) -> list[tuple[str, list[OwnFrames]]]:
        """The characters that the hands are on, most frames first, with the frames of each take."""
        own: Mapping[str, list[OwnFrames]] = self._by_character.get(person, {})
        return sorted(
            own.items(),
            key=lambda item: (-sum(frames.count for _, _, frames in item[1]), item[0]),
        )


MOST_ROWS = 8
WAY_WORDS = {
    Via.FRAME: "the frames themselves, animated",
    Via.SHOT: "work on the shot",
    Via.SEQUENCE: "work for the whole sequence",
    Via.CHARACTER: "work on the character, wherever it is seen",
    Via.PUPPET: "a puppet that was photographed",
    Via.PART: "a part that was fitted or shown",
}


@dataclass(frozen=True, slots=True)
class WayRow:
    """By way of what the hands are in the film, and in how much of it."""

    way: Crew[str] = ""
    frames: Crew[str] = ""
    running: Crew[str] = ""
    shots: Crew[str] = ""


@dataclass(frozen=True, slots=True)
class SequenceRow:
    """A sequence, and the shots of it that the hands are in."""

    sequence: Crew[str] = ""
    shots: Crew[tuple[Link, ...]] = ()
    frames: Crew[str] = ""
    film: Crew[str] = ""


@dataclass(frozen=True, slots=True)
class ReachView:
    """The reach of a person in figures and in a picture."""

    running: Crew[str] = ""
    of_film: Crew[str] = ""
    frames: Crew[str] = ""
    shots: Crew[str] = ""
    in_shots: Crew[str] = ""
    characters: Crew[tuple[Link, ...]] = ()
    ways: Crew[tuple[WayRow, ...]] = ()
    sequences: Crew[tuple[SequenceRow, ...]] = ()
    strip: Crew[Strip | None] = None


def minutes_text(frames: int, rate: FrameRate) -> str:
    """A length as it is said: ``18 min 04 s``, ``42 s``, ``1 h 02 min 00 s``."""
    minutes, left = divmod(half_up(seconds(frames, rate)), 60)
    hours, minutes = divmod(minutes, 60)
    if hours:
        return f"{hours} h {minutes:02} min {left:02} s"
    return f"{minutes} min {left:02} s" if minutes else f"{left} s"


def _film_strip(source: PageSource, ways: Ways, films: FilmPlaces, person: str) -> Strip | None:
    use = source.results.use
    if use is None:
        return None
    name = source.ledger.people[person].credit_name
    by_character = ways.by_character(person)
    groups = [("in all", [take for _, own in by_character for take in own])]
    if len(by_character) > 1:
        groups += [(source.character(c).text, own) for c, own in by_character[:MOST_ROWS]]
    if len(by_character) > MOST_ROWS:
        rest = [take for _, own in by_character[MOST_ROWS:] for take in own]
        groups.append((counted(len(by_character) - MOST_ROWS, "other"), rest))
    # A gap that is thinner than a hair on paper does not break a band.
    hair = use.cut.length / 850
    rows = []
    for place, (label, own) in enumerate(groups):
        spans = [span for shot, take, frames in own for span in films.spans(shot, take, frames)]
        blocks = [
            BlockSpec(a, b, place, f"{label}: {films.clock(int(a))} to {films.clock(int(b))}")
            for a, b in merged(spans, gap=hair)
        ]
        rows.append(RowSpec(label, blocks))
    marks = film_marks(use.cut, source.ledger.production)
    title = f"Where the hands of {name} are in the film, character by character"
    return strip(title, rows, (1, use.cut.length + 1), marks)


def _sequences(source: PageSource, films: FilmPlaces, person: str) -> tuple[SequenceRow, ...]:
    ledger = source.ledger
    by_sequence: dict[str, list[tuple[str, int, Frames]]] = defaultdict(list)
    for shot, take, frames in source.results.reach[person].in_shots:
        by_sequence[ledger.shots[shot].sequence].append((shot, take, frames))
    rows = []
    for code, own in by_sequence.items():
        spans = [span for shot, take, frames in own for span in films.spans(shot, take, frames)]
        name = ledger.sequences[code].name
        rows.append(
            SequenceRow(
                f"{code}, {name}" if name else code,
                tuple(source.shot(shot) for shot in dict.fromkeys(shot for shot, _, _ in own)),
                f"{sum(frames.count for _, _, frames in own):,}",
                films.clock(min(spans)[0]) if spans else "",
            )
        )
    return tuple(rows)


def reach_view(source: PageSource, ways: Ways, films: FilmPlaces, person: str) -> ReachView | None:
    """The reach of a person for their page; None where their hands are in no frame that counts."""
    reach = source.results.reach.get(person)
    if reach is None:
        return None
    use, rate = source.results.use, source.ledger.production.rate
    of_film = ""
    if use is not None:
        share = decimal_text(100 * reach.share_of(use), 1)
        of_film = f"{share} % of the film, each frame counted once"
    return ReachView(
        running=minutes_text(reach.frames, rate),
        of_film=of_film,
        frames=f"{reach.frames:,}",
        shots=f"{reach.shots:,}",
        in_shots=counted(reach.shots, "shot"),
        characters=tuple(
            source.character(code) for code in source.ledger.characters if code in reach.characters
        ),
        ways=tuple(
            WayRow(
                WAY_WORDS[via],
                f"{extent.frames:,}",
                clock(extent.frames, rate),
                f"{extent.shots:,}",
            )
            for via, extent in ways.by_via(person)
        ),
        sequences=_sequences(source, films, person),
        strip=_film_strip(source, ways, films, person),
    )
