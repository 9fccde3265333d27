"""credits settle: a question is answered and shown as settled, until its facts change."""

from __future__ import annotations

from pathlib import Path

import pytest

from credits.cli.main import run
from tests.cli.conftest import Command

ON_TWO_STAGES = """craft,person,puppet,shot,frames,stage,finished_on
animation,ana,wick-1,010-020,1-8,S1,2026-03-05
animation,ana,wick-1,010-020,9-16,S2,2026-03-05
animation,ana,wick-1,010-020,1-8,S1,2026-03-06
animation,ana,wick-1,010-020,9-16,S2,2026-03-06
"""
PUPPET = "puppet-in-two-places"


@pytest.fixture(autouse=True)
def asked(film: Path, tmp_path: Path, credits_: Command) -> Path:
    """The worked example; on two days wick-1 and Ana were on two stages."""
    (tmp_path / "entries.csv").write_text(ON_TWO_STAGES)
    assert credits_("load", tmp_path / "entries.csv").status == 0
    return film


def names(credits_: Command) -> list[str]:
    return [check["check"] for check in credits_("check", "--json").json["checks"]]


def test_a_question_is_settled_and_shown_as_settled(credits_: Command) -> None:
    before = names(credits_)
    answer = credits_(
        "settle", PUPPET, "wick-1", "2026-03-05", "--why", "Carried over at noon.", "--by", "Bo"
    )
    assert answer.status == 0
    assert answer.out.startswith(f"Settled: {PUPPET}: The log has puppet wick-1")
    assert "Carried over at noon. (Bo, 20" in answer.out
    shown = credits_("check", "--json").json
    assert len(shown["checks"]) == len(before) - 1
    (settled,) = shown["settled"]
    assert (settled["check"], settled["why"], settled["settled_by"]) == (
        PUPPET, "Carried over at noon.", "Bo",
    )  # fmt: skip
    assert settled["subjects"]["date"] == "2026-03-05"
    assert settled["settled_at"].endswith("+00:00")
    assert "1 question settled." in credits_("check").err


def test_check_shows_the_command_that_settles_each_question(credits_: Command) -> None:
    lines = [line.strip() for line in credits_("check").out.splitlines()]
    shown = [line.removeprefix("Settle it: ") for line in lines if line.startswith("Settle it: ")]
    assert f'credits settle {PUPPET} wick-1 2026-03-05 --why "..."' in shown
    assert 'credits settle no-engagement cai --why "..."' in shown
    for command in shown:
        words = command.replace('"..."', "answered").split()[1:]
        assert credits_(*words).status == 0
    assert names(credits_) == []


def test_it_is_asked_again_when_an_entry_behind_it_changes(credits_: Command) -> None:
    assert credits_("settle", PUPPET, "wick-1", "2026-03-05", "--why", "Carried.").status == 0
    assert names(credits_).count(PUPPET) == 1
    assert credits_("amend", "A-9", "--frames", "9-17").status == 0
    assert names(credits_).count(PUPPET) == 2
    assert credits_("check", "--json").json["settled"] == []


def test_an_answer_is_taken_back(credits_: Command) -> None:
    call = ("settle", "no-engagement", "ana")
    assert credits_(*call, "--why", "A guest.").status == 0
    assert "no-engagement" in names(credits_)  # of Ben and Cai
    back = credits_(*call, "--undo", "--json")
    assert back.json["settled"] is False
    assert names(credits_).count("no-engagement") == 3
    again = credits_(*call, "--undo")
    assert again.status == 1
    assert "is not settled here" in again.err


def test_a_new_answer_takes_the_place_of_the_old(credits_: Command) -> None:
    credits_("settle", "no-engagement", "ana", "--why", "A guest.")
    again = credits_("settle", "no-engagement", "ana", "--why", "On loan.")
    assert "settled already" in again.err
    assert "A guest." in again.err
    (settled,) = credits_("check", "--json").json["settled"]
    assert settled["why"] == "On loan."


def test_several_cases_are_listed_with_their_commands(credits_: Command) -> None:
    answer = credits_("settle", PUPPET, "WICK-1", "--why", "Carried over.")
    assert answer.status == 2
    assert f"2 cases of {PUPPET} are about WICK-1. Say which." in answer.err
    for day in ("2026-03-05", "2026-03-06"):
        assert f"credits settle {PUPPET} wick-1 {day} --why" in answer.err
    assert names(credits_).count(PUPPET) == 2


def test_of_several_the_only_open_one_is_meant(credits_: Command) -> None:
    credits_("settle", PUPPET, "wick-1", "2026-03-05", "--why", "Carried over.")
    assert credits_("settle", PUPPET, "wick-1", "--why", "So too.").status == 0
    assert PUPPET not in names(credits_)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["puppet-in-two-place", "wick-1"], "Did you mean puppet-in-two-places"),
        (["zzz", "wick-1"], "The checks are puppet-in-two-places, person-in-two-places"),
        ([PUPPET, "brine-1"], f"{PUPPET} asks nothing about brine-1, but this."),
        (["names-alike", "ana"], "'names-alike': asks nothing."),
    ],
)
def test_what_is_not_asked_is_not_settled(credits_: Command, words: list[str], said: str) -> None:
    answer = credits_("settle", *words, "--why", "So.")
    assert (answer.status, answer.out) == (2, "")
    assert said in answer.err


@pytest.mark.parametrize("why", ["", "   "])
def test_an_answer_says_why(credits_: Command, why: str) -> None:
    answer = credits_("settle", "no-engagement", "ana", "--why", why)
    assert answer.status == 2
    assert "--why: an answer says why." in answer.err


def test_what_cannot_be_true_is_corrected_not_settled(credits_: Command, tmp_path: Path) -> None:
    (tmp_path / "puppets.csv").write_text("puppet,character,retired_on\nwick-1,wick,2026-02-01\n")
    credits_("load", tmp_path / "puppets.csv")
    answer = credits_("settle", "puppet-after-retirement", "wick-1", "--why", "It was there.")
    assert answer.status == 1
    assert "cannot be true, and is corrected, not settled" in answer.err
    assert credits_("check").status == 1


def test_tab_knows_the_checks_and_what_they_ask_about(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def completed(words: str) -> str:
        monkeypatch.setenv("_CREDITS_COMPLETE", "complete_bash")
        monkeypatch.setenv("COMP_WORDS", f"credits settle {words}")
        monkeypatch.setenv("COMP_CWORD", str(len(words.split(" ")) + 1))
        capsys.readouterr()
        run([])
        return capsys.readouterr().out

    assert completed("pupp").split() == [
        PUPPET, "puppet-after-retirement", "puppet-unknown",
    ]  # fmt: skip
    assert completed("no-engagement b").split() == ["ben"]


def test_by_the_productions_own_plan_too_the_site_shows_what_was_settled(
    asked: Path, credits_: Command
) -> None:
    assert credits_("plan").status == 0
    plan = asked / "credit-plan.toml"
    first = plan.read_text(encoding="utf-8")
    plan.write_text(first.replace('"Animation"', '"At the table"'), encoding="utf-8")
    assert "would be printed under At the table" in credits_("check").out
    call = ("settle", "name-unconfirmed", "ana", "--why", "She confirmed it by telephone.")
    assert credits_(*call).status == 0
    assert credits_("site", "--edition", "office").status == 0
    page = (asked / "site" / "office" / "checks.html").read_text(encoding="utf-8")
    assert page.count("She confirmed it by telephone.") == 1
