"""CSV as spreadsheet programs and people write it."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from credits.errors import ProblemsFound
from credits.formats.tables.csv_files import read_csv

KNOWN = ("person", "credit_name", "note")
ROWS = [("person", "credit_name"), ("ana", "Ana Hölm"), ("ben", "Ben; the other, one")]
TEXT = 'person,credit_name\nana,Ana Hölm\nben,"Ben; the other, one"\n'


def refusal(data: bytes) -> str:
    with pytest.raises(ProblemsFound) as caught:
        read_csv(data, "people.csv", KNOWN)
    return str(caught.value)


@pytest.mark.parametrize(
    "data",
    [
        TEXT.encode("utf-8"),
        TEXT.encode("utf-8-sig"),
        TEXT.encode("utf-16"),
        b"\xfe\xff" + TEXT.encode("utf-16-be"),
        TEXT.replace("\n", "\r\n").encode(),
        TEXT.replace("\n", "\r").encode(),
        TEXT.rstrip("\n").encode(),
    ],
    ids=["utf-8", "bom", "utf-16-le", "utf-16-be", "crlf", "cr", "no newline at the end"],
)
def test_encodings_and_line_ends_make_no_difference(data: bytes) -> None:
    assert read_csv(data, "people.csv", KNOWN) == ROWS


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_the_separator_is_recognised_by_the_known_column_names(separator: str) -> None:
    text = f"Credit Name{separator}PERSON\nAna{separator}ana\n"
    assert read_csv(text.encode(), "people.csv", KNOWN) == [
        ("Credit Name", "PERSON"),
        ("Ana", "ana"),
    ]


def test_a_comma_in_a_semicolon_file_is_text() -> None:
    text = "person;note, or more\nana;one, two, three\n"
    assert read_csv(text.encode(), "people.csv", KNOWN)[1] == ("ana", "one, two, three")


@pytest.mark.parametrize("line", ["sep=;", '"sep=;"', "SEP=;"])
def test_a_leading_sep_line_is_obeyed_and_is_no_row(line: str) -> None:
    text = f"{line}\r\nperson;note\r\nana;a,b\r\n"
    rows = read_csv(text.encode(), "people.csv", KNOWN)
    assert rows == [("person", "note"), ("ana", "a,b")]


def test_cells_lose_white_space_and_invisible_marks_around_them() -> None:
    text = "person,note\n\u00a0ana \u200b,\u3000a  b\t\n"
    assert read_csv(text.encode(), "people.csv", KNOWN)[1] == ("ana", "a  b")


def test_a_line_break_in_quotes_is_one_record() -> None:
    text = 'person,note\nana,"one\ntwo"\nben,x\n'
    assert read_csv(text.encode(), "people.csv", KNOWN) == [
        ("person", "note"),
        ("ana", "one\ntwo"),
        ("ben", "x"),
    ]


def test_text_that_is_not_utf_8_is_refused_with_its_row_and_not_guessed() -> None:
    data = 'person,note\nana,"two\nlines"\nben,Åsa\n'.encode("cp1252")
    assert refusal(data) == (
        "people.csv row 3: 'ben,\ufffd': is not UTF-8 text (byte 0xc5). "
        "Save the file again as CSV UTF-8."
    )


def test_half_a_utf_16_character_is_refused() -> None:
    assert "is not UTF-16 text" in refusal(TEXT.encode("utf-16")[:-1])


def test_nul_characters_are_refused_with_their_row() -> None:
    assert refusal(b"person,note\nana,\0\n") == (
        "people.csv row 2: holds a NUL character, so it is not a text file. "
        "Save the file again as CSV UTF-8."
    )


def test_a_quotation_mark_that_is_never_closed_is_refused_with_its_row() -> None:
    assert refusal(b'person,note\nana,x\nben,"y\ncai,z\n') == (
        "people.csv row 3: a quotation mark opened in this row is never closed. "
        "Close it, or write it twice."
    )


def test_a_megabyte_in_one_cell_is_a_finding() -> None:
    data = b'person,note\nana,"' + b"x" * 1_000_000 + b'"\n'
    assert refusal(data).startswith("people.csv row 2: a cell holds more than 131072 characters.")


def test_a_lone_quotation_mark_inside_quotes_is_refused() -> None:
    assert "Write it twice" in refusal(b'person,note\nana,"5" high"\n')


@given(
    rows=st.lists(
        st.lists(
            st.text(st.characters(codec="utf-8", exclude_characters="\0"), max_size=12),
            min_size=2,
            max_size=2,
        ),
        max_size=6,
    ),
    separator=st.sampled_from(",;\t"),
    quoting=st.sampled_from([csv.QUOTE_ALL, csv.QUOTE_MINIMAL]),
)
def test_what_a_csv_writer_writes_is_read_back(
    rows: list[list[str]], separator: str, quoting: int
) -> None:
    out = io.StringIO()
    writer = csv.writer(out, delimiter=separator, quoting=quoting)  # type: ignore[arg-type]
    writer.writerows([["person", "note"], *rows])
    read = read_csv(out.getvalue().encode(), "people.csv", KNOWN)
    trimmed = [[str(cell).strip("\ufeff\u200b \t\r\n\xa0") for cell in row] for row in read]
    wanted = [[cell.strip().strip("\ufeff\u200b \t\r\n\xa0") for cell in row] for row in rows]
    assert trimmed == [["person", "note"], *wanted]


@given(data=st.binary(max_size=200))
def test_any_bytes_are_read_or_refused_with_words(data: bytes) -> None:
    said = "people.csv"
    try:
        read_csv(data, "people.csv", KNOWN)
    except ProblemsFound as error:
        said = str(error)
    assert said.startswith("people.csv")
