"""One animator's review: its figures, by week and by shot, and the context."""

from __future__ import annotations

from dataclasses import astuple
from datetime import date
from fractions import Fraction

import pytest

from credits.footage.footage import Measures
from credits.model.ledger import Ledger
from credits.review.days import poses, poses_on
from credits.review.review import Review, Reviews
from credits.review.shown import RangeMark, range_mark, range_text, shown_review
from credits.review.unit import Range, time_by_craft
from credits.units.film_time import FrameRate, Period, week_days
from tests.computed import footage_of
from tests.small_log import WORKED_EXAMPLE, small_ledger

AT_24 = FrameRate.parse("24")


def reviews_of(ledger: Ledger) -> Reviews:
    runs, _, footage = footage_of(ledger)
    return Reviews(ledger, poses(ledger, runs, poses_on(ledger)), footage)


def review_of(text: str, person: str, period: Period | None = None) -> Review:
    return reviews_of(small_ledger(text)).of(person, period or Period())


CAST = """
    [people]
    person
    ana
    ben
    cai
    dov
    eve

    [characters]
    character
    wick
    brine

    [puppets]
    puppet, character
    wick-1, wick
    wick-2, wick
    brine-1, brine

    [parts]
    part, character
    head-1, wick

    [sequences]
    sequence
    010

    [shots]
    shot, sequence, frames
    010-010, 010, 96
    010-020, 010, 48
    010-030, 010, 240
"""


# --- the worked example


@pytest.mark.parametrize(
    ("person", "character", "by_shot"),
    [
        ("ana", (30, 24, 24, 16, 16), (30, 18, 18, 10, 10)),
        ("ben", (24, 24, 24, 16, 16), (12, 12, 12, 8, 8)),
        ("cai", (36, 36, 36, 28, 28), (24, 18, 18, 14, 14)),
    ],
)
def test_the_footage_of_the_worked_example(
    person: str, character: tuple[int, ...], by_shot: tuple[int, ...]
) -> None:
    review = review_of(WORKED_EXAMPLE, person)
    assert astuple(review.total.totals.character) == character
    assert astuple(review.total.totals.by_shot) == by_shot
    assert [row.week for row in review.weeks] == ["2026-W10"]
    assert list(review.shots) == ["010-020"]
    assert review.weeks[0].figures.totals == review.shots["010-020"].totals
    assert review.weeks[0].figures.totals == review.total.totals


def test_what_follows_from_the_footage_of_the_worked_example() -> None:
    ana = review_of(WORKED_EXAMPLE, "ana").total
    # 18 kept frames of shot footage at 24 frames a second, on one day.
    assert ana.pace(AT_24) == Fraction(18, 24)
    assert ana.reshot_share == 1 - Fraction(18, 30)
    assert ana.characters_a_frame == Fraction(24, 18)
    assert ana.poses == 24
    assert ana.takes == {("010-020", 1)}


def test_a_range_needs_three_others() -> None:
    review = review_of(WORKED_EXAMPLE, "ana")
    assert review.others == 2
    assert review.ranges == {}


# --- days, poses, shares


DAYS = f"""{CAST}
    [takes]
    shot, take, purpose, decision
    010-010, 1, block
    010-010, 2, rehearsal
    010-010, 3, shoot, retake
    010-010, 4, shoot, accepted

    [entries]
    craft, person, character, puppet, shot, take, frames, finished_on, poses_on, minutes
    animation, ana, wick, wick-1, 010-010, 1, , 2026-03-02, , 60
    animation, ana, wick, wick-1, 010-010, 2, , 2026-03-03, , 60
    animation, ana, wick, wick-1, 010-010, 3, 1-48, 2026-03-03, 2, 300
    animation, ana, wick, wick-1, 010-010, 4, 1-48, 2026-03-04, 2, 400
    animation, ana, wick, wick-1, 010-010, 4, 49-96, 2026-03-09, , 500
    animation, ana, wick, wick-1, 010-010, 4, 1-12, 2026-03-10, 3, 100
    sculpt, ana, wick, , , , , 2026-03-11, , 700
"""


def test_days_are_told_apart_by_purpose_and_count_once() -> None:
    total = review_of(DAYS, "ana").total
    assert (total.stage_days, total.shoot_days) == (5, 4)
    assert (total.block_days, total.rehearsal_days) == (1, 1)


def test_minutes_are_those_at_the_animation() -> None:
    assert review_of(DAYS, "ana").total.minutes == 60 + 60 + 300 + 400 + 500 + 100


def test_poses_are_kept_frames_by_the_frames_that_each_pose_is_held() -> None:
    # Take 3: 48 on twos. Take 4: 36 of 48 on twos are still kept, 48 on ones, 12 on threes.
    assert review_of(DAYS, "ana").total.poses == 24 + 18 + 48 + 4


def test_poses_of_a_frame_that_two_animated_are_divided_as_the_frame_is() -> None:
    text = f"""{CAST}
    [entries]
    craft, person, character, shot, frames, finished_on, poses_on, share
    animation, ana, wick, 010-020, 1-48, 2026-03-02, 2, 2
    animation, ben, wick, 010-020, 1-48, 2026-03-02, , 1
    """
    assert review_of(text, "ana").total.poses == Fraction(2, 3) * 48 / 2
    assert review_of(text, "ben").total.poses == Fraction(1, 3) * 48


def test_two_entries_on_the_same_frames_of_a_day_make_their_poses_once() -> None:
    text = f"""{CAST}
    [entries]
    craft, person, character, shot, frames, finished_on, poses_on
    animation, ana, wick, 010-020, 1-48, 2026-03-02, 2
    animation, ana, wick, 010-020, 1-48, 2026-03-02, 4
    """
    assert review_of(text, "ana").total.poses == 24


def test_takes_by_week_and_by_shot() -> None:
    review = review_of(DAYS, "ana")
    assert [(row.week, sorted(row.figures.takes)) for row in review.weeks] == [
        ("2026-W10", [("010-010", 3), ("010-010", 4)]),
        ("2026-W11", [("010-010", 4)]),
    ]
    assert (
        shown_review(review, small_ledger(DAYS)).takes == "2 takes of 1 shot: 1 accepted, 1 retake"
    )


def test_somebody_with_two_codes_is_reviewed_once() -> None:
    text = """
    [people]
    person, same_as
    ana
    ann, ana

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
    animation, ann, wick, 010-020, 25-48, 2026-03-03
    """
    reviews = reviews_of(small_ledger(text))
    assert set(reviews.works) == {"ana"}
    assert reviews.of("ana").total.totals.by_shot.kept == 48


def test_a_person_without_footage_work_has_no_review() -> None:
    with pytest.raises(KeyError):
        review_of(DAYS, "ben")


# --- waits


WAITS = f"""{CAST}
    [fittings]
    part, puppet, from_on, to_on
    head-1, wick-1, 2026-03-01, 2026-03-31

    [entries]
    craft, person, character, puppet, part, shot, frames, finished_on, wait_minutes
    animation, ana, wick, wick-1, , 010-010, 1-20, 2026-03-02
    animation, ana, wick, wick-1, , 010-020, 1-20, 2026-03-03
    animation, ana, wick, wick-1, , 010-030, 1-20, 2026-03-03
    animation, ben, brine, brine-1, , 010-010, 1-20, 2026-03-02
"""


def waits(repairs: str, person: str = "ana") -> list[tuple[str | None, int]]:
    review = review_of(WAITS + repairs, person)
    assert review.total.wait == sum(wait.minutes for wait in review.waits)
    assert review.total.wait == sum(row.figures.wait for row in review.weeks)
    assert review.total.wait == sum(figures.wait for figures in review.shots.values())
    return [(wait.shot, wait.minutes) for wait in review.waits]


@pytest.mark.parametrize(
    ("repair", "waited"),
    [
        # The puppet that was animated in the shot, on whatever day.
        ("repair, cai, , wick-1, , 010-010, , 2026-03-09, 40", [("010-010", 40)]),
        ("repair, cai, , wick-1, , 010-010, , , 40", [("010-010", 40)]),
        # On the date: the only shot of the day, or no one shot.
        ("repair, cai, , wick-1, , , , 2026-03-02, 40", [("010-010", 40)]),
        ("repair, cai, , wick-1, , , , 2026-03-03, 40", [(None, 40)]),
        # A part that the puppet wore that day.
        ("repair, cai, , , head-1, , , 2026-03-02, 40", [("010-010", 40)]),
        # Both at once is one wait.
        ("repair, cai, , wick-1, , 010-020, , 2026-03-03, 40", [("010-020", 40)]),
        # Another puppet, another day, no wait, another craft: nothing.
        ("repair, cai, , wick-2, , 010-010, , 2026-03-02, 40", []),
        ("repair, cai, , wick-1, , , , 2026-03-05, 40", []),
        ("repair, cai, , , head-1, , , , 40", []),
        ("repair, cai, , wick-1, , 010-010, , 2026-03-02, ", []),
        ("paint, cai, , wick-1, , 010-010, , 2026-03-02, 40", []),
        ("repair, cai, wick, , , , , 2026-03-02, 40", []),
    ],
)
def test_who_waited_for_a_repair(repair: str, waited: list[tuple[str | None, int]]) -> None:
    assert waits(repair) == waited


def test_a_repair_on_another_puppet_keeps_only_its_animator_waiting() -> None:
    repair = "repair, cai, , brine-1, , 010-010, , 2026-03-02, 25"
    assert waits(repair) == []
    assert waits(repair, "ben") == [("010-010", 25)]


def test_an_undated_wait_stands_with_the_undated_work_and_in_no_period() -> None:
    text = WAITS + "repair, cai, , wick-1, , 010-010, , , 40"
    assert [row.week for row in review_of(text, "ana").weeks] == [None, "2026-W10"]
    march = Period(date(2026, 3, 1), date(2026, 3, 31))
    assert review_of(text, "ana", march).total.wait == 0


# --- periods


def test_a_period_holds_the_claims_of_its_days() -> None:
    review = review_of(DAYS, "ana", Period(date(2026, 3, 4), date(2026, 3, 9)))
    assert review.total.totals.by_shot == Measures(shot=96, kept=84, accepted=84)
    assert [row.figures.totals.by_shot.kept for row in review.weeks] == [36, 48]
    assert review.total.shoot_days == 2


def test_the_own_earlier_periods_are_as_long_and_end_before_it() -> None:
    review = review_of(DAYS, "ana", Period(date(2026, 3, 9), date(2026, 3, 11)))
    assert [(period, figures.shoot_days) for period, figures in review.earlier.items()] == [
        (Period(date(2026, 3, 6), date(2026, 3, 8)), 0),
        (Period(date(2026, 3, 3), date(2026, 3, 5)), 2),
        (Period(date(2026, 2, 28), date(2026, 3, 2)), 0),
    ]


def test_without_a_first_day_the_own_time_goes_back_four_weeks_at_a_time() -> None:
    text = f"""{CAST}
    [entries]
    craft, person, character, shot, frames, finished_on
    animation, ana, wick, 010-010, 1-10, 2026-01-28
    animation, ana, wick, 010-020, 1-20, 2026-02-04
    animation, ana, wick, 010-030, 1-30, 2026-03-04
    """
    review = review_of(text, "ana")
    assert [
        (period.first, period.last, figures.totals.by_shot.kept)
        for period, figures in review.earlier.items()
    ] == [
        (date(2026, 2, 9), date(2026, 3, 8), 30),
        (date(2026, 1, 12), date(2026, 2, 8), 30),
    ]


def test_a_period_before_everything_is_empty() -> None:
    review = review_of(DAYS, "ana", Period(date(1, 1, 1), date(1, 1, 3)))
    assert (review.weeks, review.shots, review.earlier) == ((), {}, {})
    assert review.total.pace(AT_24) is None
    assert review.total.reshot_share is None
    assert review.total.characters_a_frame is None


# --- the others


FIVE = f"""{CAST}
    [entries]
    craft, person, character, shot, frames, finished_on
    animation, ana, wick, 010-010, 1-24, 2026-03-02
    animation, ben, wick, 010-010, 25-36, 2026-03-03
    animation, cai, wick, 010-030, 1-48, 2026-03-04
    animation, dov, wick, 010-030, 49-96, 2026-03-05
    animation, dov, wick, 010-030, 97-144, 2026-03-06
    animation, eve, wick, 010-030, 145-240, 2026-03-11
"""


def test_the_range_is_that_of_the_others_in_the_same_weeks() -> None:
    review = review_of(FIVE, "ana")
    # Eve animated in another week. Half a second, two, and four in two days.
    assert review.others == 3
    assert review.ranges["kept"] == Range(12, 96, 3)
    assert review.ranges["pace"] == Range(Fraction(1, 2), 2, 3)
    assert review.weeks[0].ranges == review.ranges
    assert review_of(FIVE, "eve").ranges == {}


def test_all_days_of_a_week_on_several_shots_are_in_the_range() -> None:
    text = FIVE.replace("dov, wick, 010-030, 97-144", "dov, wick, 010-010, 37-48")
    (week,) = review_of(text, "ana").weeks
    assert week.ranges["stage_days"] == Range(1, 2, 3)
    assert week.ranges["kept"] == Range(12, 60, 3)
    assert week.ranges["takes"] == Range(1, 2, 3)


def test_a_figure_that_fewer_than_three_others_have_has_no_range() -> None:
    text = FIVE.replace("animation, ben, wick, 010-010, 25-36", "animation, ben, , , ")
    review = review_of(text, "ana")
    assert review.others == 3
    assert "reshot_share" not in review.ranges  # Ben's day was on no shot
    assert review.ranges["pace"].low == 0


@pytest.mark.parametrize(
    ("low", "high", "shown"),
    [
        (7919, 7919, "7,500 to 8,000"),
        (12, 96, "10 to 100"),
        (Fraction(1, 3), Fraction(7, 3), "0.3 to 2.5"),
        (0, 3, "0 to 3"),
        (Fraction(47, 1000), Fraction(99, 100), "0.045 to 1"),
        (100, 104, "100 to 150"),
    ],
)
def test_the_ends_of_a_range_are_rounded_outward(
    low: Fraction | int, high: Fraction | int, shown: str
) -> None:
    assert range_text(Range(low, high, 3)) == shown


# --- by month, by sequence, by character, retakes


PARTS = """
    [people]
    person
    ana
    ben
    cai
    dov

    [characters]
    character
    wick
    brine

    [sequences]
    sequence
    010
    020

    [shots]
    shot, sequence, frames
    010-010, 010, 240
    020-010, 020, 240

    [takes]
    shot, take, decision
    020-010, 1, retake

    [entries]
    craft, person, character, shot, take, frames, finished_on
    animation, ana, wick, 010-010, 1, 1-40, 2026-03-31
    animation, ana, wick, 010-010, 1, 31-50, 2026-04-02
    animation, ana, wick, 020-010, 1, 1-30, 2026-04-07
    animation, ana, brine, 020-010, 1, 11-30, 2026-04-07
    animation, ben, wick, 010-010, 2, 1-50, 2026-03-30
    animation, cai, wick, 010-010, 3, 1-60, 2026-04-01
    animation, dov, wick, 010-010, 4, 1-70, 2026-04-07
    animation, dov, wick, 010-010, 5, 1-70, 2026-03-31
    animation, ben, wick, 020-010, 2, 1-9, 2026-04-08
    animation, cai, wick, 020-010, 3, 1-9
"""


def test_a_month_holds_the_weeks_whose_thursday_lies_in_it() -> None:
    review = review_of(PARTS, "ana")
    # 2 April is the Thursday of the week that begins on 30 March.
    (april,) = review.months
    assert (april.month, april.weeks) == (date(2026, 4, 1), ("2026-W14", "2026-W15"))
    assert april.figures == review.total
    assert april.ranges["kept"] == Range(59, 140, 3) == review.ranges["kept"]
    earlier = review_of(PARTS.replace("2026-04-02", "2026-03-25"), "ana").months
    assert [month.month.month for month in earlier] == [3, 4]
    assert [month.others for month in earlier] == [0, 3]
    assert earlier[0].ranges == {}


def test_a_month_is_the_review_of_the_days_of_its_weeks() -> None:
    text = PARTS.replace("2026-04-02", "2026-03-25")
    for month in review_of(text, "ana").months:
        period = Period(week_days(month.weeks[0])[0], week_days(month.weeks[-1])[-1])
        alone = review_of(text, "ana", period)
        assert (month.figures, month.ranges, month.others) == (
            alone.total, alone.ranges, alone.others,
        )  # fmt: skip


def test_a_sequence_has_the_range_of_the_others_in_it_from_three_others_on() -> None:
    first, second = review_of(PARTS, "ana").sequences
    assert (first.sequence, first.figures.kept, list(first.shots)) == ("010", 50, ["010-010"])
    assert (first.others, first.ranges["kept"]) == (3, Range(50, 140, 3))
    # Of the second Ben alone has dated work: Cai's is on no day.
    assert (second.sequence, second.others, dict(second.ranges)) == ("020", 1, {})


def test_footage_by_character_adds_up_to_the_review() -> None:
    review = review_of(PARTS, "ana")
    assert list(review.characters) == ["wick", "brine"]
    kept = {code: own.kept for code, own in review.characters.items()}
    assert kept == {"wick": 50 + 10 + 10, "brine": 10}
    assert sum(kept.values()) == review.total.kept


def test_what_was_taken_again_of_the_persons_own_shots() -> None:
    again = review_of(PARTS, "ana").again
    assert list(again) == ["010-010", "020-010"]
    assert (again["010-010"].takes, again["010-010"].again) == (1, 10)
    assert (again["020-010"].retakes, again["020-010"].of_retakes) == (1, 30)
    # Others took their takes for themselves: nothing of them is in it.
    assert review_of(PARTS, "cai").again.keys() == set()


def test_a_figure_lies_beside_the_range_as_both_are_shown() -> None:
    # 59 to 140 is shown as 55 to 150; the scale ends with the larger of that and the figure.
    mark = range_mark(Range(59, 140, 3), 75)
    assert mark == RangeMark(low=367, wide=633, own=500)
    assert range_mark(Range(59, 140, 3), 300) == RangeMark(low=183, wide=317, own=1000)
    assert range_mark(Range(0, 0, 3), 0) == RangeMark(low=0, wide=0, own=0)
    assert range_mark(Range(1, 2, 3), None) == RangeMark(low=500, wide=500, own=None)
    assert range_mark(None, 3) is None
    assert range_mark(Range(Fraction(1, 10), Fraction(1, 5), 3), Fraction(1, 10), 100) == (
        RangeMark(low=500, wide=500, own=500)
    )


def test_the_picture_of_the_weeks_has_every_week_from_the_first_to_the_last() -> None:
    bars = shown_review(review_of(DAYS_APART, "ana"), small_ledger(DAYS_APART)).weeks
    assert [(bar.week, bar.accepted, bar.open, bar.again) for bar in bars] == [
        ("2026-W10", 0, 30, 10),
        ("2026-W11", 0, 0, 0),
        ("2026-W12", 0, 20, 0),
    ]


DAYS_APART = f"""{CAST}
    [entries]
    craft, person, character, shot, frames, finished_on
    animation, ana, wick, 010-010, 1-40, 2026-03-02
    animation, ana, wick, 010-010, 31-50, 2026-03-16
"""


# --- what a day, a share and a repair count for


def test_pace_is_by_shoot_days_alone() -> None:
    # 144 kept frames are 6 seconds; of five stage days one was a block alone.
    assert review_of(DAYS, "ana").total.pace(AT_24) == Fraction(6, 4)


@pytest.mark.parametrize(
    ("first", "second", "poses"),
    [
        ("2, 1", "4, 3", 12),  # 48 frames on fours: the second has the larger share
        ("2, 3", "4, 1", 24),  # on twos: the first has
        ("2, 2", "4, 2", 24),  # of equals the earliest
        ("2, ", "4, 1/2", 24),  # no share is 1
        ("2, 1/2", "4, ", 12),
    ],
)
def test_the_entry_with_the_largest_share_says_how_long_a_pose_is_held(
    first: str, second: str, poses: int
) -> None:
    text = f"""{CAST}
    [entries]
    craft, person, character, shot, frames, finished_on, poses_on, share
    animation, ana, wick, 010-020, 1-48, 2026-03-02, {first}
    animation, ana, wick, 010-020, 1-48, 2026-03-02, {second}
    """
    assert review_of(text, "ana").total.poses == poses


def test_a_repair_of_a_part_that_two_puppets_wore_on_a_day_is_one_wait() -> None:
    worn = "head-1, wick-1, 2026-03-01, 2026-03-31"
    text = WAITS.replace(worn, f"{worn}\n    head-1, wick-2, 2026-03-02,")
    text += """
    animation, ana, wick, wick-2, , 010-010, 21-30, 2026-03-02
    repair, cai, , , head-1, , , 2026-03-02, 40
    """
    review = review_of(text, "ana")
    assert [(wait.shot, wait.minutes) for wait in review.waits] == [("010-010", 40)]
    assert review.total.wait == 40


def test_a_week_of_two_others_has_no_range_however_many_the_whole_time_has() -> None:
    # Cai animated in another week: beside Ana there are Ben and Dov in the first.
    text = FIVE.replace("1-48, 2026-03-04", "1-48, 2026-03-10")
    text += "    animation, ana, wick, 010-020, 1-24, 2026-03-10\n"
    review = review_of(text, "ana")
    first, second = review.weeks
    assert (first.week, dict(first.ranges)) == ("2026-W10", {})
    assert (second.week, dict(second.ranges)) == ("2026-W11", {})
    assert review.ranges["kept"] == Range(12, 96, 4)


def test_the_days_of_a_craft_are_those_of_each_person_together() -> None:
    text = f"""{CAST}
    [entries]
    craft, person, character, finished_on, minutes
    sculpt, ana, wick, 2026-03-02, 60
    sculpt, ben, wick, 2026-03-02, 0
    sculpt, ana, wick, 2026-03-02,
    sculpt, ana, wick, 2026-03-03, 30
    sculpt, ben, wick, ,
    """
    (sculpt,) = time_by_craft(small_ledger(text))
    assert (sculpt.entries, sculpt.people, sculpt.days) == (5, 2, 3)
    assert (sculpt.minutes, sculpt.unlogged) == (90, 2)


def test_a_bar_stands_on_what_is_accepted_of_what_was_kept() -> None:
    accepted = "[takes]\n    shot, take, decision\n    010-010, 1, accepted\n\n    [entries]"
    text = DAYS_APART.replace("[entries]", accepted)
    text += "    animation, ana, wick, 010-020, 1-12, 2026-03-16\n"
    first, _, last = shown_review(review_of(text, "ana"), small_ledger(text)).weeks
    assert first.parts == (30, 0, 10)
    assert last.parts == (20, 12, 0)
