"""The page of a day sheet, read by a library that is not ours."""

from __future__ import annotations

import io
from datetime import date

import openpyxl
import pytest
from openpyxl import Workbook
from openpyxl.worksheet.worksheet import Worksheet

from credits.cautions import MATERIALS_CAUTION
from credits.formats.tables.day_sheet import (
    DayForm,
    PrintedRow,
    SheetMark,
    day_sheet,
    find_day_sheet,
)
from credits.model.facts import EntryNumber

MARK = SheetMark(production="LAMP", on=date(2026, 3, 5), stage="S1", made="7f3a")
ROWS = (
    PrintedRow(
        {"craft": "paint", "person": "ana", "note": "=1+1", "private": "yes"},
        EntryNumber("A", 17),
    ),
    PrintedRow({"craft": "animation", "person": "ben", "shot": "10-12", "frames": "31-"}),
)
CHOICES = {
    "craft": ("animation · Animation", "paint · Puppet painting"),
    "person": ("ben · Ben", 'ana · =HYPERLINK("http://x")', "ola · Ola\uffff"),
    "shot": ("10-12 · 24 frames",),
    "take": ("1", "2", "3"),
}


def form(mark: SheetMark = MARK, **changes: object) -> DayForm:
    """A sheet of two rows and twelve empty ones."""
    said = {
        "film": "The Lamplighter",
        "place": "Stage S1",
        "rows": ROWS,
        "empty": 12,
        "choices": CHOICES,
        **changes,
    }
    return DayForm(mark=mark, **said)  # type: ignore[arg-type]


def opened(made: DayForm) -> Workbook:
    """The workbook, read back."""
    return openpyxl.load_workbook(io.BytesIO(day_sheet(made)))


def page(made: DayForm) -> Worksheet:
    """The one sheet that people see."""
    (seen,) = [sheet for sheet in opened(made).worksheets if sheet.sheet_state == "visible"]
    return seen


def headings(sheet: Worksheet) -> dict[object, str]:
    """The headings, and the letters of their columns."""
    return {cell.value: cell.column_letter for cell in sheet[5] if cell.value}


def test_the_page_says_place_film_and_day_and_has_plain_headings() -> None:
    sheet = page(form())
    assert sheet.title == "Stage S1"
    assert sheet["C1"].value == "Stage S1 · The Lamplighter"
    assert str(sheet["C2"].value).startswith("Thursday 5 March 2026. ")
    assert list(headings(sheet)) == [
        "Craft", "Who", "Character", "Puppet", "Part", "Shot", "Take", "Frames", "On ones, twos",
        "Share", "Minutes worked", "Minutes waited", "Note", "Logged as",
    ]  # fmt: skip
    assert [sheet[f"{at}6"].value for at in "CDJO"] == [
        "paint · Puppet painting", 'ana · =HYPERLINK("http://x")', None, "=1+1",
    ]  # fmt: skip
    assert [sheet[f"{at}7"].value for at in "CDHJP"] == [
        "animation · Animation", "ben · Ben", "10-12 · 24 frames", "31-", None,
    ]  # fmt: skip
    assert sheet["P6"].value == "A-17"


def test_what_nobody_needs_to_see_is_hidden() -> None:
    book = opened(form())
    sheet = book.worksheets[0]
    assert sheet.column_dimensions["A"].hidden
    assert sheet.row_dimensions[4].hidden
    assert [cell.value for cell in sheet[4]][:4] == ["ref", "printed", "craft", "person"]
    assert [sheet[f"A{row}"].value for row in (6, 7, 8, 19)] == [
        "=A-17/7f3a", "=2026-03-05/S1/7f3a-2", "=2026-03-05/S1/7f3a-3", "=2026-03-05/S1/7f3a-14",
    ]  # fmt: skip
    assert book["lists"].sheet_state == "hidden"
    assert book.properties.subject == "=2026-03-05/S1/7f3a"
    assert book.custom_doc_props["credits day sheet"].value == "=2026-03-05/S1/7f3a"


def test_it_prints_on_one_a4_page_with_a_line_to_sign() -> None:
    sheet = page(form())
    setup = sheet.page_setup
    assert (setup.orientation, setup.paperSize) == ("landscape", 9)
    assert sheet.sheet_properties.pageSetUpPr.fitToPage
    assert (setup.fitToWidth, setup.fitToHeight) == (None, None)  # one page is what it means
    assert sheet.print_area == "'Stage S1'!$C$1:$P$19"
    assert sheet.print_title_rows == "$1:$5"
    assert "Filled in by" in [cell.value for cell in sheet[1]]
    long = page(form(empty=80))
    assert (long.page_setup.fitToWidth, long.page_setup.fitToHeight) == (None, 0)  # as it needs


def test_cells_offer_what_can_be_chosen_and_let_others_stand() -> None:
    book = opened(form())
    sheet = book.worksheets[0]
    rules = {str(rule.sqref): rule for rule in sheet.data_validations.dataValidation}
    assert all(at.split(":")[0].endswith("6") for at in rules)
    people = rules["D6:D79"]
    assert (people.type, people.errorStyle, people.formula1) == (
        "list", "warning", "lists!$D$2:$D$4",
    )  # fmt: skip
    lists = book["lists"]
    assert [lists[f"D{row}"].value for row in range(1, 5)] == [
        "person",
        *CHOICES["person"][:2],
        "ola · Ola",
    ]
    assert [lists[f"I{row}"].value for row in range(2, 5)] == [1, 2, 3]
    puppets = rules["F6:F79"]  # there are none to choose from: anything may be written
    assert puppets.type is None or puppets.type == "none"


def test_cells_refuse_what_their_column_cannot_hold() -> None:
    sheet = page(form())
    rules = {str(rule.sqref)[0]: rule for rule in sheet.data_validations.dataValidation}
    for letter, least in (("K", "1"), ("M", "0"), ("N", "0")):
        rule = rules[letter]
        assert (rule.type, rule.operator, rule.formula1) == ("whole", "greaterThanOrEqual", least)
        assert rule.errorStyle in (None, "stop")
    assert rules["J"].type == rules["L"].type == "custom"
    assert "0123456789" in rules["J"].formula1
    assert rules["J"].error == "First and last: 1-48. Several: 1-20,25-48. One: 17."
    assert rules["M"].error == "Whole minutes: 8 hours are 480."
    assert [sheet[f"{at}12"].number_format for at in "CHJLMO"] == ["@", "@", "@", "@", "0", "@"]


def test_nothing_in_it_is_a_formula() -> None:
    cells = [c for sheet in opened(form()).worksheets for row in sheet.iter_rows() for c in row]
    assert {cell.data_type for cell in cells} <= {"s", "n"}


@pytest.mark.parametrize("caution", ["", MATERIALS_CAUTION])
def test_the_material_caution_stands_where_it_is_asked_for(caution: str) -> None:
    texts = [cell.value for row in page(form(caution=caution)).iter_rows() for cell in row]
    assert (MATERIALS_CAUTION in texts) == bool(caution)


def test_the_same_form_is_the_same_file() -> None:
    assert day_sheet(form()) == day_sheet(form())


@pytest.mark.parametrize(
    "place", ["lists", "History", "[a]:*?/\\b", "'", "x" * 300, "木" * 40, "\x00", "entries"]
)
def test_a_place_of_any_name_makes_a_workbook(place: str) -> None:
    title = page(form(place=place, film="=\x0b<b>&\ufffe" * 60)).title
    assert 0 < len(title) <= 31


def test_a_sheet_knows_itself() -> None:
    mark = SheetMark(production='L"A, Ü', on=MARK.on, department="Heads & hands", made="0a")
    sheet = page(form(mark))
    rows = [["" if c.value is None else str(c.value) for c in row] for row in sheet.iter_rows()]
    found = find_day_sheet(rows, "x.xlsx sheet 1")
    assert found is not None
    assert found.mark == mark
    assert [row.printed for row in found.rows[:2]] == list(ROWS)
    assert [row.key for row in found.rows] == ["=A-17/0a", *map(mark.key, range(2, 15))]
    assert found.cell(6, "frames").cell == found.columns["frames"] + "6"
    assert (
        find_day_sheet([["ref", "craft", "person"], ["1", "paint", "ana"]], "entries.csv") is None
    )
