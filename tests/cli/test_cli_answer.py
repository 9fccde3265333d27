"""credits answer: one question, several or all like it are answered, until their facts change."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from credits.cli.main import run
from tests.cli.conftest import Command
from tests.conftest import made_once

ON_TWO_STAGES = """craft,person,puppet,shot,frames,stage,finished_on
animation,ana,wick-1,010-020,1-8,S1,2026-03-05
animation,ana,wick-1,010-020,9-16,S2,2026-03-05
animation,ana,wick-1,010-020,1-8,S1,2026-03-06
animation,ana,wick-1,010-020,9-16,S2,2026-03-06
"""
PUPPET = "puppet-in-two-places"


@pytest.fixture(scope="session")
def film_of_questions(shared_folder: Path, films: Path) -> Path:
    """The folder of the worked example, ``film``, with the ``entries.csv`` that were loaded."""

    def make(folder: Path) -> None:
        shutil.copytree(films / "film", folder / "film")
        (folder / "entries.csv").write_text(ON_TWO_STAGES)
        assert run(["load", str(folder / "entries.csv"), "-p", str(folder / "film")]) == 0

    return made_once(shared_folder / "film-of-questions", make)


@pytest.fixture(autouse=True)
def asked(film: Path, tmp_path: Path, film_of_questions: Path) -> Path:
    """The worked example; on two days wick-1 and Ana were on two stages."""
    shutil.copy(film_of_questions / "entries.csv", tmp_path)
    shutil.copytree(film_of_questions / "film", film, dirs_exist_ok=True)
    return film


def names(credits_: Command, *words: str) -> list[str]:
    return [check["check"] for check in credits_("check", *words, "--json").json["checks"]]


def test_a_question_is_answered_and_shown_as_answered(credits_: Command) -> None:
    before = names(credits_)
    answer = credits_(
        "answer", PUPPET, "wick-1", "2026-03-05", "--why", "Carried over at noon.", "--by", "Bo"
    )
    assert answer.status == 0
    assert answer.out.startswith(f"Answered: {PUPPET}: The log has puppet wick-1")
    assert "Carried over at noon. (Bo, 20" in answer.out
    shown = credits_("check", "--json").json
    assert len(shown["checks"]) == len(before) - 1
    (settled,) = shown["settled"]
    assert (settled["check"], settled["why"], settled["settled_by"]) == (
        PUPPET, "Carried over at noon.", "Bo",
    )  # fmt: skip
    assert settled["subjects"]["date"] == "2026-03-05"
    assert settled["settled_at"].endswith("+00:00")
    assert "1 question answered." in credits_("check").out


def test_check_shows_the_command_that_answers_each_question(credits_: Command) -> None:
    lines = [line.strip() for line in credits_("check", "--names").out.splitlines()]
    shown = [line.removeprefix("Answer it: ") for line in lines if line.startswith("Answer it: ")]
    assert f'credits answer {PUPPET} wick-1 2026-03-05 --why "..."' in shown
    assert 'credits answer no-engagement cai --why "..."' in shown
    for command in shown:
        words = command.replace('"..."', "answered").split()[1:]
        assert credits_(*words).status == 0
    assert names(credits_) == []


def test_it_is_asked_again_when_an_entry_behind_it_changes(credits_: Command) -> None:
    assert credits_("answer", PUPPET, "wick-1", "2026-03-05", "--why", "Carried.").status == 0
    assert names(credits_).count(PUPPET) == 1
    assert credits_("amend", "A-9", "--frames", "9-17").status == 0
    assert names(credits_).count(PUPPET) == 2
    assert credits_("check", "--json").json["settled"] == []


def test_an_answer_is_taken_back(credits_: Command) -> None:
    call = ("answer", "no-engagement", "ana")
    assert credits_(*call, "--why", "A guest.").status == 0
    assert "no-engagement" in names(credits_)  # of Ben and Cai
    back = credits_(*call, "--undo", "--json")
    assert back.json["settled"] is False
    assert names(credits_).count("no-engagement") == 3
    again = credits_(*call, "--undo")
    assert again.status == 1
    assert "is not answered here" in again.err


def test_a_new_answer_takes_the_place_of_the_old(credits_: Command) -> None:
    credits_("answer", "no-engagement", "ana", "--why", "A guest.")
    again = credits_("answer", "no-engagement", "ana", "--why", "On loan.")
    assert "answered already" in again.err
    assert "A guest." in again.err
    (settled,) = credits_("check", "--json").json["settled"]
    assert settled["why"] == "On loan."


def test_several_cases_are_listed_with_their_commands(credits_: Command) -> None:
    answer = credits_("answer", PUPPET, "WICK-1", "--why", "Carried over.")
    assert answer.status == 2
    assert (
        f"2 cases of {PUPPET} are about WICK-1. Say which, or answer --all of them." in answer.err
    )
    for day in ("2026-03-05", "2026-03-06"):
        assert f"credits answer {PUPPET} wick-1 {day} --why" in answer.err
    assert names(credits_).count(PUPPET) == 2


def test_of_several_the_only_open_one_is_meant(credits_: Command) -> None:
    credits_("answer", PUPPET, "wick-1", "2026-03-05", "--why", "Carried over.")
    assert credits_("answer", PUPPET, "wick-1", "--why", "So too.").status == 0
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
def test_what_is_not_asked_is_not_answered(credits_: Command, words: list[str], said: str) -> None:
    answer = credits_("answer", *words, "--why", "So.")
    assert (answer.status, answer.out) == (2, "")
    assert said in answer.err


@pytest.mark.parametrize("why", ["", "   "])
def test_an_answer_says_why(credits_: Command, why: str) -> None:
    answer = credits_("answer", "no-engagement", "ana", "--why", why)
    assert answer.status == 2
    assert "--why: an answer says why." in answer.err


def test_what_cannot_be_true_is_corrected_not_answered(credits_: Command, tmp_path: Path) -> None:
    (tmp_path / "puppets.csv").write_text("puppet,character,retired_on\nwick-1,wick,2026-02-01\n")
    credits_("load", tmp_path / "puppets.csv")
    answer = credits_("answer", "puppet-after-retirement", "wick-1", "--why", "It was there.")
    assert answer.status == 1
    assert "cannot be true, and is corrected, not answered" in answer.err
    assert credits_("check").status == 1


def test_tab_knows_the_checks_and_what_they_ask_about(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def completed(words: str) -> str:
        monkeypatch.setenv("_CREDITS_COMPLETE", "complete_bash")
        monkeypatch.setenv("COMP_WORDS", f"credits answer {words}")
        monkeypatch.setenv("COMP_CWORD", str(len(words.split(" ")) + 1))
        capsys.readouterr()
        run([])
        return capsys.readouterr().out

    assert completed("pupp").split() == [
        PUPPET, "puppet-after-retirement", "puppet-unknown",
    ]  # fmt: skip
    assert completed("no-engagement b").split() == ["ben"]


def test_by_the_productions_own_plan_too_the_site_shows_what_was_answered(
    asked: Path, credits_: Command
) -> None:
    assert credits_("plan").status == 0
    plan = asked / "credit-plan.toml"
    first = plan.read_text(encoding="utf-8")
    plan.write_text(first.replace('"Animation"', '"At the table"'), encoding="utf-8")
    assert "would be printed under At the table" in credits_("check", "--names").out
    call = ("answer", "name-unconfirmed", "ana", "--why", "She confirmed it by telephone.")
    assert credits_(*call).status == 0
    assert credits_("site", "--edition", "office").status == 0
    page = (asked / "site" / "office" / "checks.html").read_text(encoding="utf-8")
    assert page.count("She confirmed it by telephone.") == 1


def test_what_it_was_called_before_it_is_still_called(credits_: Command) -> None:
    assert credits_("settle", "no-engagement", "ana", "--why", "A guest.").status == 0
    assert "settle" not in credits_("--help").out
    assert "credits settle" in credits_("settle", "--help").out


# --- several at once


def test_words_that_name_no_case_together_name_one_each(credits_: Command) -> None:
    done = credits_("answer", "no-engagement", "ana", "BEN", "--why", "Guests.", "--json").json
    assert [each["subjects"]["person"] for each in done["answers"]] == ["ana", "ben"]
    assert names(credits_).count("no-engagement") == 1
    back = credits_("answer", "no-engagement", "ana", "ben", "--undo")
    assert back.out.count("Open again") == 2
    assert names(credits_).count("no-engagement") == 3


def test_of_several_all_are_answered_or_none(credits_: Command) -> None:
    answer = credits_("answer", "no-engagement", "ana", "dora", "--why", "Guests.")
    assert answer.status == 2
    assert names(credits_).count("no-engagement") == 3


def test_a_day_that_is_not_asked_about_is_no_second_case(credits_: Command, tmp_path: Path) -> None:
    """Both words name one case, but no case has both: nothing is guessed."""
    one = "craft,person,puppet,stage,finished_on\nrepair,cai,brine-1,{},2026-03-09\n"
    folder = tmp_path / "two"
    folder.mkdir()
    (folder / "entries.csv").write_text(one.format("S1") + "repair,cai,brine-1,S2,2026-03-09\n")
    assert credits_("load", folder).status == 0
    credits_("answer", PUPPET, "wick-1", "2026-03-05", "--why", "Carried.")
    answer = credits_("answer", PUPPET, "wick-1", "2026-03-09", "--why", "Carried.")
    assert answer.status == 2
    assert f"{PUPPET} asks nothing about wick-1 2026-03-09, but this." in answer.err


def test_all_of_a_check_are_answered_at_once(credits_: Command) -> None:
    answer = credits_("answer", PUPPET, "no-engagement", "--all", "--why", "The first week.")
    assert answer.out.count("Answered: ") == 5
    assert answer.out.count("The first week.") == 1
    assert {PUPPET, "no-engagement"}.isdisjoint(names(credits_))
    again = credits_("answer", PUPPET, "--all", "--why", "So.")
    assert again.status == 1
    assert f"every case of {PUPPET} is answered already" in again.err


def test_all_about_something_are_answered(credits_: Command) -> None:
    assert credits_("answer", PUPPET, "2026-03-05", "--all", "--why", "Carried.").status == 0
    assert names(credits_).count(PUPPET) == 1
    assert credits_("answer", PUPPET, "--all", "--undo").status == 0
    assert names(credits_).count(PUPPET) == 2


def test_a_check_alone_does_not_say_which(credits_: Command) -> None:
    answer = credits_("answer", "no-engagement", "--why", "Guests.")
    assert answer.status == 2
    assert "'no-engagement': does not say which of 3 cases." in answer.err
    assert 'credits answer no-engagement ana --why "..."' in answer.err
    nothing = credits_("answer", "names-alike", "--all", "--why", "So.")
    assert (nothing.status, nothing.err) == (
        2,
        "'names-alike': asks nothing. See `credits check`.\n",
    )


# --- standing answers

ROUND = ("answer", PUPPET, "--standing", "--stage", "s2", "--stage", "S1")


def test_a_standing_answer_holds_for_later_days_too(credits_: Command) -> None:
    answer = credits_(*ROUND, "--why", "The hospital goes round the stages.", "--by", "Bo")
    assert answer.status == 0
    assert answer.out.startswith(
        f"Standing answer: {PUPPET}: every case with stage S1 and stage S2"
    )
    assert "2 questions answered now." in answer.out
    for stage in ("S1", "S2"):
        credits_("log", "repair", "cai", "wick-1", "--stage", stage, "--on", "2026-04-01")
    assert PUPPET not in names(credits_)
    settled = [e for e in credits_("check", "--json").json["settled"] if e["check"] == PUPPET]
    assert [(each["standing"], each["settled_by"]) for each in settled] == [(True, "Bo")] * 3
    (standing,) = credits_("check", "--json").json["standing"]
    assert standing["subjects"] == {"stage": ["S1", "S2"]}


def test_a_standing_answer_is_taken_back_as_it_is_shown(credits_: Command) -> None:
    before = names(credits_)
    credits_(*ROUND, "--why", "They go round.")
    shown = credits_("check", "--answered").out
    (command,) = (
        line.strip().removeprefix("Take it back: credits ")
        for line in shown.splitlines()
        if "Take it back" in line
    )
    assert shown.count("They go round.") == 3
    back = credits_(*command.split())
    assert back.status == 0
    assert "2 questions open again." in back.out
    assert names(credits_) == before
    assert credits_("check", "--json").json["standing"] == []


def test_one_case_of_a_standing_answer_is_not_taken_back_alone(credits_: Command) -> None:
    credits_(*ROUND, "--why", "They go round.")
    back = credits_("answer", PUPPET, "wick-1", "2026-03-05", "--undo")
    assert back.status == 1
    assert "has a standing answer: They go round." in back.err
    assert f"credits answer {PUPPET} --standing --stage S1 --stage S2 --undo" in back.err


def test_a_standing_answer_by_craft_or_by_what_the_check_is_about(credits_: Command) -> None:
    for words, left in (
        (("--craft", "repair"), 2),
        (("--craft", "animation"), 0),
        (("wick-1",), 0),
        (("puppet=WICK-1", "date=2026-03-05"), 1),
        (("brine-1",), 2),
        (("--all",), 0),
    ):
        call = ("answer", PUPPET, "--standing", *words)
        assert credits_(*call, "--why", "They go round.").status == 0, words
        assert names(credits_).count(PUPPET) == left, words
        undo = [word for word in words if word != "--all"]
        assert credits_("answer", PUPPET, "--standing", *undo, "--undo").status == 0, words
        assert names(credits_).count(PUPPET) == 2


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ([PUPPET, "--standing"], "--standing: does not say which cases"),
        ([PUPPET, "no-engagement", "--standing", "--all"], "a standing answer is about one check"),
        ([PUPPET, "--standing", "--stage", "S9"], "no stage has this code"),
        ([PUPPET, "--standing", "--person", "ana"], "asks about puppet and date and stage"),
        ([PUPPET, "--standing", "date=someday"], "date 'someday'"),
        ([PUPPET, "--standing", "colour=red"], "asks about puppet and date and stage"),
        ([PUPPET, "--standing", "zzz"], "is nothing that puppet-in-two-places asks about"),
        ([PUPPET, "wick-1", "--stage", "S1"], "--stage 'S1': goes with --standing"),
    ],
)
def test_a_standing_answer_that_cannot_be(credits_: Command, words: list[str], said: str) -> None:
    answer = credits_("answer", *words, "--why", "So.")
    assert (answer.status, answer.out) == (2, "")
    assert said in answer.err


def test_an_empty_production_asks_nothing(
    tmp_path: Path, credits_: Command, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert credits_("start", "Nothing", tmp_path / "nothing").status == 0
    monkeypatch.chdir(tmp_path / "nothing")
    for words in (["no-engagement", "ana"], ["no-engagement", "--all"]):
        answer = credits_("answer", *words, "--why", "So.")
        assert (answer.status, answer.out) == (2, "")
        assert "asks nothing" in answer.err
    standing = credits_("answer", PUPPET, "--standing", "--all", "--why", "One day.", "--json")
    assert (standing.json["subjects"], standing.json["answers"]) == ({}, [])
    assert (
        credits_("check", "--answered")
        .out.splitlines()[1]
        .startswith(f"  {PUPPET}: every case: One day. (")
    )


def test_only_a_standing_answer_that_was_given_is_taken_back(credits_: Command) -> None:
    credits_(*ROUND, "--why", "They go round.")
    back = credits_("answer", PUPPET, "--standing", "--stage", "S1", "--undo")
    assert back.status == 1
    assert f"{PUPPET} has no such standing answer" in back.err
    assert "They go round." in back.err


def test_the_office_reads_a_standing_answer_on_its_page(asked: Path, credits_: Command) -> None:
    why = 'The <b>hospital</b> goes "round" the stages 😀'
    assert credits_(*ROUND, "--why", why).status == 0
    assert credits_("site", "--edition", "office").status == 0
    page = (asked / "site" / "office" / "checks.html").read_text(encoding="utf-8")
    assert page.count("The &lt;b&gt;hospital&lt;/b&gt;") == 2
    assert page.count("for every case with stage S1 and stage S2") == 2


# --- what is looked at


@pytest.mark.parametrize(
    ("words", "kinds"),
    [
        (("--on", "2026-03-05"), {PUPPET: 1, "person-in-two-places": 1, "no-engagement": 1}),
        (("--on", "6 mar 2026", "--kind", PUPPET), {PUPPET: 1}),
        (("--from", "2026-03-05", "--to", "2026-03-06", "--kind", PUPPET), {PUPPET: 2}),
        (("--stage", "s1", "--kind", PUPPET), {PUPPET: 2}),
        (("--person", "cai", "--kind", "no-engagement"), {"no-engagement": 1}),
        (("--person", "ben", "--on", "2026-03-05"), {}),
        (("--kind", PUPPET, "--kind", "NO-ENGAGEMENT"), {PUPPET: 2, "no-engagement": 3}),
        (("--on", "1999-01-01"), {}),
    ],
)
def test_check_lists_what_is_asked_for(
    credits_: Command, words: tuple[str, ...], kinds: dict[str, int]
) -> None:
    found = [each for each in names(credits_, *words) if each != "name-unconfirmed"]
    assert {kind: found.count(kind) for kind in found} == kinds


def test_the_totals_stand_beside_what_they_count(credits_: Command) -> None:
    every = len(names(credits_))
    answer = credits_("check", "--kind", PUPPET)
    assert answer.err == ""
    assert answer.out.splitlines()[-1] == f"No errors; 2 of {every} open questions."
    shape = credits_("check", "--kind", PUPPET, "--json").json
    assert shape["of"] == {"wrong": 0, "questions": every, "answered": 0}


def test_only_what_was_not_asked_before(credits_: Command) -> None:
    assert names(credits_, "--since", "9 mar 2026") == names(credits_)
    assert credits_("check", "--since", "proof").status == 2
    assert credits_("roll", "--save").status == 0
    assert names(credits_, "--since", "proof") == []
    for stage in ("S1", "S2"):
        credits_("log", "repair", "cai", "wick-2", "--stage", stage, "--on", "2026-04-01")
    assert names(credits_, "--since", "proof") == [PUPPET, "person-in-two-places"]
    total = credits_("check", "--since", "proof").out.splitlines()[-1]
    assert total == f"No errors; 2 of {len(names(credits_))} open questions."


def test_questions_about_names_keep_apart_until_a_proof_is_made(credits_: Command) -> None:
    every = len(names(credits_))
    shown = credits_("check").out.splitlines()
    assert "name-unconfirmed (3)" not in shown
    assert shown[-2:] == [
        "3 questions about names, for when a proof is made: credits check --names",
        f"No errors; {every} open questions, 3 of them about names.",
    ]
    with_names = credits_("check", "--names").out.splitlines()
    place = with_names.index("About names, for when a proof is made")
    assert with_names[place + 1] == "name-unconfirmed (3)"
    kinds = [line.split(" (")[0] for line in with_names if line.endswith(")") and line[0] != " "]
    assert kinds[-1] == "name-unconfirmed"
    assert "name-unconfirmed (3)" in credits_("check", "--kind", "name-unconfirmed").out
    assert credits_("roll", "--save").status == 0
    after = credits_("check").out
    assert "name-unconfirmed (3)" in after
    assert after.endswith(f"No errors; {every} open questions.\n")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--kind", "puppet-in-two-place"), "Did you mean puppet-in-two-places"),
        (("--stage", "S9"), "no stage has this code"),
        (("--on", "someday"), "--on 'someday'"),
        (("--on", "today", "--to", "today"), "--from and --to mean several"),
    ],
)
def test_what_cannot_be_looked_at(credits_: Command, words: tuple[str, ...], said: str) -> None:
    answer = credits_("check", *words)
    assert (answer.status, answer.out) == (2, "")
    assert said in answer.err
