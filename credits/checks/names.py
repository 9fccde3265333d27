"""Checks of the end credits and the names in them; people whose names are nearly the same."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Self

from rapidfuzz import fuzz, process

from credits.billing.compile import people_owed
from credits.checks.people import OfPerson
from credits.checks.rule import Known, Severity, numbers_of
from credits.model import words
from credits.names import fold

LEAST_LIKENESS = 88.0
LEAST_PLAIN_LIKENESS = 80.0


def _near_in_letters(texts: Sequence[str]) -> set[tuple[int, int]]:
    """Pairs of places (lower first) of texts of whose letters 80 % agree in order."""
    return {
        (at, at + 1 + behind)
        for at, text in enumerate(texts)
        for _, _, behind in process.extract(
            text, texts[at + 1 :], scorer=fuzz.ratio, limit=None, score_cutoff=LEAST_PLAIN_LIKENESS
        )
    }


def _within_words(word_sets: Sequence[frozenset[str]]) -> set[tuple[int, int]]:
    """Pairs of places (lower first) where all words of one, two at least, are in the other."""
    holders: dict[str, set[int]] = {}
    for at, each in enumerate(word_sets):
        for word in each:
            holders.setdefault(word, set()).add(at)
    return {
        (min(at, other), max(at, other))
        for at, each in enumerate(word_sets)
        if len(each) > 1
        for other in set.intersection(*(holders[word] for word in each)) - {at}
    }


def alike(names: Sequence[tuple[str, str]]) -> list[tuple[str, str, float]]:
    """Find pairs whose names are nearly the same: people to ask about, not people to join.

    In: (code, name). Out: (code, code, likeness 88-100), lower code first, each pair once, sorted.
    Two folded names are alike when rapidfuzz's WRatio is 88 or more and, since WRatio also finds a
    short name inside a longer one ("Ana" in "Ana Lind"), one of these holds as well: at least 80 %
    of the letters agree in order; or so they do with the words sorted ("Lind Ana"); or all words of
    the shorter, two at least, are words of the longer ("Ana Lind", "Ana Lind Moreau").
    """
    people = sorted({(code, folded) for code, name in names if (folded := fold(name))})
    texts = [folded for _, folded in people]
    words = [folded.split(" ") for folded in texts]
    likely = _near_in_letters(texts)
    likely |= _near_in_letters([" ".join(sorted(parts)) for parts in words])
    likely |= _within_words([frozenset(parts) for parts in words])
    found: dict[tuple[str, str], float] = {}
    for one, other in likely:
        likeness = fuzz.WRatio(texts[one], texts[other])
        pair = (people[one][0], people[other][0])
        if pair[0] != pair[1] and likeness >= LEAST_LIKENESS:
            found[pair] = max(likeness, found.get(pair, likeness))
    return sorted((one, other, likeness) for (one, other), likeness in found.items())


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut(OfPerson):
    """Somebody with an entry or an engagement is neither printed nor held.

    It is about all the work of a person, and of no day. engagements: how many. plan: the credit
    plan by its name.
    """

    of_days = False

    severity: Severity = Severity.WRONG

    engagements: int
    plan: str

    @classmethod
    def find(cls, known: Known) -> Iterator[Self]:
        ledger = known.ledger
        found = known.compiled.printed | {held.person for held in known.compiled.held}
        for person in people_owed(ledger):
            if person not in found:
                own = ledger.entries_by_person.get(person, ())
                yield cls(
                    person=words.person(ledger, person),
                    entries=numbers_of(own),
                    engagements=len(ledger.engagements.get(person, ())),
                    plan=known.compiled.plan,
                )

    def in_words(self) -> tuple[str, str]:
        return (
            f"{self.person} has {words.entry_count(self.entries)} and "
            f"{words.counted(self.engagements, 'engagement')}, and the end credits by the "
            f"{self.plan} neither print nor hold this person.",
            "Add a section that takes their craft or department to credit-plan.toml, compile "
            f"again with credits roll, and read: credits why {words.typed(self.person.code)}",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class NamesAlike(OfPerson):
    """Two people have nearly the same credit name.

    Codes that are one person already are not asked about: each person is looked at once.
    """

    of_days = False
    of_spelling = True

    about = "person person=other"

    other: words.Named

    @classmethod
    def find(cls, known: Known) -> Iterator[Self]:
        ledger = known.ledger
        people = [(code, ledger.people[code].credit_name) for code in people_owed(ledger)]
        for one, other, _ in alike(people):
            yield cls(person=words.person(ledger, one), other=words.person(ledger, other))

    def in_words(self) -> tuple[str, str]:
        return (
            f"{self.person} and {self.other} have nearly the same credit name.",
            "Ask whether they are one person; if so: credits same "
            f"{words.typed(self.person.code)} {words.typed(self.other.code)}",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class NameUnconfirmed(OfPerson):
    """Somebody would be credited whose name, as it is spelled now, nobody has confirmed.

    headings: those that the person is printed under. asked_about: the spelling that the last answer
    was about, given on answered_on; None: there was no answer. was_right: whether it was confirmed.
    """

    of_days = False
    of_spelling = True

    headings: tuple[str, ...]
    asked_about: str | None
    answered_on: date | None
    was_right: bool

    @classmethod
    def find(cls, known: Known) -> Iterator[Self]:
        headings: dict[str, dict[str, None]] = defaultdict(dict)
        for section in known.compiled.sections:
            for line in section.lines:
                if line.person and not line.confirmed:
                    headings[line.person][section.heading] = None
        for person, own in headings.items():
            last = known.ledger.confirmation(person)
            yield cls(
                person=words.person(known.ledger, person),
                headings=tuple(own),
                asked_about=last.name if last else None,
                answered_on=last.confirmed_on if last else None,
                was_right=last is not None and last.is_right,
            )

    def in_words(self) -> tuple[str, str]:
        under = words.some_of(words.in_sentence(heading) for heading in self.headings)
        name = words.in_sentence(self.asked_about or "")
        if self.asked_about is None:
            last = "nobody has confirmed the spelling"
        elif self.was_right:
            last = f"what was confirmed on {self.answered_on} is the spelling '{name}'"
        else:
            last = f"the answer of {self.answered_on} was that '{name}' is not confirmed"
        return (
            f"{self.person} would be printed under {under}, and {last}.",
            "Send a proof and ask how the name is to appear: credits confirm PERSON, with --as "
            "NAME for another spelling.",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class AnswerInTheFuture(OfPerson):
    """The last word on the spelling of a name is of a day after it was written down.

    It goes before every answer that is given until then. A day more is allowed: the log is written
    by universal time. answered_on: the day. written_on: when it was written down.
    """

    of_days = False
    of_spelling = True

    answered_on: date
    written_on: date

    @classmethod
    def find(cls, known: Known) -> Iterator[Self]:
        for person, word in known.ledger.confirmations.items():
            written_on = word.written_at.date()
            if word.confirmed_on > written_on + timedelta(days=1):
                yield cls(
                    person=words.person(known.ledger, person),
                    answered_on=word.confirmed_on,
                    written_on=written_on,
                )

    def in_words(self) -> tuple[str, str]:
        return (
            f"The last answer about the name of {self.person} is of {self.answered_on}, and was "
            f"written down on {self.written_on}.",
            "Ask for the right day. Until then no other answer counts: once more from that day on, "
            f"credits confirm {words.typed(self.person.code)}.",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class SortNameMissing(OfPerson):
    """A person whose credit name has several words has no sort name."""

    of_days = False
    of_spelling = True

    @classmethod
    def find(cls, known: Known) -> Iterator[Self]:
        for code in people_owed(known.ledger):
            person = known.ledger.people[code]
            if not person.sort_name and len(person.credit_name.split()) > 1:
                yield cls(person=words.person(known.ledger, code))

    def in_words(self) -> tuple[str, str]:
        return (
            f"{self.person} has no sort name, and files under the whole name as it is written.",
            "Ask under which part the name files; then set sort_name in the people table "
            "(that part first, a comma, the rest) and load it again.",
        )
