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
    built_in_plan,
)
from credits.compute.credits import Credits, people_owed
from credits.compute.results import credits_of, footage_of
from credits.ledger.facts import CreditWish
from credits.ledger.ledger import Ledger
from credits.ledger.replay import replay
from credits.ledger.written import WrittenLog
from credits.names import sort_key
from tests.laws.frame_by_frame import entries_that_count, same_person
from tests.laws.strategies import CRAFTS, HEADINGS, productions

BIG = settings(max_examples=100, deadline=None)

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
    assert_nobody_is_left_out(log, compiled(replay(log), plan))


@BIG
@given(log=productions(), plan=plans)
def test_who_asks_to_be_uncredited_is_held_and_never_printed(
    log: WrittenLog, plan: CreditPlan
) -> None:
    ledger = replay(log)
    for own in (plan, built_in_plan(ledger)):
        credits = compiled(ledger, own)
        held = {held.person for held in credits.held}
        for person in owed(log):
            if ledger.people[person].wish is CreditWish.UNCREDITED:
                assert person in held
                assert not credits.lines_of(person)


@BIG
@given(log=productions(), plan=plans)
def test_every_line_has_a_reason_with_entries_or_engagements_behind_it(
    log: WrittenLog, plan: CreditPlan
) -> None:
    ledger = replay(log)
    for own in (plan, built_in_plan(ledger)):
        credits = compiled(ledger, own)
        counting = {entry.number: entry.person for entry in ledger.entries}
        for section in credits.sections:
            for line in section.lines:
                assert line.because.rule
                assert {counting[number] for number in line.because.entries} <= {line.person}
                assert line.because.entries or ledger.engagements.get(line.person)


@BIG
@given(log=productions())
def test_by_name_means_by_sort_name(log: WrittenLog) -> None:
    ledger = replay(log)
    plan = CreditPlan("by name", (PlannedSection("All", crafts=tuple(ledger.crafts)),))
    for section in compiled(ledger, plan).sections:
        names = [sort_key(ledger.people[line.person].files_under) for line in section.lines]
        assert names == sorted(names)
