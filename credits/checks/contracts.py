"""Checks of what contracts guarantee: headings, their words, billing numbers, wishes."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import NamedTuple, Self

from credits.billing.credits import Credits, Line, Outcome, Section
from credits.billing.plan import CAST_CRAFTS, guaranteed_headings
from credits.billing.reasons import Reason, ReasonKind
from credits.checks.letters import pairs_by_a_letter
from credits.checks.people import OfPerson
from credits.checks.rule import Check, Known, Severity
from credits.model import words
from credits.model.facts import CreditWish, Engagement
from credits.model.ledger import Ledger
from credits.text import fold_words

WORKED = frozenset({ReasonKind.CRAFT, ReasonKind.PERFORMANCE})
ENGAGED = frozenset({ReasonKind.DEPARTMENT, ReasonKind.JOB_TITLE})


class Guarantee(NamedTuple):
    """A heading that contracts guarantee a person. jobs: the engagements that say so."""

    person: str
    heading: str
    jobs: tuple[Engagement, ...]


class StandsAt(NamedTuple):
    """A line of a person. place: of its section; above: the heading of level 1 over it."""

    place: int
    section: Section
    above: str
    line: Line

    @property
    def says(self) -> set[str]:
        """What is read beside the name, as compared: headings, and the role or its parts."""
        role = self.line.role or ""
        texts = (self.section.heading, self.section.heading_also, self.above, role)
        return {fold_words(text) for text in (*texts, *role.split(", ")) if text}

    @property
    def by_contract(self) -> set[str]:
        """The guaranteed headings, as compared, that put the person there."""
        return _by_contract(self.line.because)


def _by_contract(because: Iterable[Reason]) -> set[str]:
    return {
        fold_words(heading)
        for reason in because
        if reason.kind is ReasonKind.CONTRACT
        for heading in reason.headings
    }


def guarantees(ledger: Ledger) -> Iterator[Guarantee]:
    """Find the headings that contracts guarantee, each once a person."""
    for person, jobs in ledger.engagements.items():
        own: dict[str, list[Engagement]] = defaultdict(list)
        for job in jobs:
            if job.guaranteed_heading:
                own[fold_words(job.guaranteed_heading)].append(job)
        for same in own.values():
            yield Guarantee(person, same[0].guaranteed_heading or "", tuple(same))


def _is_named(ledger: Ledger, person: str) -> bool:
    """Tell whether a person wants to be named at all."""
    return ledger.people[person].wish is not CreditWish.UNCREDITED


def _stands(credits: Credits, people: Iterable[str]) -> dict[str, list[StandsAt]]:
    """Find the lines of some people, in the order of the credits."""
    wanted, above = frozenset(people), ""
    found: dict[str, list[StandsAt]] = {person: [] for person in wanted}
    for place, section in enumerate(credits.sections if wanted else ()):
        if section.level == 1:
            above = section.heading
        for line in section.lines:
            if line.person in wanted:
                found[line.person].append(StandsAt(place, section, above, line))
    return found


def _quoted(texts: Iterable[str]) -> str:
    return words.some_of(f"'{words.in_sentence(text)}'" for text in dict.fromkeys(texts))


@dataclass(frozen=True, slots=True, kw_only=True)
class OfGuarantee(OfPerson):
    """What is asked about a heading that a contract guarantees a person."""

    about = "person heading"
    of_days = False

    heading: str

    @property
    def guaranteed(self) -> str:
        """How a sentence about it begins."""
        heading = words.in_sentence(self.heading)
        return f"A contract guarantees {self.person} the heading '{heading}'"


@dataclass(frozen=True, slots=True, kw_only=True)
class GuaranteeMissing(OfGuarantee):
    """A person does not stand under a heading that a contract guarantees.

    Somebody who asks to be uncredited is asked about elsewhere. instead: the headings under which
    the person stands. left_out: the plan leaves the person out there.
    """

    severity: Severity = Severity.WRONG

    instead: tuple[str, ...]
    left_out: bool

    @classmethod
    def find(cls, known: Known) -> Iterator[Self]:
        ledger, credits = known.ledger, known.compiled
        every = [own for own in guarantees(ledger) if _is_named(ledger, own.person)]
        stands = _stands(credits, (own.person for own in every))
        left_out = {
            (one.person, heading)
            for one in credits.considered
            if one.outcome is Outcome.LEFT_OUT
            for heading in _by_contract(one.because)
        }
        for own in every:
            key, lines = fold_words(own.heading), stands[own.person]
            if not any(key in stand.says | stand.by_contract for stand in lines):
                yield cls(
                    person=words.person(ledger, own.person),
                    heading=own.heading,
                    instead=tuple(dict.fromkeys(each.section.heading for each in lines)),
                    left_out=(own.person, key) in left_out,
                )

    def in_words(self) -> tuple[str, str]:
        where = f"under {_quoted(self.instead)} alone" if self.instead else "nowhere"
        plan = ": the plan leaves this person out" if self.left_out else ""
        heading = words.in_sentence(self.heading)
        return (
            f"{self.guaranteed}, and the end credits print this person {where}{plan}.",
            f"Give '{heading}' its section in credit-plan.toml, and take out what leaves the "
            "person out (except, printed = false); if the contract says otherwise: credits correct "
            f"engagements {words.typed(self.person.code)} guaranteed_heading=HEADING --why TEXT",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class GuaranteeInOtherWords(OfGuarantee):
    """A heading that a contract guarantees is printed in other words.

    A role that says the very words beside the name is enough, and a second language too.
    printed: the headings under which the contract puts the person; empty: a section without one.
    """

    printed: tuple[str, ...]

    @classmethod
    def find(cls, known: Known) -> Iterator[Self]:
        ledger = known.ledger
        every = [own for own in guarantees(ledger) if _is_named(ledger, own.person)]
        stands = _stands(known.compiled, (own.person for own in every))
        for own in every:
            key, lines = fold_words(own.heading), stands[own.person]
            bound = [stand.section.heading for stand in lines if key in stand.by_contract]
            if bound and not any(key in stand.says for stand in lines):
                yield cls(
                    person=words.person(ledger, own.person),
                    heading=own.heading,
                    printed=tuple(dict.fromkeys(bound)),
                )

    def in_words(self) -> tuple[str, str]:
        headings = tuple(filter(None, self.printed))
        where = f"under {_quoted(headings)}" if headings else "under no heading"
        return (
            f"{self.guaranteed}, and the end credits print this person {where}.",
            "Write the heading in credit-plan.toml as the contract has it, or answer why these "
            "words stand for it.",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class GuaranteeAgainstWish(OfGuarantee):
    """A contract guarantees a heading to somebody who asks to be uncredited."""

    @classmethod
    def find(cls, known: Known) -> Iterator[Self]:
        for own in guarantees(known.ledger):
            if not _is_named(known.ledger, own.person):
                yield cls(person=words.person(known.ledger, own.person), heading=own.heading)

    def in_words(self) -> tuple[str, str]:
        code = words.typed(self.person.code)
        return (
            f"{self.guaranteed}, and this person asks to be uncredited; nothing is printed.",
            "Ask the person which of both holds: credits correct people "
            f"{code} credit_wish=credited --why TEXT; or answer that the wish stands.",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class BillingNumberTwice(Check):
    """Two people have the same billing number under one heading.

    people: in the order in which they stand, which is by name where the numbers are the same.
    """

    about = "heading person=codes"
    of_days = False

    heading: str
    number: int
    people: tuple[words.Named, ...]

    @property
    def codes(self) -> tuple[str, ...]:
        """The codes of the people."""
        return tuple(each.code for each in self.people)

    @classmethod
    def find(cls, known: Known) -> Iterator[Self]:
        ledger = known.ledger
        numbered = {
            person
            for person, jobs in ledger.engagements.items()
            if any(job.billing_number is not None for job in jobs)
        }
        found: dict[tuple[int, int], dict[str, None]] = defaultdict(dict)
        for person, stands in _stands(known.compiled, sorted(numbered)).items():
            for stand in stands:
                number = _billing_number(ledger, person, stand.line)
                if number is not None:
                    found[stand.place, number][person] = None
        for (place, number), people in found.items():
            section = known.compiled.sections[place]
            order = (line.person for line in section.lines if line.person in people)
            if len(people) > 1:
                yield cls(
                    heading=section.heading,
                    number=number,
                    people=tuple(words.person(ledger, code) for code in dict.fromkeys(order)),
                )

    def in_words(self) -> tuple[str, str]:
        who = words.some_of(map(str, self.people))
        under = f"under '{words.in_sentence(self.heading)}'" if self.heading else "in one section"
        return (
            f"{who} have the same billing number, {self.number}, {under}.",
            "Look into the contracts who stands first: credits correct engagements "
            f"{words.typed(self.people[-1].code)} billing_number=NUMBER --why TEXT",
        )


def _billing_number(ledger: Ledger, person: str, line: Line) -> int | None:
    """Return the number by which a contract places a line; None: by none of its reasons."""
    for reason in line.because:
        if reason.kind is ReasonKind.CONTRACT:
            return reason.billing_number
    titles = {name for each in line.because if each.kind in ENGAGED for name in each.names}
    numbers = [
        job.billing_number
        for job in ledger.engagements[person]
        if job.billing_number is not None and job.job_title in titles and not job.guaranteed_heading
    ]
    return min(numbers, default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class HeadingsAlike(Check):
    """Two headings differ by one letter.

    Headings that contracts guarantee, and those that print; blocks of characters have names of
    their own. guaranteed: those of the two that contracts guarantee.
    """

    about = "heading heading=other"
    of_days = False

    heading: str
    other: str
    guaranteed: tuple[str, ...]

    @classmethod
    def find(cls, known: Known) -> Iterator[Self]:
        bound = dict(guaranteed_headings(known.ledger))
        spelled: dict[str, str] = {}
        for section in known.compiled.sections:
            if section.heading and not _is_of_characters(section):
                spelled.setdefault(fold_words(section.heading), section.heading)
        spelled |= {key: heading for key, heading in bound.items() if key not in spelled}
        for one, other in pairs_by_a_letter(spelled):
            pair = sorted((one, other), key=lambda key: spelled[key])
            yield cls(
                heading=spelled[pair[0]],
                other=spelled[pair[1]],
                guaranteed=tuple(bound[key] for key in pair if key in bound),
            )

    def in_words(self) -> tuple[str, str]:
        bound = f"; contracts guarantee {_quoted(self.guaranteed)}" if self.guaranteed else ""
        return (
            f"The headings {_quoted((self.heading, self.other))} differ by one letter{bound}.",
            "Ask whether they are one heading; if so write it alike in the contracts "
            "(credits correct engagements PERSON guaranteed_heading=HEADING --why TEXT) and in "
            "credit-plan.toml.",
        )


def _is_of_characters(section: Section) -> bool:
    """Tell whether a section is the block of a character, which is called after it."""
    kinds = {reason.kind for line in section.lines for reason in line.because}
    return ReasonKind.PERFORMANCE in kinds


@dataclass(frozen=True, slots=True, kw_only=True)
class GuaranteedTwice(OfGuarantee):
    """A person whom a contract guarantees a heading also stands under a lesser one.

    Common practice: who is named for a job is not named again for less of the same. Lesser is a
    heading that no contract guarantees this person, of the same department and further down, or
    one whose words are all in the guaranteed heading (Animators, beside Lead animators). Voices
    and blocks of characters are of the role. lesser: those headings.
    """

    lesser: tuple[str, ...]

    @classmethod
    def find(cls, known: Known) -> Iterator[Self]:
        ledger = known.ledger
        every = [own for own in guarantees(ledger) if _is_named(ledger, own.person)]
        stands = _stands(known.compiled, (own.person for own in every))
        departments = _Departments(ledger)
        for own in every:
            key, lines = fold_words(own.heading), stands[own.person]
            places = [s.place for s in lines if key in s.by_contract]
            if not places:
                continue
            own_departments = {fold_words(job.department) for job in own.jobs}
            own_words = set(key.split())
            lesser = [
                stand.section.heading
                for stand in lines
                if stand.section.heading
                and not stand.by_contract
                and stand.place not in places
                and (departments.is_of_a_craft(stand.line))
                and (
                    set(fold_words(stand.section.heading).split()) < own_words
                    or (stand.place > min(places) and departments.of(stand) & own_departments)
                )
            ]
            if lesser:
                yield cls(
                    person=words.person(ledger, own.person),
                    heading=own.heading,
                    lesser=tuple(dict.fromkeys(lesser)),
                )

    def in_words(self) -> tuple[str, str]:
        code = words.typed(self.person.code)
        return (
            f"{self.guaranteed}, and the end credits print this person under "
            f"{_quoted(self.lesser)} too.",
            f"Read credits why {code}. If one heading is enough, leave the other out in "
            "credit-plan.toml: [[credited]] with person, printed = false and headings.",
        )


class _Departments:
    """The departments of what puts people under headings."""

    def __init__(self, ledger: Ledger) -> None:
        self._ledger = ledger
        self._of_craft: dict[str, set[str]] = defaultdict(set)
        for craft in ledger.crafts.values():
            self._of_craft[craft.name].add(fold_words(craft.department))
        cast = (ledger.crafts[code].name for code in CAST_CRAFTS if code in ledger.crafts)
        self._cast = frozenset(cast)

    def is_of_a_craft(self, line: Line) -> bool:
        """Tell whether a line is for more than a role."""
        return any(
            reason.kind is ReasonKind.CRAFT and not self._cast.issuperset(reason.names)
            for reason in line.because
        ) or any(reason.kind in ENGAGED for reason in line.because)

    def of(self, stand: StandsAt) -> set[str]:
        """Return the departments of a line's crafts and engagements, as compared."""
        found: set[str] = set()
        for reason in stand.line.because:
            if reason.kind in WORKED:
                found.update(*(self._of_craft[name] for name in reason.names))
            elif reason.kind in ENGAGED:
                found.update(self._of_jobs(stand.line.person, reason))
        return found

    def _of_jobs(self, person: str, reason: Reason) -> Iterator[str]:
        for job in self._ledger.engagements.get(person, ()):
            if job.job_title in reason.names:
                yield fold_words(job.department)
