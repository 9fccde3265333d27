"""Laws of hands and reach: as found frame by frame, and read either way round."""

from __future__ import annotations

from collections import defaultdict

from hypothesis import given, settings

from credits.footage.claims import claim_runs
from credits.hands.hands import Hand, Hands, Via, shots_in_question
from credits.hands.reach import reach, shots_reached
from credits.model.facts import EntryNumber
from credits.model.log import WrittenLog
from credits.model.replay import replay
from credits.units.frames import Frames
from tests.computed import footage_of
from tests.drawn import drawn
from tests.laws.frame_by_frame import FrameByFrame
from tests.laws.frame_hands import Hand as FoundHand
from tests.laws.frame_hands import hands as hands_in_frame
from tests.laws.frame_hands import reach as reach_by_frames
from tests.laws.strategies import productions

BIG = settings(max_examples=drawn(120), deadline=None)
FEWER = settings(max_examples=drawn(60), deadline=None)


def hand_of(own: Hand) -> FoundHand:
    """A hand without its entries; by way of the frame it does not matter which puppet is shown."""
    puppet = None if own.via is Via.FRAME else own.puppet
    return own.person, own.craft, own.character, own.via.value, puppet, own.part


@BIG
@given(log=productions())
def test_the_hands_in_a_frame_are_those_found_by_looking_at_it_alone(log: WrittenLog) -> None:
    ledger = replay(log)
    runs, _, _ = footage_of(ledger)
    film = FrameByFrame(log)
    assert runs.keys() == film.claimed.keys()
    hands = Hands(ledger, runs)
    for (shot, take), frames in film.claimed.items():
        seen: dict[int, set[FoundHand]] = {}
        for run in hands.runs_of_take(shot, take):
            own = {hand_of(hand) for hand in run.hands}
            assert len(own) == len(run.hands)
            seen |= dict.fromkeys(range(run.first, run.stop), own)
        assert seen == {frame: hands_in_frame(film, shot, take, frame) for frame in frames}


@FEWER
@given(log=productions())
def test_hands_by_frame_and_frames_by_hand_are_the_same(log: WrittenLog) -> None:
    ledger = replay(log)
    runs, _, _ = footage_of(ledger)
    hands = Hands(ledger, runs)
    for shot, take in runs:
        by_hand: dict[FoundHand, list[tuple[int, int]]] = defaultdict(list)
        for run in hands.runs_of_take(shot, take):
            for hand in run.hands:
                by_hand[hand_of(hand)].append((run.first, run.stop))
        spread = hands.of_take(shot, take)
        assert len({hand_of(own) for own in spread}) == len(spread)
        assert {hand_of(own): own.frames for own in spread} == {
            hand: Frames.of(*ranges) for hand, ranges in by_hand.items()
        }


@FEWER
@given(log=productions())
def test_reach_is_the_frames_that_hands_are_found_in(log: WrittenLog) -> None:
    ledger = replay(log)
    runs, use, _ = footage_of(ledger)
    reached, _ = reach(ledger, runs, use, Hands(ledger, runs))
    assert {
        person: (
            own.frames,
            own.screen_frames,
            own.characters,
            frozenset(shot for shot, _, _ in own.in_shots),
        )
        for person, own in reached.items()
    } == reach_by_frames(FrameByFrame(log))
    for own in reached.values():
        assert own.shots == len({shot for shot, _, _ in own.in_shots})
        assert own.frames == sum(frames.count for _, _, frames in own.in_shots)


@FEWER
@given(log=productions())
def test_one_entry_asked_alone_is_where_all_together_find_it(log: WrittenLog) -> None:
    ledger = replay(log)
    every = Hands(ledger, claim_runs(ledger))
    found: dict[EntryNumber, set[str]] = defaultdict(set)
    for shot, take in claim_runs(ledger):
        for hand in every.of_take(shot, take):
            for number in hand.entries:
                found[number].add(shot)
    for entry in ledger.entries:
        runs = claim_runs(ledger, shots_in_question(ledger, entry))
        alone = Hands(ledger, runs, [entry])
        assert {shot for shot, take in runs if alone.of_take(shot, take)} == found[entry.number]
        assert shots_reached(ledger, entry) == found[entry.number]
