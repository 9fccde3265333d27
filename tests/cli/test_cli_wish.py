"""Nobody who asked not to be named is named by what was left out, or by who they turn out to be."""

from __future__ import annotations

from pathlib import Path

import pytest

from credits.model.facts import CreditWish
from credits.model.replay import replay
from credits.store.log import open_log
from tests.cli.conftest import Command


@pytest.fixture
def asked(film: Path, credits_: Command) -> Path:
    """A production in which Ben asked not to be named."""
    words = ("correct", "people", "ben", "credit_wish=uncredited", "--why", "asked")
    assert credits_(*words, "-p", film).status == 0
    return film


def wish(film: Path, code: str = "ben") -> CreditWish:
    with open_log(film) as log:
        return replay(log.read()).person(code).wish


def test_a_correction_to_nothing_names_nobody(asked: Path, credits_: Command) -> None:
    answer = credits_("correct", "people", "ben", "credit_wish=", "--why", "x", "-p", asked)
    assert answer.status == 2
    assert "credit_wish: is empty. Write credited or uncredited." in answer.err
    assert wish(asked) is CreditWish.UNCREDITED


@pytest.mark.parametrize(
    "sheet", ["person,credit_name,credit_wish\nben,Ben,\n", "person,note\nben,x\n"]
)
def test_a_sheet_that_says_nothing_names_nobody(
    asked: Path, tmp_path: Path, credits_: Command, sheet: str
) -> None:
    table = tmp_path / "people.csv"
    table.write_text(sheet)
    answer = credits_("load", table, "-p", asked)
    assert answer.status == ("credit_wish" in sheet)
    assert wish(asked) is CreditWish.UNCREDITED


def test_two_codes_are_not_joined_under_one_that_is_named(asked: Path, credits_: Command) -> None:
    answer = credits_("same", "cai", "ben", "-p", asked)
    assert answer.status == 1
    assert "would name ben, who asked not to be named, as cai" in answer.err
    assert "credits correct people cai credit_wish=uncredited" in answer.err
    assert wish(asked) is CreditWish.UNCREDITED
    assert credits_("same", "ben", "cai", "-p", asked).status == 0
    assert wish(asked, "cai") is CreditWish.UNCREDITED


def test_nor_by_a_correction_or_a_sheet(asked: Path, tmp_path: Path, credits_: Command) -> None:
    words = ("correct", "people", "ben", "same_as=cai", "--why", "x")
    assert credits_(*words, "-p", asked).status == 2
    table = tmp_path / "people.csv"
    table.write_text("person,same_as\nben,cai\n")
    answer = credits_("load", table, "-p", asked)
    assert answer.status == 1
    assert "would name ben, who asked not to be named, as cai" in answer.err
    assert wish(asked) is CreditWish.UNCREDITED


def test_both_may_be_said_at_once(asked: Path, tmp_path: Path, credits_: Command) -> None:
    table = tmp_path / "people.csv"
    table.write_text("person,same_as,credit_wish\nben,cai,credited\n")
    assert credits_("load", table, "-p", asked).status == 0
    assert wish(asked) is CreditWish.CREDITED
