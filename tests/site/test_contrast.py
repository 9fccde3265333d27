"""The colours of the style sheet can be read: contrast by WCAG 2.2.

The formula is WCAG 2.2's "relative luminance" and "contrast ratio" (threshold 0.04045);
the check values are ratios of greys and of blue on white that follow from it.
"""

from __future__ import annotations

import re
from itertools import product

import pytest

from credits import files

TEXT, GRAPHICS = 7.0, 3.0  # WCAG 2.2, success criteria 1.4.6 (AAA) and 1.4.11


def luminance(colour: str) -> float:
    """Relative luminance of ``#rgb`` or ``#rrggbb``."""
    digits = colour.lstrip("#")
    if len(digits) == 3:
        digits = "".join(digit * 2 for digit in digits)
    channels = [int(digits[at : at + 2], 16) / 255 for at in (0, 2, 4)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """The contrast ratio of two colours, from 1 to 21."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def grounds() -> dict[str, dict[str, str]]:
    """The colours by name, of every rule of the style sheet that sets a paper and an ink."""
    css = (files.shipped("site_templates") / "style.css").read_text("utf-8")
    found = {}
    for selector, body in re.findall(r"([^{}]+)\{([^{}]*--paper:[^{}]*)\}", css):
        colours = dict(re.findall(r"--(\w+):\s*(#[0-9a-f]{3,6})", body))
        found[" ".join(selector.split())[-60:]] = colours
    return found


@pytest.mark.parametrize(
    ("colour", "ratio"),
    [("#777", 4.478), ("#767676", 4.542), ("#595959", 7.005), ("#00f", 8.592), ("#000", 21.0)],
)
def test_the_formula_gives_the_known_ratios_on_white(colour: str, ratio: float) -> None:
    assert contrast(colour, "#fff") == pytest.approx(ratio, abs=0.0006)


def test_the_style_sheet_has_a_light_a_dark_and_a_printed_ground() -> None:
    papers = [luminance(colours["paper"]) for colours in grounds().values()]
    assert len(papers) >= 4  # light, dark by the system, dark by choice, print
    assert min(papers) < 0.05
    assert max(papers) == pytest.approx(1.0)


@pytest.mark.parametrize("ground", list(grounds()))
def test_words_and_bands_stand_out_from_the_paper(ground: str) -> None:
    colours = grounds()[ground]
    for text, paper in product(("ink", "soft", "accent"), ("paper", "faint")):
        assert contrast(colours[text], colours[paper]) >= TEXT, (text, paper)
    for band in ("c0", "c1", "c2", "c3", "c4", "c5"):
        assert contrast(colours[band], colours["paper"]) >= GRAPHICS, band
