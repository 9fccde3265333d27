"""A law of credits that are compiled as if some of the log had not been written: they are those of
a log in which it is not written."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from credits.billing.compared.edits import edits_between
from credits.figures.snapshot import Snapshot
from credits.figures.varied import Varied
from credits.formats.plan.read import read_plan_text
from credits.model.facts import CreditWish, EntryNumber
from credits.model.lines import index_of
from credits.model.log import LogLine, WrittenLog
from credits.model.replay import replay
from tests.drawn import drawn
from tests.laws.strategies import cuts, productions
from tests.small_log import small_log

PLAN = """
    [[section]]
    heading = "Lead animators"
    crafts = ["animation", "hand-animation"]
    at_least = "10 frames on screen"
    below = "Animators"
    order = "footage"

    [[section]]
    heading = "Animators"

    [[section]]
    heading = "On the first stage"
    crafts = ["animation", "voice", "sculpt", "rigging"]
    stages = ["S1"]
    role = "craft"

    [[section]]
    heading = "Voices"
    cast = ["voice", "singing"]
    order = "appearance"

    [[section]]
    heading = "Everybody on {character}"
    performances = "all"
"""


def without(log: WrittenLog, gone: frozenset[EntryNumber]) -> WrittenLog:
    """The log without some lines, and without what corrects these."""
    out, left = set(gone), list[LogLine]()
    for line in log.lines:
        if line.number in out or line.corrects in out:
            out.add(line.number)
        else:
            left.append(line)
    return replace(log, lines=tuple(left))


@settings(max_examples=drawn(120), deadline=None)
@given(log=productions(), data=st.data())
def test_credits_without_some_of_the_log_are_those_of_a_log_without_it(
    log: WrittenLog, data: st.DataObject
) -> None:
    numbers = [line.number for line in log.lines]
    gone = frozenset(data.draw(st.lists(st.sampled_from(numbers), unique=True)) if numbers else ())
    other = log
    if data.draw(st.booleans()):
        other = replace(
            other,
            people=tuple(
                replace(
                    person,
                    same_as=data.draw(st.sampled_from((None, person.same_as))),
                    wish=data.draw(st.sampled_from(CreditWish)),
                )
                for person in other.people
            ),
            engagements=other.engagements[1:],
            takes=other.takes[1:],
            shots=tuple(replace(shot, length=shot.length + 2) for shot in other.shots),
        )
    if data.draw(st.booleans()):
        cut = data.draw(st.none() | cuts(log.shots))
        other = replace(other, cut=None if cut is None else replace(cut, version=5))
    base = Snapshot(replay(log))
    varied = Varied(base, replace(log, lines=()), index_of(log.lines).entry)
    by_plan = data.draw(st.booleans())
    ledger = replay(without(other, gone))
    plan = read_plan_text(PLAN, ledger) if by_plan else None
    expected = Snapshot(ledger, plan).credits
    found = varied.credits(replace(other, lines=()), gone, plan)
    assert edits_between(expected, found) == ()
    assert [held.because for held in found.held] == [held.because for held in expected.held]
    assert [line.because for _, line in found.lines] == [line.because for _, line in expected.lines]


def test_without_an_amendment_the_work_is_on_the_stage_that_was_said_before() -> None:
    log = small_log("""
        [people]
        person
        ana
        [characters]
        character
        wick
        [stages]
        stage
        S1
        [entries]
        craft, person, character, stage
        sculpt, ana, wick, S1
        [lines]
        verb, corrects, craft, person, character, stage
        amend, A-1, sculpt, ana, wick,
    """)
    ledger = replay(log)
    plan = read_plan_text(
        '[[section]]\nheading = "On S1"\ncrafts = ["sculpt"]\nstages = ["S1"]', ledger
    )
    varied = Varied(Snapshot(ledger), replace(log, lines=()), index_of(log.lines).entry)
    as_it_is = varied.credits(replace(log, lines=()), (), plan)
    assert [section.heading for section in as_it_is.sections] == []
    before = varied.credits(replace(log, lines=()), (EntryNumber("A", 2),), plan)
    assert [section.heading for section in before.sections] == ["On S1"]


def test_where_two_codes_are_two_people_each_has_the_own_work() -> None:
    log = small_log("""
        [people]
        person, credit_name, same_as
        ana, Ana
        ann, Ann, ana
        [characters]
        character
        wick
        [entries]
        craft, person, character
        sculpt, ana, wick
        sculpt, ann, wick
    """)
    varied = Varied(Snapshot(replay(log)), replace(log, lines=()), index_of(log.lines).entry)
    apart = replace(log, people=tuple(replace(each, same_as=None) for each in log.people))
    for tables, names in ((log, ["Ana"]), (apart, ["Ana", "Ann"])):
        found = varied.credits(replace(tables, lines=()), (), None)
        assert [line.name for _, line in found.lines] == names
