"""Laws of the log: what is taken back was never said; unrelated lines have no order."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from credits.footage.cut import kept_frames, order_of_appearance
from credits.hands.hands import Hands
from credits.hands.reach import reach
from credits.model.facts import EntryNumber
from credits.model.ledger import Ledger
from credits.model.log import LogLine, Verb, WrittenLog
from credits.model.replay import replay
from credits.units.frames import Frames
from tests.computed import credits_of, footage_of
from tests.drawn import drawn
from tests.laws.frame_by_frame import entries_that_count
from tests.laws.strategies import EARLIEST, productions, works

BIG = settings(max_examples=drawn(60), deadline=None)
FEWER = settings(max_examples=drawn(30), deadline=None)


def figures(ledger: Ledger) -> tuple[object, ...]:
    """Everything that is computed of footage, hands, reach and credits, without entry numbers."""
    runs, use, footage = footage_of(ledger)
    hands_of = Hands(ledger, runs)
    hands = [
        (take, s.person, s.craft, s.character, s.via, s.puppet, s.part, s.frames)
        for take in runs
        for s in hands_of.of_take(*take)
    ]
    credits = credits_of(ledger, runs, use, footage)
    printed = [
        (section.heading, line.name, line.role)
        for section in credits.sections
        for line in section.lines
    ]
    return (
        footage.by(lambda c: (c.person, c.shot, c.take, c.character, c.day)),
        hands,
        reach(ledger, runs, use, hands_of)[0],
        order_of_appearance(use, kept_frames(runs)),
        printed,
        [(held.person, held.reason) for held in credits.held],
    )


def renumbered(log: WrittenLog, numbers: Mapping[EntryNumber, EntryNumber]) -> WrittenLog:
    lines = tuple(
        replace(
            line,
            number=numbers[line.number],
            corrects=None if line.corrects is None else numbers[line.corrects],
        )
        for line in log.lines
    )
    return replace(log, lines=lines)


def record_of(log: WrittenLog, line: LogLine) -> EntryNumber:
    by_number = {other.number: other for other in log.lines}
    while line.corrects is not None:
        line = by_number[line.corrects]
    return line.number


@BIG
@given(log=productions())
def test_the_current_view_is_what_following_each_line_by_itself_gives(log: WrittenLog) -> None:
    ours = {
        entry.number: (
            entry.person,
            entry.craft,
            entry.character,
            entry.puppet,
            entry.take,
            entry.frames or Frames(),
            entry.day,
        )
        for entry in replay(log).entries
    }
    assert ours == {
        said.line.number: (
            said.person,
            said.craft.code,
            said.character,
            said.puppet,
            said.take,
            Frames.of(*((frame, frame + 1) for frame in said.frames)),
            said.line.work.day if said.line.work else None,
        )
        for said in entries_that_count(log)
    }


@FEWER
@given(log=productions(), data=st.data())
def test_the_order_in_which_lines_are_read_is_no_matter(
    log: WrittenLog, data: st.DataObject
) -> None:
    shuffled = tuple(data.draw(st.permutations(log.lines)))
    assert replay(replace(log, lines=shuffled)) == replay(log)


@FEWER
@given(log=productions(), data=st.data())
def test_unrelated_entries_may_be_written_in_any_order(
    log: WrittenLog, data: st.DataObject
) -> None:
    owners = [record_of(log, line) for line in log.lines]
    turns = data.draw(st.permutations(owners))
    in_turn = sorted(log.lines, key=lambda line: line.number)
    waiting = {
        owner: [line for line in in_turn if record_of(log, line) == owner] for owner in owners
    }
    numbers = {
        waiting[owner].pop(0).number: EntryNumber("A", place)
        for place, owner in enumerate(turns, 1)
    }
    other = renumbered(log, numbers)
    assert figures(replay(other)) == figures(replay(log))


@FEWER
@given(log=productions(), data=st.data())
def test_amend_and_void_is_as_if_it_had_never_been_said(
    log: WrittenLog, data: st.DataObject
) -> None:
    number = len(log.lines) + 1
    said = LogLine(
        number=EntryNumber("A", number),
        verb=Verb.RECORD,
        logged_at=EARLIEST,
        work=data.draw(works(log)),
    )
    lines = [said]
    for _ in range(data.draw(st.integers(0, 3))):
        number += 1
        later = EARLIEST + timedelta(minutes=number)
        amended = EntryNumber("A", number)
        work = data.draw(works(log))
        lines.append(
            LogLine(
                number=amended,
                verb=Verb.AMEND,
                logged_at=later,
                work=work,
                corrects=lines[-1].number,
            )
        )
    taken_back = data.draw(st.sampled_from(lines)).number
    lines.append(
        LogLine(
            number=EntryNumber("A", number + 1),
            verb=Verb.VOID,
            logged_at=EARLIEST,
            corrects=taken_back,
            why="no",
        )
    )
    after = replay(replace(log, lines=(*log.lines, *lines)))
    before = replay(log)
    assert after.entries == before.entries
    assert figures(after) == figures(before)


@FEWER
@given(log=productions(), data=st.data())
def test_an_amendment_says_what_a_record_of_the_same_would_have_said(
    log: WrittenLog, data: st.DataObject
) -> None:
    first, second = EntryNumber("A", len(log.lines) + 1), EntryNumber("A", len(log.lines) + 2)
    work, better = data.draw(works(log)), data.draw(works(log))
    amended = (
        LogLine(number=first, verb=Verb.RECORD, logged_at=EARLIEST, work=work),
        LogLine(number=second, verb=Verb.AMEND, logged_at=EARLIEST, work=better, corrects=first),
    )
    at_once = (LogLine(number=first, verb=Verb.RECORD, logged_at=EARLIEST, work=better),)
    after = replay(replace(log, lines=(*log.lines, *amended)))
    assert figures(after) == figures(replay(replace(log, lines=(*log.lines, *at_once))))
