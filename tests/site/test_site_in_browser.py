"""What a reader does with the pages, in a browser, from disk, offline."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from credits.editions import Edition
from tests.drawn import FULL
from tests.site.conftest import DESK, LOOKED_AT, PHONE, Visitor
from tests.site.pages_on_disk import of_each_kind

pytestmark = pytest.mark.browser

# A window of 1,280 pixels at 200 %, and at 400 %, has room for 640 and for 320 (WCAG 1.4.10).
TWICE, FOUR_TIMES = {"width": 640, "height": 450}, {"width": 320, "height": 225}
SETTLED = 1000  # milliseconds
TOO_WIDE = """() => {
  const room = document.scrollingElement.clientWidth;
  return document.scrollingElement.scrollWidth <= room ? null :
    [...document.querySelectorAll("body *")]
      .filter((e) => e.getBoundingClientRect().right > room && !e.closest(".wrap, .strip-wrap"))
      .map((e) => e.outerHTML.slice(0, 80)).slice(0, 3).join(" | ") || "something";
}"""


def light_of(page: Page) -> float:
    """How light the paper is: 0 black, 1 white (mean of the colour's three parts)."""
    colour = page.evaluate("getComputedStyle(document.documentElement).backgroundColor")
    return sum(int(part) for part in re.findall(r"\d+", colour)[:3]) / (3 * 255)


@pytest.mark.parametrize("edition", LOOKED_AT)
def test_each_kind_of_page_opens_and_fits_and_stands_still_where_that_is_asked(
    example_sites: Mapping[Edition, Path], visit: Visitor, edition: Edition
) -> None:
    site = example_sites[edition]
    desk = visit(site)
    phone = visit(site, viewport=PHONE, is_mobile=True, has_touch=True, reduced_motion="reduce")
    too_wide = []
    for short, long in of_each_kind(site).values():
        for window, path, rooms in (
            (desk, long, (DESK, TWICE, FOUR_TIMES)),
            (phone, long, (PHONE,)),
            *(((phone, short, (PHONE,)),) if short != long else ()),
        ):
            page = window.go(path)
            for room in rooms:
                page.set_viewport_size(room)
                if (found := page.evaluate(TOO_WIDE)) is not None:
                    page.wait_for_timeout(SETTLED)  # the window may not have its new size yet
                    found = page.evaluate(TOO_WIDE)
                if found:
                    too_wide.append(f"{path} in {room['width']} pixels: {found}")
            page.set_viewport_size(rooms[0])
            if window is phone:
                assert page.evaluate("document.getAnimations().length") == 0, path
    assert too_wide == []


@pytest.mark.parametrize("edition", LOOKED_AT)
def test_without_scripts_a_page_says_the_same(
    example_sites: Mapping[Edition, Path], visit: Visitor, edition: Edition
) -> None:
    site = example_sites[edition]
    with_scripts, without = visit(site), visit(site, java_script_enabled=False)
    for _, path in of_each_kind(site).values():
        # The slider of the film tells of one frame what the pages of shots tell of all.
        told = "main table >> nth=-1" if path == "film.html" else "main"
        said = []
        for one in (with_scripts, without):
            page = one.go(path)
            page.evaluate("document.querySelectorAll('main .by-script').forEach((e) => e.remove())")
            said.append(page.locator(told).inner_text())
        assert said[0] == said[1], path
        assert len(said[1]) > 20, path


FOUND = {
    "oby": "people/ase.html",  # Åse Kærlund-Øby
    "kaerlund": "people/ase.html",
    "OLUFEMI akan": "people/femi.html",  # Olúfẹ́mi Àkànbíadé
    "lucja swier": "people/lucja.html",  # Łucja Świerszczewska
    "梅": "people/meiting.html",
    "полуденко": "people/kseniya.html",
    "tibb underlark": "characters/tibb.html",
    "tibb-3": "puppets/tibb-3.html",
    "030-060": "shots/030-060.html",
    # One letter wrong in a short word, two in a long one; two letters exchanged.
    "kerlund": "people/ase.html",
    "tbib underlark": "characters/tibb.html",
    "swirszczevska": "people/lucja.html",
    "scarpheddinsdottir": "people/ogn.html",
    "tib-3": "puppets/tibb-3.html",
    # Who cannot type a script writes the name as it sounds.
    "poludenko": "people/kseniya.html",
    "snezhkin": "people/platon.html",
    "namgung": "people/boram.html",
    "chrysopetalos": "people/leonidas.html",
    # Not only names.
    "week 2025-w40": "weeks/2025-w40.html",
    "the hotel clock": "shots/010-020.html",
    "madame sprat winds the hotl": "shots/010-020.html",
    "tibb-armature-2": "characters/tibb.html",
    "puppet fabricaton": "crafts/fabrication.html",
    "stage s1": "weeks/2026-w16.html",
}
"""What is typed, and where it leads."""


def test_the_jump_box_finds_and_goes_there(
    example_sites: Mapping[Edition, Path], visit: Visitor
) -> None:
    window = visit(example_sites[Edition.CREW])
    page = window.go("crafts/index.html")
    for typed, place in FOUND.items():
        # From wherever the one before led to; what leads to where one is leads nowhere else.
        before = window.here
        if before == place:
            page = window.go(before := "crafts/index.html")
        page.keyboard.press("/")
        box = page.get_by_role("combobox")
        expect(box).to_be_focused()
        box.fill(typed)
        expect(page.get_by_role("option").first).to_be_visible()
        box.press("Enter")
        page.wait_for_url(lambda url, left=before: not url.partition("#")[0].endswith(left))
        page.wait_for_load_state()
        assert (typed, window.here) == (typed, place)


def test_the_jump_box_is_used_by_keyboard_alone(
    example_sites: Mapping[Edition, Path], visit: Visitor
) -> None:
    window = visit(example_sites[Edition.CREW])
    page = window.go("index.html")
    box = page.get_by_role("combobox")
    box.press_sequentially("tibb")
    options = page.get_by_role("option")
    expect(options.nth(3)).to_be_visible()
    expect(options.nth(0)).to_have_attribute("aria-selected", "true")
    box.press("ArrowDown")
    box.press("ArrowDown")
    box.press("ArrowUp")
    chosen = options.nth(1)
    expect(chosen).to_have_attribute("aria-selected", "true")
    expect(box).to_have_attribute("aria-activedescendant", str(chosen.get_attribute("id")))
    name = chosen.locator("bdi").inner_text()
    box.press("Enter")
    page.wait_for_url(re.compile(r"/(puppets|characters|people)/"))
    assert page.get_by_role("heading", level=1).inner_text() == name


def test_the_jump_box_says_when_nothing_is_found_and_can_be_left(
    example_sites: Mapping[Edition, Path], visit: Visitor
) -> None:
    window = visit(example_sites[Edition.PUBLIC])
    page = window.go("index.html")
    box = page.get_by_role("combobox")
    box.press_sequentially("zzqx")
    expect(page.get_by_role("listbox")).to_contain_text("Nothing is called that.")
    box.press("Enter")
    assert window.here == "index.html"
    box.press("Escape")
    expect(page.get_by_role("listbox")).to_be_hidden()
    expect(box).to_have_value("")


def test_the_jump_box_says_that_what_it_lists_is_only_nearly_called_so(
    example_sites: Mapping[Edition, Path], visit: Visitor
) -> None:
    page = visit(example_sites[Edition.PUBLIC]).go("index.html")
    box = page.get_by_role("combobox")
    box.press_sequentially("brandvolt")
    listed = page.get_by_role("option")
    expect(listed).to_have_text(
        ["Nothing is called that. Nearly:", "Lena Brandvoldperson", "Lene Brandvoldperson"]
    )
    box.fill("brandvold")
    expect(listed).to_have_text(["Lena Brandvoldperson", "Lene Brandvoldperson"])
    # A figure is never taken for another.
    box.fill("tibb-99")
    expect(page.get_by_role("listbox")).to_have_text("Nothing is called that.")


def test_the_public_jump_box_knows_no_shots(
    example_sites: Mapping[Edition, Path], visit: Visitor
) -> None:
    page = visit(example_sites[Edition.PUBLIC]).go("index.html")
    page.get_by_role("combobox").press_sequentially("030-060")
    expect(page.get_by_role("listbox")).to_contain_text("Nothing is called that.")


SORTED_BY = """(column) => {
  const table = document.querySelector("table.sortable[data-tried]");
  return [...table.tBodies[0].rows].map((row) => {
    const cell = row.cells[column];
    return cell.dataset.sort !== undefined ? cell.dataset.sort : cell.textContent.trim();
  });
}"""


@pytest.mark.parametrize("heading", ["Kept, all takes", "Shot"])
def test_a_table_sorts_by_a_click_and_back(
    example_sites: Mapping[Edition, Path], visit: Visitor, heading: str
) -> None:
    page = visit(example_sites[Edition.CREW]).go("characters/tibb.html")
    table = page.locator("table.sortable", has_text="Shots of")
    table.evaluate("(table) => { table.dataset.tried = '' }")
    # By its place: the arrow of a sorted column is part of what its button is called.
    named = table.get_by_role("button", name=heading, exact=True)
    column = named.evaluate("(button) => button.closest('th').cellIndex")
    head = table.locator("thead th").nth(column)
    button = head.get_by_role("button")

    def values() -> list[str]:
        return list(page.evaluate(SORTED_BY, column))

    def key(text: str) -> tuple[float, str]:
        return (float(text.replace(",", "")), "") if heading != "Shot" else (0, text)

    at_first = values()
    assert len(at_first) > 10
    button.click()
    expect(head).to_have_attribute("aria-sort", "ascending")
    assert values() == sorted(at_first, key=key)
    assert len(set(at_first)) > 3
    button.press("Enter")  # by keyboard
    expect(head).to_have_attribute("aria-sort", "descending")
    assert [key(text) for text in values()] == sorted(map(key, at_first), reverse=True)
    button.click()
    assert head.get_attribute("aria-sort") is None
    assert values() == at_first


@pytest.mark.parametrize("edition", LOOKED_AT)
def test_every_column_of_every_sortable_table_sorts_its_rows_and_loses_none(
    example_sites: Mapping[Edition, Path], visit: Visitor, edition: Edition
) -> None:
    site = example_sites[edition]
    window = visit(site)
    tables = 0
    for _, path in of_each_kind(site).values():
        page = window.go(path)
        wrong = page.evaluate(
            """() => [...document.querySelectorAll("table.sortable")].flatMap((table) => {
              const rows = () => [...table.tBodies[0].rows];
              const first = rows();
              return [...table.tHead.rows[0].cells].filter((head) => {
                const button = head.querySelector("button");
                if (!button) return true;
                button.click(); button.click();
                const kept = new Set(rows()).size === first.length;
                button.click();
                return !kept || rows().some((row, at) => row !== first[at]);
              }).map((head) => head.textContent);
            })"""
        )
        assert wrong == [], path
        tables += page.locator("table.sortable").count()
    assert tables > 3


def test_light_and_dark_are_the_readers_choice(
    example_sites: Mapping[Edition, Path], visit: Visitor
) -> None:
    site = example_sites[Edition.CREW]
    for scheme, other in (("light", "dark"), ("dark", "light")):
        window = visit(site, color_scheme=scheme)
        page = window.go("index.html")
        assert (light_of(page) > 0.5) == (scheme == "light")
        page.get_by_role("button", name=other, exact=True).click()
        assert (light_of(page) > 0.5) == (other == "light")
        page = window.go("people/index.html")  # remembered
        assert (light_of(page) > 0.5) == (other == "light")
        page.get_by_role("button", name=scheme, exact=True).click()
        assert (light_of(page) > 0.5) == (scheme == "light")


@pytest.mark.parametrize("edition", LOOKED_AT)
def test_each_kind_of_page_prints(
    example_sites: Mapping[Edition, Path], visit: Visitor, edition: Edition
) -> None:
    site = example_sites[edition]
    window = visit(site, color_scheme="dark")
    window.page.emulate_media(media="print")
    for path, _ in of_each_kind(site).values():
        page = window.go(path)
        expect(page.get_by_role("navigation").first).to_be_hidden()
        expect(page.get_by_role("combobox")).to_be_hidden()
        expect(page.get_by_role("heading", level=1)).to_be_visible()
        assert light_of(page) == 1, path
        if FULL:
            assert page.pdf(format="A4").startswith(b"%PDF-"), path


def test_the_first_tab_skips_to_the_content(
    example_sites: Mapping[Edition, Path], visit: Visitor
) -> None:
    page = visit(example_sites[Edition.PUBLIC]).go("people/index.html")
    page.keyboard.press("Tab")
    skip = page.locator(":focus")
    expect(skip).to_have_text("To the content")
    expect(skip).to_be_in_viewport()
    skip.press("Enter")
    expect(page.locator("main")).to_be_focused()


def test_names_carry_their_direction(example_sites: Mapping[Edition, Path], visit: Visitor) -> None:
    page = visit(example_sites[Edition.CREW]).go("people/rasha.html")
    name = page.get_by_role("heading", level=1).locator("bdi")
    expect(name).to_have_text("رشا المرجاني")
    assert name.evaluate("(name) => getComputedStyle(name).direction") == "rtl"
