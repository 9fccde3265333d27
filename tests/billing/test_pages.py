"""The rows of the credits on pages."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from credits.billing.credits import Section
from credits.billing.setting.breaking import UsualRuler
from credits.billing.setting.pages import ProofPage, paged
from credits.billing.setting.roll import USUAL
from credits.billing.setting.rows import LineKind, RowSetter
from tests.formats.compiled import card, credits_of, names, roles, text

MOST = 20


def pages_of(*sections: Section, first: int = MOST, most: int = MOST) -> tuple[ProofPage, ...]:
    made = RowSetter(setting=USUAL, ruler=UsualRuler()).set(credits_of(*sections))
    return paged(made, first, most)


def texts(page: ProofPage) -> list[str]:
    return [" ".join(piece.text for piece in placed.row.pieces) for placed in page.rows]


def people(count: int) -> list[tuple[str, str]]:
    return [("Wick", f"Person {number}") for number in range(count)]


def test_over_a_page_the_heading_and_the_role_stand_again() -> None:
    first, second = pages_of(roles("Voices", *people(25)))
    assert texts(first)[:2] == ["Voices", "Wick Person 0"]
    assert texts(second)[:3] == ["Voices (continued)", "Wick Person 19", "Person 20"]
    assert [placed.again for placed in second.rows[:2]] == [True, False]


def test_a_heading_never_stands_last_on_a_page() -> None:
    first, second = pages_of(names("A", *"abcdefghijklmnopq"), names("B", *"xyz"))
    assert texts(first)[-1] != "B"
    assert texts(second)[0] == "B"


def test_a_heading_over_others_goes_to_the_page_of_the_first_of_them() -> None:
    over, under = Section(heading="Workshop"), replace(names("Paint", "Ana"), level=2)
    first, second = pages_of(names("A", *"abcdefghijklmno"), over, under)
    assert "Workshop" not in texts(first)
    assert texts(second)[:2] == ["Workshop", "Paint"]


def test_a_short_section_is_not_parted() -> None:
    first, second = pages_of(names("A", *"abcdefghijkl"), roles("B", *people(10)))
    assert "B" not in texts(first)
    assert len(texts(second)) == 11


def test_a_card_stands_whole_and_has_its_number() -> None:
    first, second = pages_of(names("A", *"abcdefghijklmno"), card("Directed by", "Ana", "Ben"))
    assert first.frames == []
    (frame,) = second.frames
    assert (frame.top, frame.lines, frame.number) == (0, 6, 1)
    assert [placed.top for placed in second.rows] == [2, 3, 4]


def test_a_card_among_sections_that_roll_stands_in_its_place() -> None:
    (page,) = pages_of(names("A", "a"), card("Card", "Ana"), names("B", "b"))
    assert texts(page) == ["A", "a", "Card", "Ana", "B", "b"]


sections = st.lists(
    st.one_of(
        st.integers(0, 50).map(lambda n: names("H", *(f"Name {at}" for at in range(n)))),
        st.integers(1, 50).map(lambda n: roles("Roles", *people(n))),
        st.integers(0, 8).map(lambda n: card("Card", *(f"Card {at}" for at in range(n)))),
        st.integers(1, 300).map(lambda n: text("Text", "mouse " * n)),
    ),
    max_size=8,
)


@given(sections, st.integers(0, 30), st.integers(12, 43))
def test_every_row_stands_once_in_its_order_and_on_its_page(
    found: list[Section], first: int, most: int
) -> None:
    made = RowSetter(setting=USUAL, ruler=UsualRuler()).set(credits_of(*found))
    pages = paged(made, first, most)
    shown = [
        placed.row.pieces[-1].text
        for page in pages
        for placed in page.rows
        if placed.row.pieces and not placed.again
    ]
    rows = [row.pieces[-1].text for each in made.sections for row in each.all_rows if row.pieces]
    assert shown == rows
    for number, page in enumerate(pages):
        room = first if number == 0 else most
        tops = [placed.top for placed in page.rows]
        assert tops == sorted(set(tops))
        if page.rows and len(page.rows) > 1:
            assert page.rows[-1].top + page.rows[-1].row.high <= room + 1
        assert number == 0 or page.rows or not found
        last = page.rows[-1].row if page.rows else None
        is_heading = last is not None and last.kind is LineKind.HEADING
        if is_heading and page is not pages[-1] and all(each.rows for each in made.sections):
            raise AssertionError("a heading stands last on a page")


def test_a_card_that_fills_a_page_exactly_stays_on_it() -> None:
    # 1 heading and 1 name roll, 1 line is empty; the card has 4 lines and 3 of its frame.
    found = [names("A", "a"), card("Card", "Ana", "Ben", "Cai")]
    (page,) = pages_of(*found, first=10)
    assert [(frame.top, frame.lines) for frame in page.frames] == [(3, 7)]
    first, second = pages_of(*found, first=9)
    assert (first.frames, len(second.frames)) == ([], 1)


def test_a_section_that_fills_a_page_exactly_is_not_parted() -> None:
    found = [names("A", "a"), names("B", *"bcdef")]  # 2 lines, an empty one, 6 lines
    assert len(pages_of(*found, first=9)) == 1
    assert [texts(page)[0] for page in pages_of(*found, first=8)] == ["A", "B"]
