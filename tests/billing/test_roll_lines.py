"""The lines of the roll and the cards; fixed text in Markdown."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from credits.billing.credits import Credits
from credits.billing.roll import (
    TextRun,
    blocks_of,
    cards,
    display_width,
    roll_lines,
    section_lines,
    text_lines,
    wrapped,
)
from tests.formats.compiled import card, credits_of, names, roles, text


def shown(credits: Credits) -> list[list[str]]:
    return [[piece.text for piece in line.pieces] for line in roll_lines(credits)]


def test_sections_are_parted_by_a_blank_line_and_a_role_is_written_once() -> None:
    compiled = credits_of(
        names("Edited by", "Ana"),
        roles("Voices", ("Wick", "Ben"), ("Wick", "Cai"), ("Brine", "Dot")),
    )
    assert shown(compiled) == [
        ["Edited by"], ["Ana"], [], ["Voices"], ["Wick", "Ben"], ["", "Cai"], ["Brine", "Dot"],
    ]  # fmt: skip


def test_cards_stand_still_and_are_not_in_the_roll() -> None:
    compiled = credits_of(card("Directed by", "Ana"), names("Edited by", "Ben"), card("", "Cai"))
    assert shown(compiled) == [["Edited by"], ["Ben"]]
    assert [one.heading for one in cards(compiled)] == ["Directed by", ""]


@pytest.mark.parametrize(
    ("words", "seconds"),
    # BCAP guidance: 0.2 s a word and 2 s, from ten words 3 s.
    [(1, Fraction("2.2")), (9, Fraction("3.8")), (10, Fraction(5)), (20, Fraction(7))],
)
def test_how_long_a_card_is_held(words: int, seconds: Fraction) -> None:
    (one,) = cards(credits_of(card(" ".join(["word"] * words))))
    assert one.seconds == seconds


def test_a_long_name_goes_on_in_the_line_below_and_the_role_does_not() -> None:
    long = "Maria Theodora Wilhelmina Anastasia Featherstall-Plumtree von und zu Hohenzwitscher"
    rows = shown(credits_of(roles("", ("Wick", long), ("Brine", "Ana"))))
    assert rows == [
        ["Wick", "Maria Theodora Wilhelmina Anastasia"],
        ["", "Featherstall-Plumtree von und zu"],
        ["", "Hohenzwitscher"],
        ["Brine", "Ana"],
    ]


@given(
    st.lists(st.text(alphabet=st.characters(exclude_categories=("Cs",)), min_size=1), max_size=30)
)
def test_no_letter_of_a_name_is_lost_and_every_line_is_one_line(people: list[str]) -> None:
    lines = roll_lines(credits_of(names("", *people, columns=3)))
    got = sorted("".join(p.text for row in lines for p in row.pieces).replace(" ", ""))
    asked = sorted(
        sign for name in people for sign in name if not sign.isspace() and sign not in "\x7f"
        and not sign < " "
    )  # fmt: skip
    assert got == asked
    assert not any("\n" in piece.text for row in lines for piece in row.pieces)


def test_markdown_becomes_lines() -> None:
    markdown = (
        "# Thanks\n\nThe *people* of **the valley**\nand [the driver](https://example.org).\n\n"
        "- one\n- two\n\nlast  \nline <script>alert(1)</script>"
    )
    assert text_lines(markdown) == (
        "Thanks", "", "The people of the valley and the driver.", "", "one", "", "two", "",
        "last", "line",
    )  # fmt: skip
    heading, paragraph, *_ = blocks_of(markdown)
    assert heading.heading
    assert TextRun("people", emphasis=True) in paragraph.runs
    assert TextRun("the valley", strong=True) in paragraph.runs


@pytest.mark.parametrize("markdown", ["", " ", "![a picture](x.png)", "<br>", "****", "\n\n"])
def test_a_text_that_says_nothing_has_no_lines(markdown: str) -> None:
    assert "".join(text_lines(markdown)).strip("*") == ""


def test_wide_letters_take_two_columns_and_marks_none() -> None:
    """UAX #11: Wide and Fullwidth take two; combining marks none."""
    assert [display_width(t) for t in ("Ana", "山田", "ọ́", "ｱﾅ", "Ａ")] == [3, 4, 1, 2, 2]


@given(st.text(alphabet="ab é山 \u0301", max_size=60), st.integers(2, 20))
def test_wrapped_lines_are_narrow_enough_and_keep_every_letter(line: str, columns: int) -> None:
    parts = list(wrapped(line, columns))
    assert all(display_width(part) <= columns for part in parts)
    assert "".join(parts).replace(" ", "") == line.replace(" ", "")


def test_a_text_without_spaces_is_broken_where_the_line_is_full() -> None:
    section = text("", "山" * 70)
    assert [len(piece.text) for row in section_lines(section) for piece in row.pieces] == [
        30,
        30,
        10,
    ]
