"""Every kind of page meets WCAG 2.2 AA as far as axe-core can tell, and AAA in contrast."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe

from credits.editions import Edition
from tests.site.conftest import DESK, LOOKED_AT, PHONE, Visitor
from tests.site.pages_on_disk import of_each_kind

pytestmark = pytest.mark.browser

RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
# Without preload: axe would fetch the style sheet again, which a page from disk may not.
ASKED = {
    "runOnly": {"type": "tag", "values": RULES},
    "rules": {"color-contrast-enhanced": {"enabled": True}},
    "resultTypes": ["violations"],
    "preload": False,
}


# What else depends on the ground or on the width alone.
IN_THE_DARK = ["color-contrast", "color-contrast-enhanced"]
ON_A_TELEPHONE = ["target-size", "scrollable-region-focusable", "link-in-text-block"]
FEW = {**ASKED, "runOnly": {"type": "rule", "values": [*IN_THE_DARK, *ON_A_TELEPHONE]}}


# A long table is row after row of the same build: three of each are looked at.
THREE_OF_A_BUILD = """() => {
  const build = (own) => own.tagName + own.className + own.getAttributeNames()
    + [...own.children].map(build);
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

# By everything in the public's edition too: what is cut from it may leave a heading alone.
PASSES = [
    *(("light", DESK, ASKED, edition) for edition in dict.fromkeys((Edition.PUBLIC, *LOOKED_AT))),
    *(("dark", PHONE, FEW, edition) for edition in LOOKED_AT),
]


@pytest.mark.parametrize(("ground", "room", "asked", "edition"), PASSES)
def test_axe_finds_nothing(
    example_sites: Mapping[Edition, Path],
    visit: Visitor,
    ground: str,
    room: dict[str, int],
    asked: dict[str, Any],
    edition: Edition,
) -> None:
    site = example_sites[edition]
    window = visit(site, color_scheme=ground, viewport=room)
    axe = Axe()
    found: dict[str, list[str]] = {}
    for short, long in of_each_kind(site).values():
        path = long if asked is ASKED else short
        page = window.go(path)
        page.evaluate(THREE_OF_A_BUILD)
        response = axe.run(page, options=asked).response
        assert response["testEngine"]["name"] == "axe-core"
        for violation in response["violations"]:
            nodes = [node["html"][:100] for node in violation["nodes"][:2]]
            found.setdefault(path, []).append(f"{violation['id']}: {nodes}")
    assert found == {}
