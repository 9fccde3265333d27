"""Where a long text goes on in the next row."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from credits.billing.setting.breaking import (
    EvenRuler,
    broken,
    clusters_of,
    display_width,
    plain,
)
from credits.billing.setting.fixed_text import TextRun

EVEN = EvenRuler()
HYPHENS = "-‐‑‒–—−"


def rows_of(text: str, room: int, indent: int = 0, *, cuts: bool = True) -> list[str]:
    return [plain(row) for row in broken((TextRun(text),), room, EVEN, 1, indent, cuts=cuts)]


def test_wide_letters_take_two_columns_and_marks_none() -> None:
    """UAX #11: Wide and Fullwidth take two; combining marks none."""
    assert [display_width(t) for t in ("Ana", "山田", "ọ́", "ｱﾅ", "Ａ")] == [3, 4, 1, 2, 2]


@pytest.mark.parametrize(
    ("text", "room", "rows"),
    [
        ("Ana Lind", 8, ["Ana Lind"]),
        ("Ana Maria Lind", 9, ["Ana Maria", "Lind"]),
        # No last row of one short word, where another way takes no more rows.
        ("aaaa aaaa aaaa aaaa a", 9, ["aaaa", "aaaa aaaa", "aaaa a"]),
        # A no-break space is never broken at.
        ("Ana de\u00a0la\u00a0Mar", 12, ["Ana", "de\u00a0la\u00a0Mar"]),
        # A hyphen of the name's own is the best place to cut it.
        ("Hohenzwitscher-Niederpfeifen", 20, ["Hohenzwitscher-", "Niederpfeifen"]),
        # Where it needs to be cut elsewhere, no row begins with a hyphen.
        ("Abcdefgh-Ijklmnop", 8, ["Abcd-", "efgh-", "Ijklmnop"]),
        ("x" * 20, 8, ["xxxxxx-", "xxxxxx-", "xxxxxxxx"]),
        # Scripts that set no spaces are parted without hyphens, and no row begins with a stop.
        ("山" * 7, 6, ["山山", "山山", "山山山"]),
        ("山山山。", 6, ["山山", "山。"]),
        ("😀" * 5, 6, ["😀😀", "😀😀😀"]),
        ("https://example.org/a", 16, ["https://", "example.org/a"]),
    ],
)
def test_how_a_text_is_broken(text: str, room: int, rows: list[str]) -> None:
    assert rows_of(text, room) == rows


def test_a_word_is_not_cut_where_that_is_not_wished() -> None:
    assert rows_of(f"Ana {'x' * 20} Lind", 8, cuts=False) == ["Ana", "x" * 20, "Lind"]


def test_what_goes_on_has_less_room_by_its_indent() -> None:
    assert rows_of("Ana Maria Lindström", 10, 1) == ["Ana Maria", "Lindström"]
    assert rows_of("Ana Maria Lindström", 10, 2) == ["Ana Maria", "Lind-", "ström"]


def test_letters_keep_their_marks_and_joined_signs_are_one() -> None:
    assert list(clusters_of("Ọ́la")) == ["Ọ́", "l", "a"]
    assert list(clusters_of("👩‍🎨🇮🇸🇫🇮")) == ["👩‍🎨", "🇮🇸", "🇫🇮"]
    assert list(clusters_of("क्षि")) == ["क्षि"]


def test_a_mark_behind_a_name_is_never_parted_from_it() -> None:
    name = (TextRun("Anastasia Lind"), TextRun(" °", marked=True))
    rows = broken(name, 14, EVEN, 1)
    assert [plain(row) for row in rows] == ["Anastasia", "Lind °"]
    assert rows[-1][-1] == TextRun(" °", marked=True)


# -- the law ------------------------------------------------------------------------------------

letters = st.text(alphabet="abc é山ลั-😀’.\u00a0\u0301ש", max_size=40)


def least_rows(text: str, room: int) -> int:
    """The least number of rows at spaces alone: as many words in each as have room."""
    count, held = 1, ""
    for word in text.split(" "):
        longer = f"{held} {word}" if held else word
        if display_width(longer) <= room:
            held = longer
        else:
            count, held = count + 1, word
    return count


@given(letters, st.integers(6, 20))
def test_the_pieces_of_a_text_give_it_back_and_each_has_room(text: str, room: int) -> None:
    rows = rows_of(text, room)
    whole = text.replace(" ", "")
    assert "".join(rows).replace(" ", "").replace("-", "") == whole.replace("-", "")
    put_in = "".join(rows).count("-") - text.count("-")
    assert 0 <= put_in < len(rows)
    if (
        "-\u00a0" not in text
        and "\u00a0" * 3 not in text
        and max((display_width(each) for each in clusters_of(whole)), default=0) < 5
    ):
        assert all(display_width(row) <= room for row in rows)


@given(letters, st.integers(6, 20))
def test_no_row_begins_with_a_hyphen_but_where_a_word_does(text: str, room: int) -> None:
    words = tuple(word for word in text.split(" ") if word)
    for row in rows_of(text, room)[1:]:
        if row[0] in HYPHENS:
            assert any(word.startswith(row[0]) or row[0] * 2 in word for word in words)


@given(st.lists(st.integers(1, 9), min_size=1, max_size=12), st.integers(9, 24))
def test_the_rows_are_as_few_as_can_be_and_no_row_could_hold_more_evenly(
    lengths: list[int], room: int
) -> None:
    text = " ".join("abcdefghi"[:length] for length in lengths)
    rows = rows_of(text, room)
    assert len(rows) == least_rows(text, room)
    assert " ".join(rows) == text
    uneven = sum((room - len(row)) ** 2 for row in rows)
    for other in ways(lengths, room):
        if len(other) == len(rows):
            assert uneven <= sum((room - width) ** 2 for width in other)


def ways(lengths: list[int], room: int) -> list[list[int]]:
    """Every way to part words into rows that have room, as the widths of its rows."""
    if not lengths:
        return [[]]
    found, width = [], -1
    for count, length in enumerate(lengths, 1):
        width += length + 1
        if width > room:
            break
        found += [[width, *rest] for rest in ways(lengths[count:], room)]
    return found
