"""A person's reach: how much of the film, by way of what, in which sequences, and where."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from fractions import Fraction

from credits.compute.hand import Via
from credits.editions import Crew
from credits.pages.film_scale import film_marks
from credits.pages.page import Link
from credits.pages.person_film import FilmPlaces
from credits.pages.person_ways import Ways
from credits.pages.source import PageSource
from credits.pages.strips import BlockSpec, RowSpec, Strip, merged, strip
from credits.pages.words import counted
from credits.units.film_time import FrameRate, clock, seconds
from credits.units.frames import Frames
from credits.units.rounding import decimal_text, half_up

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
        share = Fraction(100 * reach.screen_frames, use.cut.length)
        of_film = f"{decimal_text(share, 1)} % of the film"
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
