"""The page of what the unit took again: for the office alone."""

from __future__ import annotations

from credits.editions import Edition, cut_to
from credits.figures.snapshot import Snapshot
from credits.site.pages.retakes import RetakesPage, retakes_pages
from credits.site.render import builders, render
from credits.site.source import PageSource
from tests.review.test_retakes import AGAIN
from tests.small_log import small_ledger
from tests.table_texts import rows_of, total_of


def page_of(text: str) -> tuple[RetakesPage, str]:
    source = PageSource(Snapshot(small_ledger(text)), Edition.OFFICE)
    (page,) = retakes_pages(source)
    assert isinstance(page.model, RetakesPage)
    return page.model, render(page, source)


def test_by_sequence_by_week_and_by_shot_with_what_was_noted() -> None:
    page, html = page_of(AGAIN)
    assert (page.shots, page.again, page.share) == ("2 of 3 shots", "10", "5.0 %")
    assert (page.retakes, page.of_retakes) == ("1 take", "48")
    assert rows_of(page.sequences) == [
        ("Sequence 010", "3", "2", "4", "1", "202", "192", "10", "5.0 %", "48")
    ]
    assert rows_of(page.weeks) == [
        ("2026-W10", "136", "126", "10", "7.4 %", ""),
        ("2026-W11", "66", "66", "", "0.0 %", "1"),
    ]
    assert total_of(page.weeks) == ["202", "192", "10", "5.0 %", "1"]
    assert rows_of(page.listed) == [
        ("010-010", "2", "1", "96", "96", "", "48", "Flicker from frame 30 / New lamps"),
        ("010-020", "1", "", "58", "48", "10", "", "Eye line"),
    ]
    assert "Flicker from frame 30" in html


def test_of_many_notes_the_first_are_told() -> None:
    more = "".join(
        f"    animation, ben, wick, 010-010, 2, 1-48, 2026-03-{13 + at}, Note {at}\n"
        for at in range(4)
    )
    page, _ = page_of(AGAIN + more)
    noted = rows_of(page.listed, "reasons")[0]
    assert noted == "Flicker from frame 30 / New lamps / Note 0 / and 3 notes more"


def test_where_nothing_was_taken_again_or_shot_the_page_says_so() -> None:
    assert "Nobody has shot anything yet." in page_of("")[1]
    once = "\n".join(line for line in AGAIN.splitlines() if "010-010, " not in line)
    once = once.replace("010-020, 1, 31-48", "010-020, 1, 41-48").replace(
        "    shot, sequence, frames", "    shot, sequence, frames\n    010-010, 010, 48"
    )
    _, html = page_of(
        once.replace("    [takes]\n    shot, take, purpose, decision, decided_on", "")
    )
    assert "No shot was taken again." in html


def test_the_office_alone_has_the_page() -> None:
    assert [e for e in Edition if retakes_pages in builders(e)] == [Edition.OFFICE]
    assert cut_to(page_of(AGAIN)[0], Edition.CREW) == RetakesPage()
