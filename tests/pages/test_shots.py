"""The page of all shots: one table of what remains, what is told of each, totals that add up."""

from __future__ import annotations

from typing import Any
from urllib.parse import unquote

import pytest

from credits.editions import Edition, cut_to
from credits.figures.snapshot import Snapshot
from credits.site.links import DataFile, Link
from credits.site.pages.home import home_pages
from credits.site.pages.shots import SHOTS_CSV, ShotsPage, shots_pages
from credits.site.render import builders, render
from credits.site.source import PageSource
from credits.units.table import Marked, Table
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

    [stages]
    stage
    north

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
    craft, person, character, shot, take, frames, finished_on, stage
    animation, ben, brine, 010-010, 1, 1-25, 2026-03-02
    animation, ana, wick, 010-010, 2, 1-25, 2026-03-05, north
    animation, ana, wick, 010-030, , 1-10, 2026-03-05
    animation, ben, wick, 020-010, , 1-5, 2026-03-06
    animation, ben, brine, 020-010, , 1-5, 2026-03-06
"""


def source_of(text: str, cut: str = "", edition: Edition = Edition.CREW) -> PageSource:
    return PageSource(Snapshot(small_ledger(text, cut)), edition)


def shots_of(text: str, cut: str = "") -> ShotsPage:
    source = source_of(text, cut)
    page, _ = shots_pages(source)
    assert not isinstance(page, DataFile)
    assert isinstance(page.model, ShotsPage)
    assert page.title in render(page, source)
    return cut_to(page.model, Edition.CREW)


def row(page: ShotsPage, at: int) -> dict[str, Any]:
    """What stands in a row of the table, by column."""
    return {column.key: page.shots.column(column.key)[at] for column in page.shots.columns}


def printed(table: Table, key: str) -> list[str]:
    """The texts of a column and of its total."""
    shown = table.printed()
    place = [column.key for column in table.columns].index(key)
    return [row[place].text for row in (*shown.rows, shown.total)]


def plain(value: Link | Marked) -> str:
    """What a cell says."""
    return str(value.value if isinstance(value, Marked) else value)


def test_every_shot_is_in_one_table_by_sequence() -> None:
    page = shots_of(TWO_SEQUENCES)
    assert [plain(shot) for shot in page.shots.column("shot")] == [
        "010-010", "010-020", "010-030", "020-010", "020-020",
    ]  # fmt: skip
    assert page.shots.column("sequence") == (*["010, The Quay"] * 3, "020", "020")


def test_the_first_shot_of_a_sequence_is_where_links_to_the_sequence_lead() -> None:
    shots = shots_of(TWO_SEQUENCES).shots.column("shot")
    assert [getattr(shot, "anchor", "") for shot in shots] == ["s-010", "", "", "s-020", ""]


def test_a_shot_shows_what_counts_of_it_and_where_it_was_shot_last() -> None:
    first = row(shots_of(TWO_SEQUENCES), 0)
    assert [link.text for link in first["animators"]] == ["Ana"]  # Ben's take 1 does not count
    assert [link.text for link in first["characters"]] == ["Wick"]
    assert (first["status"], first["stage"], first["day"]) == ("finished", "north", "5 March 2026")


def test_what_a_shot_lacks_is_said_in_words_that_are_looked_for() -> None:
    page = shots_of(TWO_SEQUENCES)
    lacks = page.shots.column("open")
    # 010-010 is accepted; the omitted shot lacks nothing; 010-020 is finished, so not to be shot.
    assert [lacks[0], lacks[2], lacks[4]] == ["", "", "to animate"]
    assert (lacks[1].value, lacks[1].note) == ("to log", "25 frames")
    assert (lacks[3].value, lacks[3].note) == ("to finish", "20 frames")
    assert [(link.text, unquote(link.href or "")) for link in page.remains] == [
        ("1 shot to animate", 'shots/index.html#find="to animate"'),
        ("1 shot to finish", 'shots/index.html#find="to finish"'),
        ("1 shot to log", 'shots/index.html#find="to log"'),
    ]
    assert page.sequences.column("open") == (1, 2)


def test_the_csv_has_what_the_page_leaves_to_the_pages_of_shots() -> None:
    _, file = shots_pages(source_of(TWO_SEQUENCES))
    assert isinstance(file, DataFile)
    assert file.path == SHOTS_CSV
    head, first, *_ = file.content.decode("utf-8-sig").splitlines()
    assert head.startswith('"shot","sequence","status","open","take","description","frames"')
    assert first.startswith('"010-010","010","finished","","2, accepted","Wick *waits*.",25')


def test_an_omitted_shot_stands_there_and_is_not_counted() -> None:
    page = shots_of(TWO_SEQUENCES)
    omitted = row(page, 2)
    assert (omitted["frames"], omitted["status"]) == (None, "omitted")
    assert page.sequences.column("frames") == (50, 50)
    assert page.sequences.column("shots") == (2, 2)
    assert (page.count, page.omitted, page.length.frames) == ("4", "1", "100")


def test_home_counts_the_shots_that_the_list_counts() -> None:
    source = source_of(TWO_SEQUENCES)
    (page,) = home_pages(source)
    assert page.model.sequences.column("shots") == (2, 2, 0)
    assert page.model.sequences.column("planned") == (50, 50, 0)
    assert page.model.omitted == "1 shot"
    assert "1 shot omitted, not counted." in render(page, source)


def test_seconds_add_up_over_the_sequences() -> None:
    # 25 frames at 24 are 1.0416... s: four of them are 4.2 s, though each alone is 1.0.
    page = shots_of(TWO_SEQUENCES)
    assert printed(page.sequences, "seconds") == ["2.1", "2.1", "4.2"]
    assert printed(page.shots, "frames")[-1] == printed(page.sequences, "frames")[-1] == "100"
    assert page.length.seconds == "4.2"


def test_the_strip_draws_the_shots_end_to_end_by_status() -> None:
    strip = shots_of(TWO_SEQUENCES).strip
    assert strip is not None
    assert [(band.label, band.left, band.width) for band in strip.bands] == [
        ("010", "0%", "50%"), ("020", "50%", "50%"),
    ]  # fmt: skip
    assert [band.href for band in strip.bands] == [
        "shots/index.html#s-010", "shots/index.html#s-020",
    ]  # fmt: skip
    assert [(x, width) for x, width, _ in strip.parts.drawn] == [
        ("0%", "50%"), ("50%", "25%"), ("75%", "25%"),
    ]  # fmt: skip
    assert [words for _, words in strip.key] == ["finished", "shooting", "planned"]
    assert strip.parts.said == (
        "The shots by status: finished 50.0 %, shooting 25.0 %, planned 25.0 %"
    )


def test_the_cut_fills_its_columns() -> None:
    page = shots_of(WORKED_EXAMPLE)
    assert (page.sequences.column("in_cut"), page.shots.column("in_cut")) == ((32,), (32,))
    assert page.in_cut == "32"
    assert printed(page.sequences, "in_film") == ["0:00", ""]


def test_a_shot_that_the_cut_leaves_out_says_so() -> None:
    page = shots_of(TWO_SEQUENCES, "shot, take, first, last\n020-010, 1, 1, 5")
    # All that the cut uses of 020-010 is there; 010-010 is accepted and has no place.
    assert page.shots.column("open")[0] == "not in the cut"
    assert page.shots.column("open")[3] == "to accept"


def test_a_production_without_shots_says_so() -> None:
    source = source_of("", edition=Edition.OFFICE)
    page, _ = shots_pages(source)
    assert not isinstance(page, DataFile)
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
