"""A small film for day sheets, and sheets filled in as people do: by openpyxl, by LibreOffice."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Mapping
from pathlib import Path
from xml.sax.saxutils import escape

import openpyxl
import pytest
from openpyxl.worksheet.worksheet import Worksheet

from credits.model.facts import Work
from credits.model.log import LogLine
from credits.model.replay import current_lines
from credits.store.log import open_log

# Yesterday is Wednesday 4 March 2026; the sheets are for Thursday 5 March.
FILM = {
    "people": """
        person,credit_name
        ana,Ana Lind
        ben1,Ben Moss
        ben2,Ben Moss
        zoe,Zoë Ødegård
        evil,"=HYPERLINK(""http://x"",""<script>"")"
    """,
    "characters": """
        character,name
        wick,The Wick
        brine,Brine
    """,
    "puppets": """
        puppet,character,copy
        wick-1,wick,1
        wick-2,wick,2
        brine-1,brine,1
    """,
    "sequences": """
        sequence
        010
    """,
    "shots": """
        shot,sequence,frames,status
        010-020,010,60,shooting
        010-030,010,48,planned
        10-12,010,24,done
    """,
    "stages": """
        stage
        A
        B
    """,
    "entries": """
        craft,person,character,puppet,shot,take,frames,poses_on,finished_on,minutes,stage,private
        animation,ana,wick,wick-1,010-020,2,1-30,2,2026-03-04,480,A,
        repair,zoe,,wick-1,010-020,2,,,2026-03-04,30,A,yes
        paint,zoe,,wick-2,,,,,2026-03-04,300,,
        animation,ana,brine,brine-1,010-030,1,1-12,1,2026-03-05,200,A,yes
    """,
}


def standing(folder: Path) -> list[LogLine]:
    """The lines by which the entries of a production stand, in the order of the entries."""
    with open_log(folder) as log:
        return [holds for _, holds in current_lines(log.read().lines)[0]]


def works(folder: Path) -> list[Work]:
    """What the entries of a production say now, in their order."""
    return [line.work for line in standing(folder) if line.work is not None]


class FilledSheet:
    """A day sheet in the hands of somebody with a spreadsheet program."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.book = openpyxl.load_workbook(path)
        self.sheet: Worksheet = self.book.worksheets[0]
        self.names_row = next(row for row in range(1, 12) if self.sheet.cell(row, 1).value == "ref")
        self.letters = {
            cell.value: cell.column_letter for cell in self.sheet[self.names_row] if cell.value
        }

    @property
    def first_row(self) -> int:
        """The first row below the headings."""
        return self.names_row + 2

    def row(self, number: int) -> dict[str, object]:
        """What a row shows, by column; empty cells left out."""
        cells = {name: self.sheet[f"{at}{number}"].value for name, at in self.letters.items()}
        return {
            name: value
            for name, value in cells.items()
            if value not in (None, "") and name not in ("ref", "printed")
        }

    def rows(self) -> list[dict[str, object]]:
        """All rows that show something."""
        found = (self.row(at) for at in range(self.first_row, self.sheet.max_row + 1))
        return [row for row in found if row]

    def place(self, number: int, column: str) -> str:
        """The cell of a column in a row of the sheet."""
        return f"{self.letters[column]}{number}"

    def fill(self, number: int, **cells: object) -> None:
        """Write into a row; None empties a cell. Texts stay texts."""
        for column, value in cells.items():
            cell = self.sheet[self.place(number, column)]
            cell.value = value
            if isinstance(value, str):
                cell.data_type = "s"

    def empty(self, number: int) -> None:
        """Take everything out of a row that people can see."""
        for column in self.letters:
            if column not in ("ref", "printed"):
                self.fill(number, **{column: None})

    def copy_row(self, source: int, target: int) -> None:
        """Copy a whole row over another, hidden cells too."""
        for at in range(1, self.sheet.max_column + 1):
            original, copy = self.sheet.cell(source, at), self.sheet.cell(target, at)
            copy.value = original.value
            copy.data_type = original.data_type  # a key is a text, however it begins

    def save(self, name: str | None = None) -> Path:
        """Save it, perhaps under another name."""
        path = self.path.with_name(name) if name else self.path
        self.book.save(path)
        return path


def office() -> str:
    """The program of LibreOffice. A test that needs it fails where there is none."""
    for name in filter(None, (os.environ.get("CREDITS_OFFICE"), "soffice", "libreoffice")):
        found = shutil.which(name)
        if found:
            return found
    pytest.fail("LibreOffice is needed: bash .ci/office.sh brings it")


_LIBRARY = """<?xml version="1.0" encoding="UTF-8"?>
<!DOCTYPE library:library PUBLIC "-//OpenOffice.org//DTD OfficeDocument 1.0//EN" "library.dtd">
<library:library xmlns:library="http://openoffice.org/2000/library" library:name="Standard"
 library:readonly="false" library:passwordprotected="false"><library:element library:name="Day"/>
</library:library>"""
_MODULE = """<?xml version="1.0" encoding="UTF-8"?>
<!DOCTYPE script:module PUBLIC "-//OpenOffice.org//DTD OfficeDocument 1.0//EN" "module.dtd">
<script:module xmlns:script="http://openoffice.org/2000/script" script:name="Day"
 script:language="StarBasic">{0}</script:module>"""
_MACRO = """
Sub Fill
  Dim opened(0) As New com.sun.star.beans.PropertyValue
  opened(0).Name = "Hidden"
  opened(0).Value = True
  book = StarDesktop.loadComponentFromURL("{source}", "_blank", 0, opened())
  sheet = book.Sheets.getByIndex(0)
{typing}
  Dim saved(0) As New com.sun.star.beans.PropertyValue
  saved(0).Name = "FilterName"
  saved(0).Value = "Calc MS Excel 2007 XML"
  book.storeToURL("{target}", saved())
  book.close(True)
End Sub
"""


def fill_in_with_office(source: Path, target: Path, typed: Mapping[str, str], home: Path) -> None:
    """Open a workbook in LibreOffice, type into cells of its first sheet, save it as .xlsx.

    typed: by cell what is typed, as at the keyboard: the cell's format decides what it becomes.
    home: a folder for the program's own settings.
    """
    quoted = {cell: text.replace('"', '""') for cell, text in typed.items()}
    typing = "\n".join(
        f'  sheet.getCellRangeByName("{cell}").FormulaLocal = "{text}"'
        for cell, text in quoted.items()
    )
    macro = _MACRO.format(source=source.as_uri(), target=target.as_uri(), typing=typing)
    basic = home / "user" / "basic" / "Standard"
    if not basic.is_dir():
        # The first start makes the folder of settings; what is in it before, it overwrites.
        _run_office(home, "--terminate_after_init")
    (basic / "script.xlb").write_text(_LIBRARY, "utf-8")
    (basic / "Day.xba").write_text(_MODULE.format(escape(macro)), "utf-8")
    said = _run_office(home, "macro:///Standard.Day.Fill")
    assert target.exists(), said


def _run_office(home: Path, *words: str) -> str:
    call = [office(), f"-env:UserInstallation={home.as_uri()}", "--headless", "--norestore", *words]
    done = subprocess.run(call, capture_output=True, timeout=180, check=False)
    return done.stderr.decode()


def as_pdf(source: Path, folder: Path, home: Path) -> Path:
    """Print a workbook to a PDF file, as LibreOffice does."""
    said = _run_office(home, "--convert-to", "pdf", "--outdir", str(folder), str(source))
    made = folder / f"{source.stem}.pdf"
    assert made.exists(), said
    return made
