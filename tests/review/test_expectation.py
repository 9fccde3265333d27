"""The model of pace: figures worked out by hand, what it needs, how often it is right, and logs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction
from math import atan, cos, exp, log, pi, sin, sqrt
from random import Random
from typing import Any

import pytest

from credits.model.ledger import Ledger
from credits.review.days import (
    WorkPiece,
    figures_of,
    figures_together,
    pieces_of,
    poses,
    poses_on,
    shot_mix,
)
from credits.review.expectation import (
    LEVEL,
    STUDENT_T,
    Expectation,
    Lack,
    MixFigure,
    between_people,
    expected_pace,
)
from credits.review.review import Reviews
from credits.review.shown import LACKS, MIX, shown_expectation
from credits.site.pages.counted import LEAST_HELD, MOST_HELD, SITUATIONS, UNITS
from credits.units.film_time import FrameRate, Period
from credits.units.rounding import Exact, exact_of
from credits.units.table import Scale
from tests.computed import footage_of
from tests.drawn import FULL
from tests.small_log import small_ledger
from tests.table_texts import rows_of

Pieces = Sequence[WorkPiece]


def pieces(*of: tuple[float, int]) -> list[WorkPiece]:
    return [WorkPiece(Fraction(str(seconds)).as_integer_ratio(), (days, 1)) for seconds, days in of]


def longer(piece: WorkPiece, times: Exact) -> WorkPiece:
    """The same work with so many times the kept seconds."""
    kept, of = (exact_of(piece.seconds) * times).as_integer_ratio()
    return WorkPiece((kept, of), piece.days)


# --- figures


OWN = pieces((12, 8), (3, 2))
OTHERS = [
    pieces((10, 10), (24, 10)),
    pieces((40, 20), (18, 10), (8, 5)),
    pieces((9, 10), (3, 2), (0, 1), (6, 4)),
    pieces((55, 20), (7, 8)),
]


def test_the_usual_pace_is_the_others_seconds_by_their_days() -> None:
    found = expected_pace(OWN, OTHERS)
    assert (found.lacks, found.own_days, found.days) == ((), 10, 100)
    assert (found.pieces, found.others) == (11, 4)
    assert found.pace == 1.8
    assert found.own_pace == 1.5


@pytest.mark.parametrize(
    ("apart", "interval"),
    [
        ((1, 1, 1, 1), (1.8, 0.694786, 4.663309)),
        ((1, 2, 3, 4), (4.68, 0.524234, 41.779795)),
    ],
)
def test_the_interval_against_a_reference(
    apart: tuple[int, ...], interval: tuple[float, ...]
) -> None:
    """Pace and spread by statsmodels 0.15.0 (GLM, Poisson, offset, no regressor, scale "X2"), how
    much people differ by its combine_effects (method "chi2"), t by scipy 1.17.1 (t.ppf)."""
    others = [[longer(p, times) for p in own] for times, own in zip(apart, OTHERS, strict=True)]
    found = expected_pace(OWN, others)
    assert (found.pace, found.low, found.high) == pytest.approx(interval, rel=1e-3)


def test_people_differ_by_as_much_as_a_reference_says() -> None:
    """statsmodels.stats.meta_analysis.combine_effects, method "chi2" (DerSimonian and Laird)."""
    people = [(34.0, 36.0), (66.0, 63.0), (18.0, 30.6), (62.0, 50.4), (90.0, 61.0)]
    assert between_people(people, 1.25) == pytest.approx(0.07084063619)
    assert between_people([(due, due) for _, due in people], 1.25) == 0


def within(t: float, freedom: int) -> float:
    """What part of Student's distribution lies between -t and t: the closed form for whole degrees
    of freedom (Abramowitz and Stegun, 26.7.3 and 26.7.4)."""
    angle = atan(t / sqrt(freedom))
    odd = freedom % 2
    term, total = (cos(angle) if odd else 1.0), 0.0
    for power in range(2 + odd, freedom + 1, 2):
        total += term
        term *= (power - 1) / power * cos(angle) ** 2
    return 2 / pi * (angle + sin(angle) * total) if odd else sin(angle) * total


@pytest.mark.parametrize("freedom", range(1, 31))
def test_students_t_stands_at_its_degrees_of_freedom(freedom: int) -> None:
    """To the last of its three decimal places."""
    value = STUDENT_T[freedom - 1]
    assert within(value - 0.0005, freedom) < LEVEL < within(value + 0.0005, freedom)


def test_who_animated_is_no_part_of_it() -> None:
    assert expected_pace(OWN, OTHERS) == expected_pace(OWN, [*OTHERS[::-1], []])


def test_own_work_does_not_move_the_own_expectation() -> None:
    better = [longer(piece, 3) for piece in OWN]
    found, moved = expected_pace(OWN, OTHERS), expected_pace(better, OTHERS)
    assert moved == replace(found, own_pace=3 * found.own_pace)


def test_people_who_differ_and_fewer_own_days_make_the_interval_wider() -> None:
    def width(found: Expectation) -> float:
        return found.high / found.low

    found = expected_pace(OWN, OTHERS)
    apart = [[longer(p, at) for p in own] for at, own in enumerate(OTHERS, 1)]
    assert width(expected_pace(OWN, apart)) > 1.5 * width(found)
    assert width(expected_pace(pieces((7.5, 5)), OTHERS)) > width(found)


# --- what it needs


@pytest.mark.parametrize(
    ("own", "others", "lacks"),
    [
        (pieces((4, 4)), OTHERS, [Lack("own_days", 4, 5)]),
        ([], OTHERS, [Lack("own_days", 0, 5)]),
        (OWN, [OTHERS[0] * 3, OTHERS[1] * 3], [Lack("others", 2, 3)]),
        (OWN, [[p._replace(days=(p.days[0], 2)) for p in o] for o in OTHERS],
         [Lack("days", 50, 60)]),
        (OWN, [pieces((20, 30)), pieces((30, 30)), pieces((9, 9))], [Lack("pieces", 3, 10)]),
        (OWN, [pieces((20, 10)) * 4] * 3, [Lack("paces", 1, 2)]),
        (OWN, [pieces((0, 10), (0, 20)) * 2] * 3, [Lack("paces", 1, 2)]),
        (pieces((4, 4)), [OTHERS[0]], [
            Lack("own_days", 4, 5), Lack("others", 1, 3), Lack("days", 20, 60),
            Lack("pieces", 2, 10),
        ]),
    ],
)  # fmt: skip
def test_too_little_to_say_names_what_there_is_too_little_of(
    own: Pieces, others: Sequence[Pieces], lacks: list[Lack]
) -> None:
    found = expected_pace(own, others)
    assert list(found.lacks) == lacks
    shown = shown_expectation(found, SCALE)
    assert shown is not None
    assert shown.mix is None
    (said,) = shown.said
    assert said.startswith("Not enough work to say: too few ")
    assert all(f"{LACKS[lack.of]} ({lack.has} of at least {lack.needs})" in said for lack in lacks)


# --- how often it is right


MADE: dict[str, dict[str, Any]] = {
    "all alike": {},
    "people differ": {"between": 0.2},
    "people differ much": {"between": 0.4},
    "a few wild pieces": {"between": 0.2, "tail": 0.8},
    "few days": {"between": 0.2, "few": True},
    "three others": {"between": 0.2, "people": 4},
    "many others": {"between": 0.25, "people": 25},
    "poses are a habit": {"between": 0.1, "habit": True},
    "hard shots go to the quick": {"between": 0.3, "hard": True},
}


TELLING = ("people differ much", "three others", "few days")
"""Where it is right least often and most often, and where the own work is least known."""


def made_unit(
    chance: Random,
    people: int = 9,
    between: float = 0.0,
    tail: float = 0.0,
    few: bool = False,
    habit: bool = False,
    hard: bool = False,
) -> list[Pieces]:
    """The work of some people; the first is the one who is reviewed.

    A piece takes 1 to 7 days; few: the first has only two, of 3 days each. One to three
    characters, poses on ones or twos, waits, the shot's length and retakes change its pace.
    between: how much people differ, on the scale of logarithms; tail: how much pieces do, more
    than by the rule. habit: on ones or twos is up to the person; hard: who is quick gets more
    characters.
    """
    unit = []
    for number in range(people):
        own, twos = chance.gauss(0, between), chance.randint(0, 1)
        made = []
        for days in [3, 3] if few and not number else chance.choices(range(1, 8), k=25):
            quick = round(2 + own / between + chance.gauss(0, 0.5)) if hard else 0
            effects = (
                log(0.7) * (min(max(quick, 1), 3) if hard else chance.randint(1, 3))
                + log(1.2) * (twos if habit else chance.randint(0, 1))
                + log(0.6) * max(0.0, chance.gauss(0, 0.4))
                + log(1.3) * chance.gauss(1.5, 0.7)
                + log(0.8) * chance.randint(0, 1)
            )
            mean = days * exp(log(1.5) + own + effects)
            seconds = (
                mean * chance.lognormvariate(-tail * tail / 2, tail)
                if tail
                else chance.gammavariate(mean / 0.6, 0.6)
            )
            made.append(WorkPiece((round(seconds * 24), 24), days.as_integer_ratio()))
        unit.append(made)
    return unit


@pytest.mark.slow
def test_the_interval_holds_the_pace_of_somebody_new_as_often_as_the_page_says() -> None:
    covers = {}
    for name in MADE if FULL else TELLING:
        situation = MADE[name]
        chance = Random(name)
        inside = 0
        for _ in range(UNITS):
            own, *others = made_unit(chance, **situation)
            found = expected_pace(own, others)
            assert found.low < found.high
            inside += found.low <= found.own_pace <= found.high
        covers[name] = round(100 * inside / UNITS)
    assert all(85 <= cover <= 97 for cover in covers.values()), covers
    assert 88 <= sum(covers.values()) / len(covers) <= 94, covers
    assert len(MADE) == SITUATIONS
    assert abs(LEAST_HELD - min(covers.values())) <= 1, covers
    assert abs(MOST_HELD - max(covers.values())) <= 1, covers


# --- from the log


CREW = ("ana", "ben", "cai", "dov", "eve")
SCALE = Scale(FrameRate.parse("24"), small_ledger("").production.gauge)


def made_log(shots: int = 60) -> Ledger:
    """Five people, each shot by one of them in two days; with two characters half as much is shot.

    A frame counts 1 for both characters together, so two characters in half the frames are half the
    shot footage.
    """
    table, entries = [], []
    day = date(2026, 1, 5)
    for place in range(shots):
        code, person = f"010-{place:03}", CREW[place % 5]
        two = place % 3 == 0
        frames = (24 if two else 48) + 4 * (place % 7)
        table.append(f"{code}, 010, {48 + 12 * (place % 5)}")
        for half, frame in enumerate((f"1-{frames // 2}", f"{frames // 2 + 1}-{frames}")):
            on = day + timedelta(days=2 * (place // 5) + half)
            entries += [
                f"animation, {person}, {who}, {code}, {frame}, {on}, {1 + place % 2}"
                for who in (("wick", "brine") if two else ("wick",))
            ]
    newline = "\n"
    return small_ledger(f"""
    [people]
    person
    {newline.join(CREW)}

    [characters]
    character
    wick
    brine

    [sequences]
    sequence
    010

    [shots]
    shot, sequence, frames
    {newline.join(table)}

    [entries]
    craft, person, character, shot, frames, finished_on, poses_on
    {newline.join(entries)}
    """)


def reviews_of(ledger: Ledger) -> Reviews:
    runs, _, footage = footage_of(ledger)
    return Reviews(ledger, poses(ledger, runs, poses_on(ledger)), footage)


def expectation_of(ledger: Ledger, period: Period | None = None) -> Expectation:
    found = reviews_of(ledger).expectation("ana", period or Period())
    assert found is not None
    return found


def test_the_log_gives_an_expectation() -> None:
    found = expectation_of(made_log(150))
    assert found.lacks == ()
    assert (found.pieces, found.others, found.days, found.own_days) == (120, 4, 240, 60)
    assert found.low < found.pace < found.high


TWO_SHOTS = """
    [people]
    person
    ana

    [characters]
    character
    wick

    [puppets]
    puppet, character
    wick-1, wick

    [sequences]
    sequence
    010

    [shots]
    shot, sequence, frames
    010-010, 010, 96
    010-020, 010, 48

    [takes]
    shot, take, decision
    010-010, 1, retake
    010-010, 2, accepted

    [entries]
    craft, person, character, shot, take, frames, finished_on, poses_on, puppet, wait_minutes
    animation, ana, wick, 010-010, 2, 1-48, 2026-03-02, 2
    animation, ana, wick, 010-010, 2, 49-96, 2026-03-03, 2
    animation, ana, wick, 010-020, 1, 1-24, 2026-03-03
    animation, ana, wick, 010-020, 1, 25-30,
    repair, ana, , , , , 2026-03-03, , wick-1, 60
"""


def test_a_day_on_two_shots_is_divided_among_them() -> None:
    ledger = small_ledger(TWO_SHOTS)
    works = reviews_of(ledger).works["ana"]
    found = pieces_of(works, ledger.production.rate)
    assert [tuple(map(exact_of, piece)) for piece in found] == [
        (4, Fraction(3, 2)),
        (1, Fraction(1, 2)),
    ]


def test_what_the_shots_asked_for() -> None:
    ledger = small_ledger(TWO_SHOTS)
    works = [work for work in reviews_of(ledger).works["ana"] if work.day is not None]
    # 120 kept frames in 24 + 24 + 24 poses; an hour on two days; 96 and 48 frames; one retake.
    assert shot_mix(figures_of(works), ledger) == {
        "characters_a_frame": 1,
        "frames_a_pose": Fraction(120, 72),
        "wait_minutes_a_day": 30,
        "frames_a_shot": 72,
        "retakes_a_shot": Fraction(1, 2),
    }
    assert shot_mix(figures_of([]), ledger) == dict.fromkeys(MIX)


def test_what_the_shots_asked_for_is_of_this_animator_and_of_all_the_others() -> None:
    ledger = made_log()
    works = reviews_of(ledger).works
    others = figures_together(figures_of(works[person]) for person in CREW[1:])
    own, unit = shot_mix(figures_of(works["ana"]), ledger), shot_mix(others, ledger)
    found = expectation_of(ledger)
    assert found.mix == tuple(MixFigure(name, own[name], unit[name]) for name in MIX)
    shown = shown_expectation(found, SCALE)
    assert shown is not None
    assert shown.mix is not None
    assert rows_of(shown.mix) == [
        ("characters in a frame", "1.19", "1.24"),
        ("frames that a pose is held", "1.34", "1.33"),
        ("wait for repairs, minutes a shoot day", "0.0", "0.0"),
        ("length of a shot, seconds", "2.0", "3.3"),
        ("retakes of a shot", "0.00", "0.00"),
    ]


def test_a_short_period_says_what_it_lacks() -> None:
    found = expectation_of(made_log(), Period(date(2026, 1, 5), date(2026, 1, 6)))
    assert found.lacks == (Lack("own_days", 2, 5),)
    shown = shown_expectation(found, SCALE)
    assert shown is not None
    assert shown.said == (
        "Not enough work to say: too few shoot days of this animator in the period"
        " (2 of at least 5).",
    )


def test_the_production_may_switch_it_off() -> None:
    ledger = made_log()
    off = replace(ledger, production=replace(ledger.production, expectation=False))
    found = reviews_of(off).expectation("ana")
    assert found is None
    assert shown_expectation(found, SCALE) is None


def test_what_it_says_is_called_what_it_is() -> None:
    shown = shown_expectation(expectation_of(made_log(150)), SCALE)
    assert shown is not None
    assert shown.title.startswith("A model")
    text = " ".join(shown.said)
    assert "would be usual: in nine of ten cases somebody's pace over 60 days lies between" in text
    assert "the work of 4 others on 240 shoot days, 120 pieces of work" in text
    assert "knows nothing of the shots" in text
