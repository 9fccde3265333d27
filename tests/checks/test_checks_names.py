"""Checks of names."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from credits.checks.rule import Severity
from credits.figures.snapshot import Snapshot
from credits.model.facts import NewConfirmation
from tests.checks.small_checks import checks_of, the_check_of
from tests.small_log import small_ledger

# --- names-alike


NEARLY_THE_SAME = """
    [people]
    person, credit_name, same_as
    ana, Ana Lind
    anna, Anna Lind, {same_as}
    zoe, Zoë Marr
    [engagements]
    person
    ana
    {engaged}
    zoe
"""


def test_two_people_with_nearly_the_same_name() -> None:
    text = NEARLY_THE_SAME.format(same_as="", engaged="anna")
    check = the_check_of("names-alike", text)
    assert check.severity is Severity.QUESTION
    assert check.subjects == (("person", "ana"), ("person", "anna"))
    assert check.message == (
        "Ana Lind (ana) and Anna Lind (anna) have nearly the same credit name."
    )
    assert check.hint.endswith("credits same ana anna")


@pytest.mark.parametrize(
    ("same_as", "engaged"),
    [("ana", "anna"), ("", "")],
    ids=["known to be one person", "no entry and no engagement"],
)
def test_names_that_need_no_question(same_as: str, engaged: str) -> None:
    text = NEARLY_THE_SAME.format(same_as=same_as, engaged=engaged)
    assert checks_of("names-alike", text) == ()


# --- name-unconfirmed


def test_a_printed_name_that_was_never_confirmed_is_asked_about_once() -> None:
    check = the_check_of(
        "name-unconfirmed",
        """
        [people]
        person, credit_wish, name_confirmed_on
        ana
        ben, , 2026-02-01
        cai, uncredited
        dee
        [entries]
        craft, person
        animation, ana
        sculpt, ana
        animation, ben
        animation, cai
        """,
    )
    assert check.severity is Severity.QUESTION
    assert check.subjects == (("person", "ana"),)
    assert check.message == (
        "Ana (ana) would be printed under Animation and Puppet sculpting, and nobody has "
        "confirmed the spelling."
    )


# --- sort-name-missing


def test_a_name_of_several_words_without_a_sort_name() -> None:
    found = checks_of(
        "sort-name-missing",
        """
        [people]
        person, credit_name, sort_name
        ana, Ana de la Lind
        ben, Ben Ode, "Ode, Ben"
        cai, Cai
        dee, Dee Unseen
        eli, Eli Lund
        [entries]
        craft, person
        animation, ana
        animation, ben
        animation, cai
        animation, eli
        """,
    )
    assert {check.severity for check in found} == {Severity.QUESTION}
    assert [check.subjects for check in found] == [(("person", "ana"),), (("person", "eli"),)]
    assert "Ana de la Lind (ana) has no sort name" in found[0].message
    assert "Lind, Ana" not in found[0].hint  # nobody's surname is guessed


# --- answer-in-the-future


@pytest.mark.parametrize(
    ("written", "asked"), [(date(2026, 3, 1), True), (date(2026, 3, 2), False)]
)
def test_an_answer_of_a_day_to_come_goes_before_all_others(written: date, asked: bool) -> None:
    ledger = small_ledger("[people]\nperson\nana\n[engagements]\nperson\nana")
    word = NewConfirmation(person="ana", name="Ana", confirmed_on=date(2026, 3, 3))
    given = word.written(datetime(written.year, written.month, written.day, 9, tzinfo=UTC))
    checks = Snapshot(replace(ledger, confirmations={"ana": given})).checks
    found = [check.message for check in checks if check.kind == "answer-in-the-future"]
    said = (
        "The last answer about the name of Ana (ana) is of 2026-03-03, and was written down on"
        " 2026-03-01."
    )
    assert found == ([said] if asked else [])
