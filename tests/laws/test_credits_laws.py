"""Laws of the end credits: nobody left out, nobody twice under one heading, whatever the plan."""

from __future__ import annotations

from collections import Counter

from hypothesis import given, settings
from hypothesis import strategies as st

from credits.compute.credit_plan import (
    CreditPlan,
    Order,
    PlannedSection,
    RoleShown,
    alike,
)
from credits.compute.credits import Credits, people_owed
from credits.compute.results import credits_of, footage_of
from credits.ledger.facts import CreditWish
from credits.ledger.ledger import Ledger
from credits.ledger.replay import replay
from credits.ledger.written import WrittenLog
from tests.laws.frame_by_frame import entries_that_count, same_person
from tests.laws.strategies import CRAFTS, HEADINGS, productions

BIG = settings(max_examples=60, deadline=None)

crafts = st.lists(st.sampled_from([craft.code for craft in CRAFTS]), max_size=6, unique=True)
departments = st.lists(st.sampled_from(["animation", "art", "production"]), max_size=2)
guaranteed = st.lists(
    st.sampled_from([alike(heading) for heading in HEADINGS if heading]), max_size=2
)
plans = st.builds(
    CreditPlan,
    name=st.just("a plan"),
    sections=st.lists(
        st.builds(
            PlannedSection,
            heading=st.sampled_from(["Animators", "With", "Puppets"]),
            crafts=crafts.map(tuple),
            departments=departments.map(tuple),
            guaranteed=guaranteed.map(tuple),
            role=st.sampled_from(RoleShown),
            order=st.sampled_from(Order),
        ),
        max_size=5,
    ).map(tuple),
)


def compiled(ledger: Ledger, plan: CreditPlan | None = None) -> Credits:
    return credits_of(ledger, *footage_of(ledger), plan)


def owed(log: WrittenLog) -> set[str]:
    """Everybody with a current entry or an engagement, found from the log as written."""
    return {entry.person for entry in entries_that_count(log)} | {
        same_person(log, job.person) for job in log.engagements
    }


def assert_nobody_is_left_out(log: WrittenLog, credits: Credits) -> None:
    printed = {line.person for section in credits.sections for line in section.lines}
    held = [held.person for held in credits.held]
    assert printed | set(held) == owed(log)
    assert printed.isdisjoint(held)
    assert len(held) == len(set(held))
    for section in credits.sections:
        assert section.lines
        assert max(Counter(line.person for line in section.lines).values()) == 1


@BIG
@given(log=productions())
def test_by_the_built_in_plan_nobody_is_left_out(log: WrittenLog) -> None:
    ledger = replay(log)
    assert set(people_owed(ledger)) == owed(log)
    credits = compiled(ledger)
    assert_nobody_is_left_out(log, credits)
    # The built-in plan takes everybody: only a wish of their own holds anybody.
    assert {held.reason for held in credits.held} <= {"asked to be uncredited"}


@BIG
@given(log=productions(), plan=plans)
def test_by_any_plan_nobody_is_left_out(log: WrittenLog, plan: CreditPlan) -> None:
    ledger = replay(log)
    credits = compiled(ledger, plan)
    assert_nobody_is_left_out(log, credits)
    counting = {entry.number: entry.person for entry in ledger.entries}
    for section in credits.sections:
        for line in section.lines:
            # Who asks to be uncredited is never printed, and every line has something behind it.
            assert ledger.people[line.person].wish is CreditWish.CREDITED
            assert {counting[number] for number in line.because.entries} <= {line.person}
            assert line.because.rule
            assert line.because.entries or ledger.engagements.get(line.person)
