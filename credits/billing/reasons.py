"""Why somebody stands where they stand, or does not: kinds and data, put into words at the edge."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from credits.billing.thresholds import Reached
from credits.model.facts import EntryNumber

ReasonFigure = tuple[str, int | str]
"""What is counted, and how much: ``("entries", 3)``, ``("first day", "2026-03-02")``."""


class ReasonKind(StrEnum):
    """What kind of reason it is. It decides who may read it."""

    CONTRACT = "contract"
    NAMED_BY_PLAN = "named by plan"
    DEPARTMENT = "department"
    JOB_TITLE = "job title"
    CRAFT = "craft"
    PERFORMANCE = "performance"
    FELL_THROUGH = "fell through"
    ASKED = "asked"
    UNCREDITED = "uncredited"
    BELOW_THRESHOLD = "below threshold"
    LEFT_OUT = "left out"
    OF_THE_PLAN = "of the plan"
    NO_SECTION = "no section"
    EARLIER_TEXT = "text of an earlier release"


# What a contract says of somebody's place is between that person and the office. The text of an
# earlier release may speak of a contract as well.
OFFICE_ALONE = frozenset({ReasonKind.CONTRACT, ReasonKind.EARLIER_TEXT})
TOLD_BY_THE_OFFICE = "The production office can say why."

HELD_WORDS = {
    ReasonKind.UNCREDITED: "asked to be uncredited",
    ReasonKind.BELOW_THRESHOLD: "below the threshold, held for a decision",
    ReasonKind.LEFT_OUT: "the plan leaves this person out",
    ReasonKind.NO_SECTION: "no section of the plan takes this person",
}
HELD_LINE_WORDS = "below the threshold, this line is held for a decision"
RULES = {
    ReasonKind.NAMED_BY_PLAN: "The plan names this person under this heading.",
    ReasonKind.DEPARTMENT: "The crew list has an engagement in this department ({}).",
    ReasonKind.JOB_TITLE: "The crew list has an engagement with this job title ({}).",
    ReasonKind.CRAFT: "The log has work of this craft ({}).",
    ReasonKind.PERFORMANCE: "The log has work of this craft ({}) on this character.",
    ReasonKind.UNCREDITED: "A person who asks to be uncredited is not printed.",
    ReasonKind.BELOW_THRESHOLD: "The plan holds those who do not reach what the heading asks for.",
    ReasonKind.LEFT_OUT: "The plan leaves this person out wherever they would stand.",
    ReasonKind.OF_THE_PLAN: "The plan has this line.",
    ReasonKind.NO_SECTION: "The plan has no section for this person's crafts or departments.",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """A kind of reason, and its data; what a kind has no use for is empty.

    ``headings``: those that contracts guarantee, or the one that asks for something; empty: the
    heading that the reason is given under. ``names``: of crafts, or job titles; of an earlier text
    the rule and the threshold. ``engagements``: how many. ``days``: the first and the last.
    ``figures``: those of an earlier text.
    """

    kind: ReasonKind
    headings: tuple[str, ...] = ()
    names: tuple[str, ...] = ()
    engagements: int = 0
    billing_number: int | None = None
    entries: Sequence[EntryNumber] = ()
    days: tuple[date, ...] = ()
    reached: Reached | None = None
    figures: tuple[ReasonFigure, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ReasonWords:
    """Reasons as they are read: the rules, what was asked for and reached, figures, entries."""

    rule: str
    threshold: str
    figures: tuple[ReasonFigure, ...]
    entries: tuple[EntryNumber, ...]


def in_words(reasons: Iterable[Reason], *, office: bool = True) -> ReasonWords:
    """Put reasons into words.

    office: whether the office reads them; nobody else reads of contracts and thresholds.
    """
    reasons = tuple(reasons)
    kinds = frozenset(reason.kind for reason in reasons)
    hidden = not office and not kinds.isdisjoint(OFFICE_ALONE)
    rules = filter(None, map(_rule, reasons))
    asked = (_threshold(reason, kinds) for reason in reasons) if office else ()
    return ReasonWords(
        rule=TOLD_BY_THE_OFFICE if hidden else " ".join(rules),
        threshold=" ".join(filter(None, asked)),
        figures=tuple(_figures(reasons, office)),
        entries=tuple(number for reason in reasons for number in reason.entries),
    )


def _rule(reason: Reason) -> str:
    names = ", ".join(reason.names)
    if reason.kind is ReasonKind.CONTRACT:
        what = "heading" if len(reason.headings) == 1 else "headings"
        named = " and ".join(f"'{heading}'" for heading in reason.headings)
        return f"A contract guarantees the {what} {named} (engaged as {names})."
    if reason.kind is ReasonKind.EARLIER_TEXT:
        return reason.names[0]
    return RULES.get(reason.kind, "").format(names)


def _threshold(reason: Reason, kinds: frozenset[ReasonKind]) -> str:
    """What was asked for and reached. ``kinds``: of all reasons that are given with this one."""
    if reason.kind is ReasonKind.EARLIER_TEXT:
        return reason.names[1]
    if reason.reached is None:
        return ""
    who = f"'{reason.headings[0]}'" if reason.headings else "This heading"
    asked = f"{who} asks for {reason.reached.words}"
    if reason.kind is ReasonKind.ASKED and not reason.reached.enough:
        if ReasonKind.CONTRACT in kinds:
            return f"{asked}; it does not count, since a contract guarantees the heading."
        if ReasonKind.NAMED_BY_PLAN in kinds:
            return f"{asked}; it does not count, since the plan names them."
    return f"{asked}."


def _figures(reasons: tuple[Reason, ...], office: bool) -> Iterator[ReasonFigure]:
    """Engagements, billing number, entries, days, what was reached."""
    counted = tuple(_counts(reasons, office))
    yield from counted
    held = any(reason.kind in HELD_WORDS for reason in reasons)
    for reason in reasons:
        if reason.kind is ReasonKind.ASKED and reason.reached is not None:
            name = reason.reached.threshold.counted_in
            if held or name not in dict(counted):
                yield name, reason.reached.shown


def _counts(reasons: tuple[Reason, ...], office: bool) -> Iterator[ReasonFigure]:
    engagements = sum(reason.engagements for reason in reasons)
    for reason in reasons:
        if reason.kind in HELD_WORDS:
            yield "entries", len(reason.entries)
            yield "engagements", engagements
            return
        if reason.kind is ReasonKind.EARLIER_TEXT:
            yield from reason.figures if office else ()
            return
    if engagements:
        yield "engagements", engagements
    for reason in reasons:
        if reason.billing_number is not None and office:
            yield "billing number", reason.billing_number
        if reason.entries:
            yield "entries", len(reason.entries)
        for name, day in zip(("first day", "last day"), reason.days, strict=False):
            yield name, day.isoformat()
