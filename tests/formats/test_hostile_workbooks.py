"""Workbooks that say much more than their bytes hold: refused in words, at once, in little room."""

from __future__ import annotations

import tracemalloc
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from credits.formats.tables.sheets import Sheets, read_tables

SPREADSHEET = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
PACKAGE = "http://schemas.openxmlformats.org/package/2006/relationships"
TYPES = """<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">
<Default Extension="xml" ContentType="application/xml"/></Types>"""
OASIS = "urn:oasis:names:tc:opendocument:xmlns"
MOST_HELD = 150_000_000


def xlsx(path: Path, rows: str, strings: str = "") -> Path:
    """A workbook of one sheet, people, of these rows."""
    related = f'<Relationships xmlns="{PACKAGE}">{{}}</Relationships>'
    one = '<Relationship Id="r{}" Type="{}/{}" Target="{}"/>'
    book = f'<sheets><sheet name="people" sheetId="1" xmlns:r="{OFFICE}" r:id="r1"/></sheets>'
    inside = one.format(1, OFFICE, "worksheet", "worksheets/sheet1.xml")
    inside += one.format(2, OFFICE, "sharedStrings", "sharedStrings.xml")
    parts = {
        "[Content_Types].xml": TYPES,
        "_rels/.rels": related.format(one.format(1, OFFICE, "officeDocument", "xl/workbook.xml")),
        "xl/workbook.xml": f'<workbook xmlns="{SPREADSHEET}">{book}</workbook>',
        "xl/_rels/workbook.xml.rels": related.format(inside),
        "xl/sharedStrings.xml": f'<sst xmlns="{SPREADSHEET}">{strings}</sst>',
        "xl/worksheets/sheet1.xml": f'<worksheet xmlns="{SPREADSHEET}"><sheetData>{rows}'
        "</sheetData></worksheet>",
    }
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, content in parts.items():
            packed.writestr(name, content)
    return path


def ods(path: Path, rows: str) -> Path:
    """A workbook of one sheet, people, of these rows."""
    spaces = "".join(f' xmlns:{name}="{OASIS}:{name}:1.0"' for name in ("office", "table", "text"))
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        packed.writestr("META-INF/manifest.xml", "<manifest/>")
        sheet = f'<table:table table:name="people">{rows}</table:table>'
        within = f"<office:body><office:spreadsheet>{sheet}</office:spreadsheet></office:body>"
        content = f"<office:document-content{spaces}>{within}</office:document-content>"
        packed.writestr("content.xml", content)
    return path


def cell(at: str, text: str) -> str:
    return f'<c r="{at}" t="inlineStr"><is><t>{text}</t></is></c>'


HEADER = f'<row r="1">{cell("A1", "person")}{cell("B1", "credit_name")}</row>'
SHARED = "".join(
    f'<row r="{row}">'
    + "".join(f'<c r="{column}{row}" t="s"><v>0</v></c>' for column in "ABCDE")
    + "</row>"
    for row in range(1, 2_001)
)
ODS_CELL = (
    '<table:table-cell office:value-type="string" table:number-columns-repeated="{}">'
    "<text:p>{}</text:p></table:table-cell>"
)
ODS_ROW = '<table:table-row table:number-rows-repeated="{}">{}</table:table-row>'
BOOKS: dict[str, tuple[Callable[..., Path], tuple[str, ...], str]] = {
    "a cell far away": (
        xlsx, (f'{HEADER}<row r="50000">{cell("GQ50000", "x")}</row>',), "too far to be read"
    ),
    "a cell far down": (
        xlsx, (f'{HEADER}<row r="1048576">{cell("I1048576", "x")}</row>',), "too far to be read"
    ),
    "a cell far away in other quotes": (
        xlsx, (f"{HEADER}<row r='50000'><c r='GQ50000'><v>1</v></c></row>",), "too far to be read"
    ),
    "one text in all cells": (
        xlsx, (SHARED, f"<si><t>{'x' * 32_000}</t></si>"), "MB of text, too much to be read"
    ),
    "one text without end": (
        xlsx, (f'<row r="1">{cell("A1", "x" * 3_000_000)}</row>',), "a cell of more than"
    ),
    "a cell repeated": (ods, (ODS_ROW.format(50_000, ODS_CELL.format(200, "x")),), "too far"),
    "a text repeated": (
        ods, (ODS_ROW.format(10_000, ODS_CELL.format(10, "x" * 10_000)),), "MB of text"
    ),
    "repeated more than there are": (
        ods, (ODS_ROW.format("9" * 20, ODS_CELL.format("9" * 20, "x")),), "columns are read"
    ),
    "repeated less than once": (
        ods, (ODS_ROW.format(-5, ODS_CELL.format(-200, "x")),), "is damaged"
    ),
    "errors that are never closed": (
        xlsx, ('<row r="1">' + '<c r="A1" t="e">' * 100_000 + "</row>",), "is damaged"
    ),
    "formulas that are never closed": (
        xlsx, ('<row r="1">' + '<c r="A1"><f>1' * 100_000 + "</row>",), "is damaged"
    ),
    "elements that are never closed": (
        xlsx, (HEADER + '<row r="60000">' + '<c r="A1" ' * 100_000 + "<f></row>",), ""
    ),
    "one attribute again and again": (
        xlsx, ('<row r="60000"><c ' + 'r="A1" ' * 100_000 + "/><f></row>",), ""
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", BOOKS)
def test_a_small_file_takes_little_room(case: str, tmp_path: Path) -> None:
    make, parts, told = BOOKS[case]
    path = make(tmp_path / f"people.{make.__name__}", *parts)
    assert path.stat().st_size < 200_000
    tracemalloc.start()
    found = read_tables([path])
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    said = " ".join(map(str, [*found.problems, *found.left_out]))
    assert told in said
    assert most < MOST_HELD


def test_a_large_sheet_that_is_filled_is_read(tmp_path: Path) -> None:
    letters = "ABCDEFGHIJKLMNOPQRST"
    rows = "".join(
        f'<row r="{row}">'
        + "".join(f'<c r="{at}{row}"><v>{row}</v></c>' for at in letters)
        + "</row>"
        for row in range(2, 6_000)
    )
    found = read_tables([xlsx(tmp_path / "people.xlsx", HEADER + rows)])
    assert [len(sheet.cells) for sheet in found.sheets] == [5_998]


@pytest.mark.parametrize(
    ("rows", "told"),
    [
        ("person," * 3_000 + "\nana", "has 3000 columns; 200 are read"),
        (
            ",".join(["person", *"x" * 190]) + "\n" + "ana\n" * 60_000,
            "of which most rows fill a few",
        ),
    ],
)
def test_a_table_much_wider_than_its_rows_is_refused(rows: str, told: str, tmp_path: Path) -> None:
    (tmp_path / "people.csv").write_text(rows)
    found: Sheets = read_tables([tmp_path / "people.csv"])
    assert told in " ".join(map(str, found.problems))
    assert found.unread == {"people"}


def test_a_part_that_says_it_is_packed_into_more_than_the_file(tmp_path: Path) -> None:
    path = xlsx(tmp_path / "people.xlsx", f'<row r="1">{cell("A1", "person")}</row>')
    content = bytearray(path.read_bytes())
    at = content.index(b"PK\1\2")  # the first entry of the list at the end
    content[at + 20 : at + 24] = (0xF000_0000).to_bytes(4, "little")
    path.write_bytes(content)
    tracemalloc.start()
    found = read_tables([path])
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert "is not a workbook that can be read" in " ".join(map(str, found.problems))
    assert most < MOST_HELD
