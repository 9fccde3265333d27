"""Reasons in words: for the office, and for the others without contracts and thresholds."""

from __future__ import annotations

from datetime import date
from fractions import Fraction

import pytest

from credits.billing.reasons import OFFICE_ALONE, Reason, ReasonKind, in_words
from credits.billing.thresholds import Reached, Threshold, ThresholdUnit
from credits.model.facts import EntryNumber

TOLD = "The production office can say why."
ASKED = Reason(
    kind=ReasonKind.ASKED,
    reached=Reached(
        threshold=Threshold(least=Fraction(3), unit=ThresholdUnit.ENTRIES), figure=Fraction(2)
    ),
)
CONTRACT = Reason(
    kind=ReasonKind.CONTRACT,
    headings=("Leads", "With"),
    names=("Lead",),
    engagements=2,
    billing_number=4,
)
CRAFT = Reason(
    kind=ReasonKind.CRAFT,
    names=("Voice", "Singing"),
    entries=(EntryNumber("A", 1), EntryNumber("A", 2)),
    days=(date(2026, 3, 2), date(2026, 3, 5)),
)


def test_the_office_reads_rules_thresholds_figures_and_entries() -> None:
    told = in_words((CONTRACT, CRAFT, ASKED))
    assert told.rule == (
        "A contract guarantees the headings 'Leads' and 'With' (engaged as Lead). "
        "The log has work of this craft (Voice, Singing)."
    )
    assert told.threshold == (
        "This heading asks for at least 3 entries: 2 reached; "
        "it does not count, since a contract guarantees the heading."
    )
    assert told.figures == (
        ("engagements", 2), ("billing number", 4), ("entries", 2),
        ("first day", "2026-03-02"), ("last day", "2026-03-05"),
    )  # fmt: skip
    assert [str(number) for number in told.entries] == ["A-1", "A-2"]


def test_others_read_nothing_of_a_contract_and_of_no_threshold() -> None:
    told = in_words((CONTRACT, CRAFT, ASKED), office=False)
    assert (told.rule, told.threshold) == (TOLD, "")
    assert "billing number" not in dict(told.figures)
    assert in_words((CRAFT, ASKED), office=False).rule == in_words((CRAFT,)).rule


@pytest.mark.parametrize("kind", ReasonKind)
def test_what_is_hidden_follows_from_the_kind(kind: ReasonKind) -> None:
    # Whatever a name says: the kind decides.
    names = ("A contract guarantees the heading", "")
    told = in_words((Reason(kind=kind, names=names),), office=False)
    assert (told.rule == TOLD) is (kind in OFFICE_ALONE)


def test_a_heading_may_hold_any_sign() -> None:
    odd = Reason(kind=ReasonKind.CONTRACT, headings=("{0} %s {",), names=("{}",))
    assert in_words((odd,)).rule == (
        "A contract guarantees the heading '{0} %s {' (engaged as {})."
    )
    assert in_words((Reason(kind=ReasonKind.CRAFT, names=("{x}",)),)).rule == (
        "The log has work of this craft ({x})."
    )
