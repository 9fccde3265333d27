"""A sheet that is dropped on the page."""

from __future__ import annotations

from pathlib import Path

import pytest
from openpyxl import Workbook

from tests.desk.conftest import Client, texts

ROWS = """\
craft,person,character,minutes,finished_on
paint,cai,wick,30,2026-03-05
paint,ben,wick,40,2026-03-05
"""


def load(client: Client, name: str, data: bytes | str, **asked: str) -> str:
    """What the page shows of a sheet."""
    answer = client.http.post("/load", params={"name": name, **asked}, content=data)
    assert answer.status_code == 200, answer.text
    return str(answer.json()["html"])


def test_first_it_is_said_what_would_be_written_then_it_is_written(client: Client) -> None:
    said = texts(load(client, "entries-paint.csv", ROWS))
    assert "Nothing is written yet" in said
    assert "entries 2 0 0" in said
    assert len(client.lines) == 4
    assert "Written." in load(client, "entries-paint.csv", ROWS, write="1")
    assert len(client.lines) == 6
    assert "Nothing new" in load(client, "entries-paint.csv", ROWS)


def test_a_workbook_is_read(client: Client, tmp_path: Path) -> None:
    book = Workbook()
    book.active.title = "entries"  # type: ignore[union-attr]
    for line in ROWS.splitlines():
        book.active.append(line.split(","))  # type: ignore[union-attr]
    book.save(tmp_path / "book.xlsx")
    load(client, "book.xlsx", (tmp_path / "book.xlsx").read_bytes(), write="1")
    assert len(client.lines) == 6


def test_problems_stand_by_row_and_column_and_nothing_is_written(client: Client) -> None:
    bad = ROWS.replace("cai", "<script>alert(1)</script>").replace("40", "forty")
    html = load(client, "entries.csv", bad, write="1")
    assert "Nothing was written: 2 problems" in html
    assert "<script>" not in html
    assert "entries.csv 2 person &lt;script&gt;" in texts(html)
    assert "entries.csv 3 minutes forty" in texts(html)
    assert len(client.lines) == 4


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("entries.xlsx", b"no workbook"),
        ("entries.csv", b""),
        ("entries.csv", b"\x00\xff\xfe\x00"),
        ("colours.csv", b"colour\nred\n"),
        ("entries.pdf", b"%PDF-1.7"),
        ("entries.csv", "craft,person\n" + "x,y\n" * 3000),
    ],
)
def test_a_file_that_is_no_sheet_of_ours_is_said(
    client: Client, name: str, data: bytes | str
) -> None:
    assert "Nothing was written" in load(client, name, data, write="1")
    assert len(client.lines) == 4


@pytest.mark.parametrize(
    "name", ["../../entries.csv", "..\\entries.csv", "/etc/entries.csv", "C:\\x\\entries.csv"]
)
def test_a_file_name_is_no_way(client: Client, tmp_path: Path, name: str) -> None:
    there = sorted(tmp_path.rglob("*"))
    assert "Written." in load(client, name, ROWS, write="1")
    assert [
        path
        for path in sorted(tmp_path.rglob("*"))
        if path not in there and not path.name.startswith(("production.db", "figures.db"))
    ] == []


@pytest.mark.parametrize("name", ["", "entries", ".csv", "..", "x" * 300 + ".csv", "/"])
def test_a_file_without_a_usable_name_is_refused(client: Client, name: str) -> None:
    assert client.http.post("/load", params={"name": name}, content=ROWS).status_code == 400


def test_nothing_of_a_sheet_stays_behind(
    client: Client, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    own = tmp_path / "own"
    own.mkdir()
    monkeypatch.setattr("tempfile.tempdir", str(own))
    load(client, "entries.csv", ROWS)
    load(client, "entries.xlsx", b"broken")
    assert [*own.iterdir()] == []


def test_a_row_that_changed_is_shown_and_not_called_the_same(client: Client) -> None:
    load(client, "entries-paint.csv", ROWS, write="1")
    changed = ROWS.replace("wick,30", "wick,45")
    html = load(client, "entries-paint.csv", changed, write="1")
    assert "2 A-5 Minutes 30 45 not written" in texts(html)
    assert "Nothing was written: rows of it have changed" in html
    assert "Nothing new" not in html
    assert len(client.lines) == 6
