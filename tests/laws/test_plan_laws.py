"""Laws of credit plans: nobody is left out, nobody is named too often, whatever the plan says."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from datetime import date
from fractions import Fraction
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from credits.billing.credits import Credits, Line, Outcome
from credits.billing.plan import (
    LEVELS,
    CreditPlan,
    Layout,
    LinePlace,
    NamedKind,
    NameRule,
    Once,
    Order,
    OwnLine,
    Picture,
    PlannedSection,
    RoleShown,
    Size,
    built_in_plan,
    sections_in_full,
)
from credits.billing.reasons import ReasonKind, in_words
from credits.billing.thresholds import Threshold, ThresholdUnit
from credits.footage.footage import MEASURES
from credits.formats.plan.read import read_plan_text
from credits.formats.plan.write import first_plan, plan_text
from credits.model.facts import CreditWish
from credits.model.ledger import Ledger
from credits.model.log import WrittenLog
from credits.model.replay import replay
from credits.text import fold_words
from tests.computed import credits_of, footage_of
from tests.drawn import drawn
from tests.laws.frame_by_frame import entries_that_count, same_person
from tests.laws.strategies import CHARACTERS, CRAFTS, HEADINGS, PEOPLE, STAGES, productions

MANY = settings(max_examples=drawn(100), deadline=None)
CALLED = ("Animators", "With", "Lead animators", "Additional animation", "Nobody asks here")

# Half of all sections are of animation, which is half of all work: people are below something.
crafts = st.just(["animation"]) | st.lists(
    st.sampled_from([craft.code for craft in CRAFTS]), max_size=4, unique=True
)
characters = st.lists(st.sampled_from(CHARACTERS), max_size=2, unique=True).map(tuple)
people = st.lists(st.sampled_from(PEOPLE), max_size=2, unique=True).map(tuple)
thresholds = st.one_of(
    st.none(),
    st.builds(
        Threshold,
        least=st.sampled_from([Fraction(1, 3), Fraction(1), Fraction(5), Fraction(20)]),
        unit=st.sampled_from([ThresholdUnit.SECONDS, ThresholdUnit.FRAMES, ThresholdUnit.FEET]),
        measure=st.sampled_from(MEASURES),
        by_character=st.booleans(),
    ),
    st.builds(
        Threshold,
        least=st.sampled_from([Fraction(1), Fraction(2), Fraction(50)]),
        unit=st.sampled_from(
            [
                ThresholdUnit.STAGE_DAYS,
                ThresholdUnit.DAYS,
                ThresholdUnit.ENTRIES,
                ThresholdUnit.PERCENT,
            ]
        ),
    ),
)
own_lines = st.lists(
    st.builds(
        OwnLine,
        name=st.sampled_from(["Nether Hum Bakery", "A song\nabout snails", '"<script>"']),
        named=st.sampled_from(NamedKind),
        role=st.sampled_from(["", "Catering"]),
        note=st.sampled_from(["", "with love"]),
        files_under=st.sampled_from(["", "Bakery"]),
        confirmed_on=st.sampled_from([None, date(2026, 3, 4)]),
    )
    | st.builds(OwnLine, name=st.just("A snail"), after=st.sampled_from(PEOPLE))
    | st.builds(OwnLine, name=st.just("Last of all"), place=st.sampled_from(LinePlace)),
    max_size=2,
).map(tuple)
pictures = st.sampled_from([(), (Picture(file="fund.svg", shows="The mark", lines=3),)])
looks: dict[str, st.SearchStrategy[Any]] = {
    "heading_also": st.sampled_from(["", "Autrement"]),
    "level": st.sampled_from(LEVELS),
    "space": st.integers(0, 3),
    "size": st.sampled_from(Size),
    "pictures": pictures,
}
usual = st.builds(
    PlannedSection,
    heading=st.sampled_from(CALLED[:-1]),
    crafts=crafts.map(tuple),
    departments=st.lists(st.sampled_from(["animation", "art"]), max_size=2).map(tuple),
    guaranteed=st.lists(
        st.sampled_from([fold_words(heading) for heading in HEADINGS if heading]), max_size=1
    ).map(tuple),
    role=st.sampled_from(RoleShown),
    order=st.sampled_from(Order),
    characters=characters,
    job_titles=st.sampled_from([(), ("animator",)]),
    people=people,
    at_least=thresholds,
    below=st.sampled_from([None, *CALLED]),
    by_hand=people,
    once=st.sampled_from([None, *Once, "makers"]),
    excepted=people,
    stages=st.sampled_from([(), (), (STAGES[0],)]),
    lines=own_lines,
    together=st.sampled_from([(), ((PEOPLE[0], PEOPLE[1]),)]),
    **looks,
)
casts = st.builds(
    PlannedSection,
    heading=st.just("Cast"),
    cast=crafts.filter(bool).map(tuple),
    characters=characters,
    order=st.sampled_from(Order),
    at_least=thresholds,
    below=st.sampled_from([None, *CALLED]),
    excepted=people,
    lines=own_lines,
    **looks,
)
blocks = st.builds(
    PlannedSection,
    heading=st.just("{character}"),
    performances=characters,
    every_performance=st.booleans(),
    crafts=crafts.map(tuple),
    at_least=thresholds,
    below=st.sampled_from([None, *CALLED]),
    layout=st.sampled_from([None, Layout.NAMES]),
    **looks,
)
rules = st.builds(
    NameRule,
    person=st.sampled_from(PEOPLE),
    printed_as=st.sampled_from(["A. N. Other", "A\nN. Other"]),
    note=st.sampled_from(["", "in memory of"]),
    unbroken=st.booleans(),
    headings=st.sampled_from([(), ("animators",)]),
    crafts=crafts.map(tuple),
    characters=characters,
) | st.builds(
    NameRule,
    person=st.sampled_from(PEOPLE),
    printed=st.just(False),
    headings=st.sampled_from([(), ("animators",)]),
    crafts=crafts.map(tuple),
    characters=characters,
)
others = st.sampled_from(
    [
        PlannedSection(heading="Thanks", text="To *all*.", layout=Layout.TEXT),
        PlannedSection(heading="", every_guaranteed=True, order=Order.CONTRACT),
    ]
)
plans = st.builds(
    CreditPlan,
    name=st.just("a plan"),
    sections=st.lists(usual | usual | casts | blocks | others, max_size=6).map(tuple),
    once=st.sampled_from(Once),
    names=st.lists(rules, max_size=2).map(tuple),
    roles_also=st.sampled_from([(), (("animated by", "animé par"),)]),
    joined_by=st.sampled_from(["&", "and"]),
)


def by_contract(line: Line) -> bool:
    return any(reason.kind is ReasonKind.CONTRACT for reason in line.because)


def compiled(ledger: Ledger, plan: CreditPlan) -> Credits:
    return credits_of(ledger, *footage_of(ledger), plan)


def leaves_out(plan: CreditPlan, person: str, ledger: Ledger) -> bool:
    """Whether the plan says anywhere that the person is not to stand where they would."""
    codes = [code for section in plan.sections for code in section.excepted]
    codes += [rule.person for rule in plan.names if not rule.printed]
    return person in {ledger.one_person.get(code, code) for code in codes}


def owed(log: WrittenLog) -> set[str]:
    """Everybody with a current entry or an engagement, found from the log as written."""
    return {entry.person for entry in entries_that_count(log)} | {
        same_person(log, job.person) for job in log.engagements
    }


@MANY
@given(log=productions(), plan=plans)
def test_everybody_owed_a_credit_is_printed_or_held_and_not_both(
    log: WrittenLog, plan: CreditPlan
) -> None:
    credits = compiled(replay(log), plan)
    printed = credits.printed
    held = [one.person for one in credits.held]
    assert owed(log) <= printed | set(held)
    assert printed.isdisjoint(held)
    assert len(held) == len(set(held))
    named = {same_person(log, code) for section in plan.sections for code in section.people}
    assert printed <= owed(log) | named
    assert {one.person for one in credits.held_lines} <= printed


@MANY
@given(log=productions(), plan=plans)
def test_who_asks_to_be_uncredited_is_never_printed(log: WrittenLog, plan: CreditPlan) -> None:
    ledger = replay(log)
    credits = compiled(ledger, plan)
    for section in credits.sections:
        for line in section.lines:
            assert not line.person or ledger.people[line.person].wish is CreditWish.CREDITED


@MANY
@given(log=productions(), plan=plans)
def test_a_person_is_named_once_in_a_section_for_each_role_that_it_parts(
    log: WrittenLog, plan: CreditPlan
) -> None:
    credits = compiled(replay(log), plan)
    names = {character.name for character in log.characters}
    for section in credits.sections:
        assert section.lines or section.text or section.pictures
        parted = section.heading == "Cast" or section.heading in names
        people = (line for line in section.lines if line.person)
        counts = Counter((line.person, line.role if parted else "") for line in people)
        assert max(counts.values(), default=1) == 1


@MANY
@given(log=productions(), sections=st.lists(usual | casts, max_size=6))
def test_once_in_all_names_a_person_under_one_heading_but_for_what_contracts_guarantee(
    log: WrittenLog, sections: list[PlannedSection]
) -> None:
    ledger = replay(log)
    once = (replace(s, once=None, excepted=()) for s in sections)
    plan = CreditPlan("once", tuple(once), Once.ALL)
    credits = compiled(ledger, plan)
    stands: dict[str, list[int]] = {}
    bound: dict[str, int] = Counter()
    for place, section in enumerate(credits.sections):
        for person in {line.person for line in section.lines if line.person}:
            stands.setdefault(person, []).append(place)
            own = [line for line in section.lines if line.person == person]
            bound[person] += any(by_contract(line) for line in own)
    for person, places in stands.items():
        assert len(places) == max(1, bound[person])


@MANY
@given(log=productions(), plan=plans)
def test_whom_a_contract_guarantees_a_heading_stands_under_it_whatever_is_asked_for(
    log: WrittenLog, plan: CreditPlan
) -> None:
    ledger = replay(log)
    credits = compiled(ledger, plan)
    for person, jobs in ledger.engagements.items():
        if ledger.people[person].wish is CreditWish.UNCREDITED:
            continue
        for job in jobs:
            if not job.guaranteed_heading or leaves_out(plan, person, ledger):
                continue
            assert any(by_contract(line) for _, line in credits.of(person).lines)


@MANY
@given(log=productions(), plan=plans)
def test_every_line_and_everything_considered_has_a_reason(
    log: WrittenLog, plan: CreditPlan
) -> None:
    ledger = replay(log)
    credits = compiled(ledger, plan)
    for section in credits.sections:
        for line in section.lines:
            assert in_words(line.because).rule
            if not line.person:
                continue
            found = [
                one
                for one in credits.considered
                if one.person == line.person
                and fold_words(one.heading) == fold_words(section.heading)
                and one.outcome is Outcome.PRINTED
            ]
            assert found
    for one in credits.considered:
        assert in_words(one.because).rule
        if one.outcome is Outcome.BELOW:
            assert one.reached is not None
            assert not one.reached.enough
            assert one.reached.figure < one.reached.threshold.least
            assert one.destination is not None
            if one.to is not None:  # the heading named has considered them as well
                assert any(
                    other.person == one.person and fold_words(other.heading) == fold_words(one.to)
                    for other in credits.considered
                )
        if one.outcome is Outcome.ELSEWHERE:
            assert one.to is not None
            assert one.to in {section.heading for section in credits.sections}


@MANY
@given(log=productions(), plan=plans)
def test_lines_of_the_plans_own_stand_once_where_the_plan_has_them(
    log: WrittenLog, plan: CreditPlan
) -> None:
    ledger = replay(log)
    credits = compiled(ledger, plan)
    wanted: Counter[str] = Counter()
    for section in sections_in_full(plan, ledger, credits.order_of_appearance):
        wanted.update(own.name for own in section.lines)
    assert Counter(line.name for _, line in credits.lines if not line.person) == wanted


@MANY
@given(log=productions(), plan=plans)
def test_whom_a_section_excepts_does_not_stand_there(log: WrittenLog, plan: CreditPlan) -> None:
    ledger = replay(log)
    credits = compiled(ledger, plan)
    for heading in {fold_words(section.heading) for section in plan.sections}:
        called = [s for s in plan.sections if fold_words(s.heading) == heading]
        excepted = [{same_person(log, code) for code in s.excepted} for s in called]
        everywhere = set.intersection(*excepted)
        for section, line in credits.lines:
            if fold_words(section.heading) == heading:
                assert line.person not in everywhere


@MANY
@given(log=productions(), plan=plans)
def test_names_that_stand_together_are_neighbours_of_one_role(
    log: WrittenLog, plan: CreditPlan
) -> None:
    for section in compiled(replay(log), plan).sections:
        for line, before in zip(section.lines[1:], section.lines, strict=False):
            if line.joined:
                assert line.role == before.role
                assert line.joined == plan.joined_by
        if section.lines:
            assert not section.lines[0].joined


def known_in(ledger: Ledger, section: PlannedSection) -> PlannedSection:
    """The section without people whom the production does not have."""
    there = ledger.people.keys()
    return replace(
        section,
        excepted=tuple(code for code in section.excepted if code in there),
        together=tuple(group for group in section.together if there >= set(group)),
        lines=tuple(own for own in section.lines if not own.after or own.after in there),
    )


written = st.lists(
    st.builds(
        PlannedSection,
        heading=st.sampled_from(["Animators", 'Heading "two"', "Ünïcode"]),
        crafts=crafts.filter(bool).map(tuple),
        excepted=people,
        lines=own_lines,
        together=st.sampled_from([(), ((PEOPLE[0], PEOPLE[1]),)]),
        once=st.sampled_from([None, "all"]),
        **looks,
    ),
    min_size=1,
    max_size=3,
).map(tuple)


@MANY
@given(log=productions(), sections=written, names=st.lists(rules, max_size=2).map(tuple))
def test_a_plan_that_is_written_reads_back_as_it_was(
    log: WrittenLog, sections: tuple[PlannedSection, ...], names: tuple[NameRule, ...]
) -> None:
    ledger, roles = replay(log), (("animated by", "animé par"),)
    known = tuple(known_in(ledger, section) for section in sections)
    own = (rule for rule in names if rule.person in ledger.people)
    rules = tuple(rule for rule in own if ledger.characters.keys() >= set(rule.characters))
    plan = CreditPlan("a plan", known, Once.SECTION, rules, roles, "and")
    assert read_plan_text(plan_text(plan, ledger), ledger) == plan


@MANY
@given(log=productions())
def test_the_first_plan_reads_back_and_does_what_the_built_in_plan_does(log: WrittenLog) -> None:
    ledger = replay(log)
    plan = built_in_plan(ledger)
    built_in = compiled(ledger, plan)
    for text in (plan_text(plan, ledger), first_plan(plan, ledger, built_in)):
        read = compiled(ledger, read_plan_text(text, ledger))
        assert read.sections == built_in.sections
        assert read.held == built_in.held
        assert read.considered == built_in.considered
