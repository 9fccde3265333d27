"""The model of pace, on made data whose answer is known, and on logs."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from datetime import date, timedelta
from math import exp, isclose, log

import numpy as np
import pytest
from statsmodels.stats.meta_analysis import combine_effects

from credits.model.ledger import Ledger
from credits.review import expectation
from credits.review.days import Regressor, WorkPiece, pieces_of
from credits.review.expectation import (
    ExpectationOutcome,
    Expectations,
    expected_pace,
)
from credits.review.fit import between_people
from credits.review.review import Period, Reviews
from credits.review.shown import shown_expectation
from tests.computed import footage_of
from tests.small_log import small_ledger

# What the made work obeys: half of what is kept with each further character, and so on.
TRUE = {
    Regressor.CHARACTERS: log(0.7),
    Regressor.HOLD: log(1.2),
    Regressor.WAIT: log(0.6),
    Regressor.LENGTH: log(1.3),
    Regressor.RETAKES: log(0.8),
}
BASE = log(1.5)
SPREAD = 0.6  # variance of a piece's seconds for each expected second


def made_work(
    seed: int, people: int = 9, pieces: int = 25, between: float = 0.0
) -> list[WorkPiece]:
    """Work by the model above. ``between``: how much the people themselves differ (log scale)."""
    chance = np.random.default_rng(seed)
    work = []
    for person in range(people):
        own = float(chance.normal(0, between)) if between else 0.0
        for _ in range(pieces):
            values = (
                float(chance.integers(1, 4)),
                float(chance.integers(1, 3)),
                max(0.0, float(chance.normal(0, 0.4))),
                float(chance.normal(1.5, 0.7)),
                float(chance.integers(0, 2)),
            )
            effects = sum(b * x for b, x in zip(TRUE.values(), values, strict=True))
            days = float(chance.integers(1, 8))
            mean = days * exp(BASE + own + effects)
            seconds = float(chance.gamma(mean / SPREAD, SPREAD))
            shot = f"shot-{chance.integers(0, 150)}"
            work.append(
                WorkPiece(
                    person=f"person-{person}", shot=shot, seconds=seconds, days=days, values=values
                )
            )
    return work


def of(work: list[WorkPiece], person: str = "person-0") -> tuple[list[WorkPiece], list[WorkPiece]]:
    return [p for p in work if p.person == person], [p for p in work if p.person != person]


# --- known answers


def test_each_effect_is_found_in_its_interval_about_nine_times_of_ten() -> None:
    inside = dict.fromkeys(TRUE, 0)
    for seed in range(60):
        for effect in expected_pace(*of(made_work(seed))).effects:
            inside[effect.regressor] += effect.low <= exp(TRUE[effect.regressor]) <= effect.high
    # Of 60 samples at 90 %, fewer than 45 in one of them is a chance below one in a thousand.
    assert all(45 <= count <= 60 for count in inside.values()), inside
    assert 0.82 <= sum(inside.values()) / (60 * len(TRUE)) <= 0.97


def test_with_much_work_the_effects_are_those_that_made_it() -> None:
    found = expected_pace(*of(made_work(1, people=20, pieces=200)))
    assert found.unused == ()
    for effect in found.effects:
        assert isclose(effect.factor, exp(TRUE[effect.regressor]), rel_tol=0.06), effect


@pytest.mark.parametrize("between", [0.0, 0.2])
def test_the_interval_holds_the_pace_of_somebody_new_about_nine_times_of_ten(
    between: float,
) -> None:
    inside = 0
    for seed in range(80):
        found = expected_pace(*of(made_work(seed, between=between)))
        assert found.low < found.pace < found.high
        inside += found.low <= found.own_pace <= found.high
    assert inside >= 62, inside  # below that, a chance of one in a thousand at 90 %


def test_people_who_differ_make_the_interval_wider() -> None:
    alike = expected_pace(*of(made_work(3)))
    apart = expected_pace(*of(made_work(3, between=0.4)))
    assert apart.high / apart.low > 1.5 * alike.high / alike.low


def test_without_anything_that_varies_the_usual_pace_is_seconds_by_days() -> None:
    work = [
        WorkPiece(
            person=f"person-{person}",
            shot=f"shot-{place}",
            seconds=1.0 + person % 3 + place,
            days=4.0,
            values=(1, 1, 0, 2, 0),
        )
        for person in range(5)
        for place in range(6)
    ]
    own, others = of(work)
    found = expected_pace(own, others)
    seconds, days = sum(p.seconds for p in others), sum(p.days for p in others)
    assert isclose(found.pace, seconds / days)
    assert found.effects == ()
    assert found.unused == tuple(Regressor)
    assert isclose(found.explained, 0, abs_tol=1e-9)


def test_what_goes_along_with_something_else_is_not_used_twice() -> None:
    work = [
        replace(p, values=(p.values[0], p.values[0] * 2 - 1, *p.values[2:])) for p in made_work(4)
    ]
    assert expected_pace(*of(work)).unused == (Regressor.HOLD,)


def test_who_animated_is_no_part_of_the_model() -> None:
    own, others = of(made_work(5))
    renamed = [replace(p, person=f"{p.person}-also") for p in others]
    assert expected_pace(own, others) == expected_pace(own, renamed)
    shuffled = [replace(p, person=f"person-{1 + at % 8}") for at, p in enumerate(others)]
    mixed = expected_pace(own, shuffled)
    assert mixed.effects == expected_pace(own, others).effects
    assert mixed.pace == expected_pace(own, others).pace


def test_own_work_does_not_move_the_own_expectation() -> None:
    own, others = of(made_work(6))
    better = [replace(p, seconds=3 * p.seconds) for p in own]
    found, moved = expected_pace(own, others), expected_pace(better, others)
    assert (found.pace, found.low, found.high) == (moved.pace, moved.low, moved.high)
    assert isclose(moved.own_pace, 3 * found.own_pace)


def test_work_beyond_that_of_the_others_is_named() -> None:
    own, others = of(made_work(7))
    long = [replace(p, values=(*p.values[:3], 9.0, p.values[4])) for p in own]
    assert Regressor.LENGTH in expected_pace(long, others).beyond


def test_pieces_of_which_nothing_was_kept_count() -> None:
    own, others = of(made_work(8))
    nothing = [replace(p, seconds=0.0) if at % 4 == 0 else p for at, p in enumerate(others)]
    assert expected_pace(own, nothing).pace < 0.9 * expected_pace(own, others).pace


# --- too few


@pytest.mark.parametrize(
    ("people", "pieces"),
    [
        (3, 50),  # two others
        (9, 3),  # 24 pieces for six coefficients
        (1, 50),  # nobody else
    ],
)
def test_too_few_to_say(people: int, pieces: int) -> None:
    assert expected_pace(*of(made_work(9, people, pieces))).outcome is ExpectationOutcome.TOO_FEW


def test_too_few_days_of_the_own_or_of_the_others() -> None:
    own, others = of(made_work(10))
    assert expected_pace([replace(own[0], days=4.0)], others).outcome is ExpectationOutcome.TOO_FEW
    short = [replace(p, days=0.25) for p in others]
    assert expected_pace(own, short).outcome is ExpectationOutcome.TOO_FEW
    assert expected_pace([], others).outcome is ExpectationOutcome.TOO_FEW


def test_nothing_kept_at_all_is_nothing_to_say() -> None:
    own, others = of(made_work(11))
    assert (
        expected_pace(own, [replace(p, seconds=0.0) for p in others]).outcome
        is ExpectationOutcome.TOO_FEW
    )


# --- from the log


CREW = ("ana", "ben", "cai", "dov", "eve")


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


def expectations_of(ledger: Ledger) -> Expectations:
    runs, _, footage = footage_of(ledger)
    return Expectations(Reviews(ledger, runs, footage))


def test_the_log_gives_an_expectation() -> None:
    found = expectations_of(made_log(150)).of("ana")
    assert found.outcome is ExpectationOutcome.GIVEN
    assert (found.pieces, found.others, found.days) == (120, 4, 240)
    characters = next(e for e in found.effects if e.regressor is Regressor.CHARACTERS)
    assert characters.high < 1
    assert set(found.unused) == {Regressor.WAIT, Regressor.RETAKES}


def test_a_day_on_two_shots_is_divided_among_them_and_so_is_its_wait() -> None:
    ledger = small_ledger("""
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
    repair, ana, , , , , 2026-03-03, , wick-1, 60
    """)
    runs, _, footage = footage_of(ledger)
    works = Reviews(ledger, runs, footage).works["ana"]
    first, second = pieces_of(ledger, "ana", works)
    assert (first.shot, first.seconds, first.days) == ("010-010", 4.0, 1.5)
    assert (second.shot, second.seconds, second.days) == ("010-020", 1.0, 0.5)
    # One character, on twos, half of the hour of waiting in a day and a half, 4 s, one retake.
    assert first.values == pytest.approx((1.0, 2.0, 0.5 / 1.5, 2.0, 1.0))
    assert second.values == pytest.approx((1.0, 1.0, 1.0, 1.0, 0.0))


def test_a_short_period_has_not_enough_days() -> None:
    found = expectations_of(made_log()).of("ana", Period(date(2026, 1, 5), date(2026, 1, 6)))
    assert found.outcome is ExpectationOutcome.TOO_FEW
    shown = shown_expectation(found)
    assert shown is not None
    assert shown.said[0].startswith("Not enough days to say: 2 shoot days of this person")


def test_the_production_may_switch_it_off() -> None:
    ledger = made_log()
    off = replace(ledger, production=replace(ledger.production, expectation=False))
    found = expectations_of(off).of("ana")
    assert found.outcome is ExpectationOutcome.OFF
    assert shown_expectation(found) is None


def test_without_the_library_it_says_whom_to_ask(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(expectation, "LIBRARY", "a_library_that_is_not_there")
    found = expectations_of(made_log()).of("ana")
    assert found.outcome is ExpectationOutcome.NOT_INSTALLED
    shown = shown_expectation(found, "Ask for statsmodels.")
    assert shown is not None
    assert shown.said == ("The statistics library is not installed. Ask for statsmodels.",)


def test_an_installation_without_the_libraries_of_the_model_shows_reviews() -> None:
    program = (
        "import sys; sys.modules.update(dict.fromkeys(('numpy', 'scipy', 'statsmodels')));"
        "import credits.cli.figures, credits.site.render"
    )
    subprocess.run([sys.executable, "-c", program], check=True)


def test_what_it_says_is_called_what_it_is() -> None:
    shown = shown_expectation(expectations_of(made_log(150)).of("ana"))
    assert shown is not None
    text = " ".join(shown.said)
    assert "would be usual" in text
    assert "the work of 4 others on 240 shoot days" in text
    assert "Not used, since it does not vary by itself here: waits for repairs" in text
    assert shown.effects is not None
    assert shown.effects.column("changes") == (
        "one more character in the frame",
        "each pose held for one frame more",
        "a shot twice as long",
    )


def test_people_differ_by_as_much_as_a_reference_says() -> None:
    """Against statsmodels.stats.meta_analysis, method "chi2" (DerSimonian and Laird)."""
    pieces = made_work(7, people=9, between=0.3)
    people = sorted({piece.person for piece in pieces})
    means = np.array([p.seconds * (0.6 + 0.1 * people.index(p.person)) for p in pieces])
    spread = 2.5
    done: dict[str, float] = {}
    expected: dict[str, float] = {}
    for piece, mean in zip(pieces, means, strict=True):
        done[piece.person] = done.get(piece.person, 0.0) + piece.seconds
        expected[piece.person] = expected.get(piece.person, 0.0) + float(mean)
    apart = np.array([(done[p] - expected[p]) / expected[p] for p in done])
    variance = np.array([spread / expected[p] for p in done])
    reference = combine_effects(apart, variance, method_re="chi2")
    assert between_people(pieces, means, spread) == pytest.approx(reference.tau2)
    assert reference.tau2 > 0
