"""The credit plan: thresholds and what is below them, cast lists, blocks, orders, once in all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

import pytest

from credits.billing.credits import Credits, Outcome
from credits.billing.plan import (
    CreditPlan,
    Layout,
    NameRule,
    Once,
    Order,
    PlannedSection,
    RoleShown,
)
from credits.billing.reasons import in_words
from credits.billing.thresholds import Reached, Threshold, ThresholdUnit
from credits.model.ledger import Ledger
from tests.computed import credits_of, footage_of
from tests.small_log import small_ledger

# At 24 frames a second: Ana 48 frames of Wick = 2 s; Ben 24 of Wick and 24 of Brine, in the same
# frames = 1 s; Cai 12 of Wick = 1/2 s. The cut shows everything once.
FILM = """
    [people]
    person, sort_name
    ana, "Zander, Ana"
    ben, "Orr, Ben"
    cai, "Abbot, Cai"
    dov, "Moss, Dov"

    [engagements]
    person, department, job_title, guaranteed_heading, billing_number
    dov, Animation, Lead animator, Lead animators, 1
    cai, Animation, Animator

    [characters]
    character
    wick
    brine

    [sequences]
    sequence
    010

    [shots]
    shot, sequence, frames
    010-020, 010, 84

    [entries]
    craft, person, character, shot, frames, finished_on
    animation, ana, wick, 010-020, 1-24, 2026-03-02
    animation, ana, wick, 010-020, 25-48, 2026-03-03
    animation, ben, wick, 010-020, 49-72, 2026-03-02
    animation, ben, brine, 010-020, 49-72, 2026-03-02
    animation, cai, wick, 010-020, 73-84, 2026-03-02
    voice, ana, wick
    voice, ben, brine
    voice, cai, brine
    singing, cai, wick
    sculpt, ben, wick
    repair, ana, brine
"""
CUT = "shot, first, last\n010-020, 1, 84"
ANIMATORS = PlannedSection(heading="Animators", crafts=("animation",))


def film(cut: str = CUT) -> Ledger:
    return small_ledger(FILM, cut)


def compiled(*sections: PlannedSection, once: Once = Once.SECTION, cut: str = CUT) -> Credits:
    ledger = film(cut)
    return credits_of(ledger, *footage_of(ledger), CreditPlan("a plan", sections, once))


def shown(credits: Credits) -> dict[str, list[str]]:
    """Names by heading; behind a colon what stands opposite."""
    return {
        section.heading: [
            f"{line.name}: {line.role}" if line.role else line.name for line in section.lines
        ]
        for section in credits.sections
    }


def names_of(credits: Credits, heading: str) -> list[str]:
    return shown(credits).get(heading, [])


def seconds(least: str) -> Threshold:
    return Threshold(least=Fraction(least), unit=ThresholdUnit.SECONDS, measure="screen")


# --- Thresholds


@pytest.mark.parametrize(
    ("threshold", "over"),
    [
        (seconds("2"), ["Ana"]),  # exactly at it is enough
        (seconds("1"), ["Ben", "Ana"]),
        (seconds("1.001"), ["Ana"]),
        (
            Threshold(least=Fraction(12), unit=ThresholdUnit.FRAMES, measure="screen"),
            ["Cai", "Ben", "Ana"],
        ),
        (
            Threshold(least=Fraction(13), unit=ThresholdUnit.FRAMES, measure="screen"),
            ["Ben", "Ana"],
        ),
        # Ben's two characters stand in the same frames: 24 of shot footage, 48 of character.
        (Threshold(least=Fraction(48), unit=ThresholdUnit.FRAMES, measure="kept"), ["Ana"]),
        (
            Threshold(
                least=Fraction(48), unit=ThresholdUnit.FRAMES, measure="kept", by_character=True
            ),
            ["Ben", "Ana"],
        ),
        (
            Threshold(least=Fraction(1, 1), unit=ThresholdUnit.FRAMES, measure="accepted"),
            [],
        ),  # no take is accepted
        (
            Threshold(least=Fraction(3), unit=ThresholdUnit.FEET, measure="screen"),
            ["Ana"],
        ),  # 48 frames = 3 ft of 35 mm
        (Threshold(least=Fraction(2), unit=ThresholdUnit.STAGE_DAYS), ["Ana"]),
        (Threshold(least=Fraction(2), unit=ThresholdUnit.DAYS), ["Ana"]),
        (Threshold(least=Fraction(2), unit=ThresholdUnit.ENTRIES), ["Ben", "Ana"]),
        # Wick is 84 frames: Ana 48/84, Ben 24/84, Cai 12/84. Brine is Ben's alone.
        (Threshold(least=Fraction(100), unit=ThresholdUnit.PERCENT), ["Ben"]),
        (Threshold(least=Fraction(57), unit=ThresholdUnit.PERCENT), ["Ben", "Ana"]),
        (Threshold(least=Fraction(100, 7), unit=ThresholdUnit.PERCENT), ["Cai", "Ben", "Ana"]),
    ],
)
def test_who_reaches_the_threshold_stands_there_the_others_elsewhere(
    threshold: Threshold, over: list[str]
) -> None:
    credits = compiled(replace(ANIMATORS, at_least=threshold, below="Additional animation"))
    assert names_of(credits, "Animators") == over
    below = [name for name in ("Cai", "Ben", "Ana") if name not in over]
    assert names_of(credits, "Additional animation") == below


def test_per_cent_are_of_the_characters_that_the_section_names() -> None:
    third = Threshold(least=Fraction(30), unit=ThresholdUnit.PERCENT)
    credits = compiled(replace(ANIMATORS, characters=("wick",), at_least=third))
    assert names_of(credits, "Animators") == ["Ana"]
    assert [held.name for held in credits.held] == ["Cai", "Ben"]


def test_without_a_cut_what_would_be_on_screen_is_what_is_kept_and_says_so() -> None:
    credits = compiled(replace(ANIMATORS, at_least=seconds("2")), cut="")
    (line,) = next(s.lines for s in credits.sections if s.heading == "Animators")
    assert line.person == "ana"
    assert in_words(line.because).threshold == (
        "This heading asks for at least 2 seconds on screen: 2 reached, "
        "counted over the kept frames since there is no cut yet."
    )


def test_who_is_below_and_goes_nowhere_is_held_with_the_figures() -> None:
    credits = compiled(replace(ANIMATORS, at_least=seconds("1")))
    (held,) = credits.held
    assert (held.person, held.reason) == ("cai", "below the threshold, held for a decision")
    assert (
        in_words(held.because).threshold
        == "'Animators' asks for at least 1 second on screen: 0.50 reached."
    )
    assert ("seconds on screen", "0.50") in in_words(held.because).figures


def test_a_line_is_held_of_who_prints_elsewhere() -> None:
    voices = PlannedSection(heading="Voices", crafts=("voice",))
    credits = compiled(voices, replace(ANIMATORS, at_least=seconds("2")))
    assert credits.held == ()
    assert [(held.person, held.heading) for held in credits.held_lines] == [
        ("cai", "Animators"),
        ("ben", "Animators"),
    ]


@pytest.mark.parametrize(
    "heading", ["Held over to the second unit", "held: second unit", "Heldenchor"]
)
def test_a_heading_may_begin_with_held(heading: str) -> None:
    credits = compiled(
        PlannedSection(heading="Voices", crafts=("voice",)),
        replace(ANIMATORS, at_least=seconds("2"), below=heading),
    )
    assert names_of(credits, heading) == ["Cai", "Ben"]
    assert (credits.held, credits.held_lines) == ((), ())
    (one,) = credits.of("ben").not_here
    assert one.to == heading
    assert one.not_here.endswith(f"1 reached. Goes on to '{heading}'.")


def test_below_leads_on_through_several_headings() -> None:
    credits = compiled(
        replace(ANIMATORS, heading="Lead", at_least=seconds("2"), below="animators"),
        PlannedSection(heading="Animators", at_least=seconds("1"), below="Additional animation"),
    )
    assert names_of(credits, "Lead") == ["Ana"]
    assert names_of(credits, "Animators") == ["Ben"]
    assert names_of(credits, "Additional animation") == ["Cai"]
    ((_, line),) = credits.of("cai").lines
    assert in_words(line.because).threshold == (
        "'Lead' asks for at least 2 seconds on screen: 0.50 reached. "
        "'Animators' asks for at least 1 second on screen: 0.50 reached."
    )


def test_a_circle_of_headings_holds_whom_it_sends_round() -> None:
    credits = compiled(
        replace(ANIMATORS, heading="One", at_least=seconds("9"), below="Two"),
        PlannedSection(heading="Two", at_least=seconds("9"), below="One"),
    )
    assert {held.person for held in credits.held} == {"ana", "ben", "cai"}
    first, second = credits.of("ana").not_here
    assert (first.to, second.to, second.in_circle) == ("Two", None, True)
    assert second.not_here.endswith(
        "Held: the plan sends the person from heading to heading and back."
    )


def test_contracts_and_the_plan_name_people_whatever_the_threshold_says() -> None:
    credits = compiled(
        PlannedSection(
            heading="Lead animators", crafts=("animation",), people=("cai",), at_least=seconds("2")
        )
    )
    assert names_of(credits, "Lead animators") == ["Cai", "Dov", "Ana"]
    ((_, cai),) = credits.of("cai").lines
    assert in_words(cai.because).rule.startswith("The plan names this person under this heading.")
    assert in_words(cai.because).threshold.endswith("it does not count, since the plan names them.")


@pytest.mark.parametrize(
    ("figure", "words"),
    [
        (Fraction(20), "20"),
        (Fraction(39, 2), "19.50"),
        (Fraction(59999, 3000), "19.9997"),  # not "20.00", which would be enough
        (Fraction(60001, 3000), "20.00"),
    ],
)
def test_a_figure_that_is_below_never_reads_as_if_it_were_enough(
    figure: Fraction, words: str
) -> None:
    assert Reached(threshold=seconds("20"), figure=figure).shown == words


# --- Cast lists and performance blocks


def test_a_cast_list_has_a_line_for_each_character_and_voice() -> None:
    credits = compiled(
        PlannedSection(heading="Cast", cast=("voice", "singing"), order=Order.APPEARANCE)
    )
    cast = next(s for s in credits.sections if s.heading == "Cast")
    assert cast.layout is Layout.CHARACTER_AND_NAMES
    assert [(line.role, line.name) for line in cast.lines] == [
        ("Wick", "Ana"),
        ("Wick (singing voice)", "Cai"),
        ("Brine", "Cai"),
        ("Brine", "Ben"),
    ]


def test_a_performance_block_says_who_spoke_animated_made_and_mended_the_character() -> None:
    credits = compiled(PlannedSection(heading="{character}", every_performance=True))
    assert names_of(credits, "Wick") == [
        "Ana: voice", "Cai: singing voice", "Cai: animated by", "Ben: animated by",
        "Ana: animated by", "Ben: made by",
    ]  # fmt: skip
    assert names_of(credits, "Brine") == [
        "Cai: voice", "Ben: voice", "Ben: animated by", "Ana: mended by",
    ]  # fmt: skip
    assert [s.heading for s in credits.sections] == ["Lead animators", "Wick", "Brine"]


# --- Orders


@pytest.mark.parametrize(
    ("order", "names"),
    [
        (Order.NAME, ["Cai", "Dov", "Ben", "Ana"]),
        (Order.FOOTAGE, ["Ana", "Ben", "Cai", "Dov"]),
        (Order.CONTRACT, ["Dov", "Cai", "Ben", "Ana"]),
        (Order.APPEARANCE, ["Cai", "Ben", "Ana", "Dov"]),  # all but Dov are seen first with Wick
        (Order.BY_HAND, ["Ben", "Cai", "Dov", "Ana"]),
    ],
)
def test_orders(order: Order, names: list[str]) -> None:
    section = replace(ANIMATORS, heading="Lead animators", order=order, by_hand=("ben",))
    assert names_of(compiled(section), "Lead animators") == names


def test_footage_that_ties_is_by_sort_name_then_by_code() -> None:
    text = FILM.replace('cai, "Abbot, Cai"', 'cai, "Zander, Ana"').replace("73-84", "25-48")
    ledger = small_ledger(text.replace("25-48, 2026-03-03", "1-24, 2026-03-03"), CUT)
    plan = CreditPlan("p", (replace(ANIMATORS, order=Order.FOOTAGE),))
    credits = credits_of(ledger, *footage_of(ledger), plan)
    lines = next(s.lines for s in credits.sections if s.heading == "Animators")
    # 24 frames each: Orr, then the two Zanders by their codes.
    assert [line.person for line in lines] == ["ben", "ana", "cai"]


# --- How it is set


@pytest.mark.parametrize(
    ("section", "layout", "columns"),
    [
        (ANIMATORS, Layout.NAMES, 1),
        (replace(ANIMATORS, columns=2), Layout.NAMES, 2),
        (replace(ANIMATORS, role=RoleShown.CRAFT), Layout.ROLE_AND_NAME, 1),
        (replace(ANIMATORS, layout=Layout.CARD), Layout.CARD, 1),
    ],
)
def test_a_section_is_set_as_it_says_else_as_fits(
    section: PlannedSection, layout: Layout, columns: int
) -> None:
    made = next(s for s in compiled(section).sections if s.heading == "Animators")
    assert (made.layout, made.columns) == (layout, columns)


def test_fixed_text_is_a_section_without_lines() -> None:
    made = compiled(PlannedSection(heading="Thanks", text="To *all*.")).sections[-1]
    assert (made.heading, made.text, made.lines, made.layout) == (
        "Thanks", "To *all*.", (), Layout.TEXT,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("role", "words"),
    [
        (RoleShown.CRAFT, "Animation"),
        (RoleShown.CHARACTERS, "Wick"),
        (RoleShown.JOB_TITLE, "Animator"),
    ],
)
def test_what_stands_beside_a_name(role: RoleShown, words: str) -> None:
    lines = names_of(compiled(replace(ANIMATORS, role=role)), "Animators")
    assert lines[0] == f"Cai: {words}"


# --- Once in all


def once_in_all(*sections: PlannedSection) -> Credits:
    return compiled(*sections, once=Once.ALL)


def test_once_in_all_names_everybody_under_the_first_heading_that_takes_them() -> None:
    credits = once_in_all(PlannedSection(heading="Sculptors", crafts=("sculpt",)), ANIMATORS)
    assert names_of(credits, "Sculptors") == ["Ben"]
    assert names_of(credits, "Animators") == ["Cai", "Ana"]
    (one,) = credits.of("ben").not_here
    assert (one.heading, one.outcome) == ("Animators", Outcome.ELSEWHERE)
    assert one.not_here == "Named once in all: already under 'Sculptors'."


def test_a_guaranteed_heading_comes_before_every_other_although_it_runs_later() -> None:
    crew = PlannedSection(heading="Crew", people=("ana", "dov"))
    lead = PlannedSection(heading="Lead animators", guaranteed=("lead animators",))
    credits = once_in_all(crew, lead)
    assert shown(credits) == {"Crew": ["Ana"], "Lead animators": ["Dov"]}


def test_a_section_may_stand_apart_from_once_in_all() -> None:
    blocks = PlannedSection(heading="", performances=("wick",), once=Once.SECTION)
    credits = once_in_all(blocks, ANIMATORS)
    assert names_of(credits, "Animators") == ["Cai", "Ben", "Ana"]


def test_whom_once_in_all_sends_below_is_named_there_and_nowhere_after() -> None:
    credits = once_in_all(
        replace(ANIMATORS, at_least=seconds("2"), below="Additional animation"),
        PlannedSection(heading="Voices", crafts=("voice",)),
    )
    assert names_of(credits, "Additional animation") == ["Cai", "Ben"]
    assert names_of(credits, "Voices") == []


# --- Why


def headings(decisions: Sequence[object]) -> list[str]:
    return [getattr(one, "heading", "") for one in decisions]


def test_why_says_every_line_and_every_heading_that_was_considered() -> None:
    credits = compiled(
        replace(ANIMATORS, at_least=seconds("2"), below="Additional animation"),
        PlannedSection(heading="Sculptors", crafts=("sculpt",)),
    )
    found = credits.of("ben")
    assert [section.heading for section, _ in found.lines] == ["Additional animation", "Sculptors"]
    assert headings(found.not_here) == ["Animators"]
    assert found.not_here[0].not_here == (
        "This heading asks for at least 2 seconds on screen: 1 reached. "
        "Goes on to 'Additional animation'."
    )
    assert (found.held, found.held_lines) == ((), ())


# --- At the edges of thresholds and of once in all


@pytest.mark.parametrize("unit", [ThresholdUnit.DAYS, ThresholdUnit.STAGE_DAYS])
def test_undated_work_is_no_day_of_a_threshold(unit: ThresholdUnit) -> None:
    text = FILM.replace("1-24, 2026-03-02", "1-24, ")
    ledger = small_ledger(text, CUT)
    asked = replace(ANIMATORS, at_least=Threshold(least=Fraction(2), unit=unit))
    for own, days in ((film(), 2), (ledger, 1)):
        credits = credits_of(own, *footage_of(own), CreditPlan("a plan", (asked,)))
        (ana,) = [one for one in credits.considered if one.person == "ana"]
        assert ana.reached is not None
        assert ana.reached.figure == days
        assert names_of(credits, "Animators") == (["Ana"] if days == 2 else [])


def test_of_equal_parts_of_two_characters_the_first_is_named() -> None:
    text = FILM.replace("ana, wick, 010-020, 25-48", "ana, brine, 010-020, 25-48")
    ledger = small_ledger(text, CUT)
    # Ana: 24 of 60 frames of Wick, 24 of 48 of Brine; with 12 frames of Brine more, two fifths.
    ledger = small_ledger(text + "animation, cai, brine, 010-020, 73-84, 2026-03-02\n", CUT)
    asked = Threshold(least=Fraction(40), unit=ThresholdUnit.PERCENT)
    for characters, name in ((("wick", "brine"), "Wick"), (("brine", "wick"), "Brine")):
        section = replace(ANIMATORS, characters=characters, at_least=asked)
        credits = credits_of(ledger, *footage_of(ledger), CreditPlan("a plan", (section,)))
        (ana,) = [one for one in credits.considered if one.person == "ana"]
        assert ana.reached is not None
        assert (ana.reached.figure, ana.reached.character_name) == (40, name)


def test_two_guaranteed_headings_both_stand_although_everybody_is_named_once() -> None:
    more = "dov, Animation, Supervisor, Supervising animators, 1\n    cai, Animation, Animator"
    ledger = small_ledger(FILM.replace("cai, Animation, Animator", more), CUT)
    sections = (ANIMATORS, replace(ANIMATORS, heading="All", departments=("animation",)))
    plan = CreditPlan("a plan", sections, Once.ALL)
    credits = credits_of(ledger, *footage_of(ledger), plan)
    assert shown(credits) == {
        "Lead animators": ["Dov"],
        "Supervising animators": ["Dov"],
        "Animators": ["Cai", "Ben", "Ana"],
    }


def test_days_of_building_are_days_and_no_stage_days() -> None:
    ledger = small_ledger(
        FILM.replace("sculpt, ben, wick", "sculpt, ben, wick, , , 2026-03-05"), CUT
    )
    work = PlannedSection(heading="Everybody", crafts=("animation", "sculpt"))
    for unit, days in ((ThresholdUnit.DAYS, 2), (ThresholdUnit.STAGE_DAYS, 1)):
        asked = replace(work, at_least=Threshold(least=Fraction(1), unit=unit))
        credits = credits_of(ledger, *footage_of(ledger), CreditPlan("a plan", (asked,)))
        (ben,) = [one for one in credits.considered if one.person == "ben"]
        assert ben.reached is not None
        assert ben.reached.figure == days


def test_who_is_left_out_under_one_heading_stands_under_the_others() -> None:
    sections = (ANIMATORS, PlannedSection(heading="Voices", crafts=("voice",)))
    for headings, voices in ((("animators",), ["Ben", "Cai", "Ana"]), ((), ["Ben", "Cai"])):
        rule = NameRule(person="ana", printed=False, headings=headings)
        ledger = film()
        plan = CreditPlan("a plan", sections, names=(rule,))
        credits = credits_of(ledger, *footage_of(ledger), plan)
        assert names_of(credits, "Animators") == ["Cai", "Ben"]
        assert sorted(names_of(credits, "Voices")) == sorted(voices)


def test_a_heading_for_those_below_stands_once_behind_the_last_section_that_sends_there() -> None:
    once, twice = (Threshold(least=Fraction(n), unit=ThresholdUnit.ENTRIES) for n in (1, 2))
    credits = compiled(
        replace(ANIMATORS, at_least=twice, below="More"),
        PlannedSection(heading="Voices", crafts=("voice",), at_least=once, below="More"),
        PlannedSection(heading="Sculptors", crafts=("sculpt",)),
    )
    assert [section.heading for section in credits.sections] == [
        "Lead animators", "Animators", "Voices", "More", "Sculptors",
    ]  # fmt: skip
    assert names_of(credits, "Animators") == ["Ben", "Ana"]
    assert names_of(credits, "More") == ["Cai"]


def test_people_stand_by_the_number_of_the_contract_that_puts_them_there() -> None:
    jobs = """
    ana, Animation, Animator, , 5
    ben, Animation, Animator, , 4
    ana, Camera, Operator, , 1
    cai, Camera, Operator, , 2
    """
    text = FILM.replace("    cai, Animation, Animator", jobs)
    ledger = small_ledger(text, CUT)
    by_number = PlannedSection(
        heading="Animation", departments=("animation",), order=Order.CONTRACT
    )
    camera = replace(by_number, heading="Camera", departments=("camera",))
    credits = credits_of(ledger, *footage_of(ledger), CreditPlan("a plan", (by_number, camera)))
    assert names_of(credits, "Animation") == ["Ben", "Ana"]
    assert names_of(credits, "Camera") == ["Ana", "Cai"]


def test_work_on_no_stage_is_of_no_unit() -> None:
    text = FILM.replace("frames, finished_on", "frames, finished_on, stage")
    text = text.replace("49-72, 2026-03-02", "49-72, 2026-03-02, S2")
    text = text.replace("25-48, 2026-03-03", "25-48, 2026-03-03, S1")
    text = text.replace(
        "[entries]", "[stages]\n    stage, unit\n    S1, Main\n    S2, Second\n\n    [entries]"
    )
    ledger = small_ledger(text, CUT)
    sections = [replace(ANIMATORS, heading=unit, units=(unit,)) for unit in ("main", "second")]
    credits = credits_of(ledger, *footage_of(ledger), CreditPlan("a plan", tuple(sections)))
    assert (names_of(credits, "main"), names_of(credits, "second")) == (["Ana"], ["Ben"])
