"""Laws of the end credits: nobody left out, nobody twice in one place, whatever the plan."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from credits.billing.compile import people_owed
from credits.billing.credits import Credits, Outcome
from credits.billing.plan import CreditPlan, Once, Order, PlannedSection, RoleShown
from credits.billing.reasons import ReasonKind, in_words
from credits.billing.thresholds import Threshold, ThresholdUnit
from credits.footage.footage import MEASURES
from credits.model.facts import CreditWish
from credits.model.ledger import Ledger
from credits.model.log import WrittenLog
from credits.model.replay import replay
from credits.text import fold_words
from tests.computed import credits_of, footage_of
from tests.drawn import drawn
from tests.laws.frame_by_frame import entries_that_count, same_person
from tests.laws.strategies import CHARACTERS, CRAFTS, HEADINGS, PEOPLE, productions

BIG = settings(max_examples=drawn(30), deadline=None)


def some(*words: str) -> st.SearchStrategy[tuple[str, ...]]:
    """A few of the words, mostly none: sections that ask for much find nobody."""
    few = st.lists(st.sampled_from(words), min_size=1, max_size=4, unique=True).map(tuple)
    return st.one_of(st.just(()), few)


codes = [craft.code for craft in CRAFTS]
thresholds = st.builds(
    Threshold,
    least=st.sampled_from([Fraction(0), Fraction(1, 3), Fraction(1), Fraction(4), Fraction(50)]),
    unit=st.sampled_from(ThresholdUnit),
    measure=st.sampled_from(MEASURES),
    by_character=st.booleans(),
)
headings = st.sampled_from(["Animators", "With", "Puppets", "Additional", "lead animators"])
common = {
    "heading": headings,
    "role": st.sampled_from(RoleShown),
    "order": st.sampled_from(Order),
    "characters": some(*CHARACTERS),
    "at_least": st.none() | thresholds,
    "below": st.sampled_from([None, "Held over", "Puppets", "Additional", "With", "Others"]),
    "by_hand": some(*PEOPLE),
    "once": st.sampled_from([None, None, Once.SECTION, Once.ALL]),
}
plain = st.builds(
    PlannedSection,
    **common,
    crafts=some(*codes),
    departments=some("animation", "art", "production"),
    job_titles=some("animator", "runner"),
    guaranteed=some(*(fold_words(heading) for heading in HEADINGS if heading)),
    people=some(*PEOPLE),
)
cast_lists = st.builds(PlannedSection, **common, cast=some("voice", "animation", "rigging"))
blocks = st.builds(
    PlannedSection,
    heading=st.sampled_from(["{character}", "The part of {character}", "Performances"]),
    performances=some(*CHARACTERS),
    every_performance=st.booleans(),
    crafts=some(*codes),
)
by_contract = st.just(PlannedSection(heading="", every_guaranteed=True, order=Order.CONTRACT))
thanks = st.just(PlannedSection(heading="Thanks", text="To *everybody*."))
plans = st.builds(
    CreditPlan,
    name=st.just("a plan"),
    sections=st.lists(
        st.one_of(plain, plain, plain, cast_lists, blocks, by_contract, thanks), max_size=6
    ).map(tuple),
    once=st.sampled_from(Once),
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
    assert owed(log) <= printed | set(held)
    assert set(held) <= owed(log)
    assert printed.isdisjoint(held)
    assert len(held) == len(set(held))
    for section in credits.sections:
        assert section.lines or section.text
        places = Counter((line.person, line.role, *line.characters) for line in section.lines)
        assert set(places.values()) <= {1}


@BIG
@given(log=productions())
def test_by_the_built_in_plan_nobody_is_left_out(log: WrittenLog) -> None:
    ledger = replay(log)
    assert set(people_owed(ledger)) == owed(log)
    credits = compiled(ledger)
    assert_nobody_is_left_out(log, credits)
    # The built-in plan takes everybody: only a wish of their own holds anybody.
    assert {held.person for held in credits.held} == {
        person for person in owed(log) if ledger.people[person].wish is CreditWish.UNCREDITED
    }
    spelled = [fold_words(section.heading) for section in credits.sections]
    assert len(spelled) == len(set(spelled))
    for section in credits.sections:
        assert set(Counter(line.person for line in section.lines).values()) == {1}


@BIG
@given(log=productions(), plan=plans)
def test_by_any_plan_nobody_is_left_out(log: WrittenLog, plan: CreditPlan) -> None:
    ledger = replay(log)
    credits = compiled(ledger, plan)
    assert_nobody_is_left_out(log, credits)
    wishes = {person: ledger.people[person].wish for person in owed(log)}
    uncredited = {p for p, wish in wishes.items() if wish is CreditWish.UNCREDITED}
    assert uncredited <= {held.person for held in credits.held}
    counting = {entry.number: entry.person for entry in ledger.entries}
    for section in credits.sections:
        for line in section.lines:
            # Every line has a reason, and only the person's own entries behind it.
            assert in_words(line.because).rule
            assert {counting[number] for number in in_words(line.because).entries} <= {line.person}


@BIG
@given(log=productions(), plan=plans)
def test_a_contract_outweighs_any_plan(log: WrittenLog, plan: CreditPlan) -> None:
    ledger = replay(log)
    credits = compiled(ledger, plan)
    bound = {
        line.person
        for section in credits.sections
        for line in section.lines
        if any(reason.kind is ReasonKind.CONTRACT for reason in line.because)
    }
    assert bound == {
        person
        for person, jobs in ledger.engagements.items()
        if any(job.guaranteed_heading for job in jobs)
        and ledger.people[person].wish is CreditWish.CREDITED
    }


@BIG
@given(log=productions(), plan=plans)
def test_whoever_was_considered_was_decided_of(log: WrittenLog, plan: CreditPlan) -> None:
    credits = compiled(replay(log), plan)
    headings = {
        person: {fold_words(section.heading) for section, _ in credits.of(person).lines}
        for person in PEOPLE
    }
    for one in credits.considered:
        if one.outcome is Outcome.PRINTED:
            assert fold_words(one.heading) in headings[one.person]
        if one.outcome is Outcome.ELSEWHERE:
            assert one.to is not None
            assert fold_words(one.to) in headings[one.person]
        if one.outcome is Outcome.BELOW:
            assert one.reached is not None
            assert not one.reached.enough
    ends = [one for one in credits.considered if one.is_held]
    held = {held.person for held in (*credits.held, *credits.held_lines)}
    assert {one.person for one in ends} <= held


@BIG
@given(log=productions(), plan=plans)
def test_once_in_all_names_a_person_under_one_heading(log: WrittenLog, plan: CreditPlan) -> None:
    ledger = replay(log)
    sections = tuple(section for section in plan.sections if section.once is not Once.SECTION)
    credits = compiled(ledger, CreditPlan(plan.name, sections, Once.ALL))
    for person in owed(log):
        if not any(job.guaranteed_heading for job in ledger.engagements.get(person, ())):
            assert len(credits.of(person).sections) <= 1
