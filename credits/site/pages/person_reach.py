"""How much of the film a person's hands are in, and through what."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from credits.editions import Crew
from credits.figures.snapshot import Snapshot
from credits.hands.hands import Spread, Via
from credits.hands.reach import counted_hands, together
from credits.model.words import counted
from credits.site.entries import without_cut
from credits.site.links import Link
from credits.site.source import PageSource, grouped
from credits.site.strips import Strip, film_strip
from credits.units.film_time import clock
from credits.units.frames import Frames
from credits.units.rounding import decimal_text
from credits.units.table import Column, Table, Unit

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

    def __init__(self, results: Snapshot) -> None:
        self._extents: dict[tuple[str, Via, str], Extent] = defaultdict(Extent)
        self._by_character: dict[str, dict[str, list[OwnFrames]]] = {}
        found = counted_hands(results.ledger, results.runs, results.use, results.hands)
        for shot, take, hands in found:
            self._add(shot, take, hands)

    def _add(self, shot: str, take: int, hands: Iterable[tuple[Spread, Frames]]) -> None:
        ways: dict[tuple[str, Via, str], set[Frames]] = defaultdict(set)
        characters: dict[tuple[str, str], set[Frames]] = defaultdict(set)
        for spread, frames in hands:
            ways[spread.person, spread.via, ""].add(frames)
            ways[spread.person, spread.via, _thing(spread)].add(frames)
            characters[spread.person, spread.character].add(frames)
        for way, sets in ways.items():
            self._extents[way].add(shot, together(sets).count)
        for (person, character), sets in characters.items():
            own = self._by_character.setdefault(person, {})
            own.setdefault(character, []).append((shot, take, together(sets)))

    def by_via(self, person: str) -> Iterator[tuple[Via, Extent]]:
        """Yield the ways of a person, in the order of directness."""
        for via in Via:
            if found := self._extents.get((person, via, "")):
                yield via, found

    def by_thing(self, person: str, via: Via, thing: str) -> Extent:
        """Return how far work on a thing reaches; nowhere, where it was never photographed."""
        return self._extents.get((person, via, thing)) or Extent()

    def by_character(self, person: str) -> list[tuple[str, list[OwnFrames]]]:
        """Return the characters that the hands are on, most frames first, each with its takes."""
        own: Mapping[str, list[OwnFrames]] = self._by_character.get(person, {})
        return sorted(
            own.items(),
            key=lambda item: (-sum(frames.count for _, _, frames in item[1]), item[0]),
        )


WAY_COLUMNS = (
    Column(key="way", heading="By way of"),
    Column(key="frames", heading="Frames", unit=Unit.FRAMES),
    Column(key="time", heading="Time", unit=Unit.RUNNING),
    Column(key="shots", heading="Shots", unit=Unit.NUMBER),
)
SEQUENCE_COLUMNS = (
    Column(key="sequence", heading="Sequence"),
    Column(key="shots", heading="Shots"),
    Column(key="frames", heading="Frames", unit=Unit.FRAMES, adds_up=True),
    Column(key="in_film", heading="In the film at", unit=Unit.RUNNING, nothing=""),
)
WAY_WORDS = {
    Via.FRAME: "the frames themselves, animated",
    Via.SHOT: "work on the shot",
    Via.SEQUENCE: "work for the whole sequence",
    Via.CHARACTER: "work on the character, wherever it is seen",
    Via.PUPPET: "a puppet that was photographed",
    Via.PART: "a part that was fitted or shown",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class ReachView:
    """The reach of a person in figures and in a picture.

    ways: through what, and in how much of the film. sequences: the shots of each sequence.
    """

    running: Crew[str] = ""
    of_film: Crew[str] = ""
    frames: Crew[str] = ""
    shots: Crew[str] = ""
    in_shots: Crew[str] = ""
    characters: Crew[tuple[Link, ...]] = ()
    ways: Crew[Table | None] = None
    sequences: Crew[Table | None] = None
    strip: Crew[Strip | None] = None


def _film_strip(source: PageSource, ways: Ways, person: str) -> Strip | None:
    use = source.results.use
    if use is None:
        return None
    name = source.ledger.people[person].credit_name
    by_character = [
        (source.character(code).text, [span for own in takes for span in source.film_spans(*own)])
        for code, takes in ways.by_character(person)
    ]
    rows = [("in all", [span for _, own in by_character for span in own])]
    if len(by_character) > 1:
        rows += by_character
    title = f"Where the hands of {name} are in the film, character by character"
    return film_strip(title, rows, use.cut, source.ledger.production)


def _ways(source: PageSource, ways: Ways, person: str) -> Table:
    reach = source.results.reach[person]
    rows = (
        (WAY_WORDS[via], extent.frames, extent.frames, extent.shots)
        for via, extent in ways.by_via(person)
    )
    caption = "By way of what these hands are in the film"
    table = Table.of(caption, WAY_COLUMNS, rows, source.scale, "each frame once")
    totals = {"frames": reach.frames, "time": reach.frames, "shots": reach.shots}
    return replace(table, totals=totals)


def _sequences(source: PageSource, person: str) -> Table:
    reach = source.results.reach[person]
    by_sequence = grouped(reach.in_shots, lambda own: source.ledger.shots[own[0]].sequence)
    rows = (
        (
            source.sequence(code),
            tuple(map(source.shot, dict.fromkeys(shot for shot, _, _ in takes))),
            sum(frames.count for _, _, frames in takes),
            min((first - 1 for own in takes for first, _ in source.film_spans(*own)), default=None),
        )
        for code, takes in by_sequence.items()
    )
    caption = "Shots reached, by sequence"
    table = Table.of(caption, SEQUENCE_COLUMNS, rows, source.scale, "total")
    return without_cut(source, replace(table, totals={"shots": f"{reach.shots:,}"}))


def reach_view(source: PageSource, ways: Ways, person: str) -> ReachView | None:
    """Return the reach of a person for their page; None: in no frame that counts."""
    reach = source.results.reach.get(person)
    if reach is None:
        return None
    use = source.results.use
    of_film = ""
    if use is not None:
        share = decimal_text(100 * reach.share_of(use), 1)
        of_film = f"{share} % of the film, each frame counted once"
    return ReachView(
        running=clock(reach.frames, source.ledger.production.rate),
        of_film=of_film,
        frames=f"{reach.frames:,}",
        shots=f"{reach.shots:,}",
        in_shots=counted(reach.shots, "shot"),
        characters=source.characters(reach.characters),
        ways=_ways(source, ways, person),
        sequences=_sequences(source, person),
        strip=_film_strip(source, ways, person),
    )
