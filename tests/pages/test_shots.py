"""The page of all shots: what it shows of each, and totals that add up."""

from __future__ import annotations

import pytest

from credits.editions import Edition, cut_to
from credits.figures.snapshot import Snapshot
from credits.site.page import DataFile
from credits.site.pages.shots import ShotsPage, shots_page
from credits.site.render import render
from credits.site.source import page_source
from credits.site.whole_site import builders, frame_of
from tests.small_log import WORKED_EXAMPLE, small_ledger

TWO_SEQUENCES = """
    [people]
    person
    ana
    ben

    [characters]
    character
    wick
    brine

    [sequences]
    sequence, name
    010, The Quay
    020,
    030, Never shot

    [shots]
    shot, sequence, frames, status, description
    010-010, 010, 25, done, "Wick *waits*."
    010-020, 010, 25, done
    010-030, 010, 500, omitted
    020-010, 020, 25, shooting
    020-020, 020, 25, planned

    [takes]
    shot, take, purpose, decision, decided_on
    010-010, 1, shoot, retake, 2026-03-03
    010-010, 2, shoot, accepted, 2026-03-06

    [entries]
    craft, person, character, shot, take, frames, finished_on
    animation, ben, brine, 010-010, 1, 1-25, 2026-03-02
    animation, ana, wick, 010-010, 2, 1-25, 2026-03-05
    animation, ana, wick, 010-030, , 1-10, 2026-03-05
    animation, ben, wick, 020-010, , 1-5, 2026-03-06
    animation, ben, brine, 020-010, , 1-5, 2026-03-06
"""


def shots_of(text: str, cut: str = "", edition: Edition = Edition.CREW) -> ShotsPage:
    source = page_source(Snapshot(small_ledger(text, cut)), edition)
    (page,) = shots_page(source)
    assert isinstance(page.model, ShotsPage)
    assert page.title in render(page, frame_of(page, source), source)
    return cut_to(page.model, edition)


def test_shots_stand_by_sequence_and_empty_sequences_are_left_out() -> None:
    page = shots_of(TWO_SEQUENCES)
    assert [(s.code, s.name, [row.shot.text for row in s.shots]) for s in page.sequences] == [
        ("010", "The Quay", ["010-010", "010-020", "010-030"]),
        ("020", "", ["020-010", "020-020"]),
    ]


def test_a_shot_shows_the_take_that_counts_and_who_is_in_that_take() -> None:
    first = shots_of(TWO_SEQUENCES).sequences[0].shots[0]
    assert first.take == "2, accepted"
    assert [link.text for link in first.animators] == ["Ana"]  # Ben's take 1 does not count
    assert [link.text for link in first.characters] == ["Wick"]
    assert first.status == "done"
    assert first.description == "Wick *waits*."


def test_a_shot_with_nothing_yet_has_its_length_alone() -> None:
    planned = shots_of(TWO_SEQUENCES).sequences[1].shots[1]
    assert planned.length is not None
    assert (planned.length.frames, planned.status) == ("25", "planned")
    assert (planned.take, planned.animators, planned.characters, planned.in_cut) == ("", (), (), "")


def test_an_omitted_shot_stands_there_and_is_not_counted() -> None:
    page = shots_of(TWO_SEQUENCES)
    omitted = page.sequences[0].shots[2]
    assert (omitted.length, omitted.status) == (None, "omitted")
    assert (page.sequences[0].length.frames, page.sequences[0].omitted) == ("50", "1 omitted")
    assert (page.count, page.omitted, page.length.frames) == ("4", "1", "100")


def test_seconds_add_up_within_each_sequence_and_over_the_film() -> None:
    # 25 frames at 24 are 1.0416... s: four of them are 4.2 s, though each alone is 1.0.
    page = shots_of(TWO_SEQUENCES)
    tenths = {
        s.code: [round(float(row.length.seconds) * 10) for row in s.shots if row.length]
        for s in page.sequences
    }
    assert tenths == {"010": [11, 10], "020": [11, 10]}
    assert [s.length.seconds for s in page.sequences] == ["2.1", "2.1"]
    assert page.length.seconds == "4.2"


def test_decimal_feet_add_up_too() -> None:
    # 65 mm 5-perf, 12.8 frames a foot: 25 frames are 1.953125 ft, four of them 7.8125.
    text = f"[production]\ngauge\n65mm-5perf\n{TWO_SEQUENCES}"
    page = shots_of(text)
    hundredths = [
        round(float(row.length.feet) * 100) for s in page.sequences for row in s.shots if row.length
    ]
    assert page.length.feet == "7.81"
    assert sum(hundredths) == 781


def test_the_cut_fills_its_columns_and_the_strip() -> None:
    page = shots_of(WORKED_EXAMPLE)
    (sequence,) = page.sequences
    assert (sequence.in_cut, sequence.shots[0].in_cut, page.in_cut) == ("32", "32", "32")
    assert sequence.in_film == "0:00"
    assert page.film_strip is not None
    assert [block.label for block in page.film_strip.rows[0].blocks] == ["010"]


def test_without_a_cut_there_is_no_strip() -> None:
    page = shots_of(TWO_SEQUENCES)
    assert (page.has_cut, page.film_strip) == (False, None)


def test_a_production_without_shots_says_so() -> None:
    source = page_source(Snapshot(small_ledger("")), Edition.OFFICE)
    (page,) = shots_page(source)
    assert "No shot is in the tables yet." in render(page, frame_of(page, source), source)


@pytest.mark.parametrize(
    ("edition", "there"), [(Edition.PUBLIC, False), (Edition.CREW, True), (Edition.OFFICE, True)]
)
def test_shots_and_weeks_are_for_crew_and_office(edition: Edition, there: bool) -> None:
    source = page_source(Snapshot(small_ledger(WORKED_EXAMPLE)), edition)
    pages = [page for build in builders(edition) for page in build(source)]
    paths = {page.path for page in pages if not isinstance(page, DataFile)}
    for path in ("shots/index.html", "shots/010-020.html", "weeks/2026-w10.html"):
        assert (path in paths) is there
