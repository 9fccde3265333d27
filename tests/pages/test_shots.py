"""The page of all shots: what it shows of each, and totals that add up."""

from __future__ import annotations

from typing import Any

import pytest

from credits.editions import Edition, cut_to
from credits.figures.snapshot import Snapshot
from credits.site.links import DataFile
from credits.site.pages.home import home_pages
from credits.site.pages.shot import ShotsPage, shot_pages
from credits.site.render import builders, render
from credits.site.source import PageSource
from credits.units.table import Table
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
    source = PageSource(Snapshot(small_ledger(text, cut)), edition)
    page, *_ = shot_pages(source)
    assert isinstance(page.model, ShotsPage)
    assert page.title in render(page, source)
    return cut_to(page.model, edition)


def columns(page: ShotsPage, sequence: int) -> dict[str, tuple[Any, ...]]:
    """The values of the table of a sequence, by column."""
    table = page.shots[sequence][-1]
    return {column.key: table.column(column.key) for column in table.columns}


def printed(table: Table, key: str) -> list[str]:
    """The texts of a column and of its total."""
    shown = table.printed()
    place = [column.key for column in table.columns].index(key)
    return [row[place].text for row in (*shown.rows, shown.total)]


def test_shots_stand_by_sequence_and_empty_sequences_are_left_out() -> None:
    page = shots_of(TWO_SEQUENCES)
    shown = [
        (code, name, [link.text for link in shots.column("shot")])
        for _, code, name, _, shots in page.shots
    ]
    assert shown == [
        ("010", "The Quay", ["010-010", "010-020", "010-030"]),
        ("020", "", ["020-010", "020-020"]),
    ]


def test_a_shot_shows_the_take_that_counts_and_who_is_in_that_take() -> None:
    first = {key: values[0] for key, values in columns(shots_of(TWO_SEQUENCES), 0).items()}
    assert first["take"] == "2, accepted"
    assert [link.text for link in first["animators"]] == ["Ana"]  # Ben's take 1 does not count
    assert [link.text for link in first["characters"]] == ["Wick"]
    assert first["status"] == "done"
    assert first["description"] == "Wick *waits*."


def test_a_shot_with_nothing_yet_has_its_length_alone() -> None:
    page = shots_of(TWO_SEQUENCES, "shot, take, first, last\n010-010, 2, 1, 10")
    planned = {key: values[1] for key, values in columns(page, 1).items()}
    assert (planned["frames"], planned["status"]) == (25, "planned")
    assert (planned["take"], planned["animators"], planned["characters"]) == ("", (), ())
    assert planned["in_cut"] is None


def test_an_omitted_shot_stands_there_and_is_not_counted() -> None:
    page = shots_of(TWO_SEQUENCES)
    omitted = {key: values[2] for key, values in columns(page, 0).items()}
    assert (omitted["frames"], omitted["status"]) == (None, "omitted")
    assert page.shots[0][3].endswith(", 1 omitted")
    assert page.sequences.column("frames") == (50, 50)
    assert page.sequences.column("shots") == (2, 2)
    assert (page.count, page.omitted, page.length.frames) == ("4", "1", "100")


def test_home_counts_the_shots_that_the_list_counts() -> None:
    source = PageSource(Snapshot(small_ledger(TWO_SEQUENCES)), Edition.CREW)
    (page,) = home_pages(source)
    assert page.model.sequences.column("shots") == (2, 2, 0)
    assert page.model.sequences.column("planned") == (50, 50, 0)
    assert page.model.omitted == "1 shot"
    assert "1 shot omitted, not counted." in render(page, source)


def test_seconds_add_up_within_each_sequence_and_over_the_film() -> None:
    # 25 frames at 24 are 1.0416... s: four of them are 4.2 s, though each alone is 1.0.
    page = shots_of(TWO_SEQUENCES)
    assert [printed(shots, "seconds") for *_, shots in page.shots] == [
        ["1.1", "1.0", "", "2.1"],
        ["1.1", "1.0", "2.1"],
    ]
    assert printed(page.sequences, "seconds") == ["2.1", "2.1", "4.2"]
    assert page.length.seconds == "4.2"


def test_decimal_feet_add_up_too() -> None:
    # 65 mm 5-perf, 12.8 frames a foot: 25 frames are 1.953125 ft, four of them 7.8125.
    text = f"[production]\ngauge\n65mm-5perf\n{TWO_SEQUENCES}"
    page = shots_of(text)
    feet = [text for *_, shots in page.shots for text in printed(shots, "feet")[:-1] if text]
    assert page.length.feet == "7.81"
    assert sum(round(float(text) * 100) for text in feet) == 781
    assert printed(page.sequences, "feet")[-1] == "7.81"


def test_the_cut_fills_its_columns_and_the_strip() -> None:
    page = shots_of(WORKED_EXAMPLE)
    assert (page.sequences.column("in_cut"), columns(page, 0)["in_cut"]) == ((32,), (32,))
    assert page.in_cut == "32"
    assert printed(page.sequences, "in_film") == ["0:00", ""]
    assert page.film_strip is not None
    assert [block.label for block in page.film_strip.rows[0].blocks] == ["010"]


def test_without_a_cut_there_is_no_strip() -> None:
    page = shots_of(TWO_SEQUENCES)
    assert (page.cut_length, page.film_strip) == ("", None)


def test_a_production_without_shots_says_so() -> None:
    source = PageSource(Snapshot(small_ledger("")), Edition.OFFICE)
    page, *_ = shot_pages(source)
    assert "No shot is in the tables yet." in render(page, source)


@pytest.mark.parametrize(
    ("edition", "there"), [(Edition.PUBLIC, False), (Edition.CREW, True), (Edition.OFFICE, True)]
)
def test_shots_and_weeks_are_for_crew_and_office(edition: Edition, there: bool) -> None:
    source = PageSource(Snapshot(small_ledger(WORKED_EXAMPLE)), edition)
    pages = [page for build in builders(edition) for page in build(source)]
    paths = {page.path for page in pages if not isinstance(page, DataFile)}
    for path in ("shots/index.html", "shots/010-020.html", "weeks/2026-w10.html"):
        assert (path in paths) is there
