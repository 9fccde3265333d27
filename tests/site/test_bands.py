"""The strip of the film: however long the film is, it is drawn in few parts and hides nothing."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from credits.site.bands import DOTTED, HATCHED, SOLID, STEPS, Part, parts_drawn, said_of

PATTERNS = (SOLID, HATCHED, DOTTED)


def drawn(parts: list[Part], length: int) -> list[tuple[str, str, int]]:
    return list(parts_drawn("", parts, length).drawn)


def test_a_short_film_is_drawn_to_the_frame() -> None:
    parts = [(1, 5, SOLID), (5, 6, DOTTED), (9, 11, HATCHED)]
    assert drawn(parts, 10) == [
        ("0%", "40%", SOLID),
        ("40%", "10%", DOTTED),
        ("80%", "20%", HATCHED),  # frames 6-8 are of no shot
    ]


def test_a_step_is_drawn_as_most_of_its_frames_are_and_as_what_is_to_come_where_it_is_even() -> (
    None
):
    length = 10 * STEPS
    assert drawn([(1, 7, SOLID), (7, 11, DOTTED)], length)[0][2] == SOLID
    assert drawn([(1, 6, SOLID), (6, 11, DOTTED)], length)[0][2] == DOTTED


def test_a_film_of_nothing_has_no_parts() -> None:
    assert drawn([], 0) == []


@given(st.lists(st.tuples(st.integers(1, 4000), st.sampled_from(PATTERNS)), max_size=400))
def test_the_parts_are_few_and_as_long_as_what_they_stand_for(
    lengths: list[tuple[int, int]],
) -> None:
    parts, at = [], 1
    for length, pattern in lengths:
        parts.append((at, at + length, pattern))
        at += length
    whole = at - 1
    shown = drawn(parts, whole)
    assert len(shown) <= STEPS
    widths = sum(Fraction(width.rstrip("%")) for _, width, _ in shown)
    assert abs(widths - (100 if whole else 0)) < 1


def test_a_strip_says_what_it_shows() -> None:
    assert said_of([("accepted", 1), ("kept", 0), ("missing", 2)], "The film") == (
        "The film: accepted 33.3 %, missing 66.7 %"
    )
    assert said_of([("accepted", 0)], "The film") == "The film"
