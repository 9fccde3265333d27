"""credits roll --save, --against, --proofs: frozen copies and what changed since."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.conftest import Command

pytestmark = pytest.mark.usefixtures("film_with_cut")

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
    assert (
        change["what"]
        == "Under 'Voice', 'Animation' and 'Puppet repair': 'Ana' is now 'Ana Quist'."
    )
    assert change["why"][-1] == "confirmed on 2026-03-09"


def test_what_changed_only_behind_the_lines_is_not_passed_over(credits_: Command) -> None:
    credits_("roll", "--save")
    credits_("log", "voice", "ana", "wick", "--on", "2026-03-04")
    answer = credits_("roll", "--against", 1)
    assert answer.out == ""
    assert "Nothing that is read has changed since proof 1" in answer.err
    assert "The figures or entries behind the lines" in answer.err


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--against", 1), "is not the number of a proof"),
        (("--against", 0), "is not the number of a proof"),
        (("--note", "x"), "Write --save with it"),
        (("--by", "Bo"), "Write --save with it"),
        (("--save", "--by", "a\nb"), "control character"),
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
