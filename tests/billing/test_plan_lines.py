"""What a plan says beyond who stands where: its own lines, names for one place, stages, groups."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from fractions import Fraction

import pytest

from credits.billing.credits import Credits, Outcome
from credits.billing.plan import (
    CreditPlan,
    Layout,
    LinePlace,
    NamedKind,
    NameRule,
    Order,
    OwnLine,
    Picture,
    PlannedSection,
    RoleShown,
)
from credits.billing.reasons import ReasonKind, in_words
from credits.billing.remarks import plan_remarks
from credits.billing.thresholds import Threshold, ThresholdUnit
from tests.computed import credits_of, footage_of
from tests.small_log import small_ledger

# At 24 frames a second: Ana 24 frames on S1 and 24 on S2; Ben 12 on S2; Cai made the puppet.
FILM = """
    [people]
    person, credit_name, sort_name, name_confirmed_on
    ana, Ana Lind, "Lind, Ana", 2026-03-01
    ben, Ben Orr, "Orr, Ben"
    cai, Cai Abbot, "Abbot, Cai"
    dov, Dov Moss, "Moss, Dov"

    [engagements]
    person, department, job_title
    dov, Camera, Focus puller
    ben, Camera, Camera operator
    cai, Camera, Focus puller

    [characters]
    character, name
    wick, Wick
    brine, Brine

    [sequences]
    sequence
    010

    [shots]
    shot, sequence, frames
    010-020, 010, 60

    [stages]
    stage, unit
    S1, First unit
    S2, Second unit

    [entries]
    craft, person, character, shot, frames, stage, finished_on
    animation, ana, wick, 010-020, 1-24, S1, 2026-03-02
    animation, ana, wick, 010-020, 25-48, S2, 2026-03-03
    animation, ben, wick, 010-020, 49-60, S2, 2026-03-03
    sculpt, cai, wick
    sculpt, cai, brine
    voice, ana, brine
"""
ANIMATORS = PlannedSection(heading="Animators", crafts=("animation",))
SCULPTORS = PlannedSection(heading="Sculptors", crafts=("sculpt",))
CAMERA = PlannedSection(heading="Camera", departments=("camera",), role=RoleShown.JOB_TITLE)


def compiled(*sections: PlannedSection, **plan: object) -> Credits:
    ledger = small_ledger(FILM, "shot, first, last\n010-020, 1, 60")
    made = replace(CreditPlan("a plan", sections), **plan)
    return credits_of(ledger, *footage_of(ledger), made)


def names(credits: Credits, heading: str) -> list[str]:
    found = (section for section in credits.sections if section.heading == heading)
    return [line.name for section in found for line in section.lines]


# --- lines of the plan's own


def test_a_line_of_the_plans_own_stands_among_people_by_its_name() -> None:
    own = OwnLine(name="Nether Hum Bakery", named=NamedKind.COMPANY, role="Bread")
    credits = compiled(replace(ANIMATORS, lines=(own,)))
    assert names(credits, "Animators") == ["Ana Lind", "Nether Hum Bakery", "Ben Orr"]
    line = credits.sections[0].lines[1]
    assert (line.person, line.role, line.named) == ("", "Bread", NamedKind.COMPANY)
    assert not line.confirmed
    assert in_words(line.because).rule == "The plan has this line."


@pytest.mark.parametrize(
    ("own", "order"),
    [
        (OwnLine(name="Zed", place=LinePlace.FIRST), ["Zed", "Ana Lind", "Ben Orr"]),
        (OwnLine(name="Abe", place=LinePlace.LAST), ["Ana Lind", "Ben Orr", "Abe"]),
        (OwnLine(name="Zed", after="ana"), ["Ana Lind", "Zed", "Ben Orr"]),
        (OwnLine(name="Zed", files_under="Abe"), ["Zed", "Ana Lind", "Ben Orr"]),
        (OwnLine(name="Abe", after="cai"), ["Abe", "Ana Lind", "Ben Orr"]),  # is not here
    ],
)
def test_where_a_line_of_the_plans_own_stands(own: OwnLine, order: list[str]) -> None:
    assert names(compiled(replace(ANIMATORS, lines=(own,))), "Animators") == order


def test_lines_behind_one_person_stay_in_the_order_of_the_plan() -> None:
    own = (OwnLine(name="one", after="ana"), OwnLine(name="two", after="ana"))
    found = names(compiled(replace(ANIMATORS, lines=own)), "Animators")
    assert found == ["Ana Lind", "one", "two", "Ben Orr"]


def test_in_another_order_than_by_name_own_lines_stand_last() -> None:
    section = replace(ANIMATORS, order=Order.FOOTAGE, lines=(OwnLine(name="Abe"),))
    assert names(compiled(section), "Animators") == ["Ana Lind", "Ben Orr", "Abe"]


def test_a_section_may_have_own_lines_alone_and_its_line_breaks_are_kept() -> None:
    song = OwnLine(name="Slow Bell\nwords by nobody", named=NamedKind.SONG)
    confirmed = replace(song, confirmed_on=date(2026, 3, 4))
    credits = compiled(PlannedSection(heading="Songs", lines=(song, confirmed)))
    assert names(credits, "Songs") == ["Slow Bell\nwords by nobody"] * 2
    assert [line.confirmed for _, line in credits.lines] == [False, True]
    assert credits.printed == frozenset()


def test_a_section_of_pictures_alone_prints() -> None:
    fund = Picture(file="fund.svg", shows="The mark of the fund", lines=3)
    assert compiled(PlannedSection(heading="", pictures=(fund,))).sections[0].pictures == (fund,)


# --- names


def test_another_name_holds_where_all_that_is_said_of_the_place_fits() -> None:
    rule = NameRule(person="ana", printed_as="A. Lind", headings=("animators",))
    credits = compiled(
        ANIMATORS, PlannedSection(heading="Voices", crafts=("voice",)), names=(rule,)
    )
    assert names(credits, "Animators") == ["A. Lind", "Ben Orr"]
    assert names(credits, "Voices") == ["Ana Lind"]
    both = replace(rule, crafts=("sculpt",))
    assert names(compiled(ANIMATORS, names=(both,)), "Animators") == ["Ana Lind", "Ben Orr"]
    craft = NameRule(person="ana", printed_as="A. Lind", crafts=("animation",))
    assert names(compiled(ANIMATORS, names=(craft,)), "Animators") == ["A. Lind", "Ben Orr"]


def test_another_name_is_confirmed_for_itself() -> None:
    rule = NameRule(person="ana", printed_as="A. Lind")
    assert compiled(ANIMATORS).sections[0].lines[0].confirmed
    assert not compiled(ANIMATORS, names=(rule,)).sections[0].lines[0].confirmed
    confirmed = replace(rule, confirmed_on=date(2026, 3, 2))
    assert compiled(ANIMATORS, names=(confirmed,)).sections[0].lines[0].confirmed


def test_a_note_and_a_name_that_must_not_break() -> None:
    rule = NameRule(person="ana", note="in memory of", unbroken=True)
    line = compiled(ANIMATORS, names=(rule,)).sections[0].lines[0]
    assert (line.name, line.note, line.confirmed) == ("Ana\u00a0Lind", "in memory of", True)


def test_no_name_for_one_character_leaves_the_others() -> None:
    rule = NameRule(person="cai", printed=False, characters=("wick",))
    blocks = PlannedSection(heading="{character}", performances=("wick", "brine"))
    credits = compiled(blocks, names=(rule,))
    assert "Cai Abbot" not in names(credits, "Wick")
    assert "Cai Abbot" in names(credits, "Brine")
    [left_out] = [one for one in credits.not_here if one.person == "cai"]
    assert (left_out.outcome, left_out.heading) == (Outcome.LEFT_OUT, "Wick")
    assert left_out.not_here == "The plan leaves this person out here."


def test_no_name_for_a_job_title() -> None:
    rule = NameRule(person="cai", printed=False, job_titles=("focus puller",))
    credits = compiled(CAMERA, SCULPTORS, names=(rule,))
    assert names(credits, "Camera") == ["Dov Moss", "Ben Orr"]
    assert names(credits, "Sculptors") == ["Cai Abbot"]


def test_whom_the_plan_leaves_out_everywhere_is_held_and_not_lost() -> None:
    for how in (
        compiled(SCULPTORS, CAMERA, names=(NameRule(person="cai", printed=False),)),
        compiled(replace(SCULPTORS, excepted=("cai",)), replace(CAMERA, excepted=("cai",))),
    ):
        [held] = [one for one in how.held if one.person == "cai"]
        assert held.kind is ReasonKind.LEFT_OUT
        assert held.reason == "the plan leaves this person out"


def test_whom_one_section_excepts_stands_in_another() -> None:
    credits = compiled(replace(SCULPTORS, excepted=("cai",)), CAMERA)
    assert names(credits, "Sculptors") == []
    assert "Cai Abbot" in names(credits, "Camera")


def test_names_that_stand_together_are_joined_behind_the_first_of_them() -> None:
    section = replace(CAMERA, role=RoleShown.NOTHING, together=(("ben", "cai"),))
    [section_made] = compiled(section, joined_by="and").sections
    assert [(line.name, line.joined) for line in section_made.lines] == [
        ("Ben Orr", ""),
        ("Cai Abbot", "and"),
        ("Dov Moss", ""),
    ]
    assert [len(row) for row in section_made.printed] == [2, 1]
    of_three = replace(section, together=(("dov", "ben", "cai"),))
    [made] = compiled(of_three).sections
    assert [(line.name, line.joined) for line in made.lines] == [
        ("Dov Moss", ""),
        ("Ben Orr", ","),
        ("Cai Abbot", "&"),
    ]


def test_names_of_two_roles_do_not_stand_together() -> None:
    credits = compiled(replace(CAMERA, together=(("dov", "ben"),)))
    assert not any(line.joined for _, line in credits.lines)


# --- who stands where


def test_a_section_of_a_unit_takes_its_work_and_counts_its_footage_alone() -> None:
    second = replace(ANIMATORS, heading="Second unit", units=("second unit",))
    seconds = Threshold(least=Fraction(1), unit=ThresholdUnit.SECONDS, measure="screen")
    credits = compiled(second)
    assert names(credits, "Second unit") == ["Ana Lind", "Ben Orr"]
    assert [len(line.because[0].entries) for _, line in credits.lines] == [1, 1]
    asked = compiled(replace(second, at_least=seconds, below="Additional"))
    assert names(asked, "Second unit") == ["Ana Lind"]
    more = replace(seconds, least=Fraction(25, 24))  # Ana has 24 frames there, and 48 in all
    assert names(compiled(replace(second, at_least=more, below="Additional")), "Second unit") == []
    assert names(compiled(replace(ANIMATORS, at_least=more, below="Additional")), "Animators") == [
        "Ana Lind"
    ]


def test_a_section_of_a_stage() -> None:
    assert names(compiled(replace(ANIMATORS, stages=("S1",))), "Animators") == ["Ana Lind"]


def test_entries_and_days_of_a_stage_count_alone() -> None:
    for unit in (ThresholdUnit.ENTRIES, ThresholdUnit.DAYS, ThresholdUnit.STAGE_DAYS):
        two = Threshold(least=Fraction(2), unit=unit)
        asked = replace(ANIMATORS, at_least=two, below="Others")
        assert names(compiled(asked), "Animators") == ["Ana Lind"]
        assert names(compiled(replace(asked, stages=("S2",))), "Animators") == []


def test_groups_name_a_person_once_each() -> None:
    first = replace(CAMERA, once="crew")
    second = replace(CAMERA, heading="Again", once="crew")
    other = replace(CAMERA, heading="Elsewhere", once="others")
    another = replace(SCULPTORS, once="others")
    credits = compiled(first, second, other, another)
    assert names(credits, "Again") == []
    assert len(names(credits, "Elsewhere")) == 3
    assert names(credits, "Sculptors") == []  # stands in the other section of that group


def test_a_block_of_a_character_by_craft_and_threshold_in_columns() -> None:
    least = Threshold(least=Fraction(1), unit=ThresholdUnit.SECONDS, measure="screen")
    block = PlannedSection(
        heading="{character}",
        performances=("wick",),
        crafts=("animation",),
        at_least=least,
        below="Additional animation",
        layout=Layout.NAMES,
        columns=2,
    )
    credits = compiled(block)
    assert names(credits, "Wick") == ["Ana Lind"]
    assert names(credits, "Additional animation") == ["Ben Orr"]
    wick = credits.sections[0]
    assert (wick.layout, wick.columns, wick.lines[0].role) == (Layout.NAMES, 2, None)


# --- headings


def test_sub_headings_are_the_roles_in_the_order_of_the_lines() -> None:
    section = replace(CAMERA, sub_headings=True, order=Order.JOB_TITLE, job_titles=())
    also = (("focus puller", "assistant opérateur"),)
    made = compiled(section, roles_also=also).sections
    assert [(one.heading, one.level, one.heading_also) for one in made] == [
        ("Camera", 1, ""),
        ("Focus puller", 2, "assistant opérateur"),
        ("Camera operator", 2, ""),
    ]
    assert [[line.name for line in one.lines] for one in made] == [
        [],
        ["Cai Abbot", "Dov Moss"],
        ["Ben Orr"],
    ]


def test_the_order_of_job_titles_is_that_of_the_section_or_of_the_crew_list() -> None:
    in_order = replace(CAMERA, order=Order.JOB_TITLE)
    assert names(compiled(in_order), "Camera") == ["Cai Abbot", "Dov Moss", "Ben Orr"]
    by_plan = replace(in_order, job_titles=("camera operator", "focus puller"))
    assert names(compiled(by_plan), "Camera") == ["Ben Orr", "Cai Abbot", "Dov Moss"]


def test_a_heading_alone_stands_where_something_under_it_prints() -> None:
    above = PlannedSection(heading="The makers", alone=True)
    below, nobody = (
        replace(SCULPTORS, level=2),
        PlannedSection(heading="Hair", crafts=("hair",), level=2),
    )
    headings = [section.heading for section in compiled(above, below, nobody).sections]
    assert headings == ["The makers", "Sculptors"]
    assert compiled(above, nobody).sections == ()
    first = replace(ANIMATORS, level=1)
    assert [s.heading for s in compiled(above, first).sections] == ["Animators"]


def test_a_second_language_for_headings_and_roles() -> None:
    section = replace(CAMERA, heading_also="Image")
    [made] = compiled(section, roles_also=(("camera operator", "cadreuse"),)).sections
    assert made.heading_also == "Image"
    assert {line.role: line.role_also for line in made.lines} == {
        "Focus puller": "",
        "Camera operator": "cadreuse",
    }


# --- what is allowed and seldom meant


def test_equal_headings_and_headings_over_nobody_are_remarked() -> None:
    hair = PlannedSection(heading="Hair", crafts=("hair",))
    sections = (ANIMATORS, replace(SCULPTORS, heading="ANIMATORS"), hair)
    credits = compiled(*sections)
    assert plan_remarks(CreditPlan("a plan", sections), credits) == (
        "2 sections are called 'Animators': call each otherwise.",
        "Nobody stands under 'Hair'.",
    )


def test_equal_headings_under_two_others_are_no_mistake() -> None:
    units = [PlannedSection(heading=heading, alone=True) for heading in ("First", "Second")]
    own = replace(ANIMATORS, level=2)
    sections = (units[0], own, units[1], own)
    assert plan_remarks(CreditPlan("a plan", sections), compiled(*sections)) == ()
