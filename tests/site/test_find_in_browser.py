"""Rows of the list of shots are found by words, which stay in the address; by keyboard alone."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from urllib.parse import unquote

import pytest
from playwright.sync_api import Page, expect

from credits.editions import Edition
from tests.site.conftest import PHONE, Visitor

pytestmark = pytest.mark.browser


def shown(page: Page) -> list[str]:
    """The rows that are seen, as they are read."""
    return page.locator("[data-find] tbody tr:visible").all_inner_texts()


def test_shots_are_found_by_words_that_stay_in_the_address(
    example_sites: Mapping[Edition, Path], visit: Visitor
) -> None:
    window = visit(example_sites[Edition.CREW])
    page = window.go("shots/index.html")
    whole = len(shown(page))
    box = page.get_by_role("searchbox", name="Find shots")
    said = page.locator("[data-find] [role=status]")
    expect(said).to_be_empty()

    # Names of two kinds, in any order; each as the beginning of a word; accents as one types them.
    box.fill("rosario tib")
    expect(said).to_have_text(f"{len(shown(page))} of {whole} shots")
    rows = shown(page)
    assert 0 < len(rows) < whole
    assert all("Rosario Ibarluz Peñalta" in row and "Tibb" in row for row in rows)
    assert page.url.endswith("#find=rosario%20tib")
    expect(page.locator("[data-find] tfoot")).to_be_hidden()  # which is the total of all
    box.fill("penalta")
    expect(page.locator("[data-find] tbody tr:visible").first).to_contain_text("Peñalta")

    # In quotes, words that stand side by side and whole.
    box.fill('"the funicular"')
    assert shown(page)
    assert all("The funicular" in row for row in shown(page))
    box.fill('"the funi"')
    expect(said).to_have_text(f"0 of {whole} shots")

    # What was found is sorted as the whole is, and goes into the CSV alone.
    box.fill("030")
    found = shown(page)
    page.get_by_role("button", name="Frames", exact=True).click()
    assert sorted(shown(page)) == sorted(found)
    with page.expect_download() as download:
        page.get_by_role("button", name="CSV: Shots").click()
    text = download.value.path().read_text("utf-8-sig")
    assert len(text.splitlines()) == 1 + len(found)

    box.press("Escape")
    assert len(shown(page)) == whole
    assert page.url.endswith("shots/index.html")
    expect(page.locator("[data-find] tfoot")).to_be_visible()


def test_a_link_of_the_first_page_leads_to_the_shots_that_it_counts(
    example_sites: Mapping[Edition, Path], visit: Visitor
) -> None:
    window = visit(example_sites[Edition.OFFICE])
    page = window.go("index.html")
    link = page.locator("dl.bill a[href*='find=']").first
    count = int(link.inner_text().split()[0])
    sought = unquote((link.get_attribute("href") or "").partition("find=")[2])
    link.focus()
    page.keyboard.press("Enter")
    page.wait_for_url("**/shots/index.html#find=*")
    assert len(shown(page)) == count
    # A place on the page leads there, and back again.
    page.get_by_role("link", name="030", exact=True).first.click()
    assert page.url.endswith("#s-030")
    page.go_back()
    expect(page.get_by_role("searchbox", name="Find shots")).to_have_value(sought)


def test_on_a_telephone_the_page_does_not_move_sideways_while_one_looks(
    example_sites: Mapping[Edition, Path], visit: Visitor
) -> None:
    window = visit(example_sites[Edition.CREW], viewport=PHONE, is_mobile=True, has_touch=True)
    page = window.go("shots/index.html")
    page.evaluate("location.hash = 'find=mireille'")  # as a link of the page leads there
    expect(page.locator("[data-find] [role=status]")).not_to_be_empty()
    assert len(shown(page)) > 0
    box = page.get_by_role("searchbox", name="Find shots")
    expect(box).to_be_in_viewport()
    room = page.evaluate("document.scrollingElement.clientWidth")
    assert page.evaluate("document.scrollingElement.scrollWidth") <= room
    bounds = box.bounding_box()
    assert bounds is not None
    assert bounds["height"] >= 24
    assert bounds["x"] + bounds["width"] <= room
