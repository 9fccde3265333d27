"""The law of single entries: what is looked up for them is what the whole log says."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from credits.app.work.entries import doubts, effect
from credits.app.work.opened import EntryLog, LogNow
from credits.model.facts import EntryNumber
from credits.model.grown import ledger_with, replay_on, turned
from credits.model.ledger import Ledger
from credits.model.lines import HeldLines, index_of
from credits.model.log import Batch, LogLine, NewLine, Verb, WrittenLog
from credits.model.replay import Implied, replay
from credits.store.log import open_log
from tests.drawn import drawn
from tests.laws.strategies import CRAFTS, PRODUCTION, cast, productions, stages_and_shots, works
from tests.laws.test_kept_laws import BRIEF, empty_production, new_lines, new_rows, written

LATER = datetime(2026, 3, 9, tzinfo=UTC)


@settings(max_examples=drawn(300), deadline=None)
@given(log=productions(), known=st.integers(0, 30))
def test_a_ledger_carried_on_with_any_lines_is_the_one_made_at_once(
    log: WrittenLog, known: int
) -> None:
    before = replace(log, lines=log.lines[:known])
    carried, at_once = replay_on(replay(before), before, log), replay(log)
    assert carried == at_once
    for each in fields(Ledger):
        theirs = getattr(at_once, each.name)
        if isinstance(theirs, dict):
            assert list(getattr(carried, each.name)) == list(theirs), each.name


def assert_lines_are_found(now: LogNow, log: WrittenLog, origin: str) -> None:
    """Every look-up of lines, in the log on disk, gives what the whole log in memory gives."""
    kept, held = index_of(now.written.lines), HeldLines(tuple(log.lines))
    implied = Implied(log)
    for line in log.lines:
        assert kept.entry(line.number) == held.entry(line.number)
        assert kept.line(line.number) == line
        assert kept.record(line.number) == held.record(line.number)
        if line.work is not None:
            # Each may find more than the other; of the same work both find the same.
            ours, theirs = (
                [
                    each.number
                    for each in index.on_the_same(line.work, implied)
                    if each.work == line.work
                ]
                for index in (kept, held)
            )
            assert ours == theirs
    assert kept.entry(EntryNumber(origin, 999)) == held.entry(EntryNumber(origin, 999)) == ()
    for ref in {line.ref for line in log.lines if line.ref} | {"nothing"}:
        assert kept.with_ref(ref) == held.with_ref(ref)
    assert kept.last_entry(origin) == held.last_entry(origin)
    assert kept.last_number(origin) == held.last_number(origin)
    standing = replay(log).entries
    for some in ((), {entry.first for entry in standing}, {entry.first for entry in standing[-2:]}):
        assert kept.last_day_but(some) == held.last_day_but(some)


def assert_ledgers_say_the_same(now: LogNow, log: WrittenLog, new: Sequence[LogLine]) -> None:
    """The ledger that looks entries up, with new lines or without, is that of the whole log."""
    at_once = replay(replace(log, lines=(*log.lines, *new)))
    turn = turned(now.written, new)
    ledger, in_brief = (ledger_with(own, now.written, turn) for own in (now.ledger, now.in_brief))
    for entry in at_once.entries:
        assert effect(in_brief, entry) == effect(at_once, entry)
        assert doubts(ledger, entry) == doubts(at_once, entry)
    for each in fields(Ledger):
        ours, theirs = getattr(ledger, each.name), getattr(at_once, each.name)
        if each.name == "brief":
            ours, theirs = ([said(entry) for entry in own] for own in (ours, theirs))
        assert ours == theirs, each.name
    assert [said(entry) for entry in in_brief.entries] == [said(e) for e in at_once.entries]


def said(entry: Any) -> tuple[Any, ...]:
    """What an entry says, in brief."""
    return tuple(getattr(entry, name) for name in BRIEF)


@settings(max_examples=drawn(120), deadline=None)
@given(data=st.data())
def test_what_an_entry_looks_up_is_what_the_whole_log_says(data: st.DataObject) -> None:
    bare = WrittenLog(
        production=PRODUCTION,
        crafts=CRAFTS,
        **data.draw(cast()),
        **data.draw(stages_and_shots()),
    )
    # Here they may become one later: a log has nobody who is the same as themselves.
    people = tuple(replace(person, same_as=None) for person in bare.people)
    bare = replace(bare, people=people)
    fittings = tuple(f for f in bare.fittings if f.to_on is None or f.from_on <= f.to_on)
    tables = {
        each.name: getattr(bare, each.name) for each in fields(Batch) if hasattr(bare, each.name)
    }
    tables |= {"lines": (), "cut": None, "engagements": (), "fittings": fittings}
    steps = st.one_of(new_lines(bare), new_lines(bare), new_rows(bare))
    with empty_production() as folder:
        written(lambda *_: Batch(**tables))(folder)
        for step in data.draw(st.lists(steps, min_size=1, max_size=4)):
            step(folder)
        assert_looked_up_is_right(folder, data.draw(unwritten(bare)))


@st.composite
def unwritten(draw: st.DrawFn, log: WrittenLog) -> list[tuple[Verb, Any, int]]:
    """Lines that might be written next: what they do, the work, and which line they correct."""
    verbs = draw(st.lists(st.sampled_from(list(Verb)), max_size=3))
    return [(verb, draw(works(log)), draw(st.integers(0, 30))) for verb in verbs]


def assert_looked_up_is_right(folder: Path, drawn_lines: list[tuple[Verb, Any, int]]) -> None:
    """Look everything up in a production, as it is and with lines that are not written."""
    with open_log(folder) as opened:
        log, origin = opened.read(), opened.origin
        now = EntryLog(opened).now()
        assert_lines_are_found(now, log, origin)
        assert_ledgers_say_the_same(now, log, ())
        there = [line.number for line in log.lines if line.verb is not Verb.VOID]
        last = max((line.number.number for line in log.lines), default=0)
        new = []
        for at, (verb, work, which) in enumerate(drawn_lines, 1):
            if verb is not Verb.RECORD and not there:
                continue
            line = NewLine(
                verb=verb,
                work=None if verb is Verb.VOID else work,
                corrects=None if verb is Verb.RECORD else there[which % len(there)],
            )
            new.append(line.written(EntryNumber(origin, last + at), LATER))
        assert_ledgers_say_the_same(now, log, new)
