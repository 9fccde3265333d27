"""Words as they are typed and written: likeness, formulas, spaces; rows as messages name them."""

from __future__ import annotations

import pytest

from credits.errors import SHOWN_VALUE_LENGTH, Finding, Place, grouped, quoted
from credits.text import doubled_spaces, fold_code, guarded, nearest, single_spaced


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@a", "\t1", "＝1", " =1", "   @a"])
def test_what_a_spreadsheet_would_run_has_an_apostrophe_before_it(text: str) -> None:
    assert guarded(text) == f"'{text}"


@pytest.mark.parametrize("text", ["", " ", "Ana = Ben", "1-2", "'=1", "a@b"])
def test_any_other_text_stays_as_it_is(text: str) -> None:
    assert guarded(text) == text


def test_a_word_is_proposed_from_seventy_per_cent_of_likeness_on() -> None:
    # Of 20 letters of both 14 are alike; then 12.
    assert nearest("abcdefghij", ["abcdefgxyz"]) == ["abcdefgxyz"]
    assert nearest("abcdefghij", ["abcdefqxyz"]) == []


def test_one_code_in_any_spelling_is_one() -> None:
    assert fold_code("E\u0301a") == fold_code("\u00c9A") == "\u00e9a"
    assert fold_code("STRASSE") == fold_code("Straße")


def test_spaces_in_a_row_are_found_and_made_one() -> None:
    assert doubled_spaces("Ana  Lind Holm") == ("Ana", "Lind Holm")
    assert doubled_spaces("Ana Lind") is None
    assert single_spaced("Ana   Lind\n  Holm") == "Ana Lind\n Holm"


@pytest.mark.parametrize(
    ("rows", "named"),
    [
        ([3], "row 3"),
        ([3, 4], "rows 3-4"),
        ([3, 5], "rows 3 and 5"),
        ([9, 3, 4, 6, 8, 7], "rows 3-4 and 6-9"),
    ],
)
def test_a_message_names_the_rows_that_are_wrong_and_no_others(rows: list[int], named: str) -> None:
    (found,) = grouped(Finding("is empty", place=Place("people.csv", row)) for row in rows)
    assert str(found) == f"people.csv {named}: is empty."


def test_a_long_value_is_shown_in_part() -> None:
    whole, long = "a" * SHOWN_VALUE_LENGTH, "a" * (SHOWN_VALUE_LENGTH + 1)
    assert quoted(whole) == f"'{whole}'"
    assert quoted(long) == f"'{whole[:-1]}…'"
