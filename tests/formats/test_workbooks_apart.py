"""Workbooks are read in a process of their own: the same values, whatever becomes of it."""

from __future__ import annotations

import zipfile
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any

import pytest
import python_calamine as calamine
import xlsxwriter
import xlwt
from hypothesis import example, given, settings
from hypothesis import strategies as st

from credits import apart
from credits.cli.main import run
from credits.formats.tables import workbooks
from credits.formats.tables.faces import plan_face_sheet
from credits.formats.tables.sheets import read_tables
from credits.formats.tables.workbook_values import lines
from credits.formats.tables.workbooks import read_workbook
from credits.store.log import open_log
from tests.drawn import drawn
from tests.productions import production_from, written_tables

DAMAGED = "is not a workbook that can be read, or is damaged"
STOPPED = "was not read to its end: the system, or somebody, stopped the reading"
TOO_LARGE = "takes more than 500 MB of memory to read: it is very large, or damaged"
TOO_LONG = "takes more than 10 seconds to read: it is very large, or damaged"
HARM = {
    "killed": STOPPED,
    "asked to end": STOPPED,
    "aborted": DAMAGED,
    "out of bounds": DAMAGED,
    "raised": DAMAGED,
    "left": DAMAGED,
    "no memory": TOO_LARGE,
    "no memory for a library": TOO_LARGE,
    "never ready": TOO_LONG,
    "asleep": TOO_LONG,
}


@pytest.fixture
def harmful(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(workbooks, "READER", "harmful_reader")


@pytest.fixture
def film(tmp_path: Path) -> Path:
    tables = written_tables(tmp_path / "tables", {"people": "person,credit_name\nzoe,Zoe"})
    return production_from(tmp_path / "film", [tables])


def hurried(monkeypatch: pytest.MonkeyPatch, harm: str) -> None:
    """Have it wait one second of work, or less by the clock."""
    monkeypatch.setattr(apart, "SECONDS", 1)
    monkeypatch.setattr(apart, "PATIENCE", 0.3 if harm == "asleep" else 60)


@pytest.mark.usefixtures("harmful")
@pytest.mark.parametrize("harm", HARM)
def test_whatever_ends_the_reading_is_said_and_nothing_is_written(
    harm: str,
    film: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capfd: pytest.CaptureFixture[str],
) -> None:
    if HARM[harm] == TOO_LONG:
        hurried(monkeypatch, harm)
    path = tmp_path / f"{harm}.xlsx"
    path.write_bytes(b"PK")
    more = written_tables(tmp_path / "more", {"characters": "character,name\nwick,Wick"})
    assert run(["load", str(path), str(more), "--production", str(film)]) == 1
    said = " ".join("".join(capfd.readouterr()).split())
    assert f"{harm}.xlsx: {HARM[harm]}. " in said
    assert "Traceback" not in said
    with open_log(film) as log:
        assert [person.code for person in log.read().people] == ["zoe"]
        assert log.read().characters == ()


@pytest.mark.usefixtures("harmful")
def test_a_face_sheet_whose_reading_is_ended_is_said_too(tmp_path: Path) -> None:
    (tmp_path / "aborted.xlsx").write_bytes(b"PK")
    tables = {"sequences": "sequence\n010", "shots": "shot,sequence,frames\n010-020,010,24"}
    film = production_from(tmp_path / "film", [written_tables(tmp_path / "tables", tables)])
    with open_log(film) as log:
        plan = plan_face_sheet(tmp_path / "aborted.xlsx", "010-020", log.read())
    assert [found.what for found in plan.problems] == [DAMAGED]


@pytest.mark.usefixtures("harmful")
def test_whoever_reads_has_so_much_time_and_room_and_leaves_no_core_behind(tmp_path: Path) -> None:
    path = tmp_path / "bounds.xlsx"
    path.write_bytes(b"PK")
    assert read_workbook(path)[0].rows[-1] == ("10", "500000000", "0")


def test_where_no_process_can_be_begun_it_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.executable", str(tmp_path / "no such program"))
    (tmp_path / "people.xlsx").write_bytes(b"PK")
    assert [str(found) for found in read_tables([tmp_path / "people.xlsx"]).problems] == [
        "people.xlsx: cannot be read: the system began no other process for it. "
        "Close other programs and try again."
    ]


def test_workbooks_are_read_in_several_threads_at_once(tmp_path: Path) -> None:
    """As at the desk."""
    paths = [tmp_path / f"{number}.xlsx" for number in range(6)]
    for number, path in enumerate(paths):
        with xlsxwriter.Workbook(path) as book:
            book.add_worksheet("people").write_row(0, 0, ["person", f"p{number}"])
    with ThreadPoolExecutor(6) as threads:
        read = list(threads.map(read_workbook, paths))
    assert [sheets[0].rows for sheets in read] == [(("person", f"p{n}"),) for n in range(6)]


def test_a_workbook_of_any_name_is_read(tmp_path: Path) -> None:
    for name in ("-c", "葉桜 '\"", "a\nb", "👩‍👩‍👧" * 5):
        path = tmp_path / f"{name}.xlsx"
        with xlsxwriter.Workbook(path) as book:
            book.add_worksheet("people").write(0, 0, name)
        assert read_workbook(path)[0].rows == ((name,),)


# --- What is handed over


@dataclass(frozen=True)
class Wrong:
    """A cell that shows this error."""

    shown: str


WORDS = st.text(st.characters(exclude_categories=("Cc", "Cs", "Co", "Cn")), max_size=12)
DAYS = st.dates(date(1900, 3, 1), date(2400, 1, 1))
CELLS = st.one_of(
    st.none(),
    WORDS.filter(lambda text: text == text.strip() and not text.startswith(("=", "{", "http"))),
    st.sampled_from(["", "=cmd()", "<script>", '"', "\u202eרשא", "\u2028", "x" * 200]),
    st.integers(-(10**14), 10**14),
    st.floats(-1e9, 1e9).filter(lambda number: number == 0 or abs(number) > 1e-9),
    st.booleans(),
    DAYS,
    st.datetimes(datetime(1900, 3, 1), datetime(2400, 1, 1)).map(
        lambda moment: moment.replace(microsecond=0)
    ),
    st.times().map(lambda clock: clock.replace(microsecond=0)),
    st.timedeltas(timedelta(), timedelta(days=40)).map(
        lambda length: timedelta(seconds=length // timedelta(seconds=1))
    ),
    st.sampled_from([Wrong("#DIV/0!"), Wrong("#N/A"), Wrong("#REF!")]),
)
SHEET = st.lists(st.lists(CELLS, min_size=1, max_size=6), max_size=6)
EVERY_KIND: list[list[Any]] = [
    [],
    [None, "a text", 7, -1.5, True, False, date(2026, 3, 2), datetime(2026, 3, 2, 9, 30)],
    [time(8, 30), timedelta(hours=30, seconds=5), Wrong("#DIV/0!"), "", 10**14, 0.1],
]


def as_xlsx(path: Path, rows: Sequence[Sequence[Any]]) -> None:
    with xlsxwriter.Workbook(path, {"strings_to_urls": False}) as book:
        sheet = book.add_worksheet("people")
        formats = {
            kind: book.add_format({"num_format": shown})
            for kind, shown in ((date, "yyyy-mm-dd"), (time, "hh:mm:ss"), (timedelta, "[h]:mm:ss"))
        }
        for at, row in enumerate(rows):
            for column, cell in enumerate(row):
                if isinstance(cell, Wrong):
                    sheet.write_formula(at, column, "=1/0", None, cell.shown)
                elif isinstance(cell, str):
                    sheet.write_string(at, column, cell)
                elif isinstance(cell, date):
                    sheet.write_datetime(at, column, cell, formats[date])
                elif isinstance(cell, time | timedelta):
                    sheet.write_datetime(at, column, cell, formats[type(cell)])
                elif cell is not None:
                    sheet.write(at, column, cell)


def as_xls(path: Path, rows: Sequence[Sequence[Any]]) -> None:
    book = xlwt.Workbook()
    sheet = book.add_sheet("people")
    day = xlwt.easyxf(num_format_str="yyyy-mm-dd")
    for at, row in enumerate(rows):
        for column, cell in enumerate(row):
            if isinstance(cell, Wrong):
                sheet.row(at).set_cell_error(column, cell.shown.replace("#N/A", "#N/A!"))
            elif isinstance(cell, date):
                sheet.write(at, column, cell, day)
            elif cell is not None and not isinstance(cell, time | timedelta):
                sheet.write(at, column, cell)
    book.save(str(path))


OASIS = "urn:oasis:names:tc:opendocument:xmlns"


def as_ods(path: Path, rows: Sequence[Sequence[Any]]) -> None:
    spaces = "".join(f' xmlns:{name}="{OASIS}:{name}:1.0"' for name in ("office", "table", "text"))
    table = "".join(
        f"<table:table-row>{''.join(map(_ods_cell, row)) or _ods_cell(None)}</table:table-row>"
        for row in rows
    )
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        packed.writestr("META-INF/manifest.xml", "<manifest/>")
        sheet = f'<table:table table:name="people">{table}</table:table>'
        within = f"<office:body><office:spreadsheet>{sheet}</office:spreadsheet></office:body>"
        packed.writestr(
            "content.xml", f"<office:document-content{spaces}>{within}</office:document-content>"
        )


def _ods_cell(cell: Any) -> str:
    """A cell as OpenDocument 1.3 part 3, 19.385 has it; other kinds than these are empty."""
    match cell:
        case bool():
            said = f'office:value-type="boolean" office:boolean-value="{str(cell).lower()}"'
        case int() | float():
            said = f'office:value-type="float" office:value="{cell!r}"'
        case date():
            said = f'office:value-type="date" office:date-value="{cell.isoformat()}"'
        case timedelta():
            hours, seconds = divmod(int(cell.total_seconds()), 3600)
            length = f"PT{hours:02}H{seconds // 60:02}M{seconds % 60:02}S"
            said = f'office:value-type="time" office:time-value="{length}"'
        case Wrong():
            return (
                '<table:table-cell office:value-type="string" xmlns:calcext="urn:org:'
                'documentfoundation:names:experimental:calc:xmlns:calcext:1.0" '
                f'calcext:value-type="error"><text:p>{cell.shown}</text:p></table:table-cell>'
            )
        case str() if cell.isalnum():
            text = f"<text:p>{cell}</text:p>"
            return f'<table:table-cell office:value-type="string">{text}</table:table-cell>'
        case _:
            return "<table:table-cell/>"
    return f"<table:table-cell {said}/>"


def in_this_process(path: Path) -> Iterator[tuple[object, ...]]:
    """The rows of the first sheet, as the library gives them, by the rule of each kind of value."""
    with calamine.CalamineWorkbook.from_path(path) as book:
        for row in book.get_sheet_by_index(0).to_python(skip_empty_area=False):
            yield tuple(map(as_read, row))


def as_read(value: object) -> object:
    match value:
        case bool():
            return "yes" if value else "no"
        case int() | float():
            return str(int(value)) if value == int(value) else repr(value)
        case datetime():
            return value.date()
        case date():
            return value
        case time():
            return value.isoformat()
        case timedelta():
            seconds = int(value.total_seconds())
            return f"{seconds // 3600}:{seconds // 60 % 60:02}:{seconds % 60:02}"
    text = str(value).strip()
    return text.strip("\ufeff\u200b \t\r\n\xa0")


@pytest.mark.parametrize(("ending", "write"), [("xlsx", as_xlsx), ("ods", as_ods), ("xls", as_xls)])
def test_values_read_apart_are_those_read_in_this_process(
    ending: str, write: Any, tmp_path_factory: pytest.TempPathFactory
) -> None:
    @settings(max_examples=drawn(60) // 3, deadline=None)
    @given(rows=SHEET)
    @example(rows=EVERY_KIND)
    def law(rows: list[list[Any]]) -> None:
        path = tmp_path_factory.mktemp("read") / f"people.{ending}"
        write(path, rows)
        (sheet,) = read_workbook(path)
        assert sheet.rows == tuple(in_this_process(path))
        shown = {(f.value, row) for f in sheet.findings for row in f.place.rows}
        assert shown == {
            (cell.shown, at)
            for at, row in enumerate(rows, 1)
            for cell in row
            if isinstance(cell, Wrong)
        }

    law()


def test_every_kind_of_cell_is_handed_over(tmp_path: Path) -> None:
    as_xlsx(tmp_path / "people.xlsx", EVERY_KIND)
    (sheet,) = read_workbook(tmp_path / "people.xlsx")
    assert sheet.rows[1:] == (
        ("", "a text", "7", "-1.5", "yes", "no", date(2026, 3, 2), date(2026, 3, 2)),
        ("08:30:00", "30:00:05", "", "", "100000000000000", "0.1", "", ""),
    )


def test_a_long_sheet_is_handed_over_in_stretches(tmp_path: Path) -> None:
    rows = [[number, "x"] for number in range(2_500)]
    as_xlsx(tmp_path / "people.xlsx", rows)
    kinds = [kind for kind, *_ in lines(tmp_path / "people.xlsx")]
    assert kinds == ["sheet", "rows", "rows", "rows", "end"]
    (sheet,) = read_workbook(tmp_path / "people.xlsx")
    assert sheet.rows == tuple((str(number), "x") for number, _ in rows)
