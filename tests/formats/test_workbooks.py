"""XLSX workbooks, written by two libraries that are not ours."""

from __future__ import annotations

import zipfile
from collections.abc import Callable
from datetime import date, datetime, time
from pathlib import Path

import openpyxl
import pytest
import xlsxwriter
from given_tables import EMPTY, after, film
from hypothesis import given, settings
from hypothesis import strategies as st

from credits.formats.tables.headings import SheetWords
from credits.formats.tables.load import plan_load
from credits.formats.tables.sheets import read_tables
from credits.model.facts import Person, Work
from credits.units.frames import Frames
from tests.drawn import drawn

SHEETS: dict[str, list[list[object]]] = {
    "People": [
        ["person", "credit_name", "name_confirmed_on"],
        ["cai", "=cmd()", date(2026, 3, 2)],
        [],
        [12, "Twelve", None],
    ],
    "entries stage 1": [
        ["craft", "person", "character", "shot", "frames", "minutes", "private", "finished_on"],
        ["animation", "cai", "wick", "010-020", 17, 90.0, True, datetime(2026, 3, 2, 0, 0)],
    ],
    "Remarks": [["anything"]],
}


def with_xlsxwriter(path: Path, sheets: dict[str, list[list[object]]]) -> None:
    options = {"strings_to_formulas": False, "default_date_format": "dd/mm/yy"}
    with xlsxwriter.Workbook(path, options) as book:
        for name, rows in sheets.items():
            sheet = book.add_worksheet(name)
            for at, row in enumerate(rows):
                sheet.write_row(at, 0, row)


def with_openpyxl(path: Path, sheets: dict[str, list[list[object]]]) -> None:
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        for at, row in enumerate(rows, 1):
            for column, value in enumerate(row, 1):
                cell = sheet.cell(at, column, value)
                if isinstance(value, str):
                    cell.data_type = "s"
    book.save(path)


Writer = Callable[[Path, dict[str, list[list[object]]]], None]
WRITERS = pytest.mark.parametrize("write", [with_xlsxwriter, with_openpyxl])


@WRITERS
def test_the_sheets_of_a_workbook_are_tables(tmp_path: Path, write: Writer) -> None:
    write(tmp_path / "crew.xlsx", SHEETS)
    tables = read_tables([tmp_path / "crew.xlsx"])
    plan = plan_load(tables, film(tmp_path))
    assert plan.problems == ()
    assert plan.batch.people == (
        Person(code="cai", credit_name="=cmd()", name_confirmed_on=date(2026, 3, 2)),
        Person(code="12", credit_name="Twelve"),
    )
    (line,) = plan.batch.lines
    assert line.work == Work(
        craft="animation",
        person="cai",
        character="wick",
        shot="010-020",
        frames=Frames.parse("17"),
        minutes=90,
        private=True,
        finished_on=date(2026, 3, 2),
    )
    assert line.source == "crew.xlsx sheet entries stage 1 row 2"
    assert [str(f) for f in tables.left_out] == [
        "crew.xlsx sheet Remarks: its name says no table, so it is left out."
    ]
    assert plan_load(tables, after(film(tmp_path), plan.batch)).changes_nothing


@WRITERS
def test_what_a_spreadsheet_changed_is_said_with_sheet_and_row(
    tmp_path: Path, write: Writer
) -> None:
    write(
        tmp_path / "week.xlsx",
        {
            "Entries": [
                [],
                ["craft", "person", "character", "shot", "frames", "share", "minutes"],
                [
                    "animation",
                    "ana",
                    "wick",
                    date(2026, 1, 12),
                    date(2026, 1, 12),
                    0.7071,
                    time(1, 30, 20),
                ],
            ]
        },
    )
    found = plan_load(read_tables([tmp_path / "week.xlsx"]), film(tmp_path)).problems
    assert [str(f).split(". ")[0] for f in found] == [
        "week.xlsx sheet Entries row 3: shot '2026-01-12': "
        "a spreadsheet has turned this code into a date",
        "week.xlsx sheet Entries row 3: frames '2026-01-12': "
        "a spreadsheet has turned a range such as 1-12 into a date",
        "week.xlsx sheet Entries row 3: share '0.7071': is not a share",
        "week.xlsx sheet Entries row 3: minutes '01:30:20': is not a length in minutes",
    ]
    assert "Write 70/99." in str(found[2])
    assert "Write whole minutes such as 90, or a length such as 1:30" in str(found[3])


def test_a_cell_that_shows_an_error_is_a_problem_and_not_an_empty_cell(tmp_path: Path) -> None:
    with xlsxwriter.Workbook(tmp_path / "people.xlsx") as book:
        sheet = book.add_worksheet("people & co")
        sheet.write_row(0, 0, ["person", "credit_name", "note"])
        sheet.write_row(1, 0, ["ana", "Ana"])
        sheet.write_formula(1, 2, "=1/0", None, "#DIV/0!")
    found = read_tables([tmp_path / "people.xlsx"])
    assert [str(f) for f in found.problems] == [
        "people.xlsx sheet people & co cell C2: '#DIV/0!': shows an error. "
        "Correct the formula, or write the value."
    ]


def test_a_formula_counts_by_its_value(tmp_path: Path) -> None:
    with xlsxwriter.Workbook(tmp_path / "shots.xlsx") as book:
        sheet = book.add_worksheet("shots")
        sheet.write_row(0, 0, ["shot", "sequence", "frames"])
        sheet.write_row(1, 0, ["010-030", "010"])
        sheet.write_formula(1, 2, "=40+8", None, 48)
    plan = plan_load(read_tables([tmp_path / "shots.xlsx"]), film(tmp_path))
    assert [shot.length for shot in plan.batch.shots] == [48]


@WRITERS
def test_the_only_sheet_of_a_workbook_may_be_named_by_the_file(
    tmp_path: Path, write: Writer
) -> None:
    write(tmp_path / "people-2.xlsx", {"Sheet1": SHEETS["People"], "Sheet2": []})
    assert plan_load(read_tables([tmp_path / "people-2.xlsx"]), EMPTY).counts["people"].new == 2


@WRITERS
def test_a_workbook_without_a_table_is_refused(tmp_path: Path, write: Writer) -> None:
    write(tmp_path / "crew.xlsx", {"Sheet1": [["person"]], "Sheet2": [["shot"]]})
    (found,) = read_tables([tmp_path / "crew.xlsx"]).problems
    assert str(found).startswith(
        "crew.xlsx: none of its sheets names a table. Name a sheet after its table. "
        "The tables are people,"
    )


@pytest.mark.parametrize("keep", [0, 10, 500, 3000])
def test_a_damaged_workbook_is_refused_with_words(tmp_path: Path, keep: int) -> None:
    path = tmp_path / "people.xlsx"
    with_xlsxwriter(path, SHEETS)
    path.write_bytes(path.read_bytes()[:keep])
    (found,) = read_tables([path]).problems
    assert str(found) == (
        "people.xlsx: is not a workbook that can be read, or is damaged. Save it again as .xlsx."
    )


def test_a_hidden_sheet_that_is_no_table_is_left_out_by_name(tmp_path: Path) -> None:
    with xlsxwriter.Workbook(tmp_path / "day.xlsx") as book:
        book.add_worksheet("people").write_row(0, 0, ["person", "credit_name"])
        hidden = book.add_worksheet("lists")
        hidden.write_row(0, 0, ["ana", "ben"])
        hidden.hide()
    tables = read_tables([tmp_path / "day.xlsx"])
    assert tables.problems == []
    assert [str(f) for f in tables.left_out] == [
        "day.xlsx sheet lists: is hidden, and its name says no table, so it is left out."
    ]


@settings(max_examples=drawn(60), deadline=None)
@given(at=st.floats(0, 1, exclude_max=True), byte=st.integers(0, 255), data=st.data())
def test_a_workbook_with_any_byte_changed_is_read_or_refused_with_words(
    at: float, byte: int, data: st.DataObject, tmp_path_factory: pytest.TempPathFactory
) -> None:
    path = tmp_path_factory.mktemp("damaged") / "people.xlsx"
    data.draw(st.sampled_from([with_xlsxwriter, with_openpyxl]))(path, SHEETS)
    changed = bytearray(path.read_bytes())
    changed[int(at * len(changed))] = byte
    path.write_bytes(changed)
    plan = plan_load(read_tables([path]), EMPTY)
    assert all(str(problem).startswith("people.xlsx") for problem in plan.problems)


def test_formulas_that_were_never_computed_are_a_problem_and_not_empty_cells(
    tmp_path: Path,
) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "shots"
    sheet.append(["shot", "sequence", "frames", "description"])
    for row in range(2, 15):
        sheet.append([f"010-{row}", "010", 24 if row in (4, 9) else "=20+4", None])
    sheet["D3"] = "=A3"
    book.save(tmp_path / "shots.xlsx")
    found = read_tables([tmp_path / "shots.xlsx"])
    assert [str(f) for f in found.problems] == [
        "shots.xlsx sheet shots rows 2-3, 5-8 and 10-14: column C: holds a formula that was never "
        "computed. Open the file, save it, and load it again.",
        "shots.xlsx sheet shots cell D3: holds a formula that was never computed. "
        "Open the file, save it, and load it again.",
    ]
    assert plan_load(found, film(tmp_path)).problems != ()


@pytest.mark.parametrize("cell", ["XFD1048576", "GS1", "CV1048576"])
def test_one_cell_far_away_is_refused_before_it_fills_the_memory(tmp_path: Path, cell: str) -> None:
    book = openpyxl.Workbook()
    book.active.title = "people"
    book.active.append(["person", "credit_name"])
    book.create_sheet("remarks")[cell] = "far"
    book.active[cell] = "far"
    book.save(tmp_path / "people.xlsx")
    assert (tmp_path / "people.xlsx").stat().st_size < 10_000
    found = read_tables([tmp_path / "people.xlsx"])
    (problem,), (left_out,) = found.problems, found.left_out
    assert str(problem).startswith("people.xlsx sheet people: has a cell in ")
    assert str(left_out).startswith("people.xlsx sheet remarks: has a cell in ")


def test_formats_far_away_without_a_value_are_no_cells(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    book.active.title = "people"
    book.active.append(["person", "credit_name"])
    book.active["XFD1048576"].number_format = "0.00"
    book.save(tmp_path / "people.xlsx")
    found = read_tables([tmp_path / "people.xlsx"])
    assert (found.problems, found.sheets[0].header) == ([], ("person", "credit_name"))


def test_a_long_sheet_of_many_columns_is_read(tmp_path: Path) -> None:
    with xlsxwriter.Workbook(tmp_path / "people.xlsx", {"constant_memory": True}) as book:
        sheet = book.add_worksheet("people")
        sheet.write_row(0, 0, ["person", "credit_name"])
        for row in range(1, 60_000):
            sheet.write_row(row, 0, [f"p{row}", "Somebody"])
    found = read_tables([tmp_path / "people.xlsx"])
    assert (found.problems, len(found.sheets[0].cells)) == ([], 59_999)


def test_a_workbook_that_unpacks_to_very_much_is_refused_unopened(tmp_path: Path) -> None:
    with_xlsxwriter(tmp_path / "people.xlsx", SHEETS)
    with (
        zipfile.ZipFile(tmp_path / "people.xlsx", "a", zipfile.ZIP_DEFLATED) as packed,
        packed.open("xl/more.xml", "w") as member,
    ):
        for _ in range(210):
            member.write(bytes(1_000_000))
    assert (tmp_path / "people.xlsx").stat().st_size < 1_000_000
    assert [str(f) for f in read_tables([tmp_path / "people.xlsx"]).problems] == [
        "people.xlsx: unpacks to 210 MB, too much to be read. "
        "Keep in it the rows that are to be loaded, or load it in several files."
    ]


def test_a_chart_is_left_out_by_name(tmp_path: Path) -> None:
    with xlsxwriter.Workbook(tmp_path / "people.xlsx") as book:
        book.add_worksheet("people").write_row(0, 0, ["person", "credit_name"])
        chart = book.add_chart({"type": "bar"})
        chart.add_series({"values": "=people!$A$1:$A$2"})
        book.add_chartsheet("Week").set_chart(chart)
    assert [str(f) for f in read_tables([tmp_path / "people.xlsx"]).left_out] == [
        "people.xlsx sheet Week: is no sheet of cells."
    ]


def test_cells_of_a_column_or_a_title_that_is_left_out_may_show_errors(tmp_path: Path) -> None:
    with xlsxwriter.Workbook(tmp_path / "people.xlsx") as book:
        sheet = book.add_worksheet("people")
        sheet.write_formula(0, 1, "=NOW()", None, "#NAME?")
        sheet.write_row(1, 0, ["person", "credit_name", "shoe size"])
        sheet.write_row(2, 0, ["ana", "Ana"])
        sheet.write_formula(2, 2, "=1/0", None, "#DIV/0!")
    words = SheetWords(columns={"shoe_size": ("left out",)})
    assert read_tables([tmp_path / "people.xlsx"], words=words).problems == []
    (found,) = read_tables([tmp_path / "people.xlsx"]).problems
    assert str(found).startswith("people.xlsx sheet people cell C3: '#DIV/0!': shows an error.")


def test_a_workbook_of_unknown_sheets_is_answered_with_the_lines_to_write(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    book.active.title = "Log A"
    book.active.append(["Week 10"])
    book.active.append(["Date", "Animator", "Scene", "Frames", "Hours"])
    book.create_sheet("Crew").append(["Person", "Credit name"])
    book.save(tmp_path / "stage.xlsx")
    (found,) = read_tables([tmp_path / "stage.xlsx"]).problems
    assert '[sheets] in production.toml: "Log A" = "entries" and Crew = "people".' in str(found)
