"""Whether a name is confirmed: by the last word, and only as it is spelled now."""

from __future__ import annotations

from datetime import UTC, date, datetime

from credits.model.facts import Confirmation
from tests.small_log import small_ledger

EARLY, LATE = date(2026, 3, 2), date(2026, 3, 9)


def word(person: str, name: str, day: date, is_right: bool = True) -> Confirmation:
    return Confirmation(
        person=person,
        name=name,
        confirmed_on=day,
        is_right=is_right,
        confirmed_by=None,
        written_at=datetime(2026, 4, 1, tzinfo=UTC),
    )


def confirmed(people: str, *words: Confirmation, person: str = "ana") -> bool:
    from dataclasses import replace

    from credits.model.replay import replay
    from tests.small_log import small_log

    return replay(replace(small_log(people), confirmations=words)).confirmed(person)


ANA = """
    [people]
    person, credit_name
    ana, Ana Quist
"""
DATED = """
    [people]
    person, credit_name, name_confirmed_on
    ana, Ana Quist, 2026-03-02
"""
TWO_CODES = """
    [people]
    person, credit_name, same_as
    ana, Ana Quist
    anna, Anna Quist, ana
"""


def test_nobody_who_said_nothing_is_confirmed() -> None:
    ledger = small_ledger(ANA)
    assert ledger.confirmation("ana") is None
    assert not ledger.confirmed("ana")


def test_the_name_as_it_is_spelled_now_is_what_counts() -> None:
    assert confirmed(ANA, word("ana", "Ana Quist", EARLY))
    assert not confirmed(ANA, word("ana", "Ana", EARLY))
    assert not confirmed(ANA, word("ana", "ANA QUIST", EARLY))


def test_the_last_word_counts_by_its_day_then_as_it_was_written() -> None:
    right, wrong = word("ana", "Ana Quist", EARLY), word("ana", "Ana Quist", LATE, False)
    assert not confirmed(ANA, right, wrong)
    assert not confirmed(ANA, wrong, right)  # an older sheet that came in later
    assert not confirmed(ANA, right, word("ana", "Ana Quist", EARLY, False))
    assert confirmed(ANA, wrong, word("ana", "Ana Quist", LATE))


def test_a_date_of_the_people_table_is_a_word_on_the_name_as_it_stood_then() -> None:
    assert confirmed(DATED)
    # The store wrote down what the name was when the date came in: it was another one.
    assert not confirmed(DATED, word("ana", "Ana", EARLY))


def test_a_word_about_one_code_is_a_word_about_the_person() -> None:
    said = word("anna", "Ana Quist", EARLY)
    assert confirmed(TWO_CODES, said)
    assert confirmed(TWO_CODES, said, person="anna")
    assert not confirmed(TWO_CODES, word("anna", "Anna Quist", EARLY))
