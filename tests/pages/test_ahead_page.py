"""The page of what is ahead: the figures, the projection, the targets, and who sees which."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from credits.editions import Edition, cut_to
from credits.figures.snapshot import Snapshot
from credits.model.facts import WeeklyTarget
from credits.site.pages.ahead import AheadPage, ahead_pages
from credits.site.render import builders, render
from credits.site.source import PageSource
from tests.footage.test_remaining import CUT, HALF_WAY
from tests.small_log import WORKED_EXAMPLE, small_ledger
from tests.table_texts import rows_of, total_of


def source_of(text: str, edition: Edition, *targets: WeeklyTarget) -> PageSource:
    ledger = small_ledger(text)
    production = replace(ledger.production, targets=targets)
    return PageSource(Snapshot(replace(ledger, production=production)), edition)


def page_of(
    text: str, *targets: WeeklyTarget, edition: Edition = Edition.OFFICE
) -> tuple[AheadPage, str]:
    source = source_of(text, edition, *targets)
    (page,) = ahead_pages(source)
    model = cut_to(page.model, edition)
    assert isinstance(model, AheadPage)
    return model, render(page, source)


def test_what_is_still_to_shoot_by_sequence_character_and_stage() -> None:
    page, html = page_of(HALF_WAY)
    assert rows_of(page.sequences) == [
        ("Sequence 010", "98", "", "36", "", "30", "32", "62", "3"),
        ("Sequence 020", "40", "36", "", "4", "", "", "", ""),
    ]
    assert total_of(page.sequences) == ["138", "36", "36", "4", "30", "32", "62", "3"]
    assert rows_of(page.characters, "what", "frames", "shots") == [
        ("Wick", "42", "2"),
        ("Brine", "32", "2"),
    ]
    assert total_of(page.characters) == ["62", "2.6", "3"]  # each frame once
    assert page.several
    assert rows_of(page.stages, "what", "frames") == [
        ("north", "30"),
        ("south", "12"),
        ("on no stage yet", "20"),
    ]
    assert rows_of(page.listed, "shot", "characters", "to_shoot") == [
        ("010-010", ["Wick", "Brine"], "12"),
        ("010-020", ["Wick"], "30"),
        ("010-030", ["Brine"], "20"),
    ]
    assert page.to_shoot is not None
    assert (page.to_shoot.frames, page.shots, page.again) == ("62", "3 shots", "30")
    assert "all frames of every shot that is not omitted" in html
    assert "4 frames of shots that are marked finished" in html


def test_with_a_cut_the_cut_says_what_the_film_wants() -> None:
    page, html = page_of(HALF_WAY + CUT)
    assert page.to_shoot is not None
    assert (page.to_shoot.frames, page.open, page.accepted) == ("24", "12", "36")
    assert "the frames that cut version 1 uses, each once" in html


def test_the_projection_says_its_weeks_its_range_and_that_it_is_none_but_that() -> None:
    text = HALF_WAY + "    animation, ana, wick, , 010-020, 2, 1-3, north, 2026-03-10\n"
    page, html = page_of(text)
    # 102 frames are kept on four days of the first week, 25.5 a day; then three on one day.
    assert page.said[0] == (
        "59 frames still to shoot. At the pace of the last 2 weeks with shooting (2026-W10 to"
        " 2026-W11), 21.0 frames kept a shoot day, they would take 3 shoot days (3 to 20): 2 weeks"
        " (1 to 8) of 2.5 shoot days."
    )
    assert page.said[1].startswith("The slowest of these weeks kept 3.0 frames a shoot day,")
    assert "A projection of what follows if the unit goes on as it did, never a promise." in html
    assert rows_of(page.weeks, "week", "days", "kept") == [
        ("2026-W10", "4", "102"),
        ("2026-W11", "1", "3"),
    ]


def test_one_week_of_work_has_no_range() -> None:
    page, _ = page_of(HALF_WAY)
    assert "At the pace of the only week with shooting (2026-W10)" in page.said[0]
    assert page.said[1].startswith("One week says little: there is no range yet.")


def test_the_pace_of_fewer_than_three_people_is_for_the_office_alone() -> None:
    page, html = page_of(HALF_WAY, edition=Edition.CREW)
    (said,) = page.said
    assert said.startswith("62 frames still to shoot. How long that takes is not shown here")
    assert "frames kept a shoot day" not in html
    more = "    animation, cai, wick, , 010-020, 2, 1-3, north, 2026-03-06\n"
    three = HALF_WAY.replace("    ben\n\n", "    ben\n    cai\n\n", 1) + more
    page, _ = page_of(three, edition=Edition.CREW)
    assert "frames kept a shoot day" in page.said[0]


def test_targets_stand_beside_the_weeks_and_in_the_picture() -> None:
    text = HALF_WAY + "    animation, ana, wick, , 010-020, 2, 1-3, north, 2026-03-10\n"
    targets = (WeeklyTarget(100, date(2026, 3, 2)), WeeklyTarget(20, date(2026, 3, 9)))
    page, html = page_of(text, *targets)
    assert rows_of(page.weeks, "target", "over") == [("100", "+2"), ("20", "17 to go")]
    assert page.target == "At the target of 20 frames a week it would take 3 weeks."
    assert page.bars is not None
    assert len({y for _, _, y in page.bars.target}) == 2  # from week to week, at two heights
    assert "the line: the target of frames kept in a week" in html
    plain, html = page_of(text)
    assert plain.bars is not None
    assert plain.bars.target == ()
    assert "target" not in html
    assert all("re-shot" not in name for _, name in plain.bars.key)


def test_a_target_above_every_week_is_in_the_picture_too() -> None:
    page, _ = page_of(HALF_WAY, WeeklyTarget(1000))
    assert page.bars is not None
    assert page.bars.rules[-1] == ("10", "1,000")
    assert page.bars.target == (("0", "100", "10"),)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "No shot is in the tables yet"),
        ("[sequences]\nsequence\n010\n[shots]\nshot, sequence, frames\n010-010, 010, 9",
         "cannot be projected: nothing with a day is shot yet"),
        (WORKED_EXAMPLE, "Nothing is left to shoot."),
    ],
)  # fmt: skip
def test_productions_that_have_little_read_well(text: str, said: str) -> None:
    _, html = page_of(text)
    assert said in html


def test_the_crew_and_the_office_have_the_page_and_the_public_has_not() -> None:
    has = [edition for edition in Edition if ahead_pages in builders(edition)]
    assert has == [Edition.CREW, Edition.OFFICE]
    page, _ = page_of(HALF_WAY)
    assert cut_to(page, Edition.PUBLIC) == AheadPage()
