"""Every kind of page meets WCAG 2.2 AA as far as axe-core can tell, and AAA in contrast."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, Literal

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from credits.editions import Edition
from tests.drawn import FULL
from tests.site.conftest import DESK, LOOKED_AT, PHONE, Visitor
from tests.site.pages_on_disk import of_each_kind

pytestmark = pytest.mark.browser

RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
# Without preload: axe would fetch the style sheet again, which a page from disk may not.
HOW = {"resultTypes": ["violations"], "preload": False}
EVERYTHING_ELSE = {
    **HOW,
    "runOnly": {"type": "tag", "values": RULES},
    "rules": {"color-contrast": {"enabled": False}},
}
# By AAA alone: where AAA is met AA is. Left to itself it passes over what has not even AA.
ALL_BELOW = {"normal": {"minThreshold": None}, "large": {"minThreshold": None}}
CONTRAST = {
    **HOW,
    "runOnly": {"type": "rule", "values": ["color-contrast-enhanced"]},
    "checks": {"color-contrast-enhanced": {"options": {"contrastRatio": ALL_BELOW}}},
}
# What else depends on the ground or on the width alone.
ON_A_TELEPHONE = {
    **HOW,
    "runOnly": {
        "type": "rule",
        "values": ["target-size", "scrollable-region-focusable", "link-in-text-block"],
    },
}

# A long table is row after row of the same build: three of each are looked at.
THREE_OF_A_BUILD = """() => {
  const built = new Map();
  const build = (own) => {
    if (!built.has(own)) {
      built.set(own, own.tagName + own.className + own.getAttributeNames()
        + [...own.children].map(build));
    }
    return built.get(own);
  };
  const thin = (own) => {
    const seen = new Map();
    for (const child of [...own.children]) {
      const count = (seen.get(build(child)) || 0) + 1;
      seen.set(build(child), count);
      if (count > 3) child.remove(); else thin(child);
    }
  };
  thin(document.querySelector("main"));
}"""

# Of words of one colour, size and weight on the same grounds three are looked at.
THREE_OF_A_COLOUR = """() => {
  const seen = new Map();
  const chosen = [];
  const ground = (own) => {
    const style = getComputedStyle(own);
    return [style.backgroundColor, style.backgroundImage, style.opacity, style.position]
      + (own.parentElement ? ground(own.parentElement) : "");
  };
  for (const own of document.body.querySelectorAll("*")) {
    if (![...own.childNodes].some((node) => node.nodeType === 3 && node.data.trim())) continue;
    const style = getComputedStyle(own);
    const kind = [own.tagName, style.color, style.fill, style.stroke, style.fontSize,
      style.fontWeight, ground(own)].join();
    const count = (seen.get(kind) || 0) + 1;
    seen.set(kind, count);
    if (count <= 3) chosen.push(own);
  }
  return chosen;
}"""
Ground = Literal["light", "dark"]
AXE = Axe().axe_script


def faults(page: Page, asked: Sequence[dict[str, Any]]) -> list[str]:
    """What axe finds wrong with a page, by what is asked."""
    if not page.evaluate("'axe' in window"):
        page.evaluate(AXE)
    found = []
    for how in asked:
        where = f"{{ include: ({THREE_OF_A_COLOUR})() }}" if how is CONTRAST else "document"
        response = page.evaluate(f"(how) => axe.run({where}, how)", how)
        assert response["testEngine"]["name"] == "axe-core"
        for violation in response["violations"]:
            nodes = [node["html"][:120] for node in violation["nodes"][:2]]
            found.append(f"{violation['id']}: {nodes}")
    return found


# In the public's edition too: what is cut from it may leave a heading or a list alone.
BY_HOW_IT_IS_BUILT = {
    **HOW,
    "runOnly": {"type": "tag", "values": ["cat.semantics", "cat.structure", "cat.tables"]},
}
LIGHT_ON_A_DESK = ("light", DESK, (CONTRAST, EVERYTHING_ELSE))
DARK_ON_A_TELEPHONE = ("dark", PHONE, (CONTRAST, ON_A_TELEPHONE))
LOOKS = [
    *((edition, (LIGHT_ON_A_DESK, DARK_ON_A_TELEPHONE)) for edition in LOOKED_AT),
    *(() if FULL else ((Edition.PUBLIC, (("light", DESK, (BY_HOW_IT_IS_BUILT,)),)),)),
]


@pytest.mark.parametrize(("edition", "looks"), LOOKS)
def test_axe_finds_nothing(
    example_sites: Mapping[Edition, Path],
    visit: Visitor,
    edition: Edition,
    looks: Sequence[tuple[Ground, dict[str, int], Sequence[dict[str, Any]]]],
) -> None:
    site = example_sites[edition]
    window = visit(site)
    found: list[tuple[str, str, str]] = []
    for _, path in of_each_kind(site).values():
        page = window.go(path)
        page.evaluate(THREE_OF_A_BUILD)
        for ground, room, asked in looks:
            page.emulate_media(color_scheme=ground)
            page.set_viewport_size(room)
            found += [(path, ground, fault) for fault in faults(page, asked)]
    assert found == []


@pytest.mark.parametrize("grey", ["#bbb", "#757575"])
def test_axe_finds_words_that_are_hard_to_read(visit: Visitor, tmp_path: Path, grey: str) -> None:
    """Words that have not even AA, and words that have no more than AA."""
    text = (
        f"<!doctype html><title>A</title><main><h1>A</h1><p style='color: {grey}'>Said.</p></main>"
    )
    (tmp_path / "grey.html").write_text(text, "utf-8")
    (fault,) = faults(visit(tmp_path).go("grey.html"), (CONTRAST,))
    assert fault.startswith("color-contrast-enhanced: ")
