"""The review by month, week and sequence: one page for each animator, for the office alone."""

from __future__ import annotations

from html import unescape

from credits.editions import Edition, cut_to
from credits.figures.snapshot import Snapshot
from credits.site.links import Page
from credits.site.pages.footage import ReviewPage
from credits.site.pages.review_parts import ReviewPartsPage, review_and_parts_pages
from credits.site.render import builders, render
from credits.site.source import PageSource
from tests.pages.test_review import UNIT
from tests.review.test_review_figures import PARTS
from tests.small_log import small_ledger
from tests.table_texts import rows_of


def source_of(text: str) -> PageSource:
    return PageSource(Snapshot(small_ledger(text)), Edition.OFFICE)


def parts_of(text: str, person: str) -> tuple[ReviewPartsPage, str]:
    source = source_of(text)
    pages = {page.path: page for page in review_and_parts_pages(source)}
    page = pages[f"reviews/{person}-parts.html"]
    assert isinstance(page.model, ReviewPartsPage)
    return page.model, render(page, source)


def test_everybody_who_has_a_review_has_one_page_more() -> None:
    paths = [page.path for page in review_and_parts_pages(source_of(UNIT))]
    people = ("ana", "ben", "cai", "dov")
    assert paths == [f"reviews/{who}{end}.html" for who in people for end in ("", "-parts")]
    has = [edition for edition in Edition if review_and_parts_pages in builders(edition)]
    assert has == [Edition.OFFICE]


def test_a_month_has_its_figures_their_ranges_and_its_weeks() -> None:
    page, html = parts_of(PARTS, "ana")
    (april,) = page.months
    assert (april.anchor, april.title, april.ranges) == ("month-2026-04", "April 2026", True)
    figures = {figure.key: (figure.value, figure.others) for figure in april.figures}
    assert figures["kept"] == ("80", "55 to 150")
    assert figures["stage_days"] == ("3", "1 to 2")
    assert all(figure.mark is not None for figure in april.figures if figure.others != "–")
    assert rows_of(april.weeks, "week", "kept", "pace") == [
        ("2026-W14", "50", "1.04"),
        ("2026-W15", "30", "1.25"),
    ]
    # Of the first week three others are known, of the second two, who would be given away.
    cells = april.weeks.printed().rows
    assert [cells[0][2].note, cells[1][2].note] == ["others: 50 to 70", ""]
    assert 'id="month-2026-04"' in html
    assert 'href="#month-2026-04"' in html


def test_a_sequence_has_its_shots_and_says_no_range_of_fewer_than_three_others() -> None:
    page, html = parts_of(PARTS, "ana")
    first, second = page.sequences
    assert (first.title, first.ranges, second.ranges) == ("010", True, False)
    assert [shot.href for shot in second.shots] == ["shots/020-010.html"]
    said = html[html.index('id="sequence-020"') :]
    assert "The other animators, same sequence" not in said
    assert "range-mark" not in said


def test_the_review_leads_to_the_places_of_its_months_and_sequences() -> None:
    source = source_of(PARTS)
    pages: dict[str, Page] = {page.path: page for page in review_and_parts_pages(source)}
    model = pages["reviews/ana.html"].model
    assert isinstance(model, ReviewPage)
    tables = {part.group: part.table for part in model.tables}
    assert [link.href for link in tables["By month"].column("month")] == [
        "reviews/ana-parts.html#month-2026-04"
    ]
    assert [link.href for link in tables["By sequence"].column("sequence")] == [
        "reviews/ana-parts.html#sequence-010",
        "reviews/ana-parts.html#sequence-020",
    ]
    assert [link.href for link in tables["By character"].column("character")] == [
        "characters/wick.html",
        "characters/brine.html",
    ]
    assert rows_of(tables["Retakes"]) == [
        ("010-010", "1", "0", "60", "10", "0"),
        ("020-010", "1", "1", "30", "0", "30"),
    ]
    html = render(pages["reviews/ana.html"], source)
    assert html.count('class="range-mark"') > 10
    assert "The same by month and by sequence" in unescape(html)


def test_the_page_names_nobody_else() -> None:
    for who, others in (("ana", ("Ben", "Cai", "Dov")), ("dov", ("Ana", "Ben", "Cai"))):
        html = parts_of(PARTS, who)[1]
        assert who.capitalize() in html
        for other in others:
            assert other not in html
            assert f"{other.lower()}.html" not in html
    assert cut_to(parts_of(PARTS, "ana")[0], Edition.CREW) == ReviewPartsPage()


def test_undated_work_alone_has_no_month() -> None:
    lines = (line for line in PARTS.splitlines() if not line.strip().startswith("animation"))
    page, html = parts_of("\n".join(lines) + "\n    animation, ana, wick, 010-010, 1, 1-9\n", "ana")
    assert page.months == ()
    assert [part.title for part in page.sequences] == ["010"]
    assert "By month" not in html
