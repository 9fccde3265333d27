"""Blank tables: what `credits start` puts beside a new production, and what fills them in."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import openpyxl
import pytest

from credits.formats.tables.blank import BLANK, blank_workbook, explained
from credits.formats.tables.columns import TABLES
from credits.model.facts import BUILT_IN_CRAFTS
from tests.cli.conftest import Command

PEOPLE = ["ana", "Ana Holm"]


Said = Callable[..., tuple[str, str]]


@pytest.fixture
def credits(credits_: Command) -> Said:
    """What a command answers on both streams; its exit status must be the one given."""

    def said(*words: object, status: int = 0) -> tuple[str, str]:
        answer = credits_(*words)
        assert answer.status == status, answer.err
        return answer.out, answer.err

    return said


def test_every_column_is_explained_in_one_line() -> None:
    for table in BLANK.values():
        for column in table.columns:
            line = explained(table, column)
            assert line.endswith(("...", "."))
            assert line.isprintable()
            assert len(line) <= 80
            assert line.startswith("Required. ") is column.required


def test_start_writes_blank_tables_that_load_as_they_are(tmp_path: Path, credits: Said) -> None:
    said, _ = credits("start", "<b>Film</b>", tmp_path / "film")
    assert "fill in tables, then load it: credits load tables" in said
    names = {path.stem for path in (tmp_path / "film" / "tables").iterdir()}
    assert names == set(TABLES) - {"confirmations"}
    explained = (tmp_path / "film" / "TABLES.txt").read_text("utf-8")
    assert "people.csv\n    person: Required. A short code that never changes" in explained
    out, beside = credits("load", "-p", tmp_path / "film", tmp_path / "film" / "tables", "--json")
    assert json.loads(out)["tables"]["people"] == {"new": 0, "changed": 0, "same": 0}
    assert "Left out" not in beside


def test_a_blank_workbook_that_is_filled_in_loads_without_its_explanations(
    tmp_path: Path, credits: Said
) -> None:
    credits("start", "Film", tmp_path / "film", "--workbook")
    path = tmp_path / "film" / "tables.xlsx"
    book = openpyxl.load_workbook(path)
    assert book.sheetnames == list(BLANK)
    book["people"].append(PEOPLE)
    book["sequences"].append(["010"])
    book["shots"].append(["010-020", "010", "48"])
    book.save(path)
    out, _ = credits("load", "-p", tmp_path / "film", path, "--json")
    counts = json.loads(out)["tables"]
    assert [counts[name]["new"] for name in ("people", "sequences", "shots")] == [1, 1, 1]
    found, _ = credits("find", "-p", tmp_path / "film", "ana")
    assert "Ana Holm" in found
    assert "##" not in found


def test_blank_tables_never_write_over_what_is_there(tmp_path: Path, credits: Said) -> None:
    (tmp_path / "film" / "tables").mkdir(parents=True)
    (tmp_path / "film" / "tables" / "people.csv").write_text("person,credit_name\nana,Ana\n")
    credits("start", "Film", tmp_path / "film")
    assert "Ana" in (tmp_path / "film" / "tables" / "people.csv").read_text()


def test_the_same_blank_workbook_has_the_same_bytes() -> None:
    assert blank_workbook() == blank_workbook()


def test_the_help_of_load_lists_tables_columns_and_crafts(
    monkeypatch: pytest.MonkeyPatch, credits: Said
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    said, _ = credits("load", "--help")
    assert all(len(line) <= 80 for line in said.splitlines())
    words = said.replace(",", " ").split()
    assert {craft.code for craft in BUILT_IN_CRAFTS} <= set(words)
    for table in TABLES.values():
        assert {table.name, *(c.name + "*" * c.required for c in table.columns)} <= set(words)


def test_words_of_the_settings_are_used_by_load_and_its_mistakes_are_said(
    tmp_path: Path, credits: Said
) -> None:
    film = tmp_path / "film"
    credits("start", "Film", film)
    settings = film / "production.toml"
    whole = settings.read_text("utf-8")
    (film / "Crew list 3.csv").write_text("Our crew\nCode;Name\nana;Ana\n")
    _, said = credits("load", "-p", film, film / "Crew list 3.csv", status=1)
    assert "its name says no table" in said
    words = '[sheets]\n"Crew list*" = "people"\nname = "credit_name"\ncode = "persn"\n'
    settings.write_text(whole + words, "utf-8")
    _, said = credits("load", "-p", film, film / "Crew list 3.csv", status=1)
    assert (
        "production.toml: [sheets] code 'persn': is neither a table nor a column of one. "
        'Write code = "person".' in said
    )
    settings.write_text(whole + words.replace("persn", "person"), "utf-8")
    out, beside = credits("load", "-p", film, film / "Crew list 3.csv", "--json")
    assert json.loads(out)["tables"] == {"people": {"new": 1, "changed": 0, "same": 0}}
    assert "Left out: Crew list 3.csv row 1: 'Our crew'" in beside
    settings.write_text(whole + "[sheets]\ndate = 3\n", "utf-8")
    _, said = credits("footage", "-p", film, status=1)
    assert "production.toml: [sheets] date '3': is no text." in said
