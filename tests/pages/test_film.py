"""The film page and its pieces: who is behind a frame, in each edition, and what is not told."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from credits.editions import Edition, cut_to
from credits.figures.snapshot import Snapshot
from credits.footage.cut import CutUse
from credits.site.pages.film import film_pages
from credits.site.pieces import film_files, in_steps, stretches_by
from credits.site.render import render
from credits.site.source import PageSource
from tests.film_pieces import places_of
from tests.small_log import small_ledger

FILM = """
    [people]
    person, credit_name, credit_wish
    ana, Ana
    ben, Ben
    hid, Hidden, uncredited

    [characters]
    character, name
    wick, Wick

    [sequences]
    sequence, name
    010, The Quay
    index, Odd

    [shots]
    shot, sequence, frames
    010-010, 010, 20
    x-010, index, 20

    [entries]
    craft, person, character, shot, frames, finished_on
    sculpt, hid, wick, , , 2026-01-01
    animation, ana, wick, 010-010, 1-12, 2026-03-02
    animation, ben, wick, 010-010, 9-20, 2026-03-03
    animation, ben, wick, x-010, 5-20, 2026-03-04
"""
CUT = """
    shot, first, last, film_first
    010-010, 1, 20, 1
    x-010, 1, 20, 31
    010-010, 1, 4, 51
"""


def source_of(edition: Edition, cut: str = CUT) -> PageSource:
    return PageSource(Snapshot(small_ledger(FILM, cut)), edition)


def data_of(edition: Edition) -> dict[str, Any]:
    files = {file.path: file.content.decode("ascii") for file in film_files(source_of(edition))}
    return {
        path: json.loads(text.rpartition(" = ")[2].strip(";\n")) for path, text in files.items()
    }


def told(piece: Any) -> list[list[tuple[int, list[str]]]]:
    """Of each clip its stretches: how many frames, and the names of who is behind them."""
    return [
        [
            (
                frames,
                [
                    piece["people"][person][1]
                    for row in places_of(piece["sets"][place])
                    for person in piece["rows"][row][2:]
                ],
            )
            for frames, place in clip["stretches"]
        ]
        for clip in piece["clips"]
    ]


def test_a_piece_is_written_in_stretches_in_which_the_same_people_are() -> None:
    piece = data_of(Edition.OFFICE)["film/010.js"]
    assert told(piece) == [
        [(8, ["Ana", "Hidden"]), (12, ["Ben", "Hidden"])],
        [(4, ["Ana", "Hidden"])],
    ]
    assert [clip["first"] for clip in piece["clips"]] == [1, 51]
    assert piece["name"] == "010, The Quay"


def test_the_index_leads_from_a_frame_to_its_piece_and_knows_the_gaps() -> None:
    index = data_of(Edition.CREW)["film/index.js"]
    assert index["stretches"] == [[1, 21, 0], [31, 51, 1], [51, 55, 0]]
    assert index["length"] == 54
    assert index["people"] == [["ana", "Ana"], ["ben", "Ben"]]


def test_a_sequence_may_be_called_as_the_index_is() -> None:
    data = data_of(Edition.CREW)
    assert len(data) == 1 + 2 + 2
    other = data["film/index.js"]["pieces"][1]
    assert told(data[f"film/{other}.js"]) == [[(4, []), (16, ["Ben", "uncredited"])]]


def test_who_asked_to_be_uncredited_is_so_to_the_crew_and_nobody_to_the_public() -> None:
    assert told(data_of(Edition.CREW)["film/010.js"])[0][0] == (8, ["Ana", "uncredited"])
    assert told(data_of(Edition.PUBLIC)["film/1.js"])[0][0] == (8, ["Ana"])


def test_the_public_is_told_of_no_sequence_no_shot_and_no_frame_of_one() -> None:
    piece = data_of(Edition.PUBLIC)["film/1.js"]
    assert set(piece) == {"people", "characters", "crafts", "rows", "sets", "clips"}
    assert {key for clip in piece["clips"] for key in clip} == {"first", "stretches"}
    (page,) = film_pages(source_of(Edition.PUBLIC))
    assert cut_to(page.model, Edition.PUBLIC).sequences is None
    assert "010" not in render(page, source_of(Edition.PUBLIC)).partition("<table")[0]


def test_where_a_person_is_in_the_film_is_told_without_and_with_them_in_turn() -> None:
    data = data_of(Edition.CREW)
    assert data["film/people/ana.js"] == {"frames": 12, "lengths": [0, 8, 42, 4]}
    assert data["film/people/ben.js"] == {"frames": 28, "lengths": [8, 12, 14, 16]}
    assert "film/people/hid.js" not in data
    assert "film/people/hid.js" in data_of(Edition.OFFICE)


def test_a_film_without_a_cut_has_a_page_that_says_so_and_no_data() -> None:
    source = source_of(Edition.CREW, "")
    assert list(film_files(source)) == []
    (page,) = film_pages(source)
    assert "No cut was loaded yet." in render(page, source)


@pytest.mark.parametrize(("gap", "count"), [(0, 3), (10, 2)])
def test_clips_of_one_kind_are_one_stretch_over_a_small_gap(gap: int, count: int) -> None:
    use = source_of(Edition.CREW).results.use
    assert isinstance(use, CutUse)
    names = {1: "a", 2: "a", 3: "b"}
    assert len(stretches_by(use, lambda clip: names[clip.order], gap)) == count


@given(st.lists(st.integers(0, 60), unique=True))
def test_places_in_a_row_are_said_by_the_first_and_the_last(places: list[int]) -> None:
    for given_places in (places, sorted(places)):
        written = in_steps(given_places)
        assert places_of(list(written)) == given_places
        assert len(written) <= len(given_places)
