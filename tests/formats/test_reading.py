"""Which files are read, which are left out, and which are refused."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from credits.formats.tables.sheets import read_tables, table_named


@pytest.mark.parametrize(
    ("name", "table"),
    [
        ("entries.csv", "entries"),
        ("entries-stage-1.csv", "entries"),
        ("Entries 2.xlsx", "entries"),
        ("PEOPLE_old.csv", "people"),
        ("People", "people"),
        ("persons.csv", None),
        ("", None),
    ],
)
def test_the_name_says_the_table(name: str, table: str | None) -> None:
    assert table_named(name) == table


def test_a_folder_gives_its_tables_and_says_what_it_leaves_out(tmp_path: Path) -> None:
    for name in ("people.csv", "notes.txt", "cut.csv", "face-sheet-010.csv", ".hidden.csv"):
        (tmp_path / name).write_text("person,credit_name\nana,Ana\n")
    (tmp_path / "~$people.xlsx").write_text("")
    for name in (".DS_Store", "production.toml", "production.db-wal", "._people.csv"):
        (tmp_path / name).write_text("")
    os.mkfifo(tmp_path / "shots.csv")
    (tmp_path / "more").mkdir()
    (tmp_path / "more" / "shots.csv").write_text("shot\n")
    seen: list[tuple[str, int, int]] = []
    tables = read_tables([tmp_path], lambda *step: seen.append(step))
    assert [sheet.file for sheet in tables.sheets] == ["people.csv"]
    assert [str(f) for f in tables.left_out] == [
        ".hidden.csv: is hidden. Name it, if it is to be loaded.",
        "cut.csv: is the editors' cut, not a table. Import it with: credits cut cut.csv.",
        "face-sheet-010.csv: is a face sheet, not a table. "
        "Load it with: credits load --face-sheet SHOT face-sheet-010.csv.",
        "more: is a folder within the folder. Name it too, if there are tables in it.",
        "notes.txt: is none of .csv, .tsv, .xlsx, .xlsm, .ods, .xls.",
        "shots.csv: is no ordinary file, so it is not read.",
        "~$people.xlsx: only says that somebody has a spreadsheet open. "
        "Make sure that it was saved.",
    ]
    assert tables.problems == []
    assert seen == [("people.csv", 0, 1)]


def test_a_file_is_read_once_however_often_it_is_named(tmp_path: Path) -> None:
    path = tmp_path / "people.csv"
    path.write_text("person,credit_name\nana,Ana\n")
    assert len(read_tables([path, tmp_path, path]).sheets) == 1


def test_files_that_are_no_tables_are_refused_by_name(tmp_path: Path) -> None:
    for name in ("persons.csv", "cut.csv", "people.pdf"):
        (tmp_path / name).write_text("x")
    paths = [tmp_path / n for n in ("persons.csv", "cut.csv", "people.pdf", "gone.csv")]
    missing, named, cut, pdf = map(str, read_tables(paths).problems)
    assert named.startswith(
        "persons.csv: its name says no table. The tables are people, engagements, crafts,"
    )
    assert cut.startswith("cut.csv: is the editors' cut, not a table.")
    assert pdf == (
        "people.pdf: is none of .csv, .tsv, .xlsx, .xlsm, .ods, .xls. "
        "Ask for the spreadsheet that it was printed from."
    )
    assert missing == f"{tmp_path / 'gone.csv'}: there is no such file or folder."


def test_a_name_that_is_nearly_a_table_gets_a_suggestion(tmp_path: Path) -> None:
    (tmp_path / "entires.csv").write_text("")
    found = str(read_tables([tmp_path / "entires.csv"]).problems[0])
    assert "Rename it entries.csv, if that is what it holds, or write under [sheets]" in found
    assert 'entires = "entries".' in found


def test_two_files_of_one_name_are_told_apart_by_their_folders(tmp_path: Path) -> None:
    for stage in ("stage-1", "stage-2"):
        (tmp_path / stage).mkdir()
        (tmp_path / stage / "people.csv").write_text("person,credit_name\nana,Ana\n")
    tables = read_tables([tmp_path / "stage-1", tmp_path / "stage-2"])
    assert [sheet.file for sheet in tables.sheets] == ["stage-1/people.csv", "stage-2/people.csv"]


def test_a_path_that_cannot_be_is_a_finding(tmp_path: Path) -> None:
    found = read_tables([tmp_path / ("x" * 5000 + ".csv")]).problems
    assert len(found) == 1


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("people.numbers", "Export it as .xlsx or .csv."),
        ("people.xlsb", "Save it as .xlsx."),
        ("people.doc", "Save it as .xlsx, or as CSV UTF-8 (.csv)."),
        ("~$people.xlsx", "Name the spreadsheet itself."),
        (".~lock.people.ods#", "Name the spreadsheet itself."),
    ],
)
def test_a_named_file_that_cannot_be_read_says_what_to_do(
    tmp_path: Path, name: str, said: str
) -> None:
    (tmp_path / name).write_text("x")
    tables = read_tables([tmp_path / name])
    (found,) = tables.problems
    assert str(found).startswith(f"{name}: ")
    assert str(found).endswith(said)
    assert tables.sheets == []


def test_text_parted_by_tabs_is_read(tmp_path: Path) -> None:
    (tmp_path / "people.tsv").write_text("person\tcredit_name\nana\tAna, the first\n")
    assert read_tables([tmp_path / "people.tsv"]).sheets[0].cells == (("ana", "Ana, the first"),)
