"""The film in pieces, one for each sequence: who is behind every frame of the cut.

A piece is fetched when one of its frames is wanted. It holds stretches of the film in which the
same hands are, never frames; what stands in several stretches is written once and referred to by
its place.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, fields
from functools import cache, cached_property, partial
from itertools import chain, groupby, pairwise
from typing import Any, Generic, TypeVar

from credits.editions import Crew, Everyone, cut_to
from credits.footage.cut import CutUse, frames_in_film, source_frame
from credits.model.facts import CutClip
from credits.model.ledger import Ledger
from credits.site import links
from credits.site.links import About, DataFile, file_name
from credits.site.markdown import markdown_line
from credits.site.source import PageSource, grouped
from credits.units.frames import Frames, common_runs

T = TypeVar("T")
Stretch = tuple[int, int, str]
"""Film frames, half open, from 1, and what they have in common."""


def sequence_of(ledger: Ledger, clip: CutClip) -> str:
    """Return the sequence of a clip's shot."""
    return ledger.shots[clip.shot].sequence


def stretches_by(use: CutUse, of: Callable[[CutClip], str], gap: float = 0) -> list[Stretch]:
    """Return the film in stretches of clips that have something in common, in film order.

    of: what a clip has. gap: what may lie between two clips of one stretch, in film frames.
    """
    out: list[Stretch] = []
    for clip in _in_film_order(use):
        name = of(clip)
        stop = clip.film_first + clip.shown
        if out and out[-1][2] == name and clip.film_first - out[-1][1] <= gap:
            out[-1] = (out[-1][0], max(stop, out[-1][1]), name)
        else:
            out.append((clip.film_first, stop, name))
    return out


def _in_film_order(use: CutUse) -> list[CutClip]:
    return sorted((c for c in use.clips if c.shown > 0), key=lambda clip: clip.film_first)


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmClip:
    """A clip of the cut. first: its first film frame.

    stretches: how many film frames, and the place of what is in them among the piece's ``sets``.
    source: the shot frame that is seen first, and the speed as two whole numbers.
    """

    first: Everyone[int]
    stretches: Everyone[tuple[tuple[int, int], ...]]
    shot: Crew[str] = ""
    page: Crew[str] = ""
    said: Crew[str] = ""
    picture: Crew[str] = ""
    source: Crew[tuple[int, ...]] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmPiece:
    """The clips of one sequence, and what they refer to.

    people: the file name of each, empty where they have no page, and the name. characters: name,
    page, picture. rows: the place of a character; and behind it, where people are named, those of a
    craft and of the people. sets: the rows of a stretch, by their places, as ``in_steps`` says.
    """

    people: Everyone[tuple[tuple[str, str], ...]]
    characters: Everyone[tuple[tuple[str, str, str], ...]]
    crafts: Everyone[tuple[str, ...]]
    rows: Everyone[tuple[tuple[int, ...], ...]]
    sets: Everyone[tuple[tuple[int, ...], ...]]
    clips: Everyone[tuple[FilmClip, ...]]
    name: Crew[str] = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmIndex:
    """The whole film. rate: frames a second, as two whole numbers. pieces: their files.

    stretches: the first film frame, the one behind the last, and the place of the piece. people:
    file name and name of everybody whose work is in the film and may be named.
    """

    length: Everyone[int]
    rate: Everyone[tuple[int, int]]
    pieces: Everyone[tuple[str, ...]]
    stretches: Everyone[tuple[tuple[int, int, int], ...]]
    people: Everyone[tuple[tuple[str, str], ...]]


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonInFilm:
    """Where a person's work is: in how many film frames; and how many there are without it and
    with it in turn, from the first frame on."""

    frames: Everyone[int]
    lengths: Everyone[tuple[int, ...]]


def _plain(value: Any) -> Any:
    """Return a model as what JSON can hold, without what is empty."""
    if isinstance(value, tuple):
        return [_plain(item) for item in value]
    if isinstance(value, str | int):
        return value
    own = ((field.name, getattr(value, field.name)) for field in fields(value))
    return {name: _plain(held) for name, held in own if held not in ("", ())}


def _script(source: PageSource, place: str, make: Callable[[], Any]) -> bytes:
    """Write what sets a place of the page's data to a model, cut to the edition."""
    data = json.dumps(_plain(cut_to(make(), source.edition)), separators=(",", ":"))
    return f"{place} = {data};\n".encode("ascii")


def in_steps(places: Iterable[int]) -> tuple[int, ...]:
    """Write places so that neighbours are said once: 3, 4, 5, 6, 9 is 3, -6, 9.

    A place that is negative is the last of those that follow the one before it. Three in a row at
    least are written so; the first place of all is 0.
    """
    written: list[int] = []
    for _, run in groupby(enumerate(places), key=lambda at: at[1] - at[0]):
        row = [place for _, place in run]
        written += (row[0], -row[-1]) if len(row) > 2 else row
    return tuple(written)


class _Listed(Generic[T]):
    """Things that are written once, and the place of each."""

    def __init__(self) -> None:
        self.all: dict[T, int] = {}

    def of(self, thing: T) -> int:
        return self.all.setdefault(thing, len(self.all))

    def __iter__(self) -> Iterator[T]:
        return iter(self.all)


Row = tuple[str, str, tuple[str, ...]]
"""A character, a craft, and the people who did it; a character alone, where it is seen."""


def hands_in_clip(source: PageSource, clip: CutClip) -> Iterator[tuple[int, int, tuple[Row, ...]]]:
    """Yield the film frames of a clip, half open, and who is behind them: each character that is
    seen there, and below it by craft those whom the edition mentions, by name.

    Frames in which no character is kept are left out.
    """
    results, take = source.results, clip.take or 1
    runs = results.runs.get((clip.shot, take))
    if runs is None:
        return
    works = results.hands.crafts_of_take(clip.shot, take)
    seen: list[Row] = [(character, "", ()) for character in runs.kept_by_character]
    every = [*zip(seen, runs.kept_by_character.values(), strict=True)]
    every += [((work.character, work.craft, work.people), work.frames) for work in works]
    place = partial(_place, source)
    # In this order those of one character and craft stand side by side in every stretch.
    every.sort(key=lambda one: place(one[0]))
    alike = [place(row) for row, _ in every]

    @cache
    def row(members: tuple[int, ...]) -> Row | None:
        character, craft, _ = every[members[0]][0]
        people = {person for member in members for person in every[member][0][2]}
        named = _mentioned(source, people)
        return (character, craft, named) if named or not craft else None

    in_film = (frames_in_film(clip, frames) for _, frames in every)
    for first, stop, members in common_runs(in_film):
        rows = [row(tuple(own)) for _, own in groupby(members, alike.__getitem__)]
        yield first, stop, tuple([own for own in rows if own is not None])


def _place(source: PageSource, row: Row) -> tuple[int, int]:
    """Order characters as in their table; of each first that it is seen, then the crafts."""
    places, (character, craft, _) = source.results.places, row
    return places.characters[character], places.crafts[craft] if craft else -1


def _mentioned(source: PageSource, people: Iterable[str]) -> tuple[str, ...]:
    return tuple([code for code, _ in source.named_people(people)])


class Film:
    """The cut, as it is written for an edition. use: what it uses of the shots."""

    def __init__(self, source: PageSource, use: CutUse) -> None:
        self.source = source
        self.use = use

    @cached_property
    def clips(self) -> Mapping[str, list[CutClip]]:
        """The clips of each sequence that is in the film, in film order."""
        of = partial(sequence_of, self.source.ledger)
        found = grouped(_in_film_order(self.use), of)
        return {code: found[code] for code in self.source.ledger.sequences if code in found}

    @cached_property
    def names(self) -> Mapping[str, str]:
        """The name of each piece: its sequence; a number where the readers know no sequences."""
        if self.source.crew:
            return {code: file_name(code) for code in self.clips}
        return {code: str(number) for number, code in enumerate(self.clips, 1)}

    def share(self) -> object:
        """Compute what pieces have in common."""
        own = self.source.results
        return own.runs, own.hands, own.places, self.clips, self.source.name_order

    def index(self) -> FilmIndex:
        """Return the index of the pieces."""
        source, per_second = self.source, self.source.scale.rate.per_second
        place = {code: at for at, code in enumerate(self.clips)}
        found = stretches_by(self.use, partial(sequence_of, source.ledger))
        return FilmIndex(
            length=self.use.cut.length,
            rate=(per_second.numerator, per_second.denominator),
            pieces=tuple(self.names.values()),
            stretches=tuple([(first, stop, place[code]) for first, stop, code in found]),
            people=tuple([(file_name(code), name) for code, name in self.people.items()]),
        )

    @cached_property
    def people(self) -> Mapping[str, str]:
        """Everybody whose work is in the film and whom the edition names, by name."""
        named = self.source.people_in_order()
        return {p.code: p.credit_name for p in named if p.code in self.source.results.reached}

    def person(self, code: str) -> PersonInFilm:
        """Tell where in the film a person's work is."""
        reach = self.source.results.reach_of(code)
        own = reach.in_shots if reach is not None else ()
        spans = (span for takes in own for span in self.source.film_spans(*takes))
        frames = Frames.of(*spans)
        edges = (1, *chain.from_iterable(frames.ranges))
        lengths = tuple([stop - first for first, stop in pairwise(edges)])
        return PersonInFilm(frames=frames.count, lengths=lengths)

    def piece(self, sequence: str) -> FilmPiece:
        """Return the piece of a sequence."""
        source = self.source
        people, characters, crafts = _Listed[str](), _Listed[str](), _Listed[str]()
        rows, sets = _Listed[tuple[int, ...]](), _Listed[tuple[int, ...]]()

        @cache
        def row(own: Row) -> int:
            character, craft, names = own
            place = characters.of(character)
            if not craft:
                return rows.of((place,))
            return rows.of((place, crafts.of(craft), *map(people.of, names)))

        def stretches(clip: CutClip) -> Iterator[tuple[int, int]]:
            at = clip.film_first
            for first, stop, hands in hands_in_clip(source, clip):
                if first > at:
                    yield first - at, sets.of(())
                yield stop - first, sets.of(in_steps(map(row, hands)))
                at = stop
            if (left := clip.film_first + clip.shown - at) > 0:
                yield left, sets.of(())

        clips = tuple([self._clip(clip, stretches(clip)) for clip in self.clips[sequence]])
        return FilmPiece(
            name=source.sequence(sequence),
            people=tuple(map(self._person, people)),
            characters=tuple(map(self._character, characters)),
            crafts=tuple(source.ledger.crafts[code].name for code in crafts),
            rows=tuple(rows),
            sets=tuple(sets),
            clips=clips,
        )

    def _clip(self, clip: CutClip, stretches: Iterable[tuple[int, int]]) -> FilmClip:
        shot = self.source.ledger.shots[clip.shot]
        alike = groupby(stretches, key=lambda own: own[1])
        speed = clip.speed
        return FilmClip(
            first=clip.film_first,
            stretches=tuple([(sum(length for length, _ in own), at) for at, own in alike]),
            shot=clip.shot,
            page=links.shot_page(clip.shot),
            said=markdown_line(shot.description).striptags() if shot.description else "",
            picture=self.source.pictures.get(clip.shot, ""),
            source=(source_frame(clip, 0), speed.numerator, speed.denominator),
        )

    def _person(self, code: str) -> tuple[str, str]:
        link = self.source.person(code)
        assert link is not None
        one = self.source.ledger.person(code).code
        return (file_name(one) if link.href else "", link.text)

    def _character(self, code: str) -> tuple[str, str, str]:
        name = self.source.character(code).text
        return name, links.character_page(code), self.source.pictures.get(code, "")


def film_files(source: PageSource) -> Iterator[DataFile]:
    """Yield the index of the film, its pieces, and for each person where their work is."""
    if source.results.use is None:
        return
    film = Film(source, source.results.use)
    held = '{"pieces": {}, "people": {}}'
    index = partial(_script, source, f"window.creditsFilm = {held};\ncreditsFilm.index", film.index)
    yield DataFile(links.FILM_INDEX, index)
    for sequence, name in film.names.items():
        place = f"creditsFilm.pieces[{json.dumps(name)}]"
        make = partial(_script, source, place, partial(film.piece, sequence))
        about = About("sequence", sequence)
        yield DataFile(links.film_piece(name), make, about, film.share)
    for code in film.people:
        name = file_name(code)
        place = f"creditsFilm.people[{json.dumps(name)}]"
        make = partial(_script, source, place, partial(film.person, code))
        yield DataFile(links.film_person(name), make, About("person", code))
