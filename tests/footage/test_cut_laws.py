"""Laws of the cut: which take, which frames, and where in the film."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from credits.footage.cut import (
    chosen_takes,
    frames_shown,
    kept_frames,
    order_of_appearance,
    source_frame,
    steps_showing,
)
from credits.model.facts import CutClip
from credits.model.log import WrittenLog
from credits.model.replay import replay
from credits.units.frames import Frames
from tests.computed import footage_of
from tests.drawn import drawn
from tests.laws.frame_by_frame import FrameByFrame
from tests.laws.strategies import productions

BIG = settings(max_examples=drawn(60), deadline=None)

clips = st.builds(
    CutClip,
    order=st.just(1),
    film_first=st.integers(1, 100),
    shown=st.integers(0, 40),
    shot=st.just("010-010"),
    take=st.just(1),
    source_first=st.integers(1, 30),
    source_last=st.integers(1, 30),
    speed=st.fractions(-4, 4, max_denominator=6),
)


@settings(max_examples=drawn(300), deadline=None)
@given(clip=clips, first=st.integers(-5, 60), length=st.integers(0, 20))
def test_steps_that_show_frames_are_those_that_show_one_of_them(
    clip: CutClip, first: int, length: int
) -> None:
    low, high = steps_showing(clip, first, first + length)
    wanted = range(first, first + length)
    assert [*range(low, high)] == [k for k in range(clip.shown) if source_frame(clip, k) in wanted]


@settings(max_examples=drawn(300), deadline=None)
@given(clip=clips)
def test_the_frames_of_a_clip_are_those_that_its_steps_show(clip: CutClip) -> None:
    shown = {source_frame(clip, step) for step in range(clip.shown)}
    assert frames_shown(clip) == Frames.of(*((frame, frame + 1) for frame in shown))


@BIG
@given(log=productions())
def test_takes_and_places_in_the_film_are_those_found_frame_by_frame(log: WrittenLog) -> None:
    ledger = replay(log)
    runs, use, _ = footage_of(ledger)
    film = FrameByFrame(log)
    chosen = chosen_takes(ledger, runs)
    for shot in ledger.shots:
        assert chosen.get(shot) == film.chosen_take(shot)
    assert list(order_of_appearance(use, kept_frames(runs))) == film.appearance()
    assert (use is None) == (log.cut is None)
    for shot, take, frame in film.shown if use is not None else ():
        if (shot, take) not in film.claimed:
            continue
        assert use is not None
        spans = use.film_spans(shot, take, Frames.of((frame, frame + 1)))
        places = sorted(at for first, stop in spans for at in range(first, stop))
        assert places == sorted(at for at, seen in film.film.items() if seen == (shot, take, frame))
