"""The compiled end credits: sections, lines, who is not printed, the reasons; frozen as a proof.

The text of a proof is JSON with everything that prints and everything that is held, the reasons
included, so that it can be shown again years later whatever became of the log and the plan. It
carries the number of its format; the first had none, and held its reasons in words, not as data.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from datetime import date
from enum import StrEnum
from fractions import Fraction
from functools import partial
from typing import Any, TypeVar

from credits.billing.plan import Layout, Reached, Threshold, ThresholdUnit
from credits.errors import Finding, LogUnusable
from credits.model.facts import EntryNumber, Proof
from credits.model.log import NewProof

T = TypeVar("T")
WithReasons = TypeVar("WithReasons", "Line", "Held")
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
    NO_SECTION = "no section"
    EARLIER_TEXT = "text of an earlier release"


# What a contract says of somebody's place is between that person and the office. The text of an
# earlier release may speak of a contract as well.
OFFICE_ALONE = frozenset({ReasonKind.CONTRACT, ReasonKind.EARLIER_TEXT})
TOLD_BY_THE_OFFICE = "The production office can say why."

HELD_WORDS = {
    ReasonKind.UNCREDITED: "asked to be uncredited",
    ReasonKind.BELOW_THRESHOLD: "below the threshold, held for a decision",
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of the credits. ``confirmed``: the person has confirmed the spelling."""

    person: str
    name: str
    role: str | None = None
    characters: Sequence[str] = ()
    confirmed: bool
    because: tuple[Reason, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A heading and its lines, in order, and how they are set.

    ``columns``: 1 to 3, for names alone. ``text``: Markdown, for a section of fixed text, which has
    no lines. Neighbouring lines of one role or character are set under it once.
    """

    heading: str
    lines: tuple[Line, ...] = ()
    layout: Layout = Layout.NAMES
    columns: int = 1
    text: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """A person whom the plan does not print, and why.

    ``heading``: for a line that is held of somebody who prints elsewhere.
    """

    person: str
    name: str
    kind: ReasonKind
    because: tuple[Reason, ...]
    heading: str = ""

    @property
    def reason(self) -> str:
        """The kind in words."""
        return HELD_LINE_WORDS if self.heading else HELD_WORDS[self.kind]


class Outcome(StrEnum):
    """What became of a person whom a section considered."""

    PRINTED = "printed"
    BELOW = "below the threshold"
    ELSEWHERE = "printed elsewhere"
    UNCREDITED = "asked to be uncredited"


@dataclass(frozen=True, slots=True, kw_only=True)
class Considered:
    """A section that considered a person, and what became of it.

    ``to``: the heading to which somebody goes on who is below the threshold, or under which they
    stand already. ``in_circle``: the headings send the person on in a circle, and so they are held.
    """

    person: str
    heading: str
    outcome: Outcome
    because: tuple[Reason, ...]
    to: str | None = None
    in_circle: bool = False

    @property
    def reached(self) -> Reached | None:
        """What was asked for and reached, where the section asks for something."""
        asked = (one.reached for one in self.because if one.kind is ReasonKind.ASKED)
        return next(asked, None)

    @property
    def is_held(self) -> bool:
        """Whether the way of the person ends here, held for a decision."""
        return self.outcome is Outcome.BELOW and self.to is None

    @property
    def destination(self) -> str | None:
        """The heading, or that the person is held; None where they go nowhere else."""
        round_about = ": the plan sends the person from heading to heading and back"
        return f"held{round_about * self.in_circle}" if self.is_held else self.to

    @property
    def not_here(self) -> str:
        """Why the section does not print the person: a sentence without its reasons' figures."""
        if self.outcome is Outcome.UNCREDITED:
            return "Asked to be uncredited."
        if self.outcome is Outcome.ELSEWHERE:
            return f"Named once in all: already under '{self.to}'."
        words = self.destination or ""
        onward = f"{words.capitalize()}." if self.is_held else f"Goes on to '{words}'."
        return f"{in_words(self.because).threshold} {onward}".lstrip()


@dataclass(frozen=True, slots=True, kw_only=True)
class Credits:
    """The compiled end credits. Sections without a line and without text are left out.

    ``held``: everybody owed a credit who does not print. ``held_lines``: lines held of people who
    print elsewhere. ``considered``: every section that considered a person, in the plan's order.
    """

    plan: str
    sections: tuple[Section, ...] = ()
    held: tuple[Held, ...] = ()
    order_of_appearance: tuple[str, ...] = ()
    held_lines: tuple[Held, ...] = ()
    considered: tuple[Considered, ...] = ()

    @property
    def lines(self) -> tuple[tuple[Section, Line], ...]:
        """Every line, with its section."""
        return tuple((section, line) for section in self.sections for line in section.lines)

    @property
    def not_here(self) -> tuple[Considered, ...]:
        """The sections that considered somebody and do not print them."""
        return tuple(one for one in self.considered if one.outcome is not Outcome.PRINTED)

    def decided(self) -> tuple[object, ...]:
        """What was decided, and why, but for the entries that say so and their days."""
        return (
            [
                (under.heading, one.name, one.role, one.confirmed, _reasons(one.because))
                for under, one in self.lines
            ],
            [
                (one.heading, one.kind, one.name, _reasons(one.because))
                for one in (*self.held, *self.held_lines)
            ],
            [
                (one.heading, one.outcome, one.to, one.in_circle, _reasons(one.because))
                for one in self.considered
            ],
        )

    def of(self, person: str) -> Credits:
        """Everything that was decided of one person; nothing: no credit is owed yet."""
        nothing = replace(self, sections=(), held=(), held_lines=(), considered=())
        return self.by_person().get(person, nothing)

    def by_person(self) -> dict[str, Credits]:
        """Everything that was decided of each person."""
        found: dict[str, dict[str, Any]] = defaultdict(lambda: defaultdict(tuple))
        for section in self.sections:
            lines: dict[str, list[Line]] = defaultdict(list)
            for line in section.lines:
                lines[line.person].append(line)
            for person, own in lines.items():
                found[person]["sections"] += (replace(section, lines=tuple(own)),)
        for name in ("held", "held_lines", "considered"):
            for each in getattr(self, name):
                found[each.person][name] += (each,)
        nothing = replace(self, sections=(), held=(), held_lines=(), considered=())
        return {person: replace(nothing, **own) for person, own in found.items()}


def _reasons(because: Iterable[Reason]) -> list[tuple[object, ...]]:
    """What reasons say, but for the entries that say so and their days."""
    found: list[tuple[object, ...]] = []
    for one in because:
        reached = one.reached
        asked = (reached.words, reached.shown, reached.enough) if reached is not None else None
        of_engagements = (one.engagements, one.billing_number, one.figures)
        found.append((one.kind, one.headings, one.names, *of_engagements, asked))
    return found


FORMAT = 2
WORDED_FORMAT = 1
_KIND_OF_WORDS = {
    HELD_LINE_WORDS: ReasonKind.BELOW_THRESHOLD,
    **{words: kind for kind, words in HELD_WORDS.items()},
}


def credits_to_json(credits: Credits) -> str:
    """Return the credits as JSON text: the same credits, the same text."""
    content = {"format": FORMAT, **_fields(replace(credits, considered=()))}
    return json.dumps(content, ensure_ascii=False, separators=(",", ":"), default=_to_json)


def _to_json(value: Any) -> object:
    return str(value) if isinstance(value, date | Fraction) else _fields(value)


def _fields(value: Any) -> dict[str, object]:
    """The fields of a dataclass that are given: what is empty is not written."""
    given = {field.name: getattr(value, field.name) for field in fields(value)}
    if "entries" in given:  # json would write a number of an entry as a list of its two parts
        given["entries"] = tuple(map(str, given["entries"]))
    if "characters" in given:  # those of a line are read when they are asked for
        given["characters"] = tuple(given["characters"])
    return {name: own for name, own in given.items() if own is not None and own != ()}


def credits_from_json(content: str) -> Credits:
    """Read the credits that a text froze. Which sections considered whom is not in it.

    Raises LogUnusable for a format that only a later release can read.
    """
    read: dict[str, Any] = json.loads(content)
    number = read.get("format", WORDED_FORMAT)
    if number not in (WORDED_FORMAT, FORMAT):
        what = f"the proof is of format {number}, and this release reads up to format {FORMAT}"
        raise LogUnusable(Finding(what, "Use the release that made the proof, or a later one."))
    read.pop("format", None)
    return _as_made(Credits, read)


def new_proof(
    credits: Credits, plan: str, saved_by: str | None = None, note: str | None = None
) -> NewProof:
    """Make the credits ready to be frozen. ``plan``: its TOML text, or the built-in plan's name."""
    people = [line.person for _, line in credits.lines]
    return NewProof(
        content=credits_to_json(credits),
        plan=plan,
        lines=len(people),
        people=len(set(people)),
        saved_by=saved_by,
        note=note,
    )


def is_same(proof: Proof, credits: Credits, plan: str, cut: int | None) -> bool:
    """Return whether a proof is exactly of these credits, by the same plan and cut."""
    return (proof.mark.plan, proof.mark.cut) == (plan, cut) and froze(proof, credits)


def froze(proof: Proof, credits: Credits) -> bool:
    """Return whether a proof is of these credits, reasons included.

    Of a proof that holds its reasons in words, their figures and entries are compared.
    """
    then, now = credits_from_json(proof.content), replace(credits, considered=())
    if json.loads(proof.content).get("format", WORDED_FORMAT) == WORDED_FORMAT:
        return _without_sentences(then) == _without_sentences(now)
    return then == now


def _without_sentences(credits: Credits) -> Credits:
    """The credits with the figures and entries of their reasons alone."""

    def bare(one: WithReasons) -> WithReasons:
        words = in_words(one.because)
        kept = Reason(kind=ReasonKind.EARLIER_TEXT, figures=words.figures, entries=words.entries)
        return replace(one, because=(kept,))

    return replace(
        credits,
        sections=tuple(replace(s, lines=tuple(map(bare, s.lines))) for s in credits.sections),
        held=tuple(map(bare, credits.held)),
        held_lines=tuple(map(bare, credits.held_lines)),
    )


def _as_made(kind: type[T], written: Mapping[str, Any]) -> T:
    """Make a value of its fields as they were written."""
    read = {name: _FIELDS[name](own) for name, own in written.items() if name in _FIELDS}
    return kind(**{**written, **read})


def _each(make: Callable[[Any], T]) -> Callable[[Iterable[Any]], tuple[T, ...]]:
    return lambda written: tuple(map(make, written))


def _held(written: Mapping[str, Any]) -> Held:
    """Somebody held; in the first format by the words of the kind."""
    fields = dict(written)
    if "reason" in fields:
        fields["kind"] = _KIND_OF_WORDS[fields.pop("reason")]
    return _as_made(Held, fields)


def _because(written: Any) -> tuple[Reason, ...]:
    """The reasons of a line or of somebody held; in the first format one, of words and figures."""
    if isinstance(written, dict):
        names = (written["rule"], written["threshold"])
        data = {name: written[name] for name in ("figures", "entries")}
        written = [{**data, "kind": ReasonKind.EARLIER_TEXT, "names": names}]
    return tuple(_as_made(Reason, one) for one in written)


# How a field is read; what is not here is as it was written.
_FIELDS: Mapping[str, Callable[[Any], Any]] = {
    "sections": _each(partial(_as_made, Section)),
    "lines": _each(partial(_as_made, Line)),
    "held": _each(_held),
    "held_lines": _each(_held),
    "because": _because,
    "layout": Layout,
    "kind": ReasonKind,
    "entries": _each(EntryNumber.parse),
    "days": _each(date.fromisoformat),
    "figures": _each(tuple),
    "reached": partial(_as_made, Reached),
    "threshold": partial(_as_made, Threshold),
    "least": Fraction,
    "unit": ThresholdUnit,
    "figure": Fraction,
    **dict.fromkeys(("order_of_appearance", "characters", "headings", "names"), tuple),
}
