"""Entries in few words: several people, as another entry, names, lengths and days as said."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.cli.conftest import Command


@pytest.fixture(autouse=True)
def _in_the_worked_example(film: Path) -> None:
    """Every test here stands in the worked example, whose last entry is A-7."""


def _says(credits_: Command, number: str) -> dict[str, Any]:
    """What the last line of an entry says, as columns of the entries table."""
    return dict(credits_("find", number, "--json").json["history"][-1]["says"])


def _is_there(credits_: Command, number: str) -> bool:
    return credits_("find", number).status == 0


@pytest.mark.parametrize("who", ["ana+ben", "ana,ben", "Ana+BEN"])
def test_several_people_have_an_entry_each(credits_: Command, who: str) -> None:
    answer = credits_("log", "paint", who, "wick-1", "--on", "2026-01-10", "--json")
    assert answer.json == {"entries": [{"entry": "A-8"}, {"entry": "A-9"}]}
    one, other = _says(credits_, "A-8"), _says(credits_, "A-9")
    assert (one.pop("person"), other.pop("person")) == ("ana", "ben")
    assert one == other
    assert "share" not in one


def test_shares_stand_in_the_order_of_the_people(credits_: Command) -> None:
    credits_("log", "animation", "ana+ben", "wick", "010-020", "1-30", "--share", "2,1")
    assert _says(credits_, "A-8")["share"] == "2"
    assert _says(credits_, "A-9").get("share", "1") == "1"
    wrong = credits_("log", "animation", "ana+ben+cai", "wick", "--share", "2,1")
    assert wrong.status == 2
    assert "--share '2,1': 2 shares for 3 people" in wrong.err


@pytest.mark.parametrize("who", ["ana+anna", "ana+ana", "ana+Ana"])
def test_all_of_them_are_written_or_none(credits_: Command, who: str) -> None:
    answer = credits_("log", "paint", who, "wick-1")
    assert (answer.status, answer.out) == (2, "")
    assert answer.err.strip()
    assert not _is_there(credits_, "A-8")


def test_who_has_the_entry_already_is_said_and_the_others_are_written(credits_: Command) -> None:
    credits_("log", "paint", "ana", "wick-1", "--on", "2026-01-10")
    answer = credits_("log", "paint", "ana+ben", "wick-1", "--on", "2026-01-10")
    assert "A-8 says this already" in answer.err
    assert answer.out.startswith("A-9: Ben painted")
    assert not _is_there(credits_, "A-10")


def test_an_entry_like_another_says_only_what_is_new(credits_: Command) -> None:
    credits_("log", "--like", "A-1", "ben", "31-40", "--minutes", "8h")
    assert _says(credits_, "A-8") == {
        "craft": "animation", "person": "ben", "character": "wick", "puppet": "wick-1",
        "shot": "010-020", "frames": "31-40", "finished_on": "2026-03-02", "minutes": "480",
    }  # fmt: skip
    credits_("log", "--like", "last", "cai")
    assert _says(credits_, "A-9") == {**_says(credits_, "A-8"), "person": "cai"}


def test_another_character_leaves_the_puppet_of_before_out(credits_: Command) -> None:
    credits_("log", "--like", "A-1", "brine")
    assert _says(credits_, "A-8")["character"] == "brine"
    assert "puppet" not in _says(credits_, "A-8")
    credits_("log", "--like", "A-1", "wick-2")
    assert _says(credits_, "A-9")["puppet"] == "wick-2"


def test_last_is_the_last_entry_that_counts(credits_: Command) -> None:
    credits_("log", "paint", "cai", "wick-1", "--on", "2026-01-10")
    assert credits_("void", "last", "--why", "mistaken", "--json").json["corrects"] == "A-8"
    assert credits_("void", "last", "--why", "mistaken", "--json").json["corrects"] == "A-7"
    assert credits_("amend", "last", "--minutes", "90", "--json").json["corrects"] == "A-6"


def test_last_of_an_empty_log(credits_: Command, empty: Path) -> None:
    for number in [f"A-{n}" for n in range(1, 8)]:
        credits_("void", number, "--why", "x")
    answer = credits_("void", "last", "--why", "x", "-p", empty)
    assert answer.status == 2
    assert "no entry of its own yet" in answer.err


def test_several_entries_are_amended_together_or_not_at_all(credits_: Command) -> None:
    answer = credits_("amend", "A-1", "A-2", "--stage", "s2", "--json")
    assert [each["corrects"] for each in answer.json["entries"]] == ["A-1", "A-2"]
    assert answer.json["entries"][1]["changes"] == {"stage": [None, "S2"]}
    failed = credits_("amend", "A-3", "A-4", "--frames", "1-5")
    assert (failed.status, failed.out) == (2, "")
    assert "A-4: --frames '1-5': the entry names no shot" in failed.err
    assert not _is_there(credits_, "A-10")


def test_several_entries_are_voided_together_or_not_at_all(credits_: Command) -> None:
    assert credits_("void", "A-1", "A-99", "--why", "x").status == 2
    assert credits_("void", "A-1", "a-1", "--why", "x").status == 2
    answer = credits_("void", "A-1", "A-2", "--why", "logged twice")
    assert [line.split(":")[0] for line in answer.out.splitlines()] == [
        "A-8 voids A-1", "A-9 voids A-2",
    ]  # fmt: skip


def test_names_lengths_and_days_are_taken_as_people_say_them(
    credits_: Command, tmp_path: Path
) -> None:
    (tmp_path / "characters.csv").write_text("character,name\nwick,The Wick\n")
    (tmp_path / "people.csv").write_text("person,credit_name\nzo,Zoë Ødegård\n", encoding="utf-8")
    credits_("load", tmp_path / "characters.csv", tmp_path / "people.csv")
    credits_(
        "log", "Puppet painting", "zoe odegard", "the wick", "--minutes", "1/2 day",
        "--on", "6 mar 2026", "--stage", "s1",
    )  # fmt: skip
    said = _says(credits_, "A-8")
    assert said == {
        "craft": "paint", "person": "zo", "character": "wick", "minutes": "300",
        "finished_on": "2026-03-06", "stage": "S1",
    }  # fmt: skip
    assert credits_("footage", "--person", "ANA", "--from", "2 mar 2026").status == 0
    assert credits_("why", "zoe odegard").status in (0, 1)
    assert "Zoë" in credits_("why", "zoe odegard").out


def test_words_stand_in_any_order(credits_: Command) -> None:
    credits_("log", "ana", "1-12", "010-020/2", "animation", "wick-1", "8:30", "x2")
    said = _says(credits_, "A-8")
    assert (said["craft"], said["person"], said["puppet"]) == ("animation", "ana", "wick-1")
    assert (said["shot"], said["take"], said["frames"]) == ("010-020", "2", "1-12")
    assert (said["minutes"], said["poses_on"]) == ("510", "2")


def test_a_person_and_a_character_of_one_code_are_told_by_their_place(
    credits_: Command, tmp_path: Path
) -> None:
    (tmp_path / "people.csv").write_text("person,credit_name\nwick,Wick Moss\n")
    credits_("load", tmp_path / "people.csv")
    credits_("log", "voice", "wick", "wick", "--on", "")
    assert _says(credits_, "A-8") == {"craft": "voice", "person": "wick", "character": "wick"}
    asked = credits_("log", "--like", "A-6", "wick")
    assert asked.status == 2
    assert "is a person and a character" in asked.err
    assert "Say which is meant: person wick or --character wick." in asked.err
    credits_("log", "--like", "A-6", "person", "wick")
    assert _says(credits_, "A-9")["person"] == "wick"
