"""What differs between two plans, told by section and key, and undone key by key."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from credits.billing.compared.plan_changes import PlanDifference
from credits.billing.plan import (
    CreditPlan,
    Layout,
    NameRule,
    Once,
    Order,
    OwnLine,
    PlannedSection,
)
from tests.drawn import drawn

A = PlannedSection(heading="Animators", crafts=("animation",))
B = PlannedSection(heading="Builders", crafts=("sculpt", "paint"))
C = PlannedSection(heading="Thanks", text="To the mice.")


def plan(*sections: PlannedSection, once: Once = Once.SECTION) -> CreditPlan:
    return CreditPlan("credit-plan.toml", sections, once)


def told(old: CreditPlan, new: CreditPlan) -> list[str]:
    return [change.words for change in PlanDifference(old, new).changes]


@pytest.mark.parametrize(
    ("new", "words"),
    [
        (plan(A, B, C), []),
        (plan(A, replace(B, crafts=("sculpt",)), C),
         ["the plan: crafts of the section 'Builders' was 'sculpt' and 'paint' and is 'sculpt'"]),
        (plan(replace(A, heading="Animation"), B, C),
         ["the plan: heading of the section 'Animation' was 'Animators' and is 'Animation'"]),
        (plan(A, B), ["the plan: the section 'Thanks' is gone"]),
        (plan(A, B, C, PlannedSection(heading="With", crafts=("voice",))),
         ["the plan: the section 'With' is new"]),
        (plan(B, A, C), ["the plan: its sections stand in another order"]),
        (plan(A, B, C, once=Once.ALL), ["the plan: once was 'section' and is 'all'"]),
        (plan(A, B, replace(C, layout=Layout.CARD)),
         ["the plan: layout of the section 'Thanks' was empty and is 'card'"]),
    ],
)  # fmt: skip
def test_each_difference_is_told_by_section_and_key(new: CreditPlan, words: list[str]) -> None:
    assert told(plan(A, B, C), new) == words


def test_rows_of_a_key_are_told_by_what_they_are_called() -> None:
    snail, rain = OwnLine(name="The Snail"), OwnLine(name="Rain", note="sung")
    old = plan(replace(C, text="", lines=(snail, rain)))
    new = plan(replace(C, text="", lines=(replace(rain, note=""), OwnLine(name="Socks"))))
    assert told(old, new) == [
        "the plan: in the lines of the section 'Thanks' 'Rain' is another; 'Socks' is new;"
        " 'The Snail' is gone"
    ]
    ana = NameRule(person="ana", printed_as="A. Quist")
    assert told(plan(A), replace(plan(A), names=(ana,), roles_also=(("voice", "Stimme"),))) == [
        "the plan: in the credited 'ana' is new",
        "the plan: in the roles also 'voice', 'Stimme' is new",
    ]


sections = st.builds(
    PlannedSection,
    heading=st.sampled_from(["Animators", "Builders", "Thanks", "Voices"]),
    crafts=st.sampled_from([(), ("animation",), ("voice", "singing")]),
    order=st.sampled_from(Order),
    text=st.sampled_from(["", "To the mice."]),
)
plans = st.builds(plan, once=st.sampled_from(Once)) | st.lists(sections, max_size=4).map(
    lambda own: plan(*own)
)


@settings(max_examples=drawn(200), deadline=None)
@given(old=plans, new=plans)
def test_a_plan_with_all_its_changes_undone_is_the_older_one(
    old: CreditPlan, new: CreditPlan
) -> None:
    difference = PlanDifference(old, new)
    assert difference.without(()) == new
    undone = difference.without(difference.changes)
    assert sorted(undone.sections, key=repr) == sorted(old.sections, key=repr)
    assert replace(undone, sections=()) == replace(old, sections=())
