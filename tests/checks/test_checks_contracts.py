"""Checks of what contracts guarantee: the case that fires, and the nearest that must not."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from credits.billing.plan import (
    CreditPlan,
    NameRule,
    OwnLine,
    PlannedSection,
    RoleShown,
)
from credits.checks.rule import Check, Severity
from credits.figures.snapshot import Snapshot
from tests.small_log import small_ledger

FILM = """
    [people]
    person, credit_name, sort_name, credit_wish
    ana, Ana Lind, "Lind, Ana"
    ben, Ben Ode, "Ode, Ben"
    cai, Cai Moss, "Moss, Cai"
    dee, Dee Farr, "Farr, Dee", uncredited
    [characters]
    character
    wick
    wink
    [engagements]
    person, department, job_title, guaranteed_heading, billing_number
    {jobs}
    [entries]
    craft, person, character
    {entries}
"""
LEAD = "ana, Animation, Lead animator, Lead animators, 1"


def found(
    kind: str, jobs: str, plan: CreditPlan | None = None, entries: str = ""
) -> tuple[Check, ...]:
    ledger = small_ledger(FILM.format(jobs=jobs, entries=entries))
    return tuple(check for check in Snapshot(ledger, plan).checks if check.kind == kind)


def plan_of(*sections: PlannedSection, names: tuple[NameRule, ...] = ()) -> CreditPlan:
    return CreditPlan("a plan", sections, names=names)


LEADS = PlannedSection(heading="Lead animators", guaranteed=("lead animators",))
ANIMATORS = PlannedSection(heading="Animators", crafts=("animation",))


# --- guarantee-missing


@pytest.mark.parametrize(
    "plan",
    [
        plan_of(replace(LEADS, excepted=("ana",)), ANIMATORS),
        plan_of(LEADS, names=(NameRule(person="ana", printed=False),)),
        plan_of(
            LEADS, names=(NameRule(person="ana", printed=False, headings=("lead animators",)),)
        ),
    ],
    ids=["excepted", "not printed anywhere", "not printed there"],
)
def test_a_guaranteed_heading_that_the_plan_overrides_is_an_error(plan: CreditPlan) -> None:
    (check,) = found("guarantee-missing", LEAD, plan)
    assert check.severity is Severity.WRONG
    assert check.subjects == (("person", "ana"), ("heading", "Lead animators"))
    assert check.message == (
        "A contract guarantees Ana Lind (ana) the heading 'Lead animators', and the end credits"
        " print this person nowhere: the plan leaves this person out."
    )
    assert found("left-out", LEAD, plan) == ()


def test_a_guaranteed_heading_that_is_missing_says_where_the_person_stands() -> None:
    plan = plan_of(replace(LEADS, excepted=("ana",)), ANIMATORS)
    (check,) = found("guarantee-missing", LEAD, plan, "animation, ana, wick")
    assert "print this person under 'Animators' alone: the plan leaves" in check.message


@pytest.mark.parametrize(
    "plan",
    [
        None,
        plan_of(ANIMATORS),
        plan_of(replace(LEADS, heading="LEAD  animators")),
        plan_of(LEADS, names=(NameRule(person="ana", printed=False, headings=("animators",)),)),
    ],
    ids=["built in", "no section of its own", "other case and spaces", "left out elsewhere"],
)
def test_a_guaranteed_heading_that_prints_is_not_asked_about(plan: CreditPlan | None) -> None:
    assert found("guarantee-missing", LEAD, plan, "animation, ana, wick") == ()
    assert found("guarantee-in-other-words", LEAD, plan, "animation, ana, wick") == ()


# --- guarantee-in-other-words


def test_a_guaranteed_heading_in_other_words() -> None:
    plan = plan_of(replace(LEADS, heading="Animation leads"))
    (check,) = found("guarantee-in-other-words", LEAD, plan)
    assert check.severity is Severity.QUESTION
    assert check.message == (
        "A contract guarantees Ana Lind (ana) the heading 'Lead animators', and the end credits"
        " print this person under 'Animation leads'."
    )
    assert found("guarantee-missing", LEAD, plan) == ()


@pytest.mark.parametrize(
    ("jobs", "plan"),
    [
        (
            "ana, Animation, Lead animators, Lead animators",
            plan_of(replace(LEADS, heading="Animation", role=RoleShown.JOB_TITLE)),
        ),
        (LEAD, plan_of(replace(LEADS, heading="Animation", heading_also="Lead animators"))),
        (
            "ana, Animation, First animator, Lead animators",
            plan_of(
                replace(LEADS, role=RoleShown.JOB_TITLE, sub_headings=True),
            ),
        ),
    ],
    ids=["the role says it", "the second language says it", "the heading over it says it"],
)
def test_very_words_beside_the_name_are_enough(jobs: str, plan: CreditPlan) -> None:
    assert found("guarantee-in-other-words", jobs, plan) == ()
    assert found("guarantee-missing", jobs, plan) == ()


# --- guarantee-against-wish


def test_a_guarantee_against_the_wish_of_the_person() -> None:
    job = "dee, Animation, Lead animator, Lead animators"
    (check,) = found("guarantee-against-wish", job)
    assert check.severity is Severity.QUESTION
    assert "(dee) the heading 'Lead animators', and this person asks to be" in check.message
    assert found("guarantee-missing", job) == ()


def test_a_wish_without_a_guarantee_is_a_wish() -> None:
    assert found("guarantee-against-wish", f"dee, Animation, Lead animator\n{LEAD}") == ()


# --- guaranteed-twice


TWICE = plan_of(LEADS, ANIMATORS, PlannedSection(heading="Puppet repair", crafts=("repair",)))


def test_a_guaranteed_person_also_under_a_lesser_heading() -> None:
    work = "animation, ana, wick\nrepair, ana, wick\nanimation, ben, wick"
    (check,) = found("guaranteed-twice", LEAD, TWICE, work)
    assert check.severity is Severity.QUESTION
    assert check.message == (
        "A contract guarantees Ana Lind (ana) the heading 'Lead animators', and the end credits"
        " print this person under 'Animators' too."
    )


def test_a_lesser_heading_that_stands_first_is_known_by_its_words() -> None:
    plan = plan_of(ANIMATORS, LEADS)
    assert len(found("guaranteed-twice", LEAD, plan, "animation, ana, wick")) == 1


@pytest.mark.parametrize(
    ("plan", "work"),
    [
        (TWICE, "repair, ana, wick"),
        (plan_of(LEADS, PlannedSection(heading="Cast", cast=("voice",))), "voice, ana, wick"),
        (
            plan_of(LEADS, PlannedSection(heading="{character}", every_performance=True)),
            "animation, ana, wick",
        ),
        (TWICE, "animation, ben, wick"),
    ],
    ids=["another department", "a voice", "the block of a character", "somebody else"],
)
def test_another_kind_of_work_is_no_lesser_heading(plan: CreditPlan, work: str) -> None:
    assert found("guaranteed-twice", LEAD, plan, work) == ()


def test_two_headings_by_contract_are_as_the_contracts_say() -> None:
    jobs = f"{LEAD}\nana, Animation, Animator, Animators"
    assert found("guaranteed-twice", jobs, TWICE, "animation, ana, wick") == ()


# --- billing-number-twice


def test_equal_billing_numbers_under_one_heading() -> None:
    (check,) = found(
        "billing-number-twice", f"{LEAD}\nben, Animation, Lead animator, lead Animators, 1"
    )
    assert check.subjects == (("heading", "Lead animators"), ("person", "ana"), ("person", "ben"))
    assert check.message == (
        "Ana Lind (ana) and Ben Ode (ben) have the same billing number, 1, under 'Lead animators'."
    )


def test_equal_numbers_of_a_department_are_asked_about_where_it_prints() -> None:
    jobs = "ana, Camera, Operator, , 2\nben, Camera, Operator, , 2"
    (check,) = found("billing-number-twice", jobs)
    assert check.subjects[0] == ("heading", "Camera")


@pytest.mark.parametrize(
    "jobs",
    [
        f"{LEAD}\nben, Animation, Lead animator, Lead animators, 2",
        f"{LEAD}\nben, Puppets, Lead maker, Lead puppet makers, 1",
        f"{LEAD}\nana, Animation, 'Lead animator, pick-ups', Lead animators, 1",
        f"{LEAD}\nben, Animation, Lead animator, Lead animators",
        f"{LEAD}\ndee, Animation, Lead animator, Lead animators, 1",
    ],
    ids=["another number", "another heading", "one person", "no number", "is not printed"],
)
def test_numbers_that_tie_nobody(jobs: str) -> None:
    assert found("billing-number-twice", jobs.replace("'", '"')) == ()


# --- headings-alike


def test_headings_that_differ_by_a_letter() -> None:
    jobs = f"{LEAD}\nben, Animation, Lead animator, Lead animator"
    (check,) = found("headings-alike", jobs)
    assert check.subjects == (("heading", "Lead animator"), ("heading", "Lead animators"))
    assert check.message == (
        "The headings 'Lead animator' and 'Lead animators' differ by one letter; contracts"
        " guarantee 'Lead animator' and 'Lead animators'."
    )


def test_a_heading_of_the_plan_beside_that_of_a_contract() -> None:
    plan = plan_of(PlannedSection(heading="Lead animator", crafts=("animation",)), LEADS)
    (check,) = found("headings-alike", LEAD, plan, "animation, ben, wick")
    assert check.message.endswith("contracts guarantee 'Lead animators'.")


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Lead animators", "lead  animators"),
        ("Animation, unit 1", "Animation, unit 2"),
        ("Hat", "Hut"),
        ("Lead animators", "Lead animation"),
    ],
    ids=["case and spaces", "numbered", "too short to tell", "more than a letter"],
)
def test_headings_that_are_two(one: str, other: str) -> None:
    jobs = f'ana, Animation, Animator, "{one}"\nben, Animation, Animator, "{other}"'
    assert found("headings-alike", jobs) == ()


def test_blocks_of_characters_are_called_after_them() -> None:
    plan = plan_of(PlannedSection(heading="{character}", every_performance=True))
    work = "animation, ana, wick\nanimation, ana, wink"
    assert found("headings-alike", "cai, Camera, Operator", plan, work) == ()


# --- lines of the plan's own, and spaces in names


def own(*lines: OwnLine) -> CreditPlan:
    return plan_of(PlannedSection(heading="Crew", people=("ana", "ben"), lines=lines))


JOB = "cai, Camera, Operator"


def test_an_own_line_that_nobody_confirmed_is_asked_about() -> None:
    plan = own(OwnLine(name="The Ferry Hotel"))
    (check,) = found("line-unconfirmed", JOB, plan)
    assert check.of_spelling
    assert check.message == (
        "The plan's line 'The Ferry Hotel' under 'Crew' would be printed, and nobody has confirmed"
        " the spelling."
    )


def test_an_own_line_with_its_day_is_confirmed() -> None:
    plan = own(OwnLine(name="The Ferry Hotel", confirmed_on=date(2026, 3, 2)))
    assert found("line-unconfirmed", JOB, plan) == ()


def test_two_spaces_in_a_row_are_said_with_what_is_around_them() -> None:
    (check,) = found("line-spaced", JOB, own(OwnLine(name="The Ferry  Hotel")))
    assert check.message.endswith("has two spaces in a row, between 'The Ferry' and 'Hotel'.")
    assert found("line-spaced", JOB, own(OwnLine(name="The Ferry\nHotel"))) == ()


def test_two_spaces_in_the_name_of_somebody_who_prints() -> None:
    rule = NameRule(person="ana", printed_as="Ana  Lind")
    plan = plan_of(PlannedSection(heading="Crew", people=("ana", "ben")), names=(rule,))
    (check,) = found("name-spaced", f"ana, Camera, Operator\n{JOB}", plan)
    assert check.message == (
        "Ana Lind (ana) prints with two spaces in a row, between 'Ana' and 'Lind'."
    )


@pytest.mark.parametrize(
    ("names", "said"),
    [
        (("Ana Lindt",), ["from Ana Lind (ana), who prints too."]),
        (("Ferry Hotel", "Fery Hotel"), ["from 'Fery Hotel', which prints too."]),
        (("Ana Lind",), []),
        (("Ferry Hotel", "Ferry Hotel"), []),
        (("Song No. 1", "Song No. 2"), []),
        (("Ferry Hotel", "Harbour Hotel"), []),
    ],
    ids=["a person", "another line", "the same name", "the same line", "numbered", "two"],
)
def test_an_own_line_near_another_name(names: tuple[str, ...], said: list[str]) -> None:
    plan = own(*(OwnLine(name=name) for name in names))
    cases = found("line-alike", f"ana, Camera, Operator\nben, Camera, Operator\n{JOB}", plan)
    assert [case.message.partition("one letter ")[2] for case in cases] == said


def test_a_production_without_contracts_asks_nothing_of_them() -> None:
    kinds = {check.kind for check in Snapshot(small_ledger("")).checks}
    assert kinds == set()
