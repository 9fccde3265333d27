"""credits roll --save, --against, --proofs: frozen copies and what changed since."""

from __future__ import annotations

import re
import sqlite3
import zipfile
from contextlib import closing
from pathlib import Path

import pytest
from pypdf import PdfReader

from tests.cli.conftest import Command

pytestmark = pytest.mark.usefixtures("film_with_cut")

OFFICE = ("--edition", "office")
PLAN = """
[[section]]
heading = "Everybody on Wick"
characters = ["wick"]
"""


def kinds(answer: object) -> list[tuple[str, str | None]]:
    return [(change["change"], change["person"]) for change in answer["changes"]]  # type: ignore[index]


def test_a_proof_is_saved_once_and_listed(credits_: Command) -> None:
    assert credits_("roll", "--json").json["proof"] is None
    saved = credits_("roll", "--save", "--by", "Bo", "--note", "First round.")
    assert saved.status == 0
    assert "Saved as proof 1." in saved.err
    again = credits_("roll", "--save", "--json")
    assert again.json["proof"] == 1
    assert credits_("roll", "--json").json["proof"] == 1
    (proof,) = credits_("roll", "--proofs", "--json").json["proofs"]
    assert (proof["proof"], proof["saved_by"], proof["note"]) == (1, "Bo", "First round.")
    assert (proof["cut"], proof["last_line"], proof["people"]) == (1, "A-7", 3)
    assert credits_("roll", "--proofs").out.splitlines()[1].startswith("1\t")


def test_what_changed_since_is_told_with_its_cause(credits_: Command, film: Path) -> None:
    credits_("roll", "--save")
    credits_("log", "paint", "ben", "wick", "--on", "2026-03-04")
    answer = credits_("roll", "--against", 1, "--json").json
    assert (answer["against"], answer["proof"]) == (1, None)
    painted = next(change for change in answer["changes"] if change["person"] == "ben")
    assert painted["what"] == "Ben is now also printed under 'Puppet painting'."
    assert (painted["why"], painted["entries"]) == (["new entry A-8"], ["A-8"])
    shown = credits_("roll", "--against", 1)
    assert "came\tBen is now also printed under 'Puppet painting'.\tnew entry A-8" in shown.out
    assert "2 changes since proof 1" in shown.err  # the section is new, too
    assert credits_("roll", "--save", "--json").json["proof"] == 2
    assert credits_("roll", "--against", 2, "--json").json["changes"] == []
    (film / "credit-plan.toml").write_text(PLAN)
    by_plan = credits_("roll", "--against", 2, "--json").json
    assert by_plan["changes"]
    assert {tuple(c["why"]) for c in by_plan["changes"]} == {("the plan changed",)}


def test_a_new_cut_is_named_as_the_cause(credits_: Command, film: Path, tmp_path: Path) -> None:
    (film / "credit-plan.toml").write_text(
        '[[section]]\nheading = "Animators"\ncrafts = ["animation"]\norder = "footage"\n'
    )
    first = credits_("roll", "--save")
    assert first.status == 0, first.err
    (tmp_path / "cut.csv").write_text("shot,first,last\n010-020,31,48\n")
    assert credits_("cut", tmp_path / "cut.csv").status == 0
    answer = credits_("roll", "--against", 1, "--json").json
    assert ("order", "ana") in kinds(answer) or ("order", "ben") in kinds(answer)
    assert {tuple(c["why"]) for c in answer["changes"]} == {
        ("the cut changed from version 1 to 2",)
    }


def test_a_name_that_is_respelled_is_told(credits_: Command) -> None:
    credits_("roll", "--save")
    credits_("confirm", "ana", "--as", "Ana Quist", "--on", "2026-03-09")
    answer = credits_("roll", "--against", 1, "--json").json
    (change,) = [c for c in answer["changes"] if c["change"] == "respelled"]
    assert change["what"] == (
        "Under 'Voice', 'Animation' and 'Puppet repair': 'Ana' is now 'Ana Quist'."
    )
    assert change["why"] == [
        "the credit name was 'Ana' and is 'Ana Quist', confirmed on 2026-03-09"
    ]
    (change,) = [c for c in answer["changes"] if c["change"] == "confirmed"]
    assert change["what"].endswith("the spelling 'Ana Quist' is now confirmed.")
    assert change["why"] == ["confirmed on 2026-03-09"]


def test_what_changed_only_behind_the_lines_is_not_passed_over(credits_: Command) -> None:
    credits_("roll", "--save")
    credits_("log", "voice", "ana", "wick", "--on", "2026-03-04")
    answer = credits_("roll", "--against", 1)
    assert answer.out == ""
    assert "Nothing that is read has changed since proof 1" in answer.err
    assert "The figures or entries behind the lines" in answer.err


def test_a_change_is_data_too(credits_: Command) -> None:
    credits_("roll", "--save")
    credits_("confirm", "ana", "--as", "Ana Quist", "--on", "2026-03-09")
    changes = credits_("roll", "--against", 1, "--json").json["changes"]
    (respelled,) = [change for change in changes if change["change"] == "respelled"]
    edit = {"edit": "set", "of": "line", "field": "name", "old": "Ana", "new": "Ana Quist"}
    assert [{**edit, "at": each["at"], "to": each["to"]} for each in respelled["edits"]] == (
        respelled["edits"]
    )
    assert [each["at"][1] for each in respelled["edits"]] == [1, 1, 1]


def test_any_two_proofs_are_compared(credits_: Command, film: Path) -> None:
    credits_("roll", "--save")
    credits_("log", "paint", "ben", "wick", "--on", "2026-03-04")
    assert credits_("roll", "--save", "--json").json["proof"] == 2
    (film / "credit-plan.toml").write_text(PLAN)
    credits_("log", "paint", "ana", "wick", "--on", "2026-03-05")
    credits_("roll", "--save")
    answer = credits_("roll", "--proof", 2, "--against", 1, "--json").json
    assert (answer["proof"], answer["against"], answer["plan"]) == (2, 1, "built-in plan")
    # What came after proof 2 is no cause of it.
    assert kinds(answer) == [("came", "ben"), ("section", None)]
    assert {tuple(change["why"]) for change in answer["changes"]} == {("new entry A-8",)}
    back = credits_("roll", "--proof", 1, "--against", 2)
    gone = "went\tBen is no longer printed under 'Puppet painting', but elsewhere."
    assert f"{gone}\tno cause was looked for" in back.out
    assert "2 changes from proof 2" in back.err
    assert credits_("roll", "--proof", 3, "--against", 2, "--json").json["changes"]


def test_a_proof_is_shown_as_it_was_frozen(credits_: Command) -> None:
    credits_("roll", "--save")
    credits_("confirm", "ana", "--as", "Ana Quist", "--on", "2026-03-09")
    answer = credits_("roll", "--proof", 1)
    assert "Ana" in answer.out
    assert "Quist" not in answer.out
    assert "These are the credits of proof 1" in answer.err
    assert credits_("roll", "--proof", 1, "--json").json["proof"] == 1


def test_a_merge_and_a_key_of_the_plan_are_named(credits_: Command, film: Path) -> None:
    plan = film / "credit-plan.toml"
    plan.write_text('[[section]]\nheading = "Painters"\ncrafts = ["paint"]\n')
    credits_("log", "paint", "ben", "wick", "--on", "2026-03-04")
    credits_("log", "paint", "cai", "wick", "--on", "2026-03-04")
    credits_("roll", "--save")
    people = film / "people.csv"
    people.write_text("person,credit_name,same_as\ncai,Cai,ben\n")
    assert credits_("load", people).status == 0
    plan.write_text('[[section]]\nheading = "Painted by"\ncrafts = ["paint"]\nlayout = "card"\n')
    told = {
        change["what"]: change["why"]
        for change in credits_("roll", "--against", 1, "--json").json["changes"]
    }
    assert told["Ben is no longer printed under 'Painters' (as 'Cai'), but elsewhere."] == [
        "cai is the same person as ben"
    ]
    assert told["The heading 'Painters' is now 'Painted by'."] == [
        "the plan: heading of the section 'Painted by' was 'Painters' and is 'Painted by'"
    ]
    assert ["the plan: layout of the section 'Painted by' was empty and is 'card'"] in told.values()


def test_a_new_title_is_told(credits_: Command, film: Path) -> None:
    credits_("roll", "--save")
    settings = film / "production.toml"
    settings.write_text(re.sub('title = ".*"', 'title = "The Slug"', settings.read_text()))
    (change,) = credits_("roll", "--against", 1, "--json").json["changes"]
    assert (change["change"], change["why"]) == (
        "title", ["the title in production.toml is another"],
    )  # fmt: skip


def test_a_proof_says_the_seal_of_the_log_which_later_shows_what_came_since(
    credits_: Command, film: Path, tmp_path: Path
) -> None:
    credits_("roll", "--save")
    then = credits_("verify", "--seal", "--json").json["seal"]
    assert credits_("log", "paint", "cai", "wick-1").status == 0
    (proof,) = credits_("roll", "--proofs", "--json").json["proofs"]
    groups = " ".join(then[at : at + 4] for at in range(0, 64, 4))
    assert proof["log_seal"] == then
    assert groups in credits_("roll", "--proofs").out
    paper = tmp_path / "proof.pdf"
    assert credits_("export", "pdf", *OFFICE, "--proof", 1, "--out", paper).status == 0
    words = " ".join(" ".join(p.extract_text() for p in PdfReader(paper).pages).split())
    printed = words.partition("Seal of the log: ")[2][: len(groups)]
    assert printed == groups
    answer = credits_("verify", "--against", printed)
    assert answer.status == 0
    assert "1 line came since." in answer.out
    made = credits_("export", "json", *OFFICE, "--proof", 1).json
    assert (made["seal"], made["log_seal"]) == (proof["seal"], then)
    assert credits_("site", "--edition", "all").status == 0
    for edition, shown in (("office", True), ("crew", False), ("public", False)):
        page = (film / "site" / edition / "credits.html").read_text()
        assert (f"Seal of the log then: {groups}" in page) is shown


@pytest.mark.parametrize("edition", ["public", "crew"])
def test_a_seal_is_for_the_office_alone(credits_: Command, tmp_path: Path, edition: str) -> None:
    """It is made of whom the log holds back, too: whoever has all the rest could try names out."""
    credits_("roll", "--save")
    (proof,) = credits_("roll", "--proofs", "--json").json["proofs"]
    for number in (("--proof", 1), ()):
        words = ("--edition", edition, *number)
        made = credits_("export", "json", *words).json
        assert (made["proof"], made["seal"], made["log_seal"]) == (1, None, None)
        paper = tmp_path / f"proof-{len(number)}.pdf"
        assert credits_("export", "pdf", *words, "--out", paper).status == 0
        printed = "".join("".join(p.extract_text() for p in PdfReader(paper).pages).split())
        assert "Proof1" in printed
        for seal in (proof["seal"], proof["log_seal"]):
            assert seal[:16] not in printed


def test_a_draft_has_no_seal(credits_: Command, film: Path) -> None:
    assert film.is_dir()
    made = credits_("export", "json", *OFFICE).json
    assert (made["proof"], made["seal"], made["log_seal"]) == (None, None, None)


def test_the_seal_is_printed_and_an_altered_proof_is_noticed(
    credits_: Command, film: Path, tmp_path: Path
) -> None:
    credits_("roll", "--save")
    (proof,) = credits_("roll", "--proofs", "--json").json["proofs"]
    groups = " ".join(proof["seal"][at : at + 4] for at in range(0, 64, 4))
    assert groups in credits_("roll", "--proofs").out
    sheet = tmp_path / "credits.xlsx"
    assert credits_("export", "xlsx", "--proof", 1, "--out", sheet).status == 0
    with zipfile.ZipFile(sheet) as book:
        assert groups in book.read("xl/sharedStrings.xml").decode()
    assert credits_("export", "json", *OFFICE, "--proof", 1).json["seal"] == proof["seal"]
    assert credits_("export", "json", "--proof", 1).json["title"]
    with closing(sqlite3.connect(film / "production.db")) as raw:
        (guard,) = raw.execute(
            "SELECT sql FROM sqlite_master WHERE name = 'proofs_changed'"
        ).fetchone()
        raw.execute("DROP TRIGGER proofs_changed")
        raw.execute("UPDATE proofs SET content = replace(content, 'Ana', 'Eva')")
        raw.execute(guard)
        raw.commit()
    verified = credits_("verify")
    assert verified.status == 1
    said = "proof 1 does not fit its seal: it was altered after it was made"
    assert said in verified.out + verified.err
    assert credits_("roll", "--json").json["proof"] is None
    for words in (
        ("roll", "--proof", 1),
        ("roll", "--against", 1),
        ("export", "text", "--proof", 1),
    ):
        answer = credits_(*words)
        assert answer.status != 0
        assert said in answer.err
        assert answer.out == ""


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--against", 1), "is not the number of a proof"),
        (("--against", 0), "is not the number of a proof"),
        (("--note", "x"), "Write --save with it"),
        (("--by", "Bo"), "Write --save with it"),
        (("--save", "--by", "a\nb"), "control character"),
        (("--proof", 7), "is not the number of a proof"),
        (("--proof", 1, "--save"), "does not go with --proof"),
        (("--save", "--against", 9), "is not the number of a proof"),
    ],
)
def test_calls_that_cannot_be(credits_: Command, words: tuple[object, ...], said: str) -> None:
    answer = credits_("roll", *words)
    assert answer.status == 2
    assert said in answer.err
    assert answer.out == ""


def test_without_a_proof_the_list_says_how_to_make_one(credits_: Command) -> None:
    answer = credits_("roll", "--proofs")
    assert (answer.status, answer.out) == (0, "")
    assert "credits roll --save" in answer.err


def test_a_plan_with_problems_freezes_nothing(credits_: Command, film: Path) -> None:
    (film / "credit-plan.toml").write_text("[[section]]\nwhatever = 1\n")
    assert credits_("roll", "--save").status == 1
    (film / "credit-plan.toml").unlink()
    assert credits_("roll", "--proofs", "--json").json == {"proofs": []}
