"""Standing answers: one answer for every case like it, until it is taken back."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, datetime
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from credits.checks.answers import CRAFT, STANDING, WorksOf, described, fingerprint
from credits.checks.rule import Check, Severity
from credits.figures.snapshot import Snapshot
from credits.model.facts import Settlement, Subjects
from tests.small_log import small_ledger

NOON = datetime(2026, 3, 9, 12, tzinfo=UTC)
ROUND = """
    [people]
    person
    ana
    ben

    [characters]
    character
    wick

    [puppets]
    puppet, character
    wick-1, wick

    [stages]
    stage
    S1
    S2
    S3

    [entries]
    craft, person, puppet, stage, finished_on
"""
HOSPITAL = f"""{ROUND}
    repair, ana, wick-1, S1, 2026-03-02
    repair, ana, wick-1, S2, 2026-03-02
    repair, ana, wick-1, S1, 2026-03-03
    animation, ana, wick-1, S2, 2026-03-03
    animation, ben, wick-1, S1, 2026-03-04
    animation, ben, wick-1, S2, 2026-03-04
"""
KIND = "person-in-two-places"


def standing(*subjects: tuple[str, str], kind: str = KIND, back: bool = False) -> Settlement:
    return Settlement(
        check=kind,
        subjects=tuple(sorted(subjects)),
        facts=STANDING,
        why=None if back else "The hospital goes round the stages.",
        taken_back=back,
        settled_at=NOON,
    )


def computed(text: str, *lines: Settlement) -> Snapshot:
    return Snapshot(replace(small_ledger(text), settlements=lines))


def days(checks: Iterable[Check], kind: str = KIND) -> list[str]:
    """The days of the cases of a check, without year and month."""
    return [dict(each.subjects)["date"][-2:] for each in checks if each.kind == kind]


def answered(results: Snapshot) -> list[Check]:
    return [each.check for each in results.settled]


@pytest.mark.parametrize(
    ("condition", "held"),
    [
        ([], ["02", "03", "04"]),
        ([("person", "ana")], ["02", "03"]),
        ([("stage", "S1"), ("stage", "S2")], ["02", "03", "04"]),
        ([("stage", "S3")], []),
        ([("date", "2026-03-04")], ["04"]),
        ([(CRAFT, "repair")], ["02"]),
        ([(CRAFT, "repair"), (CRAFT, "animation")], ["03"]),
        ([(CRAFT, "animation"), ("person", "ben")], ["04"]),
        ([("person", "ben"), (CRAFT, "repair")], []),
    ],
)
def test_it_answers_the_cases_that_it_describes(
    condition: list[tuple[str, str]], held: list[str]
) -> None:
    results = computed(HOSPITAL, standing(*condition))
    assert days(answered(results)) == held
    assert all(each.is_standing for each in results.settled)
    others = [each for each in results.checks if each.kind != KIND]
    assert [each for each in results.open_checks if each.kind != KIND] == others


def test_cases_of_later_days_are_answered_too() -> None:
    later = "repair, ana, wick-1, S2, 2026-09-09\n    repair, ana, wick-1, S3, 2026-09-09\n"
    results = computed(f"{HOSPITAL}    {later}", standing((CRAFT, "repair")))
    assert days(answered(results)) == ["02", "09"]


def test_an_answer_to_one_case_goes_before_it() -> None:
    case = next(each for each in computed(HOSPITAL).checks if each.kind == KIND)
    works = WorksOf(small_ledger(HOSPITAL))
    own = Settlement(
        check=KIND,
        subjects=case.subjects,
        facts=fingerprint(case, works),
        why="She ran.",
        settled_at=NOON,
    )
    for lines in ((own, standing()), (standing(), own)):
        results = computed(HOSPITAL, *lines)
        (its,) = (each.answer.why for each in results.settled if each.check == case)
        assert its == "She ran."
    back = replace(own, taken_back=True, why=None)
    assert case in answered(computed(HOSPITAL, standing(), own, back))


def test_of_several_that_describe_a_case_the_last_one_given_counts() -> None:
    first, second = standing(("person", "ana")), replace(standing(), why="All of them do.")
    results = computed(HOSPITAL, first, second)
    assert {each.answer.why for each in results.settled} == {"All of them do."}
    again = computed(HOSPITAL, first, second, first)
    whys = [each.answer.why for each in again.settled]
    assert whys == [first.why, first.why, "All of them do."]


def test_a_person_is_meant_by_any_of_their_codes() -> None:
    joined = HOSPITAL.replace("person\n    ana\n    ben", "person, same_as\n    ana\n    ben, ana")
    results = computed(joined, standing(("person", "ben")))
    assert days(answered(results)) == ["02", "03", "04"]


RETIRED = """
    [people]
    person
    ana

    [characters]
    character
    wick

    [puppets]
    puppet, character, retired_on
    wick-1, wick, 2026-01-01

    [sequences]
    sequence
    010

    [shots]
    shot, sequence, frames
    010-020, 010, 48

    [entries]
    craft, person, puppet, shot, frames, finished_on
    animation, ana, wick-1, 010-020, 1-8, 2026-03-04
"""


def test_what_cannot_be_true_is_never_answered() -> None:
    kind = "puppet-after-retirement"
    results = computed(RETIRED, standing(kind=kind))
    (wrong,) = (each for each in results.checks if each.kind == kind)
    assert wrong.severity is Severity.WRONG
    assert wrong in results.open_checks


def test_it_is_said_which_cases_it_is_about() -> None:
    assert described(standing()) == "every case"
    condition = (("stage", "S1"), ("person", "ana"), (CRAFT, "repair"))
    assert (
        described(standing(*condition))
        == "every case with person ana and stage S1, of repair alone"
    )


conditions = st.sets(
    st.sampled_from(
        [
            *product(("person",), ("ana", "ben")),
            *product(("stage",), ("S1", "S2", "S3")),
            *product((CRAFT,), ("repair", "animation", "costume")),
            ("date", "2026-03-02"),
        ]
    ),
    max_size=3,
)
rows = st.lists(
    st.tuples(
        st.sampled_from(["repair", "animation", "costume"]),
        st.sampled_from(["ana", "ben"]),
        st.sampled_from(["S1", "S2", "S3"]),
        st.sampled_from(["2026-03-02", "2026-03-03"]),
    ),
    max_size=14,
)


@given(rows=rows, condition=conditions, earlier=conditions)
def test_it_answers_exactly_what_it_describes_and_taken_back_opens_exactly_that_again(
    rows: list[tuple[str, str, str, str]],
    condition: set[tuple[str, str]],
    earlier: set[tuple[str, str]],
) -> None:
    text = ROUND + "".join(f"    {c}, {p}, wick-1, {s}, {d}\n" for c, p, s, d in rows)

    def is_described(subjects: Subjects) -> bool:
        """Said of the rows themselves, without the log."""
        named = dict(subjects)
        own = [row for row in rows if (row[1], row[3]) == (named["person"], named["date"])]
        crafts = {code for kind, code in condition if kind == CRAFT}
        by_code = {
            "person": {named["person"]},
            "date": {named["date"]},
            "stage": {row[2] for row in own},
        }
        others = [each for each in condition if each[0] != CRAFT]
        fits = all(code in by_code[kind] for kind, code in others)
        return fits and (not crafts or crafts == {row[0] for row in own})

    before = computed(text, standing(*earlier))
    after = computed(text, standing(*earlier), standing(*condition))
    gone = [each for each in before.open_checks if each not in after.open_checks]
    assert gone == [
        each for each in before.open_checks if each.kind == KIND and is_described(each.subjects)
    ]
    if condition != earlier:
        back = computed(
            text, standing(*earlier), standing(*condition), standing(*condition, back=True)
        )
        assert back.open_checks == before.open_checks
