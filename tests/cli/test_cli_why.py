"""credits why and credits find at the telephone: by any name, heading, character; not printed."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.conftest import Command

PLAN = """\
name = "plan of leads"

[[section]]
heading = "Lead animators"
crafts = ["animation"]
at_least = "10 frames on screen"
below = "Additional animation"

[[section]]
heading = "Voices"
cast = ["voice"]

[[section]]
heading = "{character}"
performances = ["brine"]
layout = "role and name"

[[credited]]
person = "ana"
as = "A. Lind"
confirmed_on = 2026-03-02
headings = ["Voices"]
"""
COMPANY = """\
[[section]]
heading = "Thanks"

[[section.lines]]
name = "Crumb & Sons"
role = "Bread"
"""
PEOPLE = """\
person,credit_name,sort_name,legal_name,credit_wish,same_as
ana,Ana Lind,"Lind, Ana",Anna Beata Lindqvist,,
ben,Ben Orr,,,uncredited,
cai,Cai Moss,,,,
dov,Dov Farr,,,,
ann,Ann L.,,,,ana
"""


@pytest.fixture(autouse=True)
def planned(film_with_cut: Path, credits_: Command) -> Path:
    """The worked example with a plan; Ana was called Ana at first, and Dov has done nothing."""
    (film_with_cut / "credit-plan.toml").write_text(PLAN)
    load(credits_, film_with_cut, PEOPLE)
    return film_with_cut


def load(credits_: Command, folder: Path, people: str) -> None:
    (folder / "people.csv").write_text(people, encoding="utf-8")
    assert credits_("load", folder / "people.csv").status == 0


# --- a person


@pytest.mark.parametrize(
    ("words", "found_by"),
    [
        (("ana",), None),
        (("Ana Lind",), None),
        (("ana", "LIND"), None),
        (("Lind, Ana",), "sort name"),
        (("A. Lind",), "name in the credits"),
        (("Anna Beata Lindqvist",), "legal name"),
        (("ann l.",), None),
        (("person=ana",), None),
    ],
)
def test_a_person_is_found_by_any_name(
    credits_: Command, words: tuple[str, ...], found_by: str | None
) -> None:
    answer = credits_("why", *words, "--json").json
    assert (answer["about"], answer["person"], answer["found_by"]) == ("person", "ana", found_by)
    assert [line["heading"] for line in answer["lines"]] == ["Lead animators", "Voices"]


def test_a_former_name_finds_the_person_and_is_said(credits_: Command, planned: Path) -> None:
    load(credits_, planned, "person,credit_name\ncai,Cai Quist\n")
    answer = credits_("why", "cai moss")
    assert answer.out.splitlines()[:2] == [
        "cai, by the former name Cai Moss:",
        "Cai Quist (spelling not confirmed), by the plan of leads",
    ]


def test_a_name_that_only_a_proof_has_finds_the_person(credits_: Command, planned: Path) -> None:
    assert credits_("roll", "--save").status == 0
    plan = planned / "credit-plan.toml"
    plan.write_text(PLAN.replace("A. Lind", "Ms Lind"))
    assert credits_("why", "A. Lind", "--json").json["found_by"] == "name in proof 1"


def test_a_name_of_several_is_told_with_their_codes(credits_: Command, planned: Path) -> None:
    load(credits_, planned, "person,credit_name,legal_name\ndov,Dov Farr,Cai Farr\ncai,Cai F,\n")
    load(credits_, planned, "person,credit_name\ncai,Cai Moss\nben,Cai Farr\n")
    load(credits_, planned, "person,credit_name\nben,Ben Orr\n")
    answer = credits_("why", "Cai Farr")
    assert answer.status == 2
    assert "is the name of 2: 2 people. Write person=ben (Ben Orr) or person=dov" in answer.err


def test_what_nobody_is_called_says_what_is_like_it(credits_: Command) -> None:
    answer = credits_("why", "Lead animator")
    assert answer.status == 2
    assert "no person has this code or name, no heading, no character" in answer.err
    assert "Did you mean 'Lead animators'?" in answer.err


# --- a heading


def test_a_heading_says_who_stands_under_it_and_who_does_not(credits_: Command) -> None:
    answer = credits_("why", "lead", "ANIMATORS")
    assert answer.status == 0
    assert answer.out.startswith("'Lead animators', by the plan of leads: 2 names\nCai Moss (cai)")
    assert "Not under 'Lead animators': Ben Orr (ben): asked to be uncredited" in answer.out
    shape = credits_("why", "Lead animators", "--json").json
    assert [line["person"] for line in shape["lines"]] == ["cai", "ana"]
    assert [(one["person"], one["outcome"]) for one in shape["not_here"]] == [
        ("ben", "asked to be uncredited")
    ]
    assert shape["lines"][0]["because"]["rule"].startswith("The log has work of this craft")


def test_a_heading_over_nobody_is_one_too(credits_: Command) -> None:
    answer = credits_("why", "Additional animation")
    assert (answer.status, answer.out) == (
        0,
        "'Additional animation', by the plan of leads: nobody\n",
    )


# --- a line of the plan's own


def test_a_line_that_the_plan_itself_has_says_where_it_stands(
    credits_: Command, planned: Path
) -> None:
    (planned / "credit-plan.toml").write_text(PLAN + COMPANY)
    answer = credits_("why", "crumb", "&", "sons")
    assert answer.out.splitlines() == [
        "'Crumb & Sons', by the plan of leads: written in the plan itself",
        "Under 'Thanks': Crumb & Sons, Bread",
        "  The plan has this line.",
    ]
    shape = credits_("why", "line=Crumb & Sons", "--json").json
    assert (shape["about"], shape["lines"][0]["role"]) == ("line", "Bread")
    assert "Did you mean 'Crumb & Sons'?" in credits_("why", "Crumb and Sons").err


# --- a character


def test_a_character_says_who_is_there_for_it(credits_: Command) -> None:
    shape = credits_("why", "wick", "--json").json
    assert (shape["about"], shape["character"]) == ("character", "wick")
    assert [(line["heading"], line["person"]) for line in shape["lines"]] == [
        ("Lead animators", "ana"),
        ("Voices", "ana"),
    ]
    assert [one["person"] for one in shape["held"]] == ["ben"]
    assert "Not printed: Ben Orr (ben): asked to be uncredited" in credits_("why", "Wick").out


def test_a_block_that_is_called_after_its_character_is_told_beside_it(credits_: Command) -> None:
    answer = credits_("why", "brine")
    assert answer.out.startswith("Brine (brine), by the plan of leads:")
    assert "Called so too: credits why heading=Brine" in answer.err
    assert credits_("why", "heading=brine", "--json").json["about"] == "heading"


def test_a_person_goes_before_a_character_of_the_same_code(
    credits_: Command, planned: Path
) -> None:
    load(credits_, planned, "person,credit_name\nwick,Wilma Wick\n")
    answer = credits_("why", "wick", "--json").json
    assert (answer["person"], answer["also"]) == ("wick", ["character=wick"])
    assert credits_("why", "character=wick", "--json").json["about"] == "character"


# --- everybody who does not print


def test_everybody_who_does_not_print(credits_: Command) -> None:
    answer = credits_("why", "--not-printed")
    assert answer.status == 0
    assert "Not printed: Ben Orr (ben): asked to be uncredited" in answer.out
    assert "  Dov Farr (dov)" in answer.out
    shape = credits_("why", "--not-printed", "--json").json
    assert [one["person"] for one in shape["people"]] == ["ben"]
    assert [one["person"] for one in shape["not_owed"]] == ["dov"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((), "nobody is asked about"),
        (("ana", "--not-printed"), "asks about everybody"),
        (("heading=",), "no heading has this code or name"),
        (("character=ana",), "no character has this code or name"),
    ],
)
def test_calls_that_cannot_be(credits_: Command, words: tuple[str, ...], said: str) -> None:
    answer = credits_("why", *words)
    assert (answer.status, said in answer.err) == (2, True)


# --- find


def test_find_finds_headings(credits_: Command) -> None:
    found = credits_("find", "Lead animators", "--json").json["found"]
    assert [(each["kind"], each["code"]) for each in found] == [("heading", "Lead animators")]
    assert found[0]["says"].endswith("credits why 'Lead animators'")


def test_a_plan_that_cannot_be_read_hinders_no_search(credits_: Command, planned: Path) -> None:
    (planned / "credit-plan.toml").write_text("[[section")
    found = credits_("find", "ana", "--json").json["found"]
    assert [each["kind"] for each in found if each["kind"] != "entry"][:1] == ["person"]
