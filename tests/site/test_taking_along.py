"""What a reader takes along from a page: a table as CSV, the credit line, the link."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from credits.editions import Edition
from credits.formats.cut.read import read_cut
from credits.site.contents import LONG, with_contents
from credits.store.log import open_log
from tests.site.conftest import LOOKED_AT, PHONE, Visitor
from tests.site.pages_on_disk import of_each_kind

ASE = "Character design: Åse Kærlund-Øby – The Tardy Echo"


def saved(page: Page, name: str) -> list[list[str]]:
    """The rows of the CSV that a button saves."""
    with page.expect_download() as download:
        page.get_by_role("button", name=name).first.click()
    text = download.value.path().read_text("utf-8-sig")
    return list(csv.reader(text.splitlines()))


@pytest.mark.browser
def test_a_table_is_saved_as_it_is_shown_with_figures_as_figures(
    example_sites: Mapping[Edition, Path], visit: Visitor
) -> None:
    page = visit(example_sites[Edition.CREW]).go("characters/index.html")
    head, *rows = saved(page, "CSV: ")
    shown = page.locator("main table tbody tr").all()
    assert len(rows) == len(shown) > 8
    assert [text.strip() for text in page.locator("main thead tr").last.all_inner_texts()]
    kept = next(at for at, text in enumerate(head) if text.startswith("Kept"))
    assert all(row[kept].isdigit() for row in rows)
    assert [row[0] for row in rows] == [row.locator("th").inner_text() for row in shown]


@pytest.mark.browser
def test_small_tables_of_facts_have_no_csv(
    example_sites: Mapping[Edition, Path], visit: Visitor
) -> None:
    page = visit(example_sites[Edition.CREW]).go("people/ase.html")
    small = page.locator("main .wrap").filter(has=page.locator("tbody tr:only-child"))
    assert small.count()
    assert (
        small.locator("xpath=following-sibling::*[1][contains(@class, 'by-script')]").count() == 0
    )


@pytest.mark.browser
def test_the_credit_line_is_copied(example_sites: Mapping[Edition, Path], visit: Visitor) -> None:
    window = visit(example_sites[Edition.PUBLIC], permissions=["clipboard-read", "clipboard-write"])
    page = window.go("people/ase.html")
    button = page.get_by_role("button", name="Copy the credit line").last
    button.click()
    expect(page.get_by_role("status").filter(has_text="Copied.")).to_be_visible()
    assert page.evaluate("navigator.clipboard.readText()") == ASE
    page.get_by_role("button", name="Copy the link").click()
    expect(page.get_by_role("status").filter(has_text="Copied.")).to_have_count(2)
    assert page.evaluate("navigator.clipboard.readText()").endswith("/people/ase.html")


@pytest.mark.browser
def test_where_copying_is_not_allowed_the_text_is_marked(
    example_sites: Mapping[Edition, Path], visit: Visitor
) -> None:
    page = visit(example_sites[Edition.PUBLIC]).go("people/ase.html")
    page.evaluate(
        """() => { navigator.clipboard.writeText = () => Promise.reject(new Error("no"));
                   document.execCommand = () => false; }"""
    )
    page.get_by_role("button", name="Copy the credit line").last.click()
    expect(page.get_by_role("status").filter(has_text="Marked: copy it")).to_be_visible()
    assert page.evaluate("getSelection().toString()") == ASE


@pytest.mark.browser
def test_heads_stay_in_sight(example_sites: Mapping[Edition, Path], visit: Visitor) -> None:
    top = "(e) => e.getBoundingClientRect().top"
    page = visit(example_sites[Edition.CREW]).go("shots/index.html")
    table = page.locator("main table").filter(has=page.locator("tbody tr:nth-child(15)")).first
    table.locator("tbody tr").nth(12).evaluate("(e) => e.scrollIntoView({ block: 'start' })")
    assert table.locator("thead").evaluate(top) == pytest.approx(0, abs=1)
    phone = visit(example_sites[Edition.CREW], viewport=PHONE, is_mobile=True, has_touch=True)
    page = phone.go("shots/index.html")
    wide = page.locator("main .wrap.wide").first
    wide.evaluate("(e) => { e.scrollLeft = 200; e.scrollTop = 50; }")
    left = "(e) => e.getBoundingClientRect().left"
    first = wide.locator("tbody th").first
    assert first.evaluate(left) == pytest.approx(wide.evaluate(left), abs=1)
    assert wide.locator("thead").evaluate(top) == pytest.approx(wide.evaluate(top), abs=1)


SCREENS = 12


@pytest.mark.browser
@pytest.mark.parametrize("edition", LOOKED_AT)
def test_a_page_of_many_screens_has_contents_at_its_head(
    example_sites: Mapping[Edition, Path], visit: Visitor, edition: Edition
) -> None:
    site = example_sites[edition]
    phone = visit(site, viewport=PHONE, is_mobile=True, has_touch=True)
    without = []
    for _, path in of_each_kind(site).values():
        if (site / path).read_text("utf-8").count("<h2") < 3:
            continue
        page = phone.go(path)
        height = page.evaluate("document.documentElement.scrollHeight")
        several = page.locator("main h2").count() > 2
        if height > SCREENS * PHONE["height"] and several:
            contents = page.locator("main .contents, main .letters").first
            # They may stand behind what answers the first question, on the first screens.
            if not contents.count() or contents.bounding_box()["y"] > 3 * PHONE["height"]:
                without.append((path, round(height / PHONE["height"], 1)))
    assert without == []


def test_contents_name_the_headings_and_lead_to_them() -> None:
    parts = ("<h2>One <small>of two</small></h2>", '<h2 id="two">Two</h2>', "<h2>Three</h2>")
    head = '<main id="content"><h1>A</h1>\n<p class="lede">Said.</p>\n'
    long = head + "".join(f"{part}<p>{'x' * LONG}</p>" for part in parts) + "</main>"
    made = with_contents(long)
    assert made.startswith(f'{head}<nav class="contents" aria-label="On this page"><ul>\n')
    assert '<li><a href="#heading-1">One</a>\n<li><a href="#two">Two</a>' in made
    assert '<h2 id="heading-1">One <small>of two</small></h2>' in made
    assert with_contents(made) == made
    short = head + "".join(parts) + "</main>"
    assert with_contents(short) == short


def test_a_reel_beside_a_page_is_read_as_a_cut(
    example_sites: Mapping[Edition, Path], example_production: Path
) -> None:
    with open_log(example_production) as log:
        written = log.read()
    people = example_sites[Edition.CREW] / "people"
    timeline = read_cut(people / "rasha-reel.otio", written)
    edit_list = read_cut(people / "rasha-reel.edl", written)
    assert timeline.not_understood == edit_list.not_understood == ()
    whole = [(c.film_first, c.shown, c.shot, c.source_first, c.speed) for c in timeline.cut.clips]
    assert len(whole) > 8
    assert whole == [
        (c.film_first, c.shown, c.shot, c.source_first, c.speed) for c in edit_list.cut.clips
    ]
    with (people / "rasha-shots.csv").open(encoding="utf-8-sig", newline="") as file:
        shots = {row["shot"] for row in csv.DictReader(file) if row["film_in"]}
    assert {clip.shot for clip in timeline.cut.clips} == shots
    assert not list((example_sites[Edition.PUBLIC] / "people").glob("*reel*"))
