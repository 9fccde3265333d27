"""credits confirm: spellings, who has not answered, and the sheet that goes round."""

from __future__ import annotations

from pathlib import Path

import pytest

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
