"""The end credits by the built-in plan and by others: sections, lines, order, who is held."""

from __future__ import annotations

import pytest

from credits.billing.compile import people_owed
from credits.billing.credits import Credits
from credits.billing.plan import CreditPlan, Order, PlannedSection, RoleShown, built_in_plan
from credits.billing.reasons import in_words
from credits.model.ledger import Ledger
from tests.computed import credits_of, footage_of
from tests.small_log import WORKED_EXAMPLE, small_ledger


def compiled(ledger: Ledger, *sections: PlannedSection) -> Credits:
    """By the sections given; by the built-in plan when there are none."""
    plan = CreditPlan("a plan", sections) if sections else None
    return credits_of(ledger, *footage_of(ledger), plan)


def shown(credits: Credits) -> list[tuple[str, list[tuple[str, str | None]]]]:
    """Heading by heading: the names, and what stands opposite."""
    return [
        (section.heading, [(line.name, line.role) for line in section.lines])
        for section in credits.sections
    ]


# --- The built-in plan


def test_the_worked_example_has_a_section_for_each_craft_in_the_order_of_the_crafts() -> None:
    credits = compiled(small_ledger(WORKED_EXAMPLE))
    assert shown(credits) == [
        ("Voice", [("Ana", "Wick")]),
        ("Animation", [("Ana", None), ("Ben", None), ("Cai", None)]),
        ("Puppet sculpting", [("Cai", None)]),
        ("Puppet fabrication", [("Ben", None)]),
        ("Puppet repair", [("Ana", None)]),
    ]
    assert credits.held == ()
    assert credits.order_of_appearance == ("wick", "brine")
    assert credits.plan == "built-in plan"


CREW = """
    [people]
    person, credit_name, sort_name, credit_wish, same_as
    ana, Ana Lind, "Lind, Ana"
    ben, Ben Orr, "Orr, Ben"
    cai, Cai Abbot, "Abbot, Cai"
    dov, Dov Grey, "Grey, Dov", uncredited
    eve, Eve Moss, "Moss, Eve"
    evie, Eve Moss, "Moss, Eve", , eve

    [crafts]
    craft, name, kind, footage, heading
    animation, Animation, performance, yes, Animators
    animation-assist, Animation assistance, performance, no, animators
    mould, Mould making, build, no, Puppet makers
    casting, Casting, build, no, Puppet makers

    [characters]
    character
    wick
    brine
    moth

    [sequences]
    sequence
    010

    [shots]
    shot, sequence, frames
    010-020, 010, 48
"""


def test_crafts_that_share_a_heading_share_a_section_and_a_person_has_one_line_in_it() -> None:
    credits = compiled(
        small_ledger(f"""{CREW}
            [entries]
            craft, person, character
            casting, ben, wick
            mould, ben, brine
            mould, cai, wick
            animation-assist, eve, wick
        """)
    )
    assert shown(credits) == [
        ("Animators", [("Eve Moss", None)]),
        ("Puppet makers", [("Cai Abbot", None), ("Ben Orr", None)]),
    ]
    because = credits.sections[1].lines[1].because
    assert in_words(because).rule == "The log has work of this craft (Casting, Mould making)."
    assert [str(number) for number in in_words(because).entries] == ["A-1", "A-2"]
    assert dict(in_words(because).figures) == {"entries": 2}


def test_the_departments_of_the_crew_list_stand_behind_the_crafts_with_the_job_title() -> None:
    credits = compiled(
        small_ledger(f"""{CREW}
            [engagements]
            person, department, job_title
            ben, production, Runner
            ana, Production, Coordinator
            ana, production, Line producer
            cai, Animators, Supervisor
            [entries]
            craft, person, character
            mould, ben, wick
        """)
    )
    assert shown(credits) == [
        ("Puppet makers", [("Ben Orr", None)]),
        ("Production", [("Ana Lind", "Coordinator, Line producer"), ("Ben Orr", "Runner")]),
        # A department that is called like a section says that it is one.
        ("Animators department", [("Cai Abbot", "Supervisor")]),
    ]


def test_guaranteed_headings_come_first_and_people_under_them_by_billing_number() -> None:
    credits = compiled(
        small_ledger(f"""{CREW}
            [engagements]
            person, department, job_title, guaranteed_heading, billing_number
            ben, Animation, Animator, Lead animators, 12
            cai, Animation, Animator, lead  animators, 11
            eve, Animation, Director of animation, Directed by, 1
            ana, Animation, Animator, Lead animators,
            [entries]
            craft, person, character
            animation, ben, wick
        """)
    )
    assert shown(credits) == [
        ("Directed by", [("Eve Moss", None)]),
        ("Lead animators", [("Cai Abbot", None), ("Ben Orr", None), ("Ana Lind", None)]),
        ("Animators", [("Ben Orr", None)]),  # the log has his work as well
    ]
    because = credits.sections[1].lines[1].because
    assert in_words(because).rule == (
        "A contract guarantees the heading 'Lead animators' (engaged as Animator)."
    )
    assert dict(in_words(because).figures) == {"engagements": 1, "billing number": 12}


def test_the_opening_follows_film_billing_and_not_the_numbers_under_headings() -> None:
    credits = compiled(
        small_ledger(f"""{CREW}
            [engagements]
            person, department, job_title, guaranteed_heading, billing_number
            ben, Animation, Animator, Sculpted by, 1
            cai, Music, Composer, Music by, 1
            eve, Production, Producer, Produced by, 3
            ana, Direction, Director, Directed  by, 7
            ana, Animation, Lead, Lead animators, 1
        """)
    )
    headings = [section.heading for section in credits.sections]
    # Directed, produced, music: common practice; the others as the crew list has them.
    assert headings == ["Directed  by", "Produced by", "Music by", "Sculpted by", "Lead animators"]


def test_who_asks_to_be_uncredited_is_held_with_the_work_behind_it() -> None:
    credits = compiled(
        small_ledger(f"""{CREW}
            [engagements]
            person, department, job_title
            dov, Animation, Animator
            [entries]
            craft, person, character
            mould, dov, wick
        """)
    )
    assert shown(credits) == []
    (held,) = credits.held
    assert (held.person, held.name, held.reason) == ("dov", "Dov Grey", "asked to be uncredited")
    assert dict(in_words(held.because).figures) == {"entries": 1, "engagements": 1}
    assert [str(number) for number in in_words(held.because).entries] == ["A-1"]


def test_two_codes_of_one_person_are_one_line() -> None:
    ledger = small_ledger(f"""{CREW}
        [entries]
        craft, person, character
        mould, evie, wick
        casting, eve, wick
    """)
    credits = compiled(ledger)
    assert shown(credits) == [("Puppet makers", [("Eve Moss", None)])]
    assert people_owed(ledger) == ("eve",)
    ((section, line),) = credits.of("eve").lines
    assert (section.heading, line.person, len(in_words(line.because).entries)) == (
        "Puppet makers",
        "eve",
        2,
    )
    assert credits.of("evie").lines == ()


def test_work_that_was_voided_credits_nobody() -> None:
    credits = compiled(
        small_ledger(f"""{CREW}
            [entries]
            craft, person, character
            mould, ben, wick
            [lines]
            verb, corrects, why
            void, A-1, it was Cai
        """)
    )
    assert (credits.sections, credits.held) == ((), ())


def test_a_person_without_an_entry_or_an_engagement_is_owed_nothing() -> None:
    credits = compiled(small_ledger(CREW))
    assert (credits.sections, credits.held) == ((), ())
    assert built_in_plan(small_ledger("")).sections  # an empty production has a plan, and no lines


def test_voices_stand_in_order_of_appearance_with_their_characters() -> None:
    credits = compiled(
        small_ledger(
            f"""{CREW}
            [entries]
            craft, person, character, shot, frames, finished_on
            animation, ana, brine, 010-020, 1-12, 2026-03-02
            animation, ana, wick, 010-020, 13-48, 2026-03-02
            voice, cai, moth
            voice, ben, wick
            voice, eve, wick
            voice, eve, brine
            singing, ben, wick
            """,
            "shot, first, last\n010-020, 1, 48",
        )
    )
    voices, singing, _ = shown(credits)
    # Brine is seen first, then Wick; the moth is in no frame of the cut and comes last.
    assert voices == (
        "Voice",
        [("Eve Moss", "Brine, Wick"), ("Ben Orr", "Wick"), ("Cai Abbot", "Moth")],
    )
    assert singing == ("Singing voice", [("Ben Orr", "Wick")])
    assert credits.order_of_appearance == ("brine", "wick")


def test_a_line_says_whether_its_spelling_was_confirmed() -> None:
    credits = compiled(
        small_ledger("""
            [people]
            person, credit_name, name_confirmed_on
            ana, ANA lind-O'Brien <i>, 2026-03-02
            ben, نور
            [entries]
            craft, person
            mould, ana
            mould, ben
        """)
    )
    assert [(line.name, line.confirmed) for line in credits.sections[0].lines] == [
        ("ANA lind-O'Brien <i>", True),
        ("نور", False),
    ]


# --- Order by name

# UTS #10 on the two parts of the sort name; PyICU and pyuca agree on it.
IN_ORDER = (
    "De la Cruz, Al",
    "de la Cruz, Ana",
    "Delacroix, Ana",
    "Muller, Al",
    "Müller, Al",
    "Muller, Zoe",
    "Müller, Zoë",
    "O'Brien, Dara",
    "O'Brien-Smith, D",
    "Smith, Jo",
    "Smith Jones, Al",
    "Smith-Jones, Al",
    "Smithers, Al",
)


def test_names_stand_by_sort_name_under_the_unicode_collation_algorithm() -> None:
    turned = list(reversed(IN_ORDER))
    people = "\n".join(f'p{at}, Name {at}, "{name}"' for at, name in enumerate(turned))
    painted = "\n".join(f"paint, p{at}" for at in range(len(turned)))
    ledger = small_ledger(f"""
        [people]
        person, credit_name, sort_name
        {people}
        [entries]
        craft, person
        {painted}
    """)
    (section,) = compiled(ledger).sections
    assert [ledger.people[line.person].sort_name for line in section.lines] == list(IN_ORDER)


def test_without_a_sort_name_the_credit_name_sorts_unchanged() -> None:
    ledger = small_ledger("""
        [people]
        person, credit_name, sort_name
        ana, Ana Zander
        ben, Ben Aldous
        cai, Cai Aldous, "Aldous, Cai"
        [entries]
        craft, person
        paint, ana
        paint, ben
        paint, cai
    """)
    (section,) = compiled(ledger).sections
    assert [line.name for line in section.lines] == ["Cai Aldous", "Ana Zander", "Ben Aldous"]


# --- Other plans

WORKED = f"""{CREW}
    [engagements]
    person, department, job_title, guaranteed_heading, billing_number
    ben, Production, Runner, With, 2
    cai, Production, Runner, , 1
    [entries]
    craft, person, character
    mould, ana, wick
    animation, ana, brine
"""


@pytest.mark.parametrize(
    ("section", "lines"),
    [
        (PlannedSection(heading="All", crafts=("mould", "animation")), [("Ana Lind", None)]),
        (
            PlannedSection(heading="All", crafts=("mould", "animation"), role=RoleShown.CHARACTERS),
            [("Ana Lind", "Wick, Brine")],
        ),
        (PlannedSection(heading="All", crafts=("voice",)), []),
        # A guaranteed heading takes its engagement out of the department.
        (PlannedSection(heading="All", departments=("production",)), [("Cai Abbot", None)]),
        (
            PlannedSection(heading="All", departments=("production",), role=RoleShown.JOB_TITLE),
            [("Cai Abbot", "Runner")],
        ),
    ],
)
def test_a_section_takes_whom_it_says(
    section: PlannedSection, lines: list[tuple[str, str | None]]
) -> None:
    credits = compiled(small_ledger(WORKED), section)
    # What a contract guarantees is printed, though the plan does not name the heading.
    guaranteed = ("With", [("Ben Orr", None)])
    assert shown(credits) == [guaranteed, *([("All", lines)] if lines else [])]


def test_a_plan_may_say_where_a_guaranteed_heading_stands() -> None:
    credits = compiled(
        small_ledger(WORKED),
        PlannedSection(heading="Crew", departments=("production",)),
        PlannedSection(heading="And with", guaranteed=("with",), order=Order.CONTRACT),
    )
    assert shown(credits) == [
        ("Crew", [("Cai Abbot", None)]),
        ("And with", [("Ben Orr", None)]),
    ]


def test_whom_no_section_takes_is_held_by_sort_name_with_the_reason() -> None:
    credits = compiled(small_ledger(WORKED), PlannedSection(heading="All", crafts=("voice",)))
    assert [(held.name, held.reason) for held in credits.held] == [
        ("Cai Abbot", "no section of the plan takes this person"),
        ("Ana Lind", "no section of the plan takes this person"),
    ]


# --- Order by footage

FRAMES = """
    [people]
    person, sort_name
    ana, "Zander, Ana"
    ben, "Orr, Ben"
    cai, "Abbot, Cai"

    [characters]
    character
    wick

    [sequences]
    sequence
    010

    [shots]
    shot, sequence, frames
    010-020, 010, 48

    [entries]
    craft, person, character, shot, frames, finished_on
    animation, ana, wick, 010-020, 1-24, 2026-03-02
    animation, ben, wick, 010-020, 25-36, 2026-03-02
    animation, cai, wick, 010-020, 37-48, 2026-03-02
"""


@pytest.mark.parametrize(
    ("cut", "names"),
    [
        # Ana 24 frames; Cai and Ben 12 each stand by sort name.
        ("shot, first, last\n010-020, 1, 48", ["Ana", "Cai", "Ben"]),
        # The cut shows Ben's frames three times: 36 on screen.
        (
            "shot, first, last\n010-020, 1, 48\n010-020, 25, 36\n010-020, 25, 36",
            ["Ben", "Ana", "Cai"],
        ),
        # Who is not in the cut has nothing on screen.
        ("shot, first, last\n010-020, 37, 48", ["Cai", "Ben", "Ana"]),
    ],
)
def test_by_footage_is_by_shot_footage_on_screen(cut: str, names: list[str]) -> None:
    credits = compiled(
        small_ledger(FRAMES, cut),
        PlannedSection(heading="Animators", crafts=("animation",), order=Order.FOOTAGE),
    )
    assert [line.name for line in credits.sections[0].lines] == names
