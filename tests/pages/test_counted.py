"""How it is counted: the worked example, the settings, and what each edition is told."""

from __future__ import annotations

import pytest
from markupsafe import escape

from credits.cautions import CREDITS_CAUTION, MATERIALS_CAUTION, REVIEW_CAUTION
from credits.editions import Edition, cut_to
from credits.figures.snapshot import Snapshot
from credits.site.pages.counted import (
    LEAST_HELD,
    MOST_HELD,
    CountedPage,
    counted_pages,
    example,
    example_results,
)
from credits.site.render import render
from credits.site.source import PageSource
from tests.small_log import WORKED_EXAMPLE, small_ledger
from tests.table_texts import rows_of, total_of


def page_of(text: str, edition: Edition) -> CountedPage:
    (page,) = counted_pages(PageSource(Snapshot(small_ledger(text)), edition))
    model = cut_to(page.model, edition)
    assert isinstance(model, CountedPage)
    return model


def html_of(text: str, edition: Edition) -> str:
    source = PageSource(Snapshot(small_ledger(text)), edition)
    (page,) = counted_pages(source)
    return render(page, source)


def test_the_example_has_the_figures_that_were_worked_out_by_hand() -> None:
    shown = example()
    assert rows_of(shown.figures) == [
        ("Ana", "30", "24", "24", "16", "30", "18", "18", "10", "32"),
        ("Ben", "24", "24", "24", "16", "12", "12", "12", "8", "16"),
        ("Cai", "36", "36", "36", "28", "24", "18", "18", "14", "32"),
    ]
    assert total_of(shown.figures) == ["90", "84", "84", "60", "66", "48", "48", "32", ""]


def test_the_example_is_the_one_that_the_computation_is_tested_with() -> None:
    assert example_results().footage.cells == Snapshot(small_ledger(WORKED_EXAMPLE)).footage.cells


def test_whose_hands_are_in_two_frames_of_the_example() -> None:
    assert list(example().hands) == [
        ("9", "Ana (animation), Ana (voice), Cai (puppet sculpting)"),
        (
            "25",
            "Ben (animation), Ana (voice), Cai (puppet sculpting), "
            "Ana (puppet repair, by way of wick-1)",
        ),
    ]


def test_the_public_is_told_the_rules_without_figures_about_people() -> None:
    page = page_of(WORKED_EXAMPLE, Edition.PUBLIC)
    assert (page.example, page.usual_pace, page.cut) == (None, "", "")
    html = html_of(WORKED_EXAMPLE, Edition.PUBLIC)
    assert "This is the public edition." in html
    assert "010-020" not in html
    assert escape(REVIEW_CAUTION) not in html


@pytest.mark.parametrize("edition", [Edition.CREW, Edition.OFFICE])
def test_crew_and_office_read_every_caution(edition: Edition) -> None:
    html = html_of(WORKED_EXAMPLE, edition)
    for caution in (CREDITS_CAUTION, REVIEW_CAUTION, MATERIALS_CAUTION):
        assert escape(caution) in html


@pytest.mark.parametrize("edition", [Edition.CREW, Edition.OFFICE])
def test_crew_and_office_read_how_often_the_usual_pace_is_right(edition: Edition) -> None:
    said = f"held the pace of one more of the unit {LEAST_HELD} to {MOST_HELD} of 100"
    assert said in html_of(WORKED_EXAMPLE, edition)
    assert said not in html_of(WORKED_EXAMPLE, Edition.PUBLIC)


def test_the_settings_are_those_of_the_production() -> None:
    text = """
        [production]
        title, frame_rate, gauge
        The Small Film, 24000/1001, 65mm-5perf
    """
    assert rows_of(page_of(text, Edition.CREW).settings) == [
        (
            "frame rate",
            "24000/1001 frames a second",
            "0:42 of running time for every 1,000 frames",
        ),
        ("film gauge, for feet", "65mm-5perf", "200 frames are written 15.63, in decimal feet"),
    ]


def test_the_page_says_how_old_its_data_is() -> None:
    assert "3 March 2026" in page_of(WORKED_EXAMPLE, Edition.PUBLIC).data
    assert page_of("", Edition.PUBLIC).data == "The log holds no entry yet."
    assert page_of(WORKED_EXAMPLE, Edition.CREW).cut.startswith("The current cut is version 1;")
    assert page_of("", Edition.CREW).cut.startswith("There is no cut yet")


def test_no_edition_shows_legal_names_or_e_mail() -> None:
    assert rows_of(page_of("", Edition.PUBLIC).editions)[-1] == (
        "legal names, e-mail addresses", "no", "no", "no",
    )  # fmt: skip


@pytest.mark.parametrize("edition", Edition)
def test_an_empty_production_is_told_the_rules_too(edition: Edition) -> None:
    html = html_of("", edition)
    for anchor in ("measures", "hands", "rounding", "order", "roll", "editions", "sources"):
        assert f'id="{anchor}"' in html
        assert f'href="#{anchor}"' in html
