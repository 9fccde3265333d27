"""The patterns of people in a strip are told apart on paper without colour, on thin bands too."""

from __future__ import annotations

import io
import json
import re
from itertools import combinations

import pytest
import typst
from PIL import Image

from credits import files
from credits.site.bands import DOTTED, HATCHED
from credits.site.strips import PATTERNS

WIDTH = 210
BAND, THIN = 24, 5  # how high bands are drawn, and thin ones, in pixels of a page
EDGE = 1
SEEN = 40  # of 256 greys
APART = 0.1  # of the pixels within the edge


def pattern_svgs() -> dict[int, str]:
    """The patterns of the pages by number, in one grey on white paper."""
    parts = (files.shipped("site_templates") / "_parts.html").read_text("utf-8")
    found = {}
    for each, number in re.findall(r'(<pattern id="w(\d+)".*?</pattern>)', parts):
        whole = 'width="7" height="7"'
        grey = re.sub('<g class=".*?">', '<g fill="#777" fill-opacity=".8">', each)
        ground = f'<rect {whole} fill="#fff" fill-opacity="1"/><rect {whole} fill-opacity=".3"/>'
        grey = grey.replace("<rect/><rect/>", ground)
        found[int(number)] = grey.replace('href="#w"', 'patternUnits="userSpaceOnUse"')
    return found


def printed(pattern: str, height: int) -> list[int]:
    """The greys of a band in black-and-white print, within its edge."""
    name = re.findall(r'id="(\w+)"', pattern)[0]
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH}" height="{height}">'
        f'<defs>{pattern}</defs><rect width="{WIDTH}" height="{height}" fill="#fff"/>'
        f'<rect width="{WIDTH}" height="{height}" fill="url(#{name})" stroke="#777"/></svg>'
    )
    page = (
        f"#set page(width: {WIDTH}pt, height: {height}pt, margin: 0pt)\n"
        f'#image(bytes({json.dumps(svg)}), format: "svg", width: {WIDTH}pt)'
    )
    png = typst.compile(page.encode(), format="png", ppi=72)
    assert isinstance(png, bytes)
    with Image.open(io.BytesIO(png)) as picture:
        inside = (EDGE, EDGE, picture.width - EDGE, picture.height - EDGE)
        return list(picture.convert("L").crop(inside).tobytes())


def difference(one: list[int], other: list[int]) -> float:
    """How much of two bands is seen to differ, from 0 to 1."""
    return sum(abs(a - b) > SEEN for a, b in zip(one, other, strict=True)) / len(one)


@pytest.mark.parametrize("height", [BAND, THIN])
def test_patterns_of_different_people_differ_without_colour(height: int) -> None:
    svgs = pattern_svgs()
    bands = {number: printed(svgs[number], height) for number in range(PATTERNS)}
    alike = [
        (one, other, round(difference(bands[one], bands[other]), 3))
        for one, other in combinations(bands, 2)
        if difference(bands[one], bands[other]) < APART
    ]
    assert alike == []


def test_patterns_that_are_one_but_for_their_colour_are_found() -> None:
    svgs = pattern_svgs()
    again = svgs[3].replace('id="w3"', 'id="w99"')
    assert difference(printed(svgs[3], BAND), printed(again, BAND)) == 0


def test_there_is_a_pattern_for_each_number_with_an_edge_in_its_colour() -> None:
    assert set(pattern_svgs()) == {*range(PATTERNS), HATCHED, DOTTED}
    css = (files.shipped("site_templates") / "style.css").read_text("utf-8")
    for number in range(PATTERNS):
        assert f'[fill$="w{number})"]' in css
        assert re.search(rf"\.crowd\.c{number}\b", css)
