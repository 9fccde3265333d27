"""The laws of the film page: its data names for a frame those found by looking at it alone."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from hypothesis import given, settings

from credits.editions import Edition
from credits.figures.snapshot import Snapshot
from credits.footage.cut import source_frame
from credits.model.facts import CreditWish
from credits.model.ledger import Ledger
from credits.model.log import WrittenLog
from credits.model.replay import replay
from credits.site.links import character_page, file_name
from credits.site.pieces import film_files
from credits.site.source import PageSource
from tests.drawn import drawn
from tests.film_pieces import places_of
from tests.laws.frame_by_frame import FrameByFrame
from tests.laws.frame_hands import hands as hands_in_frame
from tests.laws.strategies import productions

BIG = settings(max_examples=drawn(40), deadline=None)
Named = tuple[str, str, str]
"""A person as the data knows them, a craft, a character's page."""


def data_of(source: PageSource) -> dict[str, Any]:
    """The data of each file of the film, by its place in the site."""
    files = {file.path: file.content.decode("ascii") for file in film_files(source)}
    return {
        path: json.loads(text.rpartition(" = ")[2].rstrip(";\n")) for path, text in files.items()
    }


def pieces_of(data: dict[str, Any]) -> list[Any]:
    """The pieces, in the order in which the index has them."""
    return [data[f"film/{name}.js"] for name in data["film/index.js"].get("pieces", [])]


def _named(piece: Any, place: int) -> Iterator[Named]:
    for row in (piece["rows"][at] for at in places_of(piece["sets"][place])):
        page = piece["characters"][row[0]][1]
        for person in row[2:]:
            key, name = piece["people"][person]
            yield key or name, piece["crafts"][row[1]], page


def film_of(data: dict[str, Any]) -> dict[int, tuple[Any, int, set[Named]]]:
    """Of each film frame that is in a clip: the clip, how far on it is, and who is behind it."""
    found = {}
    for piece in pieces_of(data):
        for clip in piece["clips"]:
            at = clip["first"]
            for length, place in clip["stretches"]:
                named = list(_named(piece, place))
                assert len(named) == len(set(named)) or "uncredited" in {who for who, *_ in named}
                for frame in range(at, at + length):
                    assert frame not in found
                    found[frame] = clip, frame - clip["first"], set(named)
                at += length
    return found


def shot_frame(clip: Any, step: int) -> int:
    """The shot frame as the page works it out."""
    first, speed, of = clip["source"]
    back = -1 if speed < 0 else 1
    return int(first + back * (step * abs(speed) // of))


def frame_by_frame(log: WrittenLog, ledger: Ledger) -> Iterator[tuple[int, str, int, set[Any]]]:
    """Each film frame that shows a shot of the production, and the hands in it."""
    film = FrameByFrame(log)
    for clip in log.cut.clips if log.cut is not None else ():
        for step in range(clip.shown) if clip.shot in ledger.shots else ():
            at = clip.film_first + step
            # Of a shot without a take nothing is photographed yet.
            shot, take, frame = film.film.get(at, (clip.shot, 0, source_frame(clip, step)))
            yield at, shot, frame, hands_in_frame(film, shot, take, frame)


@BIG
@given(log=productions())
def test_the_data_names_the_shot_its_frame_and_the_hands_that_are_found_there(
    log: WrittenLog,
) -> None:
    ledger = replay(log)
    data = data_of(PageSource(Snapshot(ledger), Edition.OFFICE))
    if log.cut is None:
        assert data == {}
        return
    seen = {
        at: (
            shot,
            frame,
            {
                (file_name(who), ledger.crafts[craft].name, character_page(character))
                for who, craft, character, *_ in hands
            },
        )
        for at, shot, frame, hands in frame_by_frame(log, ledger)
    }
    assert {
        at: (clip["shot"], shot_frame(clip, step), named)
        for at, (clip, step, named) in film_of(data).items()
    } == seen
    index = data["film/index.js"]
    covered = [
        (frame, name)
        for first, stop, name in index.get("stretches", [])
        for frame in range(first, stop)
    ]
    assert sorted(frame for frame, _ in covered) == sorted(seen)
    pieces = pieces_of(data)
    for frame, place in covered:
        firsts = [clip["first"] for clip in pieces[place]["clips"]]
        assert min(firsts) <= frame
    assert index["length"] == log.cut.length


@BIG
@given(log=productions())
def test_the_stretches_of_a_person_are_the_film_frames_with_their_hands(log: WrittenLog) -> None:
    ledger = replay(log)
    data = data_of(PageSource(Snapshot(ledger), Edition.OFFICE))
    found: dict[str, set[int]] = {}
    for at, (_, _, named) in film_of(data).items() if data else ():
        for who, *_ in named:
            found.setdefault(who, set()).add(at)
    people = {key for key, _ in data["film/index.js"].get("people", [])} if data else set()
    assert people == set(found)
    for key in people:
        own = data[f"film/people/{key}.js"]
        frames: list[int] = []
        at = 1
        for turn, length in enumerate(own["lengths"]):
            frames += range(at, at + length) if turn % 2 else ()
            at += length
        assert frames == sorted(found[key])
        assert own["frames"] == len(frames)


@BIG
@given(log=productions())
def test_the_public_is_told_of_credited_people_alone_and_the_crew_of_no_hidden_name(
    log: WrittenLog,
) -> None:
    ledger = replay(log)
    results = Snapshot(ledger)
    whole = data_of(PageSource(results, Edition.OFFICE))
    hidden = {
        file_name(person.code)
        for person in ledger.people.values()
        if person.wish is CreditWish.UNCREDITED
    }
    for edition, silent in (
        (Edition.CREW, hidden),
        (
            Edition.PUBLIC,
            {*map(file_name, ledger.people)} - {*map(file_name, results.credits.printed)},
        ),
    ):
        data = data_of(PageSource(results, edition))
        named = film_of(data) if data else {}
        everything = film_of(whole) if whole else {}
        assert named.keys() == everything.keys()
        for at, (_, _, people) in named.items():
            told = {one for one in people if one[0] != "uncredited"}
            assert told == {one for one in everything[at][2] if one[0] not in silent}
        keys = {path.rpartition("/")[2][:-3] for path in data if path.startswith("film/people/")}
        assert not keys & silent
