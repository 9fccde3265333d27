"""What is seen in a take: sets of stretches are sets of frames; a take alone is a part of all."""

from __future__ import annotations

import itertools
from collections import Counter, defaultdict
from datetime import date

from hypothesis import given, settings
from hypothesis import strategies as st

from credits.figures.snapshot import Snapshot
from credits.footage.claims import animated_in
from credits.hands.hands import Hands, Via
from credits.hands.reach import counted_takes, reach_in_take
from credits.hands.seen import FramesByDay, FrameSets
from credits.model.log import WrittenLog
from credits.model.replay import replay
from credits.units.frames import Frames
from tests.drawn import drawn
from tests.laws.strategies import frame_sets, productions

FEWER = settings(max_examples=drawn(60), deadline=None)
SOME_FRAMES = frame_sets(40)


@given(one=SOME_FRAMES, other=SOME_FRAMES)
def test_sets_of_stretches_are_joined_and_shared_as_frames_are(one: Frames, other: Frames) -> None:
    sets = FrameSets((*one.ranges, *other.ranges))
    mine, theirs = sets.of(one.ranges), sets.of(other.ranges)
    assert sets.frames(mine) == one
    assert sets.frames(mine | theirs) == one | other
    assert sets.frames(mine & theirs) == one & other
    assert sets.frames(mine & ~theirs) == one - other
    assert mine & sets.every == mine
    assert sets.frames(theirs | mine) is sets.frames(mine | theirs)


def test_no_stretches_are_no_frames() -> None:
    assert FrameSets(()).frames(0) == Frames()
    assert FrameSets(()).every == 0


def test_frames_since_a_day_are_those_of_it_and_later_and_the_undated_ones() -> None:
    frames = FramesByDay()
    frames.add(date(2026, 3, 2), 0b0001)
    frames.add(date(2026, 3, 4), 0b0010)
    frames.add(date(2026, 3, 4), 0b0100)
    assert frames.since(date(2026, 3, 2)) == 0b0111
    assert frames.since(date(2026, 3, 3)) == 0b0110
    assert frames.since(date(2026, 3, 5)) == 0
    frames.add(None, 0b1000)
    assert frames.since(date(2026, 3, 5)) == 0b1000
    assert frames.since(None) == 0b1111


@FEWER
@given(log=productions())
def test_the_reach_of_takes_asked_alone_makes_up_the_reach_of_all(log: WrittenLog) -> None:
    results = Snapshot(replay(log))
    frames: Counter[str] = Counter()
    on_screen: Counter[str] = Counter()
    characters: defaultdict[str, set[str]] = defaultdict(set)
    for shot, take in counted_takes(results.ledger, results.runs, results.use):
        # Nothing is known of the other takes.
        runs = {key: own for key, own in results.runs.items() if key == (shot, take)}
        hands = Hands(results.ledger, runs)
        for own in reach_in_take(shot, take, results.use, hands)[0]:
            assert own.frame_count == own.frames.count
            for person in own.people:
                frames[person] += own.frame_count
                on_screen[person] += own.screen_frames
                characters[person].update(own.characters)
    assert {
        person: (own.frames, own.screen_frames, own.characters)
        for person, own in results.reach.items()
    } == {person: (frames[person], on_screen[person], characters[person]) for person in frames}


@FEWER
@given(log=productions())
def test_people_are_in_the_frames_that_their_hands_are_in(log: WrittenLog) -> None:
    results = Snapshot(replay(log))
    for shot, take in results.runs:
        by_hand: defaultdict[str, Frames] = defaultdict(Frames)
        for hand in results.hands.of_take(shot, take):
            by_hand[hand.person] |= hand.frames
        people, _ = results.hands.people_of_take(shot, take)
        assert {person: own.frames for own in people for person in own.people} == by_hand
        some = Frames.of((3, 9), (12, 30))
        inside, _ = results.hands.people_of_take(shot, take, some)
        assert {person: own.frames for own in inside for person in own.people} == {
            person: frames & some for person, frames in by_hand.items() if frames & some
        }


@FEWER
@given(log=productions())
def test_ways_into_a_take_are_those_of_its_hands(log: WrittenLog) -> None:
    results = Snapshot(replay(log))
    some = Frames.of((3, 9), (12, 30))
    for (shot, take), inside in itertools.product(results.runs, (None, some)):
        by_hand: defaultdict[tuple[Via | None, str, str], Frames] = defaultdict(Frames)
        for hand in results.hands.of_take(shot, take):
            thing = hand.puppet or hand.part or hand.character
            for way in ((hand.via, thing), (hand.via, ""), (None, hand.character)):
                by_hand[(*way, hand.person)] |= (
                    hand.frames if inside is None else hand.frames & some
                )
        _, ways = results.hands.people_of_take(shot, take, inside)
        found = [
            ((via, thing, person), frames)
            for via, thing, people, frames in ways
            for person in people
        ]
        assert len(found) == len(dict(found))
        assert dict(found) == {way: frames for way, frames in by_hand.items() if frames}


@given(days=st.lists(st.integers(1, 5)))
def test_a_day_takes_in_what_is_dated_on_it(days: list[int]) -> None:
    frames = FramesByDay()
    for place, day in enumerate(days):
        frames.add(date(2026, 3, day), 1 << place)
    for since in range(1, 7):
        wanted = sum(1 << place for place, day in enumerate(days) if day >= since)
        assert frames.since(date(2026, 3, since)) == wanted


@FEWER
@given(log=productions())
def test_who_animated_has_hands_in_the_frames_themselves(log: WrittenLog) -> None:
    results = Snapshot(replay(log))
    found: dict[tuple[str, ...], Frames] = {}
    for (shot, take), own in results.runs.items():
        for each in animated_in(results.ledger, own):
            found[each.person, shot, str(take), each.craft, each.character] = each.frames
    by_hand = {
        (hand.person, shot, str(take), hand.craft, hand.character): hand.frames
        for shot, take in results.runs
        for hand in results.hands.of_take(shot, take)
        if hand.via is Via.FRAME
    }
    assert found == by_hand


@FEWER
@given(log=productions())
def test_hands_by_craft_are_the_hands_of_a_take(log: WrittenLog) -> None:
    results = Snapshot(replay(log))
    for shot, take in results.runs:
        by_craft = [
            (*work[:4], work.frames, person)
            for work in results.hands.crafts_of_take(shot, take)
            for person in work.people
        ]
        assert sorted(by_craft, key=repr) == sorted(
            (
                (h.character, h.craft, h.via, h.puppet or h.part or "", h.frames, h.person)
                for h in results.hands.of_take(shot, take)
            ),
            key=repr,
        )
