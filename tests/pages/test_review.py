"""Review pages and the page of the unit: for the office alone, one person on each, figures of
compute."""

from __future__ import annotations

import re
from html import unescape

import pytest

from credits.cautions import REVIEW_CAUTION
from credits.editions import Edition, cut_to
from credits.figures.snapshot import Snapshot
from credits.site.links import Link, Page
from credits.site.pages.footage import (
    FootagePage,
    ReviewPage,
    ReviewPages,
    footage_pages,
    review_pages,
)
from credits.site.pages.person import PersonPage, person_pages
from credits.site.pages.review_parts import review_and_parts_pages
from credits.site.render import builders, render
from credits.site.source import PageSource
from credits.units.table import Table
from tests.small_log import WORKED_EXAMPLE, small_ledger

UNIT = """
    [people]
    person, credit_name
    ana, Ana Quist
    ben, Ben Ashgrove
    cai, Cai Moorland
    dov, Dov Ternfield
    eve, Eve Saltmarsh

    [characters]
    character
    wick
    brine

    [puppets]
    puppet, character, copy
    wick-1, wick, 1
    brine-1, brine, 1

    [parts]
    part, character
    head-7, wick

    [fittings]
    part, puppet, from_on
    head-7, wick-1, 2026-01-01

    [sequences]
    sequence, name
    010, The quay
    020, The stair

    [shots]
    shot, sequence, frames
    010-010, 010, 96
    020-010, 020, 240

    [takes]
    shot, take, decision
    010-010, 1, accepted

    [entries]
    craft, person, character, puppet, part, shot, frames, finished_on, minutes, wait_minutes, note
    animation, ana, , wick-1, , 010-010, 1-48, 2026-03-02, 500
    animation, ana, , wick-1, , 010-010, 25-60, 2026-03-10, 400
    animation, ben, , wick-1, , 020-010, 1-100, 2026-03-03, 300
    animation, cai, , brine-1, , 020-010, 101-140, 2026-03-04
    animation, dov, , brine-1, , 020-010, 141-237, 2026-03-05
    repair, eve, , wick-1, , , , 2026-03-02, 30, 45, Ankle *again*
    repair, eve, , wick-1, , , , 2026-03-20, 10, 5, Ankle *again*
    repair, eve, , , head-7, , , 2026-03-21, 15, ,
    sculpt, eve, wick, , , , , 2025-09-01, 600

    [cut]
    shot, first, last
    010-010, 1, 60
    020-010, 1, 240
"""


def source_of(text: str, edition: Edition = Edition.OFFICE) -> PageSource:
    return PageSource(Snapshot(small_ledger(text)), edition)


def pages_of(text: str) -> dict[str, Page]:
    return {page.path: page for page in review_pages(source_of(text))}


def review_page(text: str, person: str) -> ReviewPage:
    model = pages_of(text)[f"reviews/{person}.html"].model
    assert isinstance(model, ReviewPage)
    return model


def footage_page(text: str) -> FootagePage:
    (page,) = footage_pages(source_of(text))
    assert isinstance(page.model, FootagePage)
    return page.model


def texts(table: Table) -> list[tuple[str, ...]]:
    """What the rows of a table and its total say."""
    shown = table.printed()
    return [
        tuple(getattr(cell.text, "text", cell.text) for cell in row)
        for row in (*shown.rows, shown.total)
    ]


def html_of(page: Page, text: str) -> str:
    source = source_of(text)
    return render(page, source)


# --- who has a page, and who may read it


def test_everybody_with_footage_work_has_a_review_page_and_nobody_else() -> None:
    assert list(pages_of(UNIT)) == [
        "reviews/ana.html",
        "reviews/ben.html",
        "reviews/cai.html",
        "reviews/dov.html",
    ]


@pytest.mark.parametrize("edition", [Edition.PUBLIC, Edition.CREW])
def test_only_the_office_edition_has_reviews(edition: Edition) -> None:
    assert review_and_parts_pages not in builders(edition)
    assert review_and_parts_pages in builders(Edition.OFFICE)
    assert cut_to(review_page(UNIT, "ana"), edition) == ReviewPage()


def test_the_persons_page_leads_to_the_review_in_the_office_edition_alone() -> None:
    for edition in Edition:
        links = {
            page.model.name.text: cut_to(page.model, edition).review
            for page in person_pages(source_of(UNIT, edition))
            if isinstance(page, Page) and isinstance(page.model, PersonPage)
        }
        office = edition is Edition.OFFICE
        assert all(link is None for name, link in links.items() if not office)
        if office:
            assert links["Ana Quist"] is not None
            assert links["Ana Quist"].href == "reviews/ana.html"
            assert links["Eve Saltmarsh"] is None


def test_the_page_names_nobody_else() -> None:
    for person, page in pages_of(UNIT).items():
        html = html_of(page, UNIT)
        names = {"ana": "Quist", "ben": "Ashgrove", "cai": "Moorland", "dov": "Ternfield"}
        names["eve"] = "Saltmarsh"
        for code, name in names.items():
            own = person == f"reviews/{code}.html"
            assert (name in html) is own
            assert (f"{code}.html" in html) is own


# --- what it says


def test_the_figures_are_those_of_the_rules_with_the_range_of_the_others() -> None:
    figures = {f.name: (f.value, f.others) for f in review_page(UNIT, "ana").figures}
    # 24 of the first 48 frames and 36 of the second day are kept: 60 frames, 2.5 s in two days.
    assert figures["frames shot"] == ("84", "40 to 100")
    assert figures["frames kept"] == ("60", "40 to 100")
    assert figures["frames in the cut"] == ("60", "40 to 100")
    assert figures["pace, seconds a shoot day"] == ("1.25", "1.5 to 4.5")
    assert figures["re-shot share, %"] == ("28.6", "0 to 0")
    assert figures["wait for repairs, minutes"] == ("45", "0 to 0")
    assert figures["stage days"] == ("2", "1 to 1")


def test_without_three_others_the_page_says_why_there_is_no_range() -> None:
    page = review_page(WORKED_EXAMPLE, "ana")
    assert not page.ranges
    assert "fewer than three others" in page.others
    html = html_of(pages_of(WORKED_EXAMPLE)["reviews/ana.html"], WORKED_EXAMPLE)
    assert page.others in unescape(html)
    assert "The other animators, same weeks" not in html


def test_the_shots_stand_behind_the_weeks_and_the_repairs_behind_the_wait() -> None:
    page = review_page(UNIT, "ana")
    by_week = page.tables[0].table
    assert by_week is not None
    assert [week.text for week in by_week.column("week")] == ["2026-W10", "2026-W11"]
    assert [[shot.href for shot in shots] for shots in by_week.column("shots")] == [
        ["shots/010-010.html"],
        ["shots/010-010.html"],
    ]
    assert page.waits is not None
    (wait,) = page.waits.printed().rows
    assert [str(cell.text) for cell in wait] == [
        "2 March 2026",
        "Wick, copy 1",
        "",
        "010-010",
        "45",
    ]


def test_the_others_range_stands_under_the_weeks_too() -> None:
    table = review_page(UNIT, "ana").tables[0].table
    assert table is not None
    shown = table.printed()
    place = [column.key for column in shown.columns].index("others_kept")
    assert shown.total[place].text == "40 to 100"


def test_the_caution_and_the_model_stand_on_every_review_page() -> None:
    for page in pages_of(UNIT).values():
        html = html_of(page, UNIT)
        assert REVIEW_CAUTION in html
        assert "A model: what pace would be usual in this log" in html
        assert "Not enough work to say" in html


def test_no_ranking_and_no_score() -> None:
    for page in pages_of(UNIT).values():
        said = re.sub(r"<[^>]+>", " ", html_of(page, UNIT)).lower()
        for word in ("rank", "score", "best", "worst", "average", "good", "bad", "target"):
            assert word not in said


def test_a_review_for_a_pack_leads_nowhere() -> None:
    made = ReviewPages(source_of(UNIT), linked=False)
    page = made.page(made.reviews.of("ana"))
    assert page.name is not None
    assert page.name.href is None
    assert page.waits is not None
    tables = [*(part.table for part in page.tables), page.waits]
    found = [
        value
        for table in tables
        for row in table.rows
        for cell in row
        for value in (cell if isinstance(cell, tuple) else (cell,))
        if isinstance(value, Link)
    ]
    assert len(found) > 5
    assert all(link.href is None for link in found)


def test_undated_work_alone_has_a_page() -> None:
    text = WORKED_EXAMPLE.replace("2026-03-02", "").replace("2026-03-03", "")
    page = review_page(text, "ana")
    assert page.bars is None
    (by_week, *_) = (part.table for part in page.tables)
    assert [week.text for week in by_week.column("week")] == ["undated"]
    html_of(pages_of(text)["reviews/ana.html"], text)


# --- the unit


def test_the_footage_page_leads_to_every_review() -> None:
    assert [link.href for link in footage_page(UNIT).reviews] == list(pages_of(UNIT))


def test_the_coverage_of_the_cut_by_sequence() -> None:
    page = footage_page(UNIT)
    assert page.coverage == "0:12 of the 0:13 of the cut show animation (99.0 %)."
    assert page.sequences is not None
    assert texts(page.sequences) == [
        ("010, The quay", "60", "60", "60", "0", "100.0 %"),
        ("020, The stair", "240", "237", "0", "3", "98.8 %"),
        ("total", "300", "297", "60", "3", "99.0 %"),
    ]


def test_film_frames_of_no_known_shot_are_said() -> None:
    text = WORKED_EXAMPLE.replace("shot, first, last", "shot, first, last, film_first")
    text = text.replace("010-020, 9, 40", "010-020, 9, 40, 25")
    said = "24 film frames are of no shot that the log knows"
    assert said in footage_page(text).coverage


def test_without_a_cut_there_is_no_coverage() -> None:
    page = footage_page(UNIT.partition("[cut]")[0])
    assert (page.coverage, page.sequences) == ("", None)


def test_time_by_craft_and_character_adds_up() -> None:
    time = footage_page(UNIT).time
    assert time is not None
    assert texts(time) == [
        ("Animation", "Wick", "3", "2", "3", "1,200", "20.0", ""),
        ("Animation", "Brine", "2", "2", "2", "0", "0.0", "2"),
        ("Puppet sculpting", "Wick", "1", "1", "1", "600", "10.0", ""),
        ("Puppet repair", "Wick", "3", "1", "3", "55", "0.9", ""),
        ("total", "", "9", "", "", "1,855", "30.9", "2"),
    ]


def test_repairs_by_puppet_part_and_cause_with_the_wait() -> None:
    repairs = footage_page(UNIT).repairs
    assert repairs is not None
    assert texts(repairs.without("days")) == [
        ("Wick, copy 1", "", "Ankle *again*", "2", "40", "50"),
        ("Wick", "head-7", "no cause noted", "1", "15", "0"),
        ("total", "", "", "3", "55", "50"),
    ]


def test_the_weekly_bars_are_the_figures_of_the_table() -> None:
    page = footage_page(UNIT)
    assert page.bars is not None
    assert [bar.title for own in page.bars.parts for bar in own.bars] == [
        "2026-W10: 24 frames accepted",
        "2026-W11: 36 frames accepted",
        "2026-W10: 237 frames kept, not accepted",
        "2026-W10: 24 frames re-shot",
    ]


def test_the_pace_is_said_in_words_beside_the_line_of_the_mean() -> None:
    page = footage_page(UNIT)
    assert page.bars is not None
    # 261 and 36 frames are kept in two weeks: 148.5.
    assert page.bars.mean is not None
    assert page.bars.mean[1] == "mean of kept: 149"
    assert page.pace == "On average 149 frames a week are kept, over 2 weeks with shooting."


def test_an_empty_production_says_so() -> None:
    assert pages_of("") == {}
    (page,) = footage_pages(source_of(""))
    html = html_of(page, "")
    assert "Nobody has shot anything yet" in html
    assert "Reviews" not in html
