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
# By AAA alone: where AAA is met AA is. Left to itself it passes over what has not even AA.
AAA = "color-contrast-enhanced"
ALL_BELOW = {"normal": {"minThreshold": None}, "large": {"minThreshold": None}}
CONTRAST = {**HOW, "checks": {AAA: {"options": {"contrastRatio": ALL_BELOW}}}}
EVERYTHING = {
    **CONTRAST,
    "runOnly": {"type": "tag", "values": RULES},
    "rules": {AAA: {"enabled": True}, "color-contrast": {"enabled": False}},
}
# What depends on the ground or on the width alone.
ON_A_DARK_TELEPHONE = {
    **CONTRAST,
    "runOnly": {
        "type": "rule",
        "values": [AAA, "target-size", "scrollable-region-focusable", "link-in-text-block"],
    },
}
# In the public's edition too: what is cut from it may leave a heading or a list alone.
BY_HOW_IT_IS_BUILT = {
    **HOW,
    "runOnly": {"type": "tag", "values": ["cat.semantics", "cat.structure", "cat.tables"]},
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
CHOOSE_THREE_OF_A_COLOUR = """() => {
  const seen = new Map();
  const ground = (own) => {
    const style = getComputedStyle(own);
    return [style.backgroundColor, style.backgroundImage, style.opacity, style.position]
      + (own.parentElement ? ground(own.parentElement) : "");
  };
  for (const own of document.body.querySelectorAll("*")) {
    const says = [...own.childNodes].some((node) => node.nodeType === 3 && node.data.trim());
    if (!says && !own.matches("input, select, textarea")) continue;
    const style = getComputedStyle(own);
    const kind = [own.tagName, style.color, style.fill, style.stroke, style.fontSize,
      style.fontWeight, ground(own)].join();
    const count = (seen.get(kind) || 0) + 1;
    seen.set(kind, count);
    if (count <= 3) own.dataset.chosen = "";
  }
}"""
CONTRAST_OF_THE_CHOSEN = f"""() => axe.configure({{
  rules: [{{ id: "{AAA}", selector: "[data-chosen]" }}],
}})"""
Ground = Literal["light", "dark"]
AXE = Axe().axe_script


def faults(page: Page, how: dict[str, Any]) -> list[str]:
    """What axe finds wrong with a page, by what is asked."""
    if not page.evaluate("'axe' in window"):
        page.evaluate(AXE)
        page.evaluate(CONTRAST_OF_THE_CHOSEN)
    page.evaluate(CHOOSE_THREE_OF_A_COLOUR)
    response = page.evaluate("(how) => axe.run(document, how)", how)
    assert response["testEngine"]["name"] == "axe-core"
    return [
        f"{one['id']}: {[node['html'][:120] for node in one['nodes'][:2]]}"
        for one in response["violations"]
    ]


LIGHT_ON_A_DESK = ("light", DESK, EVERYTHING)
DARK_ON_A_TELEPHONE = ("dark", PHONE, ON_A_DARK_TELEPHONE)
LOOKS = [
    *((edition, (LIGHT_ON_A_DESK, DARK_ON_A_TELEPHONE)) for edition in LOOKED_AT),
    *(() if FULL else ((Edition.PUBLIC, (("light", DESK, BY_HOW_IT_IS_BUILT),)),)),
]


@pytest.mark.parametrize(("edition", "looks"), LOOKS)
def test_axe_finds_nothing(
    example_sites: Mapping[Edition, Path],
    visit: Visitor,
    edition: Edition,
    looks: Sequence[tuple[Ground, dict[str, int], dict[str, Any]]],
) -> None:
    site = example_sites[edition]
    window = visit(site)
    found: list[tuple[str, str, str]] = []
    for _, path in of_each_kind(site).values():
        page = window.go(path)
        page.evaluate(THREE_OF_A_BUILD)
        for ground, room, how in looks:
            page.emulate_media(color_scheme=ground)
            page.set_viewport_size(room)
            found += [(path, ground, fault) for fault in faults(page, how)]
    assert found == []


@pytest.mark.parametrize("how", [EVERYTHING, ON_A_DARK_TELEPHONE], ids=["desk", "telephone"])
@pytest.mark.parametrize("grey", ["#bbb", "#757575"])
def test_axe_finds_words_that_are_hard_to_read(
    visit: Visitor, tmp_path: Path, grey: str, how: dict[str, Any]
) -> None:
    """Words that have not even AA, and words that have no more than AA."""
    text = f"<main><h1>A</h1><p style='color: {grey}'>Said.</p></main>"
    head = "<!doctype html><html lang='en'><title>A</title>"
    (tmp_path / "grey.html").write_text(head + text, "utf-8")
    (fault,) = faults(visit(tmp_path).go("grey.html"), how)
    assert fault.startswith("color-contrast-enhanced: ")
