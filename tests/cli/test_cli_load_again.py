"""Loading a sheet that comes again: what is said, what is asked for, what is written."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.conftest import Command

HEADER = "ref,craft,person,character,finished_on,minutes"
FIRST = ("1,paint,ana,wick,2026-03-02,30", "2,paint,ben,wick,2026-03-02,30")


@pytest.fixture
def week(film: Path, tmp_path: Path) -> Path:
    """An entries file beside a production that has some entries already."""
    assert film.is_dir()
    return tmp_path / "entries-week-1.csv"


def write(path: Path, *rows: str) -> Path:
    path.parent.mkdir(exist_ok=True)
    path.write_text("\n".join([HEADER, *rows]) + "\n", encoding="utf-8")
    return path


def test_the_numbers_of_the_new_entries_are_those_of_the_log(week: Path, credits_: Command) -> None:
    answer = credits_("load", write(week, *FIRST, "3,paint,cai,wick,2026-03-02,30"))
    assert answer.status == 0
    assert "entries-week-1.csv: 3 new entries: A-8 to A-10" in answer.out.splitlines()
    assert "Read: entries-week-1.csv (3 rows)." in answer.err
    found = credits_("find", "A-10", "--json")
    assert "cai" in found.out


def test_another_piece_of_work_under_the_same_ref_writes_nothing(
    week: Path, credits_: Command
) -> None:
    credits_("load", write(week, *FIRST))
    write(week, FIRST[0], "2,paint,cai,wick,2026-03-09,30", "3,paint,cai,wick,2026-03-09,45")
    answer = credits_("load", week)
    assert answer.status == 1
    assert (
        "entries-week-1.csv row 3: A-9 not written, another piece of work: "
        "person ben -> cai; finished_on 2026-03-02 -> 2026-03-09"
    ) in answer.out.splitlines()
    assert "Nothing was written" in answer.err
    assert "--amend" in answer.err
    assert "already there" not in answer.err
    shape = credits_("load", week, "--json")
    assert (shape.status, shape.json["written"]) == (1, False)
    (sheet,) = shape.json["sheets"]
    assert sheet["needs_word"]
    assert sheet["changed"] == [
        {
            "row": 3,
            "entry": "A-9",
            "other_work": True,
            "columns": {
                "person": ["ben", "cai"],
                "finished_on": ["2026-03-02", "2026-03-09"],
            },
            "written": False,
        }
    ]
    amended = credits_("load", week, "--amend")
    assert amended.status == 0
    assert "entries-week-1.csv row 3: A-9 amended, another piece of work: " in amended.out
    assert credits_("load", week).status == 0


def test_a_changed_row_is_held_until_it_is_said_what_it_is(week: Path, credits_: Command) -> None:
    credits_("load", write(week, ",paint,ana,wick,2026-03-02,30"))
    write(week, ",paint,ana,wick,2026-03-02,45", ",paint,ben,brine,2026-03-02,45")
    answer = credits_("load", week)
    assert answer.status == 1
    assert "entries-week-1.csv: 1 new entry: A-9" in answer.out
    assert "entries-week-1.csv row 2: A-8 not written: minutes 30 -> 45" in answer.out
    assert "1 changed row was not written" in answer.err
    assert "--again" in answer.err
    dry = credits_("load", week, "--again", "--dry-run")
    assert dry.status == 0
    assert "1 new entry: A-10" in dry.out
    assert credits_("load", week, "--amend").status == 0
    assert "already there" in credits_("load", week).err


def test_entries_without_a_row_are_told_calmly_and_void_with_a_reason(
    week: Path, credits_: Command
) -> None:
    credits_("load", write(week, *FIRST))
    write(week, FIRST[1])
    answer = credits_("load", week)
    assert answer.status == 0
    assert "1 entry loaded earlier without a row here: A-8" in answer.out
    assert credits_("load", week, "--void-missing").status == 2
    assert credits_("load", week, "--void-missing", "--why", " ").status == 2
    assert credits_("load", week, "--why", "x").status == 2
    void = credits_("load", week, "--void-missing", "--why", "never done")
    assert void.status == 0
    assert "1 entry without a row void: A-8" in void.out
    assert "never done" in credits_("void", "A-8", "--why", "again").err


def test_one_name_is_for_one_sheet(week: Path, credits_: Command) -> None:
    other = write(week.with_name("entries-b.csv"), FIRST[1])
    answer = credits_("load", write(week, FIRST[0]), other, "--sheet", "stage")
    assert answer.status == 2
    assert "hold 2" in answer.err
    assert credits_("load", week, "--sheet", "stage").status == 0
    assert credits_("load", week, "--sheet", " ").status == 2
    assert credits_("load", week, "--sheet", "x", "--face-sheet", "010-020").status == 2
    again = credits_("load", write(other, FIRST[0]), "--sheet", "Stage", "--json")
    assert again.json["sheets"][0]["same"] == 1


def test_a_row_of_another_sheet_is_told_with_its_entry(week: Path, credits_: Command) -> None:
    credits_("load", write(week, *FIRST))
    office = write(week.with_name("entries-office.csv"), FIRST[1])
    answer = credits_("load", office)
    assert answer.status == 0
    assert (
        "entries-office.csv row 2: says what A-9 says, so it is not written again"
    ) in answer.out.splitlines()
    assert "--again" in answer.err


def test_what_was_left_out_is_never_already_there(week: Path, credits_: Command) -> None:
    folder = week.parent / "sent"
    write(folder / week.name, *FIRST)
    credits_("load", folder)
    assert "already there" in credits_("load", folder).err
    (folder / "cut.csv").write_text("shot,first,last\n010-020,1,8\n")
    (folder / "takes.csv").write_text("")
    answer = credits_("load", folder)
    assert "Left out: cut.csv" in answer.err
    assert "Left out: takes.csv" in answer.err
    assert "Nothing new in what was read." in answer.err
    assert "already there" not in answer.err
    left_out = credits_("load", folder, "--json").json["left_out"]
    assert [finding["file"] for finding in left_out] == ["cut.csv", "takes.csv"]


def test_old_and_new_of_a_list_are_shown(film: Path, tmp_path: Path, credits_: Command) -> None:
    assert film.is_dir()
    people = tmp_path / "people.csv"
    people.write_text("person,credit_name\nana,Ana Holm-Ruud\n")
    answer = credits_("load", people, "--dry-run")
    (line,) = (line for line in answer.out.splitlines() if line.startswith("people.csv row 2"))
    assert line.startswith("people.csv row 2: ana: credit_name ")
    assert line.endswith(" -> Ana Holm-Ruud")
    (change,) = credits_("load", people, "--json").json["lists"]
    assert (change["table"], change["key"], change["row"]) == ("people", "ana", 2)
    assert change["columns"]["credit_name"][1] == "Ana Holm-Ruud"


def test_questions_that_a_load_opens_are_counted(week: Path, credits_: Command) -> None:
    before = len(credits_("check", "--json").json["checks"])
    write(week, "1,paint,ana,wick,2026-03-02,2000", "2,paint,ben,wick,2026-03-02,2000")
    foretold = credits_("load", week, "--dry-run", "--json").json["questions"]
    loaded = credits_("load", week, "--json").json["questions"]
    after = len(credits_("check", "--json").json["checks"])
    assert loaded == foretold == {"before": before, "after": after}
    assert after > before


def test_a_face_sheet_says_what_it_replaces(film: Path, tmp_path: Path, credits_: Command) -> None:
    assert film.is_dir()
    parts = "part,kind,character\nwick-face-1,face,wick\nwick-face-2,face,wick\n"
    (tmp_path / "parts.csv").write_text(parts)
    credits_("load", tmp_path / "parts.csv")
    page = tmp_path / "page.csv"
    for rows in ("1,1\n2,2\n", "3,1\n4,2\n"):
        page.write_text(f"frame,wick\n{rows}")
        answer = credits_("load", "--face-sheet", "010-020/1", page)
    assert "010-020 take 1: frames 3-4 are replaced; 1-2 stay as they are" in answer.out


def test_a_second_file_amends_what_the_first_adds_in_one_load(
    week: Path, credits_: Command
) -> None:
    early = write(week.parent / "a" / "entries.csv", FIRST[0])
    late = write(week.parent / "b" / "entries.csv", FIRST[0].replace(",30", ",45"))
    answer = credits_("load", early, late, "--json")
    assert answer.status == 0
    assert answer.json["tables"]["entries"] == {"new": 1, "changed": 1, "same": 0}
    line = credits_("find", "A-8", "--json")
    assert line.status == 0
    assert credits_("verify").status == 0
    assert "A-8 (amends" not in credits_("load", late).out
    assert "already there" in credits_("load", late).err


@pytest.mark.parametrize(
    "name", ["entries-\N{SNOWMAN}.csv", "entries-<script>.csv", "entries-=cmd().csv", "entries.csv"]
)
def test_sheets_of_any_name_come_again(week: Path, credits_: Command, name: str) -> None:
    sheet = write(week.with_name(name), *FIRST)
    assert credits_("load", sheet).status == 0
    again = credits_("load", sheet)
    assert (again.status, "already there" in again.err) == (0, True)
    shape = credits_("load", sheet, "--sheet", "'\"=1+1 \N{SNOWMAN}" + "x" * 200, "--json").json
    assert [row["entry"] for row in shape["sheets"][0]["said_again"]] == ["A-8", "A-9"]


def test_a_sheet_without_rows_is_left_out_or_says_nothing(week: Path, credits_: Command) -> None:
    credits_("load", write(week, *FIRST))
    answer = credits_("load", write(week))
    assert answer.status == 0
    assert "2 entries loaded earlier without a row here: A-8 and A-9" in answer.out
