"""Laws of frame sets: they behave as sets of single frames do, whatever the ranges."""

from __future__ import annotations

from itertools import pairwise

from hypothesis import given, settings
from hypothesis import strategies as st

from credits.units.frames import HIGHEST_FRAME, Frames, common_runs, union
from tests.drawn import drawn

MANY = settings(max_examples=drawn(300), deadline=None)

ranges = st.tuples(st.integers(1, 40), st.integers(1, 40))
frames = st.lists(ranges, max_size=5).map(lambda own: Frames.of(*own))


def singles(own: Frames) -> set[int]:
    return {frame for first, stop in own.ranges for frame in range(first, stop)}


def assert_well_formed(own: Frames) -> None:
    assert all(first < stop for first, stop in own.ranges)
    assert all(one[1] < other[0] for one, other in pairwise(own.ranges))


@MANY
@given(one=frames, other=frames)
def test_or_and_minus_are_those_of_sets(one: Frames, other: Frames) -> None:
    for ours, theirs in (
        (one | other, singles(one) | singles(other)),
        (one & other, singles(one) & singles(other)),
        (one - other, singles(one) - singles(other)),
    ):
        assert_well_formed(ours)
        assert singles(ours) == theirs
        assert ours.count == len(theirs)
        assert bool(ours) == bool(theirs)
    assert one.shared_with(other) == other.shared_with(one) == (one & other).count


@MANY
@given(own=st.lists(ranges, max_size=6))
def test_a_set_does_not_remember_how_it_was_put_together(own: list[tuple[int, int]]) -> None:
    together = Frames.of(*own)
    assert_well_formed(together)
    assert together == union(Frames.of(one) for one in reversed(own))
    alone = (Frames.of((frame, frame + 1)) for frame in singles(together))
    assert together == union(alone)


@MANY
@given(own=frames, frame=st.integers(-3, 50))
def test_membership_is_that_of_sets(own: Frames, frame: int) -> None:
    assert (frame in own) == (frame in singles(own))
    assert singles(own.from_frame(frame)) == {at for at in singles(own) if at >= frame}
    if own:
        assert own.first == min(singles(own))
        assert own.last == max(singles(own))


@MANY
@given(own=st.sets(st.integers(1, HIGHEST_FRAME), min_size=1, max_size=8))
def test_what_is_written_reads_back(own: set[int]) -> None:
    frames = Frames.of(*((frame, frame + 1) for frame in own))
    assert Frames.parse(frames.text) == frames


@MANY
@given(sets=st.lists(frames, max_size=5))
def test_common_runs_say_of_every_frame_which_sets_hold_it(sets: list[Frames]) -> None:
    runs = list(common_runs(sets))
    said = {frame: members for first, stop, members in runs for frame in range(first, stop)}
    assert said == {
        frame: tuple(place for place, own in enumerate(sets) if frame in singles(own))
        for frame in singles(union(sets))
    }
    assert all(first < stop for first, stop, _ in runs)
    assert all(one[1] <= other[0] for one, other in pairwise(runs))
    assert len(runs) <= max(2 * sum(len(own.ranges) for own in sets) - 1, 0)
