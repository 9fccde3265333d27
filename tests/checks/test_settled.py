"""Settled checks: an answer holds for as long as the facts behind its question are the same."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime

import pytest

from credits.checks.answers import CheckNames, WorksOf, fingerprint, open_and_settled
from credits.checks.frames import AmendedTwice
from credits.checks.names import LeftOut
from credits.checks.places import PuppetInTwoPlaces
from credits.checks.rule import Check
from credits.figures.snapshot import Snapshot
from credits.model.facts import EntryNumber, Settlement, Subjects
from credits.model.ledger import Ledger
from credits.model.words import Named
from tests.small_log import small_ledger

GONE = EntryNumber("A", 99)
NOON = datetime(2026, 3, 9, 12, 0, tzinfo=UTC)

TWO_STAGES = """
    [people]
    person
    ana

    [engagements]
    person
    ana

    [characters]
    character, silent
    wick, yes

    [puppets]
    puppet, character
    wick-1, wick
    wick-2, wick

    [stages]
    stage
    S1
    S2
    S3

    [sequences]
    sequence
    010

    [shots]
    shot, sequence, frames
    010-020, 010, 48
    010-030, 010, 48

    [entries]
    craft, person, puppet, shot, stage, minutes, finished_on
    animation, ana, wick-1, 010-020, S1, 0, 2026-03-02
    animation, ana, wick-1, 010-030, S2, , 2026-03-02
"""
NAME = "puppet-in-two-places"


def answer_to(check: Check, ledger: Ledger, why: str | None = None) -> Settlement:
    return Settlement(
        check=check.kind,
        subjects=check.subjects,
        facts=fingerprint(check, WorksOf(ledger)),
        settled_at=NOON,
        why=why,
    )


def answered(results: Snapshot, *lines: str, **changes: object) -> tuple[Settlement, ...]:
    """Answers to the one question of NAME; a line "back" takes it back."""
    (check,) = (check for check in results.checks if check.kind == NAME)
    answer = answer_to(check, results.ledger)
    return tuple(
        replace(answer, why=line, taken_back=line == "back", **changes)  # type: ignore[arg-type]
        for line in lines
    )


def computed(text: str, settlements: tuple[Settlement, ...] = ()) -> Snapshot:
    return Snapshot(replace(small_ledger(text), settlements=settlements))


def is_open(results: Snapshot) -> bool:
    return NAME in {check.kind for check in results.open_checks}


def test_a_settled_question_is_not_open_and_keeps_its_answer() -> None:
    answers = answered(computed(TWO_STAGES), "It was carried over.")
    results = computed(TWO_STAGES, answers)
    assert not is_open(results)
    (settled,) = results.settled
    assert (settled.check.kind, settled.answer.why) == (NAME, "It was carried over.")
    assert settled.check in results.checks
    assert len(results.open_checks) + 1 == len(results.checks)


def test_without_answers_every_check_is_open() -> None:
    results = computed(TWO_STAGES)
    assert results.open_checks == results.checks
    assert results.settled == ()


@pytest.mark.parametrize(
    "change",
    [
        # what the entries behind it say
        ("S1, 0, 2026-03-02", "S1, 30, 2026-03-02"),
        ("S1, 0, 2026-03-02", "S1, , 2026-03-02"),
        ("010-020, S1", "010-030, S1"),
        ("S2, , 2026-03-02", "S3, , 2026-03-02"),
        # a further entry that makes the same question
        (
            "S2, , 2026-03-02",
            "S2, , 2026-03-02\n    animation, ana, wick-1, 010-030, S2, , 2026-03-02",
        ),
        # a name
        ("wick, yes", "wick, yes\n    [sequences]"),
    ],
)
def test_it_is_asked_again_when_its_facts_change(change: tuple[str, str]) -> None:
    answers = answered(computed(TWO_STAGES), "It was carried over.")
    if "[sequences]" in change[1]:
        ledger = small_ledger(TWO_STAGES)
        renamed = replace(ledger.characters["wick"], name="Wick the Elder")
        results = Snapshot(replace(ledger, characters={"wick": renamed}, settlements=answers))
    else:
        assert change[0] in TWO_STAGES
        results = computed(TWO_STAGES.replace(*change), answers)
    assert is_open(results)
    assert results.settled == ()


def test_it_is_asked_again_when_an_entry_behind_it_is_amended_without_another_word() -> None:
    answers = answered(computed(TWO_STAGES), "It was carried over.")
    amended = """
    [lines]
    verb, corrects, craft, person, puppet, shot, stage, minutes, finished_on
    amend, A-1, animation, ana, wick-1, 010-020, S1, 0, 2026-03-02
    """
    assert is_open(computed(TWO_STAGES + amended, answers))


def test_what_is_not_behind_it_does_not_ask_again() -> None:
    answers = answered(computed(TWO_STAGES), "It was carried over.")
    more = TWO_STAGES + "    animation, ana, wick-2, 010-030, S2, , 2026-03-04\n"
    assert not is_open(computed(more, answers))


def test_an_answer_holds_again_when_its_facts_come_back() -> None:
    answers = answered(computed(TWO_STAGES), "It was carried over.")
    changed = TWO_STAGES.replace("S2, , 2026-03-02", "S3, , 2026-03-02")
    assert is_open(computed(changed, answers))
    assert not is_open(computed(TWO_STAGES, answers))


def test_the_last_line_counts() -> None:
    results = computed(TWO_STAGES)
    assert is_open(computed(TWO_STAGES, answered(results, "One.", "back")))
    again = computed(TWO_STAGES, answered(results, "One.", "back", "Two."))
    assert [settled.answer.why for settled in again.settled] == ["Two."]


def test_an_answer_about_other_subjects_settles_nothing() -> None:
    other = (("puppet", "wick-2"), ("date", "2026-03-02"), ("stage", "S1"), ("stage", "S2"))
    answers = answered(computed(TWO_STAGES), "It was carried over.", subjects=other)
    assert is_open(computed(TWO_STAGES, answers))


def test_what_cannot_be_true_is_never_settled() -> None:
    ledger = small_ledger(TWO_STAGES)
    wrong = LeftOut(person=Named("ana", "Ana"), engagements=1, plan="a plan")
    answer = answer_to(wrong, ledger, "So be it.")
    assert open_and_settled([wrong], replace(ledger, settlements=(answer,))) == ((wrong,), ())


def test_an_entry_that_was_voided_behind_a_check_is_no_obstacle() -> None:
    ledger = small_ledger(TWO_STAGES)
    check = AmendedTwice(line=EntryNumber("A", 1), entries=(GONE,), holds=GONE)
    answer = answer_to(check, small_ledger(""), "So be it.")
    _, (settled,) = open_and_settled([check], replace(ledger, settlements=(answer,)))
    assert settled.answer == answer


# --- which check is meant


@dataclass(frozen=True, slots=True, kw_only=True)
class About(PuppetInTwoPlaces):
    """A check about any subjects."""

    given: Subjects

    @property
    def subjects(self) -> Subjects:
        return self.given


def case(*subjects: tuple[str, str], entries: tuple[int, ...] = ()) -> About:
    return About(
        given=subjects,
        entries=tuple(EntryNumber("A", number) for number in entries),
        thing=Named("", None),
        day=NOON.date(),
        stages=(),
        other_stage="",
    )


def test_a_check_is_meant_by_codes_by_kind_and_code_and_by_entries() -> None:
    one = case(("puppet", "wick-1"), ("date", "2026-03-02"), entries=(1, 2))
    two = case(("puppet", "wick-1"), ("date", "2026-03-03"), entries=(3, 4))
    names = CheckNames([one, two])
    assert names.meant(About.kind, ["wick-1"]) == (one, two)
    assert names.meant(About.kind, ["WICK-1", "2026-03-03"]) == (two,)
    assert names.meant(About.kind, ["date=2026-03-02"]) == (one,)
    assert names.meant(About.kind, ["a-4"]) == names.meant(About.kind, ["entry=A-4"]) == (two,)
    assert names.meant(About.kind, ["wick-1", "brine-1"]) == ()
    assert names.meant("names-alike", ["wick-1"]) == ()


def test_the_fewest_words_that_mean_one_check() -> None:
    by_day = [
        case(("puppet", "wick-1"), ("date", "2026-03-02")),
        case(("puppet", "wick-1"), ("date", "2026-03-03")),
        case(("puppet", "wick-2"), ("date", "2026-03-03")),
    ]
    names = CheckNames(by_day)
    assert [names.words_for(check) for check in by_day] == [
        ("wick-1", "2026-03-02"),
        ("wick-1", "2026-03-03"),
        ("wick-2",),
    ]
    mixed = [
        case(("person", "ana"), ("person", "ben")),
        case(("person", "ben"), ("person", "ana")),
        case(("person", "-x")),
        case(("shot", "7"), ("take", "1")),
        case(("shot", "1"), ("take", "7")),
        case(("shot", "9"), entries=(1,)),
        case(("shot", "9"), entries=(2,)),
    ]
    names = CheckNames(mixed)
    assert names.words_for(mixed[2]) == ("person=-x",)
    assert names.words_for(mixed[3]) == ("shot=7",)
    assert names.words_for(mixed[5]) == ("shot=9", "A-1")
    for check in mixed[2:]:
        assert names.meant(About.kind, names.words_for(check)) == (check,)
