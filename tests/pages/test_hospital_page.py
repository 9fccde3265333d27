"""The page of the puppet hospital: what waits first, and what the crew does not see."""

from __future__ import annotations

from credits.editions import Edition, cut_to
from credits.figures.snapshot import Snapshot
from credits.site.pages.hospital import HospitalPage, hospital_pages
from credits.site.render import builders, render
from credits.site.source import PageSource
from tests.review.test_hospital import WARD
from tests.small_log import small_ledger
from tests.table_texts import rows_of, total_of


def page_of(text: str, edition: Edition = Edition.OFFICE) -> tuple[HospitalPage, str]:
    source = PageSource(Snapshot(small_ledger(text)), edition)
    (page,) = hospital_pages(source)
    model = cut_to(page.model, edition)
    assert isinstance(model, HospitalPage)
    return model, render(page, source)


def test_what_waits_and_what_is_in_work_stands_first() -> None:
    page, html = page_of(WARD)
    assert page.said == "2 repairs wait, 1 in work."
    assert rows_of(page.waiting, "puppet", "since", "days", "shot", "person") == [
        (["Wick, wick-2"], "18 March 2026", "3", "010-010", "Doc"),
        (["Brine, brine-1"], "25 March 2026", "", "", "Doc"),
    ]
    assert rows_of(page.in_work, "since", "days", "shot", "minutes", "wait") == [
        ("10 March 2026", "11", "010-010", "10", "45")
    ]
    assert html.index("Waiting for repair") < html.index("In work") < html.index("By puppet")
    assert 'href="puppets/wick-2.html"' in html


def test_by_puppet_and_by_character_and_every_repair() -> None:
    page, _ = page_of(WARD)
    assert rows_of(page.puppets, "times", "days", "longest", "back", "wait") == [
        ("2", "5", "4", "9 March 2026", "20"),
        ("2", "1", "1", "6 March 2026", ""),
        ("2", "", "", "", "45"),
        ("2", "1", "1", "12 March 2026", ""),  # on no one puppet
    ]
    assert total_of(page.characters)[0] == "8"
    assert [len(rows_of(table, "what")) for table in (page.puppets, page.characters)] == [4, 2]
    assert page.every is not None
    assert (len(page.every.rows), page.count, page.left_out) == (8, "8 repairs", "")
    # What waits, what is in work, then the latest first, what is undated last.
    assert rows_of(page.every, "back") == [
        "", "", "", "12 March 2026", "9 March 2026", "6 March 2026", "5 March 2026", "",
    ]  # fmt: skip


def test_the_crew_sees_days_and_no_minutes() -> None:
    page, html = page_of(WARD, Edition.CREW)
    tables = (page.waiting, page.in_work, page.back, page.puppets, page.characters, page.every)
    for table in filter(None, tables):
        assert {"minutes", "wait"}.isdisjoint(column.key for column in table.columns)
    assert rows_of(page.in_work, "days") == ["11"]
    assert "45" not in html[html.index("<main") : html.index("</main>")]


def test_what_came_back_in_the_last_days_of_the_log() -> None:
    sooner = WARD.replace("paint, doc, wick-1, , , , , 2026-03-20", "paint, doc, wick-1")
    page, html = page_of(sooner)
    assert rows_of(page.back, "back") == ["12 March 2026", "9 March 2026", "6 March 2026"]
    _, html = page_of(WARD)
    assert "Nothing came back from repair." in html


def test_without_a_repair_the_page_says_so() -> None:
    page, html = page_of("")
    assert page.empty
    assert "No repair is in the log yet." in html
    only_back = WARD.partition("    [lines]")[0].replace("2026-03-10, ,", "2026-03-10, 2026-03-11,")
    assert page_of(only_back)[0].said == "Nothing waits for repair, and nothing is in work."


def test_the_crew_and_the_office_have_the_page_and_the_public_has_not() -> None:
    has = [edition for edition in Edition if hospital_pages in builders(edition)]
    assert has == [Edition.CREW, Edition.OFFICE]
