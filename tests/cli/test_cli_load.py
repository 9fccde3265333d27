"""Bringing in tables, face sheets and the cut; a copy of the log, and whether it is sound."""

from __future__ import annotations

import io
import sys
from pathlib import Path

import pytest

from credits.cli.tables import _say_questions
from credits.cli.terminal import stdin
from credits.errors import WrongCall
from tests.cli.conftest import CUT, WORKED_EXAMPLE, Command
from tests.productions import written_tables


@pytest.fixture
def tables(tmp_path: Path) -> Path:
    """The tables of the worked example, in a folder."""
    return written_tables(tmp_path / "sheets", WORKED_EXAMPLE)


@pytest.mark.usefixtures("empty")
def test_a_folder_of_tables_is_loaded_and_counted(tables: Path, credits_: Command) -> None:
    answer = credits_("load", tables)
    lines = answer.out.splitlines()
    assert lines[0] == "table\tnew\tchanged\tsame"
    assert "people\t3\t0\t0" in lines
    assert "entries\t7\t0\t0" in lines


@pytest.mark.usefixtures("empty")
def test_loading_again_changes_nothing_and_says_so(tables: Path, credits_: Command) -> None:
    credits_("load", tables)
    answer = credits_("load", tables)
    assert "Nothing new: everything was already there." in answer.err
    assert "people\t0\t0\t3" in answer.out.splitlines()


@pytest.mark.usefixtures("empty")
def test_a_dry_run_writes_nothing(tables: Path, credits_: Command) -> None:
    answer = credits_("load", tables, "--dry-run")
    assert "people\t3\t0\t0" in answer.out
    assert "this was a dry run" in answer.err
    assert credits_("find", "ana").status == 1


@pytest.mark.usefixtures("empty")
def test_a_load_with_problems_says_all_of_them_and_writes_nothing(
    tables: Path, credits_: Command
) -> None:
    with (tables / "entries.csv").open("a") as file:
        file.write("animation,anna,wick,,010-020,1-130,2026-03-02\npaint,ana,wick,,,,2.3.26\n")
    answer = credits_("load", tables)
    assert (answer.status, answer.out) == (1, "")
    assert "entries.csv row 9: person 'anna': there is no such person" in answer.err
    assert "entries.csv row 10: finished_on '2.3.26'" in answer.err
    assert answer.err.splitlines()[-1] == "2 problems. Nothing was written."
    assert credits_("find", "ana").status == 1


@pytest.mark.usefixtures("empty")
def test_problems_in_json(tables: Path, credits_: Command) -> None:
    with (tables / "entries.csv").open("a") as file:
        file.write("paint,anna,wick,,,,2026-03-02\n")
    answer = credits_("load", tables, "--json")
    assert answer.status == 1
    (problem,) = answer.json["problems"]
    assert (problem["file"], problem["row"]) == ("entries.csv", 9)
    assert (problem["column"], problem["value"]) == ("person", "anna")
    assert problem["message"].startswith("entries.csv row 9: person 'anna': ")


@pytest.mark.usefixtures("empty")
@pytest.mark.parametrize("name", ["nothing.csv", "poem.txt", "weather.csv", "people.csv"])
def test_files_that_cannot_be_loaded(tmp_path: Path, credits_: Command, name: str) -> None:
    (tmp_path / "poem.txt").write_text("roses")
    (tmp_path / "weather.csv").write_text("day,rain\n")
    (tmp_path / "people.csv").write_bytes(b"person,credit_name\nana,\xff\xfe\x00Ana\n")
    answer = credits_("load", tmp_path / name)
    assert answer.status == 1
    assert name in answer.err


@pytest.mark.usefixtures("film")
def test_a_face_sheet(tmp_path: Path, credits_: Command) -> None:
    parts = "part,kind,character\nwick-face-1,face,wick\nwick-face-2,face,wick\n"
    (tmp_path / "parts.csv").write_text(parts)
    credits_("load", tmp_path / "parts.csv")
    (tmp_path / "faces.csv").write_text("frame,wick\n1,wick-face-1\n2,wick-face-2\n")
    answer = credits_("load", "--face-sheet", "010-020/1", tmp_path / "faces.csv", "--json")
    assert answer.json["tables"] == {"replacements": {"new": 2, "changed": 0, "same": 0}}
    unknown = credits_("load", "--face-sheet", "999", tmp_path / "faces.csv")
    assert unknown.status == 1
    two = credits_("load", "--face-sheet", "010-020", tmp_path / "faces.csv", tmp_path)
    assert two.status == 2


@pytest.mark.usefixtures("film")
def test_the_cut_and_its_versions(tmp_path: Path, credits_: Command) -> None:
    cut = tmp_path / "cut.csv"
    cut.write_text(CUT)
    assert credits_("cut", cut).out == "Cut version 1: 1 clip of 1 shot, 32 frames (0:01).\n"
    assert "version 1 is the same" in credits_("cut", cut).out
    cut.write_text(CUT + "010-020,1,8\nTITLE,1,24\n")
    answer = credits_("cut", cut, "--json")
    assert (answer.json["cut"], answer.json["clips"], answer.json["length"]) == (2, 3, 64)
    (title,) = answer.json["not_understood"]
    assert "TITLE" in title["message"]
    versions = credits_("cut", "--list", "--json").json["cuts"]
    assert [(v["version"], v["length"], v["current"]) for v in versions] == [
        (1, 32, False),
        (2, 64, True),
    ]
    assert credits_("cut", "--use", 1).status == 0
    assert credits_("footage", "--json").json["cut"] == 1
    assert "in use\tcut.csv" in credits_("cut", "--list").out


@pytest.mark.parametrize(
    ("words", "status"),
    [
        (["cut"], 2),
        (["cut", "--list", "--use", "1"], 2),
        (["cut", "--use", "7"], 2),
        (["cut", "--use", "one"], 2),
        (["cut", "no-such-file.csv"], 1),
        (["cut", "film.mov"], 1),
        (["cut", "bad.csv"], 1),
        (["cut", "empty.csv"], 1),
    ],
)
def test_cuts_that_cannot_be_used(
    film: Path, credits_: Command, words: list[str], status: int
) -> None:
    (film / "film.mov").write_bytes(b"\x00\x01")
    (film / "bad.csv").write_text("shot,first,last\n010-020,40,x\n")
    (film / "empty.csv").write_text("shot,first,last\n")
    answer = credits_(*words)
    assert (answer.status, answer.out) == (status, "")
    assert answer.err.strip()
    assert credits_("footage", "--json").json["cut"] is None


@pytest.mark.usefixtures("film")
def test_without_a_cut_the_footage_says_so(credits_: Command) -> None:
    answer = credits_("footage")
    assert "No cut yet" in answer.err
    assert credits_("reach").err.startswith("No cut yet")


def test_backup_and_verify(film: Path, tmp_path: Path, credits_: Command) -> None:
    copy = Path(credits_("backup", "--json").json["copy"])
    assert copy.parent == film / "backups"
    target = tmp_path / "copy.db"
    assert str(target) in credits_("backup", target).out
    assert credits_("backup", target).status == 2  # never over a file
    assert "sound" in credits_("verify").out
    assert credits_("verify", "--json").json == {"problems": []}


def test_a_damaged_log_is_said_in_words(film: Path, credits_: Command) -> None:
    log = film / "production.db"
    for left_over in film.glob("production.db-*"):
        left_over.unlink()
    log.write_bytes(b"no log at all, only some words" * 200)
    for words in (["verify"], ["footage"], ["log", "paint", "ana", "wick"], ["backup"]):
        answer = credits_(*words)
        assert answer.status == 1
        assert "production.db" in answer.err


def test_start_says_what_is_wrong(tmp_path: Path, credits_: Command) -> None:
    film = tmp_path / "film"
    assert credits_("start", "Film", film, "--rate", "29.97").status == 1
    assert "30000/1001" in credits_("start", "Film", film, "--rate", "29.97").err
    assert credits_("start", "Film", film, "--gauge", "8mm").status == 1
    assert credits_("start", "", film).status == 1
    assert not film.exists()
    assert credits_("start", "Film", film).status == 0
    again = credits_("start", "Film", film)
    assert again.status == 2
    assert "a production is there" in again.err


def test_start_names_the_folder_after_the_title(
    tmp_path: Path, credits_: Command, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert credits_("start", "Ödön & the <script>").status == 0
    assert (tmp_path / "odon-the-script" / "production.db").is_file()
    assert credits_("start", "影").status == 0  # no Latin letter is left
    assert (tmp_path / "film" / "production.toml").is_file()


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        (6, 8, "2 more open questions than before, 8 now: see credits check."),
        (6, 7, "1 more open question than before, 7 now: see credits check."),
        (6, 5, "1 open question fewer than before, 5 now: see credits check."),
        (6, 6, ""),
    ],
)
def test_a_load_says_how_many_questions_it_has_raised_or_settled(
    capsys: pytest.CaptureFixture[str], before: int, after: int, said: str
) -> None:
    _say_questions(before, after)
    assert capsys.readouterr().err.strip() == said


def test_a_file_of_the_largest_size_comes_in_on_standard_input(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(stdin, "LARGEST_FILE", 4)
    for content in (b"abcd", b"abcde"):
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(content)))
        if len(content) == 4:
            with stdin.file_on_input("entries.csv") as file:
                assert file.read_bytes() == content
            continue
        with pytest.raises(WrongCall, match="has more than"), stdin.file_on_input("entries.csv"):
            pass
