"""Fixed text in Markdown: its blocks, and the line breaks that are kept."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from credits.billing.setting.fixed_text import TextRun, blocks_of, text_lines, with_line_breaks
from credits.site.markdown import markdown


def test_markdown_becomes_lines() -> None:
    text = (
        "# Thanks\n\nThe *people* of **the valley**\nand [the driver](https://example.org).\n\n"
        "- one\n- two\n\nlast  \nline <script>alert(1)</script>"
    )
    assert text_lines(text) == (
        "Thanks", "", "The people of the valley", "and the driver.", "", "one", "two", "",
        "last", "line",
    )  # fmt: skip
    heading, paragraph, *_ = blocks_of(text)
    assert heading.heading
    assert TextRun("people", emphasis=True) in paragraph.runs
    assert TextRun("the valley", strong=True) in paragraph.runs


def test_the_lines_of_a_song_stay_lines_in_exports_and_on_the_site() -> None:
    song = "Hum me a valley,\nhum me a hill,\nhum me a mouse\nwho is humming still."
    assert text_lines(song) == tuple(song.split("\n"))
    assert markdown(with_line_breaks(song)).count("<br>") == 3


def test_the_items_of_a_numbered_list_keep_their_numbers() -> None:
    assert text_lines("3. Hum\n4. The *hill*\n\nAnd a mouse.") == (
        "3. Hum", "4. The hill", "", "And a mouse.",
    )  # fmt: skip


@pytest.mark.parametrize("text", ["", " ", "![a picture](x.png)", "<br>", "****", "\n\n"])
def test_a_text_that_says_nothing_has_no_lines(text: str) -> None:
    assert "".join(text_lines(text)).strip("*") == ""


@given(st.lists(st.text(alphabet="ab é山", min_size=1).filter(str.strip), min_size=1, max_size=6))
def test_every_line_of_a_paragraph_is_a_line(lines: list[str]) -> None:
    written = [f"x{' '.join(line.split())}" for line in lines]
    assert text_lines("\n".join(written)) == tuple(written)
