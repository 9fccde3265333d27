"""What a command writes never takes the place of the log, of settings, or of somebody's tables."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from tests.cli.conftest import Command

WRITERS = (
    ("export", "prov"),
    ("export", "jsonld"),
    ("export", "text"),
    ("export", "csv"),
    ("export", "json"),
    ("export", "xlsx"),
    ("export", "pdf"),
    ("export", "confirmations"),
    ("plan", "--force"),
)


def rows(log: Path) -> int:
    with closing(sqlite3.connect(log)) as raw:
        count: int = raw.execute("SELECT count(*) FROM entries").fetchone()[0]
        return count


@pytest.mark.parametrize("words", WRITERS, ids=" ".join)
@pytest.mark.parametrize(
    "name", ["production.db", "production.toml", "figures.db", "Production.DB"]
)
def test_no_target_is_a_file_of_the_production(
    words: tuple[str, ...], name: str, film: Path, credits_: Command
) -> None:
    log, target = film / "production.db", film / name
    before = log.read_bytes(), (film / "production.toml").read_bytes()
    answer = credits_(*words, "--out", target, "-p", film)
    assert answer.status == 2, answer.err
    assert (log.read_bytes(), (film / "production.toml").read_bytes()) == before
    assert rows(log) > 0


@pytest.mark.parametrize("words", WRITERS, ids=" ".join)
@pytest.mark.parametrize("way", [os.symlink, os.link])
def test_no_target_leads_to_the_log(
    words: tuple[str, ...], way: object, film: Path, tmp_path: Path, credits_: Command
) -> None:
    kind = {"text": ".txt", "plan": ".toml", "confirmations": ".xlsx"}
    target = tmp_path / f"harmless{kind.get(words[-1], '.' + words[-1])}"
    assert callable(way)
    way(film / "production.db", target)
    assert credits_(*words, "--out", target, "-p", film).status == 2
    assert rows(film / "production.db") > 0


@pytest.mark.parametrize("words", [w for w in WRITERS if w[1] in ("csv", "prov", "jsonld", "text")])
def test_a_table_of_somebodys_is_not_written_over(
    words: tuple[str, ...], film: Path, tmp_path: Path, credits_: Command
) -> None:
    table = tmp_path / f"people.{'txt' if words[1] == 'text' else words[1]}"
    table.write_text("person,credit_name\nana,Ana\n", encoding="utf-8")
    answer = credits_(*words, "--out", table, "-p", film)
    assert (answer.status, table.read_text()[:6]) == (2, "person")
    assert "holds something else. Name another file" in answer.err or "is no" in answer.err


@pytest.mark.parametrize("words", [w for w in WRITERS if w[0] == "export"], ids=" ".join)
def test_what_was_written_before_is_written_again(
    words: tuple[str, ...], film: Path, tmp_path: Path, credits_: Command
) -> None:
    kind = {"text": ".txt", "confirmations": ".xlsx"}
    target = tmp_path / f"again{kind.get(words[-1], '.' + words[-1])}"
    for _ in range(2):
        answer = credits_(*words, "--out", target, "-p", film)
        assert answer.status == 0, answer.err


def test_an_export_does_not_take_the_place_of_the_plan(film: Path, credits_: Command) -> None:
    assert credits_("plan", "-p", film).status == 0
    plan = film / "credit-plan.toml"
    before = plan.read_bytes()
    for form in ("prov", "jsonld"):
        assert credits_("export", form, "--out", plan, "-p", film).status == 2
    assert plan.read_bytes() == before
    assert credits_("plan", "--force", "-p", film).status == 0


def test_a_plan_is_written_over_a_plan_alone(film: Path, tmp_path: Path, credits_: Command) -> None:
    table, plan = tmp_path / "people.csv", tmp_path / "second.toml"
    table.write_text("person,credit_name\nana,Ana\n", encoding="utf-8")
    plan.write_text('name = "x"\n[[section]]\nheading = "Animators"\n', encoding="utf-8")
    assert credits_("plan", "--force", "--out", table, "-p", film).status == 2
    assert table.read_text("utf-8").startswith("person,credit_name")
    assert credits_("plan", "--force", "--out", plan, "-p", film).status == 0


@pytest.mark.parametrize("form", ["xlsx", "confirmations"])
def test_a_workbook_of_tables_is_not_written_over(
    form: str, film: Path, tmp_path: Path, credits_: Command
) -> None:
    assert credits_("start", "Another Film", tmp_path / "other", "--workbook").status == 0
    tables = tmp_path / "other" / "tables.xlsx"
    before = tables.read_bytes()
    answer = credits_("export", form, "--out", tables, "-p", film)
    assert (answer.status, tables.read_bytes()) == (2, before), answer.err
    assert "is another workbook, with the sheets characters, " in answer.err


def test_a_picture_of_the_production_is_not_written_over(film: Path, credits_: Command) -> None:
    picture = film / "pictures" / "wick.png"
    picture.parent.mkdir(exist_ok=True)
    picture.write_bytes(b"\x89PNG\r\n\x1a\n and what the art department drew")
    for words in (("export", "png"), ("export", "prov"), ("plan", "--force")):
        answer = credits_(*words, "--out", picture, "-p", film)
        assert answer.status == 2, answer.err
    assert picture.read_bytes().endswith(b"drew")


@pytest.mark.parametrize(
    "words",
    [
        ("backup",),
        ("site", "--edition", "public", "--out"),
        ("review", "ana", "--out"),
        ("export", "png", "--cards"),
        ("export", "confirmations", "--each"),
        ("start", "Another Film"),
        ("demo",),
    ],
    ids=" ".join,
)
@pytest.mark.parametrize("name", ["production.db-wal", "production.db-journal", "Figures.DB"])
def test_nothing_takes_a_name_that_the_log_keeps(
    words: tuple[str, ...], name: str, film: Path, credits_: Command
) -> None:
    target = film / name
    for beside in film.glob(f"{name}*"):
        beside.unlink()
    there = target.exists()
    where = () if words[0] in ("start", "demo") else ("-p", film)
    answer = credits_(*words, target, *where)
    assert (answer.status, target.is_dir()) == (2, there and target.is_dir()), answer.err
    assert rows(film / "production.db") > 0


@pytest.mark.parametrize("words", WRITERS, ids=" ".join)
def test_no_file_is_written_over_that_standard_output_leads_to(
    words: tuple[str, ...], film: Path, tmp_path: Path, credits_: Command
) -> None:
    notes = tmp_path / "notes.txt"
    notes.write_text("")
    with notes.open("ab") as out:
        answer = credits_(*words, "--out", f"/proc/self/fd/{out.fileno()}", "-p", film)
    assert (answer.status, notes.read_text()) == (2, ""), answer.err
