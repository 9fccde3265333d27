"""Day sheets in LibreOffice: it opens one, fills it in, saves and prints it."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest
from openpyxl import load_workbook
from pypdf import PdfReader

from credits.model.facts import Work
from credits.units.frames import Frames
from tests.cli.conftest import Command
from tests.filled_sheets import FILM, FilledSheet, as_pdf, fill_in_with_office, works
from tests.productions import written_tables

pytestmark = pytest.mark.office


@pytest.fixture(scope="module")
def office_home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder for LibreOffice's own settings, which it makes at its first start."""
    return tmp_path_factory.mktemp("office")


@pytest.fixture
def sheet_of_a(empty: Path, tmp_path: Path, credits_: Command) -> FilledSheet:
    """The sheet of stage A for 5 March."""
    tables = written_tables(tmp_path / "tables", FILM)
    assert credits_("load", tables, "--production", empty).status == 0
    words = ("--stage", "A", "--date", "2026-03-05", "--out", tmp_path / "a.xlsx")
    assert credits_("sheet", *words).status == 0
    return FilledSheet(tmp_path / "a.xlsx")


def test_what_libreoffice_writes_into_a_sheet_is_loaded(
    empty: Path, sheet_of_a: FilledSheet, tmp_path: Path, credits_: Command, office_home: Path
) -> None:
    logged, begun, free = (sheet_of_a.first_row + at for at in (0, 1, 3))
    typed = {
        sheet_of_a.place(logged, "minutes"): "220",
        sheet_of_a.place(begun, "frames"): "31-36",
        sheet_of_a.place(begun, "minutes"): "480",
        sheet_of_a.place(free, "craft"): "animation · Animation",
        sheet_of_a.place(free, "person"): "Zoe Odegard",
        sheet_of_a.place(free, "character"): "brine · Brine",
        sheet_of_a.place(free, "shot"): "10-12",  # a date, where the cell is not text
        sheet_of_a.place(free, "frames"): "3-12",
        sheet_of_a.place(free, "share"): "1/2",
        sheet_of_a.place(free, "note"): '=1+1 “quiet”, "quick"',
    }
    back = tmp_path / "scan from the stage.xlsx"
    fill_in_with_office(sheet_of_a.path, back, typed, office_home)
    loaded = credits_("load", back, "--json")
    assert loaded.json["problems"] == []
    assert loaded.json["tables"]["entries"] == {"new": 2, "changed": 1, "same": 0}
    assert credits_("load", back, "--json").json["tables"]["entries"] == {
        "new": 0, "changed": 0, "same": 3,
    }  # fmt: skip
    *_, ana, zoe = works(empty)
    assert (ana.frames, ana.minutes) == (Frames.parse("31-36"), 480)
    assert zoe == Work(
        craft="animation",
        person="zoe",
        character="brine",
        shot="10-12",
        frames=Frames.parse("3-12"),
        share=Fraction(1, 2),
        finished_on=date(2026, 3, 5),
        stage="A",
        note='=1+1 “quiet”, "quick"',
    )

    again = FilledSheet(back)
    assert again.sheet.sheet_properties.pageSetUpPr.fitToPage
    kinds = {rule.type for rule in again.sheet.data_validations.dataValidation}
    assert {"list", "whole", "custom"} <= kinds
    assert again.book["lists"].sheet_state == "hidden"


def test_a_sheet_prints_on_one_page_and_shows_nothing_hidden(
    sheet_of_a: FilledSheet, tmp_path: Path, office_home: Path
) -> None:
    printed = PdfReader(as_pdf(sheet_of_a.path, tmp_path, office_home))
    (page,) = printed.pages
    assert round(page.mediabox.width) == 842  # A4, landscape
    assert round(page.mediabox.height) == 595
    text = page.extract_text()
    for word in ("Stage A", "Thursday 5 March 2026", "Filled in by", "Ana Lind", "31-", "A-4"):
        assert word in text
    for word in ("credits day sheet", "poses_on", "=2026", "HYPERLINK"):
        assert word not in text


def test_the_rules_of_the_cells_hold_in_libreoffice(
    sheet_of_a: FilledSheet, tmp_path: Path, office_home: Path
) -> None:
    right = {"frames": ["1-48", "1-20, 25-48", "17", "3–9; 12"], "share": ["2", "1/2"]}
    wrong = {"frames": ["all", "1-4x", "1/2"], "share": ["half", "1-2"]}
    at, typed, expected = sheet_of_a.first_row, {}, {}
    for column in ("frames", "share"):
        rules = sheet_of_a.sheet.data_validations.dataValidation
        first = sheet_of_a.place(at, column)
        (rule,) = [rule for rule in rules if str(rule.sqref).startswith(f"{first}:")]
        for place, text in enumerate([*right[column], *wrong[column]], at):
            cell = sheet_of_a.place(place, column)
            formula = str(rule.formula1).replace(first, cell).split('"')
            # Outside of quotes the program's own language has other signs.
            formula[::2] = [piece.replace(",", ";").replace("!", ".") for piece in formula[::2]]
            answer = f"{'Z' if column == 'frames' else 'Y'}{place}"
            typed |= {cell: text, answer: "=" + '"'.join(formula)}
            expected[answer] = text in right[column]
    back = tmp_path / "ruled.xlsx"
    fill_in_with_office(sheet_of_a.path, back, typed, office_home)
    found = load_workbook(back, data_only=True).worksheets[0]
    assert {answer: found[answer].value for answer in expected} == expected
