"""Workbooks of other programs: .ods and .xls, written by LibreOffice and by a library of .xls."""

from __future__ import annotations

import re
import subprocess
import zipfile
from datetime import date, datetime
from fractions import Fraction
from pathlib import Path

import pytest
import xlsxwriter
import xlwt
from filled_sheets import office
from given_tables import film
from hypothesis import given, settings
from hypothesis import strategies as st

from credits.formats.tables.load import plan_load
from credits.formats.tables.sheets import read_tables
from tests.conftest import made_once
from tests.drawn import drawn


def week(path: Path) -> Path:
    """A stage's week: a title, per cent, a length of time, real dates, a hidden list."""
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet("entries A")
        sheet.write(0, 0, "Stage A, week 10")
        sheet.write_row(
            2, 0, ["craft", "person", "character", "shot", "share", "minutes", "finished_on"]
        )
        day = book.add_format({"num_format": "d mmm yyyy"})
        clock = book.add_format({"num_format": "h:mm"})
        percent = book.add_format({"num_format": "0 %"})
        for at in (3, 4):
            sheet.write_row(at, 0, ["animation", "ana", "wick", "010-020"])
            sheet.write_number(at, 4, 0.5, percent)
            sheet.write_datetime(at, 5, datetime(1900, 1, 1, 8, 30).time(), clock)
            sheet.write_datetime(at, 6, date(2026, 3, at - 1), day)
        hidden = book.add_worksheet("names")
        hidden.write(0, 0, "ana")
        hidden.hide()
        book.add_worksheet("Sheet3")
    return path


def of_errors(path: Path) -> Path:
    """People whose cells show errors."""
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet("people")
        sheet.write_row(0, 0, ["person", "credit_name", "note", "email"])
        for row in (1, 2, 3):
            sheet.write_row(row, 0, [f"p{row}", "Somebody"])
            sheet.write_formula(row, 2, "=1/0", None, "#DIV/0!")
        sheet.write_formula(4, 3, "=NA()", None, "#N/A")
        sheet.write_formula(5, 3, '=""', None, "")
    return path


OLDER = ("ods", "xls")


@pytest.fixture(scope="module")
def saved(shared_folder: Path) -> Path:
    """The folder of both workbooks, and of them as LibreOffice saves them under other endings."""

    def make(folder: Path) -> None:
        folder.mkdir()
        paths = [week(folder / "week.xlsx"), of_errors(folder / "people.xlsx")]
        profile = (folder / "profile").as_uri()
        for ending in OLDER:
            words = ["--headless", f"-env:UserInstallation={profile}", "--convert-to", ending]
            call = [office(), *words, "--outdir", folder, *paths]
            subprocess.run(call, check=True, capture_output=True, timeout=120)

    return made_once(shared_folder / "older-workbooks", make)


@pytest.mark.office
@pytest.mark.parametrize("ending", ["xlsx", *OLDER])
def test_a_workbook_means_the_same_whatever_program_keeps_it(
    saved: Path, tmp_path: Path, ending: str
) -> None:
    tables = read_tables([saved / f"week.{ending}"])
    plan = plan_load(tables, film(tmp_path))
    assert plan.problems == ()
    works = [line.work for line in plan.batch.lines if line.work]
    assert [work.finished_on for work in works] == [date(2026, 3, 2), date(2026, 3, 3)]
    assert {(work.share, work.minutes) for work in works} == {(Fraction(1, 2), 510)}
    assert [str(f) for f in tables.left_out] == [
        f"week.{ending} sheet entries A row 1: 'Stage A, week 10': "
        "stands above the header, so it is left out.",
        f"week.{ending} sheet names: is hidden, and its name says no table, so it is left out.",
        f"week.{ending} sheet Sheet3: is empty.",
    ]


@pytest.mark.office
@pytest.mark.parametrize("ending", OLDER)
def test_a_cell_that_shows_an_error_is_a_problem_in_every_kind_of_workbook(
    saved: Path, ending: str
) -> None:
    found = read_tables([saved / f"people.{ending}"])
    assert [str(f) for f in found.problems] == [
        f"people.{ending} sheet people rows 2-4: column C '#DIV/0!': shows an error. "
        "Correct the formula, or write the value.",
        f"people.{ending} sheet people cell D5: '#N/A': shows an error. "
        "Correct the formula, or write the value.",
    ]


ERROR = "#DIV/0!"


def xls(path: Path, **sheets: list[list[object]]) -> Path:
    book = xlwt.Workbook()
    for name, rows in sheets.items():
        sheet = book.add_sheet(name)
        for row, cells in enumerate(rows):
            for column, cell in enumerate(cells):
                if cell == ERROR:
                    sheet.row(row).set_cell_error(column, ERROR)
                else:
                    sheet.write(row, column, cell)
    book.save(str(path))
    return path


def test_a_large_xls_is_read_to_its_last_row(tmp_path: Path) -> None:
    rows: list[list[object]] = [["shot", "sequence", "frames", "description"]]
    rows += [[f"010-{at:05}", "010", 24, "x" * 60] for at in range(20_000)]
    rows.append(["010-020", "010", 24, ERROR])
    found = read_tables([xls(tmp_path / "shots.xls", remarks=[["", ERROR]], shots=rows)])
    assert len(found.sheets[0].cells) == 20_001
    assert [str(f).split(". ")[0] for f in found.problems] == [
        "shots.xls sheet shots cell D20002: '#DIV/0!': shows an error"
    ]


CONTENT = """\
<office:document-content
 xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0"
 xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0"
 xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0" office:version="1.3">
<office:body><office:spreadsheet><table:table table:name="people">{rows}</table:table>
</office:spreadsheet></office:body></office:document-content>
"""
HEADER = """<table:table-row>
<table:table-cell office:value-type="string"><text:p>person</text:p></table:table-cell>
<table:table-cell office:value-type="string"><text:p>credit_name</text:p></table:table-cell>
</table:table-row>"""


def ods(path: Path, rows: str) -> Path:
    with zipfile.ZipFile(path, "w") as packed:
        kind = "application/vnd.oasis.opendocument.spreadsheet"
        packed.writestr("mimetype", kind)
        content = CONTENT.format(rows=HEADER + rows)
        packed.writestr("content.xml", re.sub(r">\s+<", "><", content))
        packed.writestr("META-INF/manifest.xml", "<manifest/>")
    return path


def test_a_formula_of_an_ods_that_was_never_computed_is_a_problem(tmp_path: Path) -> None:
    rows = """<table:table-row table:number-rows-repeated="2"/><table:table-row>
    <table:table-cell office:value-type="string"><text:p>ana</text:p></table:table-cell>
    <table:table-cell table:formula="of:=[.A1]"/></table:table-row>"""
    assert [str(f) for f in read_tables([ods(tmp_path / "people.ods", rows)]).problems] == [
        "people.ods sheet people cell B4: holds a formula that was never computed. "
        "Open the file, save it, and load it again."
    ]


def test_a_cell_far_down_an_ods_is_refused_before_it_fills_the_memory(tmp_path: Path) -> None:
    rows = """<table:table-row table:number-rows-repeated="1048000"/><table:table-row>
    <table:table-cell table:number-columns-repeated="150"/>
    <table:table-cell office:value-type="string"><text:p>x</text:p></table:table-cell>
    </table:table-row>"""
    assert [str(f) for f in read_tables([ods(tmp_path / "people.ods", rows)]).problems] == [
        "people.ods: sheet people has a cell in row 1048002, column 151, too far to be read. "
        "Keep in it the rows that are to be loaded, or load it in several files."
    ]


def test_repeated_empty_cells_at_the_end_of_an_ods_are_no_cells(tmp_path: Path) -> None:
    rows = """<table:table-row>
    <table:table-cell office:value-type="string"><text:p>ana</text:p></table:table-cell>
    <table:table-cell office:value-type="string"><text:p>Ana</text:p></table:table-cell>
    <table:table-cell table:number-columns-repeated="16382"/></table:table-row>
    <table:table-row table:number-rows-repeated="1048574">
    <table:table-cell table:number-columns-repeated="16384"/></table:table-row>"""
    found = read_tables([ods(tmp_path / "people.ods", rows)])
    assert found.problems == []
    assert found.sheets[0].cells == (("ana", "Ana"),)


def test_a_locked_ods_is_said_to_be_locked(tmp_path: Path) -> None:
    with zipfile.ZipFile(tmp_path / "people.ods", "w") as packed:
        packed.writestr("content.xml", b"\x00\x01")
        packed.writestr("META-INF/manifest.xml", "<manifest:encryption-data/>")
    assert [str(f) for f in read_tables([tmp_path / "people.ods"]).problems] == [
        "people.ods: is protected by a password. Save it without one."
    ]


@pytest.mark.parametrize(
    ("at", "byte"), [(666, 0), (1424, 255), (1474, 255), (1574, 255), (1577, 127), (1581, 255)]
)
def test_a_damaged_xls_never_ends_the_process(tmp_path: Path, at: int, byte: int) -> None:
    """With these bytes the reader of workbooks aborts, or panics."""
    path = tmp_path / "people.xls"
    xls(path, people=[["person", "credit_name"], ["ana", ERROR]])
    changed = bytearray(path.read_bytes())
    changed[at] = byte
    path.write_bytes(changed)
    (found,) = read_tables([path]).problems
    assert found.what in (
        "is not a workbook that can be read, or is damaged",
        "takes more than 500 MB of memory to read: it is very large, or damaged",
    )
    assert found.hint.startswith("Save it again as .xlsx")


@settings(max_examples=drawn(60), deadline=None)
@given(at=st.floats(0, 1, exclude_max=True), byte=st.integers(0, 255))
def test_an_xls_with_any_byte_changed_is_read_or_refused_with_words(
    at: float, byte: int, tmp_path_factory: pytest.TempPathFactory
) -> None:
    path = tmp_path_factory.mktemp("damaged") / "people.xls"
    xls(path, people=[["person", "credit_name"], ["ana", ERROR]])
    changed = bytearray(path.read_bytes())
    changed[int(at * len(changed))] = byte
    path.write_bytes(changed)
    assert all(str(f).startswith("people.xls") for f in read_tables([path]).problems)
