"""Every kind of page on a telephone, on paper, and by keyboard alone."""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect
from pypdf import PdfReader

from credits.editions import Edition
from tests.site.conftest import LOOKED_AT, Visitor
from tests.site.pages_on_disk import of_each_kind

pytestmark = pytest.mark.browser

TELEPHONE = {"width": 390, "height": 844}

# What a telephone shows of a page. The preview of the roll is a picture in true proportions.
SEEN = """() => {
  const room = document.scrollingElement.clientWidth;
  const seen = { wide: document.scrollingElement.scrollWidth > room, small: [], unlike: [],
    loose: [], stacked: 0, beside: 0, facts: [], cards: [] };
  const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (texts.nextNode()) {
    const own = texts.currentNode.parentElement;
    if (!texts.currentNode.data.trim() || !own.getClientRects().length) continue;
    if (own.closest("script, .unseen, .again, .skip, .roll-picture")) continue;
    const drawn = own.closest("svg") ? own.getScreenCTM().a : 1;
    const size = parseFloat(getComputedStyle(own).fontSize) * drawn;
    if (size < 11.95) seen.small.push(`${own.outerHTML.slice(0, 60)} ${size}`);
  }
  const beside = (cell) => JSON.parse(getComputedStyle(cell, "::before").content);
  for (const table of document.querySelectorAll("main .wrap > table")) {
    const first = table.querySelector("tbody th");
    if (!table.checkVisibility() || !first) continue;
    if (!table.classList.contains("stacks")) {
      seen.beside += 1;
      const stays = getComputedStyle(first).position === "sticky";
      if (!stays) seen.loose.push(table.caption.textContent);
      continue;
    }
    seen.stacked += 1;
    const heads = [...table.tHead.rows[table.tHead.rows.length - 1].cells];
    const named = heads.map((head) => head.textContent.trim());
    for (const row of table.tBodies[0].rows) {
      const cells = [...row.querySelectorAll("td")];
      cells.forEach((cell, at) => {
        const heading = named[named.length - cells.length + at];
        const shown = cell.checkVisibility();
        const right = cell.childNodes.length ? shown && beside(cell).endsWith(heading) : !shown;
        if (!right) seen.unlike.push(`${heading}: ${cell.textContent}`);
      });
    }
  }
  const columns = (list) => getComputedStyle(list).gridTemplateColumns.split(" ").length;
  const grids = (selector) => [...document.querySelectorAll(selector)]
    .filter((list) => list.checkVisibility()).map(columns);
  return { ...seen, facts: grids("main .facts"), cards: grids("main .cards") };
}"""


def longest_pages(site: Path) -> list[str]:
    """The longest page of each kind."""
    return [longest for _, longest in of_each_kind(site).values()]


def test_a_telephone_shows_words_by_rows_and_figures_by_columns(
    example_sites: Mapping[Edition, Path], visit: Visitor
) -> None:
    site = example_sites[Edition.OFFICE]
    window = visit(site, viewport=TELEPHONE, is_mobile=True, has_touch=True)
    seen: dict[str, dict[str, Any]] = {}
    for path in longest_pages(site):
        page = window.go(path)
        # Parts of a page that are folded are like those that are not.
        page.evaluate("document.querySelectorAll('details').forEach((own) => { own.open = true })")
        seen[path] = page.evaluate(SEEN)
    for fault in ("wide", "small", "unlike", "loose"):
        assert {path: own[fault] for path, own in seen.items() if own[fault]} == {}, fault
    for grid in ("facts", "cards"):
        assert {columns for own in seen.values() for columns in own[grid]} == {2}, grid
    for table in ("stacked", "beside"):
        assert sum(own[table] for own in seen.values()) > 10, table


def test_a_stacked_table_is_sorted_and_a_picture_is_a_link(
    example_sites: Mapping[Edition, Path], visit: Visitor
) -> None:
    window = visit(example_sites[Edition.OFFICE], viewport=TELEPHONE, has_touch=True)
    page = window.go("shots/010-010.html")
    table = page.locator("table.sortable.stacks", has_text="A-1462")
    first = table.locator("tbody th").first
    before = first.inner_text()
    sort = table.get_by_role("button", name="Entry")
    sort.click()
    sort.click()
    expect(first).not_to_have_text(before)
    # Where few rows are, nobody sorts them.
    takes = page.locator("table.stacks", has_text="Purpose")
    expect(takes.locator("thead")).to_be_hidden()
    page = window.go("characters/index.html")
    page.locator(".cards img").first.click(force=True)  # what lies over it is its link
    page.wait_for_url("**/characters/*.html")
    assert window.here != "characters/index.html"


def test_without_scripts_nothing_is_offered_that_scripts_do(
    example_sites: Mapping[Edition, Path], visit: Visitor
) -> None:
    site = example_sites[Edition.OFFICE]
    window = visit(site, viewport=TELEPHONE, java_script_enabled=False)
    page = window.go("shots/010-010.html")
    assert page.locator("button, input").count() == 0
    assert page.get_by_text("CSV").count() == 0
    assert page.get_by_text("Sort by").count() == 0
    seen = page.evaluate(SEEN)
    assert seen["stacked"] > 1
    assert (seen["wide"], seen["unlike"]) == (False, [])


def printed(page: Page) -> list[str]:
    """The words of each sheet of a page that is printed."""
    sheets = PdfReader(BytesIO(page.pdf(format="A4"))).pages
    texts = (unicodedata.normalize("NFKC", sheet.extract_text()) for sheet in sheets)
    return [" ".join(text.split()) for text in texts]


WHO = {edition: f"{edition.value.capitalize()} edition" for edition in Edition}


@pytest.mark.parametrize("edition", Edition)
def test_every_sheet_says_which_film_whose_and_which_page_it_is(
    example_sites: Mapping[Edition, Path], visit: Visitor, edition: Edition
) -> None:
    window = visit(example_sites[edition], color_scheme="dark")
    more = ("people/femi.html", "credits.html") if edition in LOOKED_AT else ()
    for path in ("index.html", *more):
        page = window.go(path)
        title, sheets = page.title(), printed(page)
        assert title.endswith("The Tardy Echo")
        for number, sheet in enumerate(sheets, 1):
            for said in (title, WHO[edition], "Log as of", f"Page {number} of {len(sheets)}"):
                assert said in sheet, (path, number, said)


def test_paper_is_unfolded_and_heads_of_tables_come_again(
    example_sites: Mapping[Edition, Path], visit: Visitor
) -> None:
    window = visit(example_sites[Edition.OFFICE])
    page = window.go("characters/tibb.html")
    folded = page.locator("details:not([open]) dd").first
    expect(folded).to_be_hidden()
    said = " ".join((folded.text_content() or "").split())
    assert len(said) > 5
    assert said in " ".join(printed(page))
    page = window.go("shots/040-080.html")
    log = page.locator("table", has_text="A-").last
    heads = " ".join(log.locator("thead th").all_text_contents()[:5])
    with_heads = [heads in sheet for sheet in printed(page)]
    assert sum(with_heads) > 1
    # They are never the last of a sheet: from the first to the last sheet that they are on, each
    # has them, and no sheet ends with them.
    first = with_heads.index(True)
    assert all(with_heads[first : first + sum(with_heads)])


FOCUSED = """() => {
  const own = document.activeElement;
  if (!own || own === document.body) return null;
  const style = getComputedStyle(own);
  const kinds = { "th button": "a heading", ".wrap": "a table", "summary": "a fold",
    "[role=combobox]": "the jump box", "*": own.tagName };
  return { kind: kinds[Object.keys(kinds).find((selector) => own.matches(selector))],
    ring: style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2,
    place: own.outerHTML.slice(0, 60) };
}"""
MOST_STEPS = 150


@pytest.mark.parametrize(
    ("path", "kinds"),
    [
        ("people/femi.html", {"the jump box", "a fold", "a table"}),
        ("crafts/voice.html", {"the jump box", "a heading", "a table"}),
    ],
)
def test_the_keyboard_alone_gets_everywhere_and_shows_where_it_is(
    example_sites: Mapping[Edition, Path], visit: Visitor, path: str, kinds: set[str]
) -> None:
    page = visit(example_sites[Edition.OFFICE]).go(path)
    met: set[str] = set()
    for _ in range(MOST_STEPS):
        page.keyboard.press("Tab")
        focused = page.evaluate(FOCUSED)
        if focused is None:
            break
        assert focused["ring"], focused["place"]
        if focused["kind"] == "a fold" and "a fold" not in met:
            page.keyboard.press("Enter")
            expect(page.locator("details[open]").first).to_be_visible()
        if focused["kind"] == "a heading" and "a heading" not in met:
            page.keyboard.press("Enter")
            expect(page.locator("th[aria-sort]")).to_have_count(1)
        met.add(focused["kind"])
    assert met >= kinds
