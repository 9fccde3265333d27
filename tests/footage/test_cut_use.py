"""The cut: which take it means, which frames it shows, and where in the film."""

from __future__ import annotations

from fractions import Fraction

import pytest

from credits.footage.cut import (
    CutUse,
    chosen_takes,
    frames_shown,
    kept_frames,
    order_of_appearance,
    source_frame,
    steps_showing,
)
from credits.model.facts import CutClip
from credits.units.frames import Frames
from tests.computed import footage_of
from tests.small_log import small_ledger

FILM = """
    [people]
    person
    ana

    [characters]
    character
    wick
    brine

    [sequences]
    sequence
    010

    [shots]
    shot, sequence, frames
    010-010, 010, 24
    010-020, 010, 48
"""


# --- Which take


def meant(takes: str, entries: str) -> int | None:
    """The take that shot 010-020 means where the cut names none."""
    ledger = small_ledger(f"""{FILM}
        [takes]
        shot, take, purpose, decision, decided_on
        {takes}
        [entries]
        craft, person, character, shot, take
        {entries}
    """)
    return chosen_takes(ledger, footage_of(ledger)[0]).get("010-020")


CLAIMS = """
        animation, ana, wick, 010-020, 1
        animation, ana, wick, 010-020, 2
        animation, ana, wick, 010-020, 3
"""


@pytest.mark.parametrize(
    ("takes", "take"),
    [
        # The accepted shoot take with the latest decided_on ...
        (
            """010-020, 1, shoot, accepted, 2026-03-09
               010-020, 2, shoot, accepted, 2026-03-02
               010-020, 3, shoot, retake, 2026-03-10""",
            1,
        ),
        # ... the higher number on a tie ...
        (
            """010-020, 1, shoot, accepted, 2026-03-02
               010-020, 2, shoot, accepted, 2026-03-02""",
            2,
        ),
        # ... one whose decision has no date is the earliest ...
        (
            """010-020, 1, shoot, accepted, 2026-03-02
               010-020, 2, shoot, accepted""",
            1,
        ),
        # ... and a block or a rehearsal is never meant, whatever was decided of it.
        (
            """010-020, 1, shoot, accepted, 2026-03-02
               010-020, 2, rehearsal, accepted, 2026-03-09
               010-020, 3, block, accepted, 2026-03-09""",
            1,
        ),
        # Else the highest-numbered shoot take that has claims.
        ("", 3),
        ("010-020, 3, rehearsal", 2),
        ("010-020, 3, shoot, retake, 2026-03-02", 3),
        ("010-020, 4, shoot, open", 3),  # take 4 has no claims
        # An accepted take without a claim is meant all the same.
        ("010-020, 4, shoot, accepted, 2026-03-02", 4),
    ],
)
def test_the_take_that_the_cut_means(takes: str, take: int) -> None:
    assert meant(takes, CLAIMS) == take


def test_a_shot_that_nobody_worked_on_means_no_take() -> None:
    assert meant("010-020, 1, shoot, open", "voice, ana, wick, 010-020") is None


# --- Which frames, at which speed


def clip(first: int, last: int, shown: int, speed: str = "1") -> CutClip:
    return CutClip(
        order=1,
        film_first=1,
        shown=shown,
        shot="010-020",
        take=None,
        source_first=first,
        source_last=last,
        speed=Fraction(speed),
    )


@pytest.mark.parametrize(
    ("own", "shows"),
    [
        (clip(9, 12, 4), [9, 10, 11, 12]),
        (clip(9, 14, 3, "2"), [9, 11, 13]),
        (clip(9, 11, 6, "1/2"), [9, 9, 10, 10, 11, 11]),
        (clip(9, 14, 4, "3/2"), [9, 10, 12, 13]),
        (clip(9, 12, 4, "-1"), [12, 11, 10, 9]),
        (clip(9, 14, 3, "-2"), [14, 12, 10]),
        (clip(9, 10, 4, "-1/2"), [10, 10, 9, 9]),
        (clip(9, 9, 5, "0"), [9, 9, 9, 9, 9]),
    ],
)
def test_what_a_clip_shows(own: CutClip, shows: list[int]) -> None:
    assert [source_frame(own, step) for step in range(own.shown)] == shows
    assert frames_shown(own) == Frames.of(*((frame, frame + 1) for frame in shows))
    for frame in set(shows):
        low, high = steps_showing(own, frame, frame + 1)
        assert high - low == shows.count(frame)
    assert steps_showing(own, 20, 30) == (0, 0)


# --- In the film


def use_of(cut: str, entries: str = CLAIMS) -> CutUse:
    ledger = small_ledger(
        f"""{FILM}
        [entries]
        craft, person, character, shot, take
        {entries}
        """,
        cut,
    )
    use = footage_of(ledger)[1]
    assert use is not None
    return use


def test_a_reprise_is_used_once_and_seen_twice() -> None:
    use = use_of("shot, take, first, last\n010-020, 3, 9, 16\n010-020, , 13, 24")
    assert use.used == {("010-020", 3): Frames.span(9, 24)}
    assert use.frames_in_cut("010-020", 3, Frames.span(1, 48)) == 16
    assert use.frames_on_screen("010-020", 3, Frames.span(1, 48)) == 20
    assert use.frames_on_screen("010-020", 3, Frames.span(13, 16)) == 8
    assert list(use.film_spans("010-020", 3, Frames.parse("14-15"))) == [(6, 8), (10, 12)]


def test_a_hold_is_one_frame_that_is_seen_often() -> None:
    use = use_of("shot, first, last, speed, shown\n010-020, 9, 9, 0, 36")
    assert use.frames_in_cut("010-020", 3, Frames.span(1, 48)) == 1
    assert use.frames_on_screen("010-020", 3, Frames.span(1, 48)) == 36


def test_double_speed_leaves_every_other_frame_out() -> None:
    use = use_of("shot, first, last, speed\n010-020, 1, 48, 2")
    assert use.frames_in_cut("010-020", 3, Frames.span(1, 48)) == 24
    assert use.frames_on_screen("010-020", 3, Frames.span(1, 48)) == 24
    assert use.frames_in_cut("010-020", 3, Frames.span(1, 3)) == 2  # frames 1 and 3


def test_a_take_that_the_cut_names_is_used_as_named() -> None:
    use = use_of("shot, take, first, last\n010-020, 1, 1, 8\n010-020, 2, 9, 16")
    assert set(use.used) == {("010-020", 1), ("010-020", 2)}
    assert use.frames_in_cut("010-020", 3, Frames.span(1, 48)) == 0


def test_a_clip_of_an_unknown_shot_takes_its_place_in_the_film_and_is_nobodys() -> None:
    use = use_of("shot, first, last\nelsewhere, 1, 24\n010-020, 1, 8")
    assert [own.shot for own in use.clips] == ["010-020"]
    assert list(use.film_spans("010-020", 3, Frames.parse("1"))) == [(25, 26)]


def test_without_a_cut_there_is_no_use_of_it() -> None:
    ledger = small_ledger(FILM)
    assert footage_of(ledger)[1] is None
    assert order_of_appearance(None, ()) == ()


# --- Order of appearance


def appearance(cut: str) -> list[tuple[str, int]]:
    ledger = small_ledger(
        f"""{FILM}
        [entries]
        craft, person, character, shot, frames, finished_on
        animation, ana, wick, 010-010, 13-24, 2026-03-02
        animation, ana, brine, 010-020, 1-48, 2026-03-02
        voice, ana, wick, 010-020, , 2026-03-02
        """,
        cut,
    )
    runs, use, _ = footage_of(ledger)
    return list(order_of_appearance(use, kept_frames(runs)))


@pytest.mark.parametrize(
    ("cut", "order"),
    [
        # Wick is in the second half of the first shot only.
        ("shot, first, last\n010-010, 1, 24\n010-020, 1, 48", [("wick", 13), ("brine", 25)]),
        ("shot, first, last\n010-020, 1, 48\n010-010, 1, 24", [("brine", 1), ("wick", 61)]),
        # Turned round, the shot begins with Wick.
        (
            "shot, first, last, speed\n010-010, 1, 24, -1\n010-020, 1, 48",
            [("wick", 1), ("brine", 25)],
        ),
        # The film begins with a gap, and Wick is cut out of it.
        ("shot, first, last, film_first\n010-010, 1, 12, 49\n010-020, 1, 48", [("brine", 61)]),
        # Who appears in the same frame stands by code.
        (
            "shot, first, last, film_first\n010-020, 1, 8, 5\n010-010, 13, 20, 5",
            [("brine", 5), ("wick", 5)],
        ),
    ],
)
def test_characters_appear_where_they_have_a_kept_claim(
    cut: str, order: list[tuple[str, int]]
) -> None:
    assert appearance(cut) == order
