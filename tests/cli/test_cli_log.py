"""Logging a day's work, and putting it right: log, amend, void, same, find."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest

from credits.units.film_time import day_text
from tests.cli.conftest import Command


@pytest.fixture(autouse=True)
def _in_the_worked_example(film: Path) -> None:
    """Every test here stands in the worked example."""


def _says(credits_: Command, number: str) -> dict[str, str]:
    """What the last line of an entry says, as columns of the entries table."""
    history = credits_("find", number, "--json").json["history"]
    return dict(history[-1]["says"])


def test_the_confirmation_says_what_was_recorded_and_what_it_changes(credits_: Command) -> None:
    answer = credits_("log", "animation", "ben", "wick-1", "010-020", "1-12", "--on", "2026-03-04")
    assert answer.out == (
        "A-8: Ben animated Wick (wick-1) in 010-020, frames 1-12, 4 March 2026."
        " Wick in 010-020: Ben now 36 of 48 kept frames, Ana 12.\n"
    )


def test_frames_that_nobody_claimed_are_said(credits_: Command, tmp_path: Path) -> None:
    (tmp_path / "shots.csv").write_text("shot,sequence,frames\n010-030,010,60\n")
    credits_("load", tmp_path / "shots.csv")
    answer = credits_("log", "animation", "ana", "brine", "010-030", "1-48", "--on", "2026-03-04")
    assert "Ana now 48 of 48 kept frames. Nobody's yet: 49-60." in answer.out


def test_a_build_says_how_many_shots_it_reaches(credits_: Command) -> None:
    reaching = credits_("log", "paint", "cai", "wick-1", "--on", "2026-01-10")
    assert reaching.out.endswith("It reaches 1 shot so far.\n")
    too_late = credits_("log", "paint", "cai", "wick-1", "--on", "2026-04-10")
    assert too_late.out.endswith("It reaches 0 shots so far.\n")


def test_a_rehearsal_claims_no_frames(credits_: Command, tmp_path: Path) -> None:
    (tmp_path / "takes.csv").write_text("shot,take,purpose\n010-020,2,rehearsal\n")
    credits_("load", tmp_path / "takes.csv")
    answer = credits_("log", "animation", "ana", "wick-1", "010-020/2")
    assert "It claims no frames: take 2 is a rehearsal." in answer.out


@pytest.mark.parametrize(
    ("options", "column", "day"),
    [
        ([], "finished_on", date.today()),
        (["--on", "today"], "finished_on", date.today()),
        (["--on", "Yesterday"], "finished_on", date.today() - timedelta(days=1)),
        (["--on", "2026-03-05"], "finished_on", date(2026, 3, 5)),
        (["--finished-on", "2026-03-05"], "finished_on", date(2026, 3, 5)),
        (["--from", "2026-03-05"], "started_on", date(2026, 3, 5)),
    ],
)
def test_days(credits_: Command, options: list[str], column: str, day: date) -> None:
    answer = credits_("log", "paint", "cai", "wick-1", *options)
    said = _says(credits_, "A-8")
    assert {c: said[c] for c in said if c.endswith("_on")} == {column: day.isoformat()}
    assert day_text(day) in answer.out
    assert ("today, " in answer.out) == (day == date.today() and column == "finished_on")


def test_an_empty_day_is_undated(credits_: Command) -> None:
    answer = credits_("log", "voice", "ben", "brine", "--on", "")
    assert "voiced Brine, undated." in answer.out
    assert "finished_on" not in _says(credits_, "A-8")


def test_every_option_is_recorded(credits_: Command) -> None:
    credits_(
        "log", "animation", "ana", "WICK", "--puppet", "Wick-2", "--sequence", "010",
        "--shot", "010-020", "--take", "2", "--frames", "1-20,25-48", "--poses-on", "2",
        "--share", "2/4", "--from", "2026-03-01", "--on", "2026-03-02", "--minutes", "540",
        "--wait", "30", "--stage", "s2", "--note", "Lamp *flickers*.", "--private",
        "--by", "dov", "--ref", "S2-0091",
    )  # fmt: skip
    assert _says(credits_, "A-8") == {
        "craft": "animation", "person": "ana", "character": "wick", "puppet": "wick-2",
        "sequence": "010", "shot": "010-020", "take": "2", "frames": "1-20,25-48", "poses_on": "2",
        "share": "1/2", "started_on": "2026-03-01", "finished_on": "2026-03-02", "minutes": "540",
        "wait_minutes": "30", "stage": "S2", "note": "Lamp *flickers*.", "private": "yes",
    }  # fmt: skip
    (line,) = credits_("find", "A-8", "--json").json["history"]
    assert (line["ref"], line["logged_by"], line["source"]) == ("S2-0091", "dov", None)


def test_the_same_entry_is_logged_once_unless_asked_again(credits_: Command) -> None:
    entry = ("log", "paint", "cai", "wick-1", "--on", "2026-01-10", "--json")
    assert credits_(*entry).json == {"entry": "A-8"}
    repeated = credits_(*entry)
    assert repeated.json == {"entry": "A-8"}
    assert "A-8 says this already: nothing was written" in repeated.err
    assert credits_(*entry, "--again").json == {"entry": "A-9"}


def test_the_same_ref_with_another_content_amends(credits_: Command) -> None:
    entry = ("log", "paint", "cai", "wick-1", "--on", "2026-01-10", "--ref", "P-1")
    credits_(*entry, "--minutes", "60")
    answer = credits_(*entry, "--minutes", "90")
    assert answer.out.startswith("A-9 (amends A-8): ")
    assert "says this already" in credits_(*entry, "--minutes", "90").err


def test_what_was_voided_may_be_logged_again(credits_: Command) -> None:
    entry = ("log", "paint", "cai", "wick-1", "--on", "2026-01-10")
    credits_(*entry)
    credits_("void", "A-8", "--why", "mistaken")
    assert credits_(*entry, "--json").json == {"entry": "A-10"}


@pytest.mark.parametrize(
    ("first", "second", "check"),
    [
        (
            ("log", "animation", "ana", "wick-1", "010-020", "--on", "2026-05-05", "--stage", "S1"),
            ("log", "animation", "ben", "wick-1", "010-020", "--on", "2026-05-05", "--stage", "S2"),
            "puppet wick-1",
        ),
        (
            ("log", "paint", "ana", "wick-1", "--on", "2026-05-05", "--stage", "S1"),
            ("log", "paint", "ana", "brine-1", "--on", "2026-05-05", "--stage", "S2"),
            "S1 and S2",
        ),
        (
            ("log", "paint", "ana", "wick-1", "--on", "2026-05-05", "--minutes", "600"),
            ("log", "paint", "ana", "brine-1", "--on", "2026-05-05", "--minutes", "600"),
            "2026-05-05",
        ),
    ],
)
def test_what_cannot_be_right_is_said_at_once(
    credits_: Command, first: tuple[str, ...], second: tuple[str, ...], check: str
) -> None:
    assert check not in credits_(*first).err
    assert check in credits_(*second).err


def test_frames_beyond_the_shot_are_asked_about_at_once(credits_: Command) -> None:
    answer = credits_("log", "animation", "ana", "wick-1", "010-020", "40-60")
    assert "the shot has 48 frames" in answer.err
    assert answer.status == 0


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["animation", "anna", "wick"], "no person has this code or name. Did you mean ana (Ana)?"),
        (["animate", "ana", "wick"], "Did you mean animation (Animation)"),
        (["animation", "ana", "wik"], "Did you mean wick (Wick)"),
        (["animation", "ana", "wick", "010-200"], "Did you mean 010-020"),
        (["animation", "ana", "wick", "brine"], "two characters: wick and brine"),
        (["animation", "ana", "wick", "1-30"], "no character, puppet, part, sequence or shot"),
        (["animation", "ana", "wick", "010-020", "30-1"], "a range runs backwards"),
        (["animation", "ana", "wick", "010-020", "1-2", "4-5"], "names frames twice"),
        (["animation", "ana", "wick", "--character", "wick"], "by a word and by --character"),
        (["animation", "ana", "010-020"], "names no character, puppet or part"),
        (["animation", "ana", "wick", "brine-1"], "is a puppet of brine, not of wick"),
        (["animation", "ana", "wick", "--frames", "1-3"], "the entry names no shot"),
        (["animation", "ana", "wick", "010-020", "--take", "0"], "--take '0': is too low"),
        (["animation", "ana", "wick", "--minutes", "9.30"], "is not a length in minutes"),
        (["animation", "ana", "wick", "--share", "half"], "--share 'half'"),
        (["animation", "ana", "wick", "--stage", "S9"], "no stage has this code or name"),
        (["animation", "ana", "wick", "--on", "5.3.2026"], "--on '5.3.2026'"),
        (["animation", "ana", "wick", "--on", "2026-03-01", "--from", "2026-03-02"], "lies before"),
        (["animation", "ana", "wick", "--note", "a\x1bb"], "control character"),
        (["animation", "ana"], "TARGET is missing"),
        (["animation"], "PERSON is missing"),
        ([], "CRAFT is missing"),
    ],
)
def test_words_that_cannot_be_used(credits_: Command, words: list[str], said: str) -> None:
    answer = credits_("log", *words)
    assert answer.status == 2
    assert answer.out == ""
    assert said in answer.err
    assert credits_("find", "A-8").status == 1  # nothing was written


def test_all_that_is_wrong_with_an_entry_is_said_at_once(credits_: Command) -> None:
    answer = credits_(
        "log", "paint", "ana", "wick-1", "--minutes", "x", "--share", "0", "--on", "soon"
    )
    assert [word in answer.err for word in ("--minutes 'x'", "--share '0'", "--on 'soon'")] == [
        True
    ] * 3


def test_a_code_that_is_two_things_must_be_named(credits_: Command, tmp_path: Path) -> None:
    (tmp_path / "parts.csv").write_text("part,kind,character\nbrine-1,head,brine\n")
    credits_("load", tmp_path / "parts.csv")
    answer = credits_("log", "paint", "ana", "brine-1")
    assert answer.status == 2
    assert "is a puppet and a part" in answer.err
    assert "--puppet brine-1 or --part brine-1" in answer.err
    assert "head brine-1 of Brine" in credits_("log", "paint", "ana", "--part", "brine-1").out


def test_amend_prints_old_and_new(credits_: Command) -> None:
    answer = credits_("amend", "A-1", "--frames", "1-24", "--on", "", "--stage", "S1")
    assert "frames: 1-30 -> 1-24" in answer.out
    assert "finished_on: 2026-03-02 -> nothing" in answer.out
    assert "stage: nothing -> S1" in answer.out
    assert "A-8 (amends A-1): Ana animated Wick (wick-1)" in answer.out
    assert credits_("footage", "--person", "ana", "--json").json["total"]["character_frames"][
        "shot"
    ] == "24"  # fmt: skip


def test_amend_follows_to_the_line_that_counts(credits_: Command) -> None:
    credits_("amend", "A-1", "--frames", "1-24")
    answer = credits_("amend", "a-1", "--frames", "1-20", "--why", "counted again", "--json")
    changes = {"frames": ["1-24", "1-20"]}
    assert answer.json == {"entry": "A-9", "corrects": "A-8", "changes": changes}
    assert "A-1 was amended already; A-8 says it now" in answer.err
    assert "Why: counted again." in credits_("find", "A-1").out


def test_amending_to_the_same_writes_nothing(credits_: Command) -> None:
    answer = credits_("amend", "1", "--frames", "1-30", "--json")
    assert answer.json == {"entry": "A-1"}
    assert "says this already" in answer.err


def test_void_says_what_counts_no_more(credits_: Command) -> None:
    answer = credits_("void", "A-1", "--why", "it was a block", "--by", "dov")
    assert "A-8 voids A-1: Ana animated Wick (wick-1)" in answer.out
    assert "Why: it was a block." in answer.out
    rows = credits_("footage", "--json").json["rows"]
    assert [row["person"] for row in rows] == ["ben", "cai"]
    again = credits_("void", "A-1", "--why", "twice")
    assert again.status == 1
    assert "was voided by A-8 (it was a block)" in again.err
    assert credits_("amend", "A-1", "--frames", "1").status == 1


@pytest.mark.parametrize(
    "words",
    [
        ["amend", "A-1"],
        ["amend", "A-99", "--frames", "1"],
        ["amend", "seventeen", "--frames", "1"],
        ["amend", "A-1", "--puppet", "brine-1"],
        ["amend", "A-1", "--shot", ""],
        ["amend", "A-1", "--craft", ""],
        ["amend", "A-1", "--frames", "1-24", "--why", "a\x07b"],
        ["void", "A-1"],
        ["void", "A-1", "--why", " "],
        ["void", "A-99", "--why", "x"],
        ["same", "ana", "ana"],
        ["same", "ana", "nobody"],
    ],
)
def test_corrections_that_cannot_be_made(credits_: Command, words: list[str]) -> None:
    answer = credits_(*words)
    assert (answer.status, answer.out) == (2, "")
    assert answer.err.strip()
    assert credits_("find", "A-8").status == 1  # nothing was written


def test_two_codes_are_one_person_and_two_again(credits_: Command) -> None:
    assert "one person everywhere" in credits_("same", "ana", "cai").out
    rows = credits_("footage", "--json").json["rows"]
    assert [(r["person"], r["shot_frames"]["kept"]) for r in rows] == [("ana", "36"), ("ben", "12")]
    again = credits_("same", "cai", "ana", "--json")
    assert again.json == {"person": "ana", "codes": ["ana", "cai"], "changed": False}
    assert credits_("footage", "--person", "cai", "--json").json["rows"][0]["person"] == "ana"
    assert "two people again" in credits_("same", "ana", "cai", "--undo").out
    assert len(credits_("footage", "--json").json["rows"]) == 3
    assert credits_("same", "ana", "cai", "--undo").status == 1


def test_codes_joined_one_after_the_other_are_parted_one_by_one(credits_: Command) -> None:
    credits_("same", "ana", "ben")
    credits_("same", "cai", "ben")  # ana, ben and cai are one, known as cai
    assert credits_("same", "ana", "cai", "--json").json["person"] == "cai"
    credits_("same", "ben", "ana", "--undo")
    rows = credits_("footage", "--json").json["rows"]
    assert len(rows) == 2


def test_find_folds_accents_and_case(credits_: Command, tmp_path: Path) -> None:
    (tmp_path / "people.csv").write_text("person,credit_name\nzo,Zoë Ødegård\n", encoding="utf-8")
    credits_("load", tmp_path / "people.csv")
    (found,) = credits_("find", "ZOE", "odegard", "--json").json["found"]
    assert found == {"kind": "person", "code": "zo", "says": "Zoë Ødegård"}


def test_find_looks_into_notes_and_refs(credits_: Command) -> None:
    credits_("log", "repair", "ana", "wick-1", "--note", "The left knee", "--ref", "H-44")
    for text in ("left knee", "h-44"):
        (found,) = credits_("find", text, "--json").json["found"]
        assert (found["kind"], found["code"]) == ("entry", "A-8")


def test_find_shows_the_history_of_an_entry(credits_: Command) -> None:
    credits_("amend", "A-1", "--frames", "1-24", "--why", "typing error", "--by", "dov")
    credits_("void", "A-1", "--why", "never was")
    history = credits_("find", "A-1", "--json").json["history"]
    assert [(line["entry"], line["does"], line["corrects"]) for line in history] == [
        ("A-1", "record", None),
        ("A-8", "amend", "A-1"),
        ("A-9", "void", "A-8"),
    ]
    assert history[0]["source"] == "entries.csv row 2"
    text = credits_("find", "a-8").out.splitlines()
    assert [line.split(":")[0] for line in text] == ["A-1", "A-8", "A-9"]


def test_find_nothing_exits_1(credits_: Command) -> None:
    answer = credits_("find", "zzz")
    assert (answer.status, answer.out) == (1, "")
    nothing = credits_("find", "zzz", "--json")
    assert (nothing.status, nothing.json) == (1, {"found": [], "history": []})
    assert credits_("find", "").status == 1


def test_an_entry_may_be_given_a_ref_afterwards_and_keeps_it(credits_: Command) -> None:
    entry = ("log", "paint", "cai", "wick-1", "--on", "2026-01-10")
    credits_(*entry)
    assert credits_("amend", "A-8", "--ref", "P-1").out.startswith("A-9 (amends A-8): ")
    assert "nothing was written" in credits_("amend", "A-8", "--ref", "P-1").err
    again = credits_(*entry, "--ref", "P-1", "--minutes", "90")
    assert again.out.startswith("A-10 (amends A-9): ")
    (found,) = credits_("find", "P-1", "--json").json["found"]
    assert found["code"] == "A-10"


def test_a_ref_whose_entry_was_voided_is_not_logged_again_unsaid(credits_: Command) -> None:
    entry = ("log", "paint", "cai", "wick-1", "--on", "2026-01-10", "--ref", "P-1")
    credits_(*entry)
    credits_("void", "A-8", "--why", "mistaken")
    answer = credits_(*entry)
    assert (answer.status, answer.out) == (2, "")
    assert "--ref 'P-1': the entry with this ref was voided." in answer.err
