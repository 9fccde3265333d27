"""credits confirm: spellings, who has not answered, and the sheet that goes round."""

from __future__ import annotations

import tomllib
import zipfile
from datetime import date
from pathlib import Path

import pypdf
import pytest

from credits.store.settings import with_names_by
from tests.cli.conftest import Command

pytestmark = pytest.mark.usefixtures("film")


def open_people(credits_: Command) -> list[str]:
    return [one["person"] for one in credits_("confirm", "--open", "--json").json["open"]]


def unconfirmed(credits_: Command) -> dict[str, str]:
    checks = credits_("check", "--json").json["checks"]
    return {
        c["subjects"]["person"]: c["message"] for c in checks if c["check"] == "name-unconfirmed"
    }


def test_who_has_confirmed_is_not_asked_any_more(credits_: Command) -> None:
    assert open_people(credits_) == ["ana", "ben", "cai"]
    answer = credits_("confirm", "ANA", "--on", "2026-03-02", "--by", "Bo")
    assert (answer.status, answer.out) == (0, "Ana (ana) is confirmed.\n")
    assert open_people(credits_) == ["ben", "cai"]
    assert set(unconfirmed(credits_)) == {"ben", "cai"}
    assert "Nothing new" in credits_("confirm", "ana").out
    assert "2 people have not confirmed" in credits_("confirm", "--open").err


def test_a_name_that_changes_afterwards_is_asked_again_with_both_spellings(
    credits_: Command, tmp_path: Path
) -> None:
    credits_("confirm", "ana", "--as", "Ana Quist", "--on", "2026-03-02")
    assert "ana" not in unconfirmed(credits_)
    (tmp_path / "people.csv").write_text("person,credit_name\nana,Anna Quist\n")
    assert credits_("load", tmp_path / "people.csv").status == 0
    assert unconfirmed(credits_)["ana"] == (
        "Anna Quist (ana) would be printed under Voice, Animation and Puppet repair, and what was"
        " confirmed on 2026-03-02 is the spelling 'Ana Quist'."
    )
    rows = {row["person"]: row for row in credits_("confirm", "--open", "--json").json["open"]}
    row = rows["ana"]
    assert (row["answered"], row["answered_name"]) == ("yes", "Ana Quist")
    assert "yes to 'Ana Quist' on 2026-03-02" in credits_("confirm", "--open").out
    credits_("confirm", "ana", "--on", "2026-03-05")
    assert "ana" not in unconfirmed(credits_)


def test_a_date_of_the_people_table_counts_for_the_name_it_came_with(
    credits_: Command, tmp_path: Path
) -> None:
    table = tmp_path / "people.csv"
    table.write_text("person,credit_name,name_confirmed_on\nana,Ana Holm,2026-03-02\n")
    credits_("load", table)
    assert "ana" not in unconfirmed(credits_)
    table.write_text("person,credit_name,name_confirmed_on\nana,Ana Quist,2026-03-02\n")
    credits_("load", table)
    assert "'Ana Holm'" in unconfirmed(credits_)["ana"]


def test_a_confirmation_is_taken_back(credits_: Command) -> None:
    credits_("confirm", "ana")
    answer = credits_("confirm", "ana", "--undo")
    assert "asked about again" in answer.out
    assert "ana" in open_people(credits_)
    assert "is not confirmed" in unconfirmed(credits_)["ana"]
    assert "Nothing new" in credits_("confirm", "ana", "--undo").out
    assert credits_("confirm", "ana", "--json").json == {
        "person": "ana", "name": "Ana", "confirmed": True, "changed": True,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((), "no person is named"),
        (("nobody",), "no person has this code"),
        (("ana", "--open"), "lists everybody"),
        (("--open", "--as", "x"), "lists everybody"),
        (("ana", "--as", "x", "--undo"), "--undo takes back"),
        (("ana", "--as", " "), "is empty"),
        (("ana", "--as", "a\nb"), "control character"),
        (("ana", "--on", "2.3.2026"), "is not a date"),
        (("ana", "--on", "2099-01-01"), "is in the future"),
    ],
)
def test_calls_that_cannot_be(credits_: Command, words: tuple[str, ...], said: str) -> None:
    answer = credits_("confirm", *words)
    assert answer.status == 2
    assert said in answer.err


def test_an_answer_before_the_last_one_is_refused(credits_: Command) -> None:
    credits_("confirm", "ana", "--on", "2026-03-05")
    answer = credits_("confirm", "ana", "--as", "Ana Quist", "--on", "2026-03-02")
    assert answer.status == 2
    assert "before the last answer about this name, of 2026-03-05" in answer.err
    assert "Ana (ana) is confirmed" in credits_("confirm", "ana", "--on", "2026-03-06").out


def test_the_sheet_goes_out_and_comes_back(credits_: Command, film: Path) -> None:
    out = film / "round.xlsx"
    assert credits_("export", "confirmations", "--out", out).status == 0
    assert credits_("load", out).status == 0
    assert len(open_people(credits_)) == 3
    openpyxl = pytest.importorskip("openpyxl")
    book = openpyxl.load_workbook(out)
    sheet = book["confirmations"]
    rows = {row[0].value: row for row in sheet.iter_rows(min_row=2)}
    rows["ana"][3].value = "yes"
    rows["ben"][3].value, rows["ben"][4].value = "no", "Ben Ọkọrọ"
    book.save(out)
    loaded = credits_("load", out, "--json").json["tables"]["confirmations"]
    assert loaded == {"new": 2, "changed": 0, "same": 0}
    assert open_people(credits_) == ["cai"]
    assert "Ben Ọkọrọ" in credits_("roll").out
    assert "Nothing new" in credits_("load", out).err
    assert credits_("export", "confirmations", "--out", "-").status == 2
    table = film.parent / "names.csv"
    refused = credits_("export", "confirmations", "--out", table)
    assert refused.status == 2
    assert "Write a name that ends in .xlsx, such as names.xlsx." in refused.err
    assert not table.exists()
    assert credits_("export", "confirmations", "--out", film / "production.db").status == 2


# --- a day to answer by


def test_a_day_to_answer_by_is_kept_and_says_who_is_late(credits_: Command, film: Path) -> None:
    settings = film / "production.toml"
    before = settings.read_text()
    answer = credits_(
        "export", "confirmations", "--answer-by", "2020-04-01", "--out", film / "a.xlsx"
    )
    assert "Answers are due by 2020-04-01, kept in production.toml as names_by." in answer.err
    after = tomllib.loads(settings.read_text())
    assert after == {**tomllib.loads(before), "names_by": date(2020, 4, 1)}
    assert "kept in" not in credits_("export", "confirmations", "--out", film / "a.xlsx").err
    late = credits_("confirm", "--open", "--json").json
    assert (late["answer_by"], late["late"]) == ("2020-04-01", 3)
    assert "answers were due by 2020-04-01" in credits_("confirm", "--open").err
    credits_("confirm", "ana")
    assert credits_("check", "--json").json["late"] == {
        "answer_by": "2020-04-01",
        "people": ["ben", "cai"],
    }
    assert "2 people have not confirmed the name; answers were due" in credits_("check").out


def test_before_the_day_nobody_is_late(credits_: Command, film: Path) -> None:
    credits_("export", "confirmations", "--answer-by", "2099-04-01", "--out", film / "a.xlsx")
    assert credits_("check", "--json").json["late"] == {"answer_by": None, "people": []}
    assert "answers are due by 2099-04-01" in credits_("confirm", "--open").err
    assert not any(one["late"] for one in credits_("confirm", "--open", "--json").json["open"])


def test_a_day_in_the_settings_that_is_none_is_told(credits_: Command, film: Path) -> None:
    settings = film / "production.toml"
    settings.write_text(f'names_by = "soon"\n{settings.read_text()}')
    assert "names_by 'soon': is not a day" in credits_("confirm", "--open").err


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ('title = "a"', 'title = "a"\n\n{why}{line}\n'),
        ('names_by = 2026-01-01\ntitle = "a"\n', '{line}\ntitle = "a"\n'),
        ('title = "a"\n# names_by = 2026-04-01\n', 'title = "a"\n{line}\n'),
        (
            'title = "a"\n# of reviews\n[review]\nexpectation = "on"\n',
            'title = "a"\n\n{why}{line}\n\n# of reviews\n[review]\nexpectation = "on"\n',
        ),
        ('title = """a\nnames_by = 3"""\n', 'title = """a\nnames_by = 3"""\n\n{why}{line}\n'),
    ],
)
def test_the_day_is_written_among_the_settings_and_nothing_else_changes(
    before: str, after: str
) -> None:
    why = "# The day by which everybody is to say how their name is spelled.\n"
    wanted, day = after.format(why=why, line="names_by = 2026-05-01"), date(2026, 5, 1)
    assert with_names_by(before, day) == wanted
    if before.endswith("\n"):
        assert with_names_by(before.replace("\n", "\r\n"), day) == wanted.replace("\n", "\r\n")


# --- a sheet for each person


def test_each_person_has_a_workbook_and_a_page_called_after_the_code(
    credits_: Command, film: Path
) -> None:
    (film / "people.csv").write_text("person,credit_name,legal_name\nana,Ana Lind,Anna Zq Lind\n")
    credits_("load", film / "people.csv")
    folder = film / "names"
    assert credits_("export", "confirmations", "--each", folder).status == 0
    made = {path.name for path in folder.iterdir() if not path.name.startswith(".")}
    assert made == {f"{code}{end}" for code in ("ana", "ben", "cai") for end in (".pdf", ".xlsx")}
    assert all((folder / name).read_bytes()[:4] in (b"%PDF", b"PK\x03\x04") for name in made)
    assert b"Zq" not in whole(folder / "ana.xlsx")
    assert "Zq" not in printed_on(folder / "ana.pdf")
    (film / "people.csv").unlink()
    first = (folder / "ben.xlsx").read_bytes()
    answer = credits_("export", "confirmations", "--each", folder, "--legal")
    assert "holds legal names" in answer.err
    assert b"Zq" in whole(folder / "ana.xlsx")
    assert "Zq" in printed_on(folder / "ana.pdf")
    assert first != (folder / "ben.xlsx").read_bytes()
    assert "Nothing new" in credits_("load", folder / "ana.xlsx").err


def printed_on(page: Path) -> str:
    return "".join(each.extract_text() for each in pypdf.PdfReader(page).pages)


def whole(workbook: Path) -> bytes:
    with zipfile.ZipFile(workbook) as archive:
        return b"".join(map(archive.read, archive.namelist()))


def test_a_folder_with_other_files_is_left_alone(credits_: Command, film: Path) -> None:
    folder = film / "letters"
    folder.mkdir()
    (folder / "letter.txt").write_text("Dear Ana")
    answer = credits_("export", "confirmations", "--each", folder)
    assert (answer.status, "holds other files" in answer.err) == (2, True)
    assert [path.name for path in folder.iterdir()] == ["letter.txt"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("confirmations", "--each", "x", "--out", "y.xlsx"), "is one sheet for all"),
        (("confirmations", "--answer-by", "soon"), "--answer-by 'soon'"),
        (("csv", "--legal"), "csv asks nobody"),
        (("csv", "--each", "x"), "csv asks nobody"),
    ],
)
def test_sheets_that_cannot_be_asked_for(
    credits_: Command, words: tuple[str, ...], said: str
) -> None:
    answer = credits_("export", *words)
    assert (answer.status, said in answer.err) == (2, True)


def test_spaces_in_a_row_are_read_as_one_and_said(credits_: Command) -> None:
    answer = credits_("confirm", "ana", "--as", "Ana  Lind")
    assert "Ana Lind (ana) is confirmed" in answer.out
    assert "Spaces in a row were read as one." in answer.err
