"""Laws of the log: what is taken back was never said, and only what is related has an order (3.2)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from credits.compute.results import Results, compute
from credits.frames import Frames
from credits.ledger.facts import EntryNumber
from credits.ledger.replay import replay
from credits.ledger.written import Verb, Written, WrittenLog
from tests.laws.frame_by_frame import entries_that_count
from tests.laws.strategies import EARLIEST, log_lines, productions, works

BIG = settings(max_examples=100, deadline=None)


def figures(results: Results) -> tuple[object, ...]:
    """Everything that is computed of footage, hands, reach and credits, without entry numbers."""
    footage = results.footage.by(lambda c: (c.person, c.shot, c.take, c.character, c.day))
    spreads = {
        take: [
            (s.person, s.craft, s.character, s.via, s.puppet, s.part, s.frames)
            for s in results.spread_of(*take)
        ]
        for take in results.runs
    }
    printed = [
        (section.heading, line.name, line.role)
        for section in results.credits.sections
        for line in section.lines
    ]
    held = [(held.person, held.reason) for held in results.credits.held]
    return footage, spreads, dict(results.reach), results.first_seen, printed, held


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


def record_of(log: WrittenLog, line: Written) -> EntryNumber:
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


@BIG
@given(log=productions(), data=st.data())
def test_the_order_in_which_lines_are_read_is_no_matter(
    log: WrittenLog, data: st.DataObject
) -> None:
    shuffled = tuple(data.draw(st.permutations(log.lines)))
    assert replay(replace(log, lines=shuffled)) == replay(log)


@BIG
@given(log=productions(), data=st.data())
def test_unrelated_entries_may_be_written_in_any_order(
    log: WrittenLog, data: st.DataObject
) -> None:
    owners = [record_of(log, line) for line in log.lines]
    turns = data.draw(st.permutations(owners))
    waiting = {
        owner: [line for line in sorted(log.lines, key=lambda line: line.number)]
        for owner in owners
    }
    for owner, lines in waiting.items():
        waiting[owner] = [line for line in lines if record_of(log, line) == owner]
    numbers = {
        waiting[owner].pop(0).number: EntryNumber("A", place)
        for place, owner in enumerate(turns, 1)
    }
    other = renumbered(log, numbers)
    assert figures(compute(replay(other))) == figures(compute(replay(log)))


@BIG
@given(log=productions(), data=st.data())
def test_amend_and_void_is_as_if_it_had_never_been_said(
    log: WrittenLog, data: st.DataObject
) -> None:
    number = len(log.lines) + 1
    said = Written(EntryNumber("A", number), Verb.RECORD, EARLIEST, data.draw(works(log)))
    lines = [said]
    for _ in range(data.draw(st.integers(0, 3))):
        number += 1
        later = EARLIEST + timedelta(minutes=number)
        amended = EntryNumber("A", number)
        work = data.draw(works(log))
        lines.append(Written(amended, Verb.AMEND, later, work, corrects=lines[-1].number))
    taken_back = data.draw(st.sampled_from(lines)).number
    lines.append(
        Written(EntryNumber("A", number + 1), Verb.VOID, EARLIEST, corrects=taken_back, why="no")
    )
    after = replay(replace(log, lines=(*log.lines, *lines)))
    before = replay(log)
    assert after.entries == before.entries
    assert figures(compute(after)) == figures(compute(before))


@BIG
@given(log=productions(), data=st.data())
def test_an_amendment_says_what_a_record_of_the_same_would_have_said(
    log: WrittenLog, data: st.DataObject
) -> None:
    first, second = EntryNumber("A", len(log.lines) + 1), EntryNumber("A", len(log.lines) + 2)
    work, better = data.draw(works(log)), data.draw(works(log))
    amended = (
        Written(first, Verb.RECORD, EARLIEST, work),
        Written(second, Verb.AMEND, EARLIEST, better, corrects=first),
    )
    at_once = (Written(first, Verb.RECORD, EARLIEST, better),)
    after = replay(replace(log, lines=(*log.lines, *amended)))
    assert figures(compute(after)) == figures(
        compute(replay(replace(log, lines=(*log.lines, *at_once))))
    )


@BIG
@given(log=productions(), data=st.data())
def test_a_record_more_takes_nothing_from_the_current_view(
    log: WrittenLog, data: st.DataObject
) -> None:
    more = data.draw(log_lines(log))
    own = tuple(line for line in more if line.verb is Verb.RECORD)
    numbers = {
        line.number: EntryNumber("C", place) for place, line in enumerate(own, 1)
    }
    added = renumbered(replace(log, lines=own), numbers).lines
    before, after = replay(log), replay(replace(log, lines=(*log.lines, *added)))
    assert set(before.entries) <= set(after.entries)
    assert len(after.entries) == len(before.entries) + len(added)
