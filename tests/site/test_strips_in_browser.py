"""Strips as a reader sees them: no words over others at any width, and a shot's frame by frame."""

from __future__ import annotations

import io
from collections.abc import Mapping
from pathlib import Path

import pytest
from playwright.sync_api import Locator, Page, expect
from pypdf import PdfReader

from credits.editions import Edition
from tests.site.conftest import LOOKED_AT, Visitor

pytestmark = pytest.mark.browser

WITH_STRIPS = (
    "shots/010-010.html",  # some frames photographed again
    "shots/040-080.html",  # two takes in the cut
    "shots/050-070.html",
    "characters/tibb.html",
    "characters/echo.html",
    "puppets/tibb-3.html",
    "people/rosario.html",
    "people/lucja.html",
    "footage.html",
    "reviews/rosario.html",
)
WIDTHS = (390, 768, 1280)

# Of each strip of a page: words that lie over each other, or beyond it, or are too small to read.
WRONG = """() => {
  document.querySelectorAll("details").forEach((part) => { part.open = true; });
  const wrong = [];
  let seen = 0;
  document.querySelectorAll(".drawn").forEach((strip) => {
    const all = strip.getBoundingClientRect();
    const words = [...strip.querySelectorAll("text, bdi")]
      .map((e) => [e, e.getBoundingClientRect()]).filter(([e, box]) => box.width && box.height);
    seen += words.length;
    words.forEach(([e, box], at) => {
      const said = e.textContent;
      if (parseFloat(getComputedStyle(e).fontSize) < 12) wrong.push(`small: ${said}`);
      if (box.left < all.left - 1 || box.right > all.right + 1) wrong.push(`beyond: ${said}`);
      words.slice(at + 1).forEach(([other, b]) => {
        const over = Math.min(box.right, b.right) - Math.max(box.left, b.left);
        const deep = Math.min(box.bottom, b.bottom) - Math.max(box.top, b.top);
        if (over > 0.5 && deep > 2) wrong.push(`${said} over ${other.textContent}`);
      });
    });
  });
  return [seen, wrong];
}"""


def test_no_words_of_a_strip_lie_over_others_at_any_width(
    example_sites: Mapping[Edition, Path], visit: Visitor
) -> None:
    window = visit(example_sites[Edition.OFFICE])
    found: list[str] = []
    words = dict.fromkeys(WIDTHS, 0)
    for path in WITH_STRIPS:
        page = window.go(path)
        for width in WIDTHS:
            page.set_viewport_size({"width": width, "height": 900})
            seen, wrong = page.evaluate(WRONG)
            assert seen > 3, (path, width)
            words[width] += seen
            found += [f"{path} at {width}: {said}" for said in wrong]
    assert found == []
    # What has no room on a telephone is shown on a desk.
    assert words[390] < words[768] < words[1280]


def frame_of(strip: Locator) -> int:
    return int(strip.get_attribute("aria-valuenow") or 0)


def changes_of(page: Page) -> list[int]:
    """The frames with which somebody's work begins or ends, by the list of who worked on it."""
    told = page.evaluate(
        """() => [...document.querySelectorAll("#hands-1 .range, #hands-1 dd b")]
            .flatMap((e) => e.textContent.split(", ").map((r) => r.split("-").map(Number)))"""
    )
    edges = {1} | {first for first, *_ in told} | {each[-1] + 1 for each in told}
    return sorted(edges)


def test_a_shot_is_gone_through_by_frames_and_by_changes(
    example_sites: Mapping[Edition, Path], visit: Visitor
) -> None:
    page = visit(example_sites[Edition.CREW]).go("shots/040-080.html")
    strip = page.get_by_role("slider").first
    said = page.locator("[data-hands-of]").first
    low = said.bounding_box()
    assert strip.get_attribute("aria-valuemin") == "1"
    assert strip.get_attribute("aria-valuemax") == "96"
    strip.focus()
    strip.press("ArrowRight")
    expect(said).to_contain_text("Frame 1. Tibb Underlark animated by")
    # First who animated whom, with which copy; then the others by craft.
    told = said.inner_text()
    assert told.index("with copy 2") < told.index("The Echo animated by") < told.index("Voice")
    for key, frame in (("ArrowRight", 2), ("ArrowRight", 3), ("ArrowLeft", 2), ("End", 96),
                       ("ArrowRight", 96), ("Home", 1), ("ArrowLeft", 1)):  # fmt: skip
        strip.press(key)
        expect(strip).to_have_attribute("aria-valuenow", str(frame))
    edges = [frame for frame in changes_of(page) if frame <= 96]
    assert 1 < len(edges) < 30
    for frame in edges[1:]:
        strip.press("Shift+ArrowRight")
        expect(strip).to_have_attribute("aria-valuenow", str(frame))
    for frame in reversed(edges[:-1]):
        strip.press("Shift+ArrowLeft")
        expect(strip).to_have_attribute("aria-valuenow", str(frame))
    assert "Frame 1." in (strip.get_attribute("aria-valuetext") or "")
    # The line is as high for every frame, so nothing below it moves.
    now = said.bounding_box()
    assert low is not None
    assert now is not None
    assert (low["y"], low["height"]) == (now["y"], now["height"])


def test_the_address_leads_to_a_frame_and_follows(
    example_sites: Mapping[Edition, Path], visit: Visitor
) -> None:
    site = example_sites[Edition.CREW]
    page = visit(site).page
    page.goto(f"{(site / 'shots/040-080.html').as_uri()}#f40")
    first, second = page.get_by_role("slider").all()
    lines = page.locator("[data-hands-of]")
    expect(first).to_have_attribute("aria-valuenow", "40")
    expect(lines.first).to_contain_text("Frame 40.")
    expect(first).to_be_in_viewport()
    first.press("ArrowRight")
    page.wait_for_url("**/shots/040-080.html#f41")
    assert page.evaluate("history.length") <= 2  # each step is no step back
    # The strip of the second take has its own frames.
    page.evaluate("location.hash = '#f50-take-3'")
    expect(second).to_have_attribute("aria-valuenow", "50")
    expect(lines.nth(1)).to_contain_text("Frame 50.")
    assert frame_of(first) == 41
    second.press("ArrowRight")
    page.wait_for_url("**/shots/040-080.html#f51-take-3")
    page.evaluate("location.hash = '#f7-take-2'")
    expect(first).to_have_attribute("aria-valuenow", "7")
    for odd, frame in (
        ("#f999", "96"),
        ("#f0", "1"),
        ("#felt", "1"),
        ("#f1e3", "1"),
        ("#f9-take-9", "1"),
    ):
        page.evaluate("(odd) => { location.hash = odd; }", odd)
        expect(first).to_have_attribute("aria-valuenow", frame)


def test_a_frame_is_pointed_at_by_mouse_and_by_finger(
    example_sites: Mapping[Edition, Path], visit: Visitor
) -> None:
    site = example_sites[Edition.CREW]
    for options in ({}, {"viewport": {"width": 390, "height": 844}, "has_touch": True}):
        page = visit(site, **options).go("shots/050-070.html")
        strip = page.get_by_role("slider")
        track = strip.locator(".bars").nth(1)
        track.scroll_into_view_if_needed()
        box = track.bounding_box()
        assert box is not None
        where = (box["x"] + box["width"] / 2, box["y"] + 5)
        if options:
            page.touchscreen.tap(*where)
        else:
            page.mouse.move(*where)
        frame = frame_of(strip)
        assert 41 <= frame <= 43  # the middle of 82
        expect(page.locator("[data-hands-of]")).to_contain_text(f"Frame {frame}.")
        page.wait_for_url(f"**/shots/050-070.html#f{frame}")
        name = strip.get_by_text("The Echo", exact=True)
        assert name.is_visible()


def bottom(place: Locator) -> float:
    box = place.bounding_box()
    assert box is not None
    return box["y"] + box["height"]


def test_the_first_question_is_answered_on_the_first_screen(
    example_sites: Mapping[Edition, Path], visit: Visitor
) -> None:
    window = visit(example_sites[Edition.CREW], viewport={"width": 1280, "height": 800})
    page = window.go("people/rosario.html")
    assert bottom(page.get_by_text("The spelling was confirmed")) < 450
    assert bottom(page.locator(".pictures img").last) < 800
    assert bottom(page.locator(".drawn .bars").first) < 800
    page = window.go("characters/tibb.html")
    assert bottom(page.locator(".drawn").first) < 800
    page = window.go("puppets/tibb-3.html")
    for told in ("Now", "Last seen", "Wears", "Last repaired", "Waits for"):
        assert bottom(page.locator("dt", has_text=told).first) < 500
    page = window.go("shots/040-080.html")
    assert bottom(page.locator("[data-hands-of]").first) < 800
    beside = page.get_by_role("navigation", name="Shots before and after")
    assert bottom(beside) < bottom(page.get_by_role("heading", level=1)) + 10
    beside.get_by_role("link").last.click()
    assert window.here == "shots/040-090.html"


@pytest.mark.parametrize("edition", LOOKED_AT)
def test_the_page_of_a_person_is_printed_as_one_sheet(
    example_sites: Mapping[Edition, Path], visit: Visitor, edition: Edition
) -> None:
    window = visit(example_sites[edition])
    papers = (
        ("people/rosario.html", "A4"),
        ("people/lucja.html", "A4"),
        ("people/quoll.html", "Letter"),
    )
    for path, size in papers:
        page = window.go(path)
        sheet = PdfReader(io.BytesIO(page.pdf(format=size)))
        assert len(sheet.pages) == 1, path
        text = sheet.pages[0].extract_text()
        assert "In the end credits" in text
        assert "To pass on" not in text


def test_the_replacements_of_a_character_are_folded_by_kit(
    example_sites: Mapping[Edition, Path], visit: Visitor
) -> None:
    window = visit(example_sites[Edition.CREW], viewport={"width": 390, "height": 844})
    page = window.go("characters/tibb-replacements.html")
    assert page.evaluate("document.documentElement.scrollHeight") < 12 * 844
    kit = page.get_by_text("tibb-a, face", exact=True).last
    cell = page.get_by_text("tibb-a-01", exact=True)
    expect(cell).to_be_hidden()
    kit.click()
    expect(cell).to_be_visible()
