"""Settled checks: questions that somebody answered, asked again when the facts behind them change.

An answer holds for one check, its subjects and the fingerprint of the facts behind it. Of several
lines on the same facts the last one counts; one that is taken back settles nothing. What cannot be
true is never settled: it is corrected.
"""

from __future__ import annotations

import hashlib
import json
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, fields

from credits.checks.rule import Check, Severity
from credits.model.facts import EntryNumber, Settlement, Subjects, Work
from credits.model.ledger import Ledger
from credits.text import fold_code
from credits.units.frames import Frames

ENTRY = "entry"

_Works = Mapping[EntryNumber, Work]


@dataclass(frozen=True, slots=True)
class Settled:
    """A question and the answer that holds for it."""

    check: Check
    answer: Settlement


def _said(work: Work) -> dict[str, str]:
    """What a work says, by field. What is not given is left out: a new field asks nothing."""
    given = {field.name: getattr(work, field.name) for field in fields(work)}
    return {
        name: value.text if isinstance(value, Frames) else str(value)
        for name, value in given.items()
        if value is not None and value is not False
    }


def _fingerprint(check: Check, works: _Works) -> str:
    said = [(str(n), _said(works[n]) if n in works else {}) for n in check.entries]
    facts = (check.check, str(check.severity), check.subjects, check.message, said)
    text = json.dumps(facts, ensure_ascii=True, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode("ascii")).hexdigest()


def fingerprint(check: Check, ledger: Ledger) -> str:
    """64 hexadecimal figures that stand for the facts behind a check.

    The facts: its name, severity and subjects, its sentence (which names lengths, dates, decisions
    and names), and of each of its entries the number and what that line says.
    """
    own = set(check.entries)
    return _fingerprint(check, {e.number: e.work for e in ledger.entries if e.number in own})


def _answers(settlements: Iterable[Settlement]) -> dict[tuple[str, Subjects, str], Settlement]:
    """The answers that stand, by check, subjects and facts."""
    last = {(line.check, line.subjects, line.facts): line for line in settlements}
    return {key: line for key, line in last.items() if not line.taken_back}


def open_and_settled(
    checks: Sequence[Check], ledger: Ledger
) -> tuple[tuple[Check, ...], tuple[Settled, ...]]:
    """The checks that are open, and those that an answer of the ledger settles, in their order."""
    answers = _answers(ledger.settlements)
    if not answers:
        return tuple(checks), ()
    asked = {(check, subjects) for check, subjects, _ in answers}
    works = {entry.number: entry.work for entry in ledger.entries}
    still_open: list[Check] = []
    settled: list[Settled] = []
    for check in checks:
        answer = None
        if check.severity is Severity.QUESTION and (check.check, check.subjects) in asked:
            answer = answers.get((check.check, check.subjects, _fingerprint(check, works)))
        if answer is None:
            still_open.append(check)
        else:
            settled.append(Settled(check, answer))
    return tuple(still_open), tuple(settled)


# --- Naming one check among many: by its subjects, by kind=code, by an entry.


def _names(check: Check) -> Iterator[str]:
    """Everything that a check can be called by."""
    for kind, code in check.subjects:
        yield fold_code(code)
        yield fold_code(f"{kind}={code}")
    for number in check.entries:
        yield fold_code(str(number))
        yield fold_code(f"{ENTRY}={number}")


class CheckNames:
    """Which of some checks words mean, and by which words a check is meant alone."""

    def __init__(self, checks: Sequence[Check]) -> None:
        self._checks = checks
        self._called: dict[tuple[str, str], set[int]] = defaultdict(set)
        self._of: dict[str, set[int]] = defaultdict(set)
        for place, check in enumerate(checks):
            self._of[check.check].add(place)
            for name in _names(check):
                self._called[check.check, name].add(place)

    def _places(self, check: str, words: Iterable[str]) -> set[int]:
        called = [self._called.get((check, fold_code(word.strip())), set()) for word in words]
        called.sort(key=len)
        return called[0].intersection(*called[1:]) if called else self._of.get(check, set())

    def meant(self, check: str, words: Iterable[str]) -> tuple[Check, ...]:
        """The checks of this name that every word names; case does not matter."""
        return tuple(self._checks[place] for place in sorted(self._places(check, words)))

    def words_for(self, check: Check) -> tuple[str, ...]:
        """The fewest words, in the order of the subjects, that mean this check and no other.

        Kinds stand before codes where codes alone mean several checks, then entries. Two checks
        that are alike in all of these cannot be told apart: all words are given.
        """
        codes = [code for _, code in check.subjects]
        named = [f"{kind}={code}" for kind, code in check.subjects]
        entries = [str(number) for number in check.entries]
        plain = [n if c.startswith("-") else c for c, n in zip(codes, named, strict=True)]
        for words, least in ((plain, 1), (named, 1), ([*named, *entries], len(named) + 1)):
            for count in range(min(least, len(words)), len(words) + 1):
                if len(self._places(check.check, words[:count])) == 1:
                    return tuple(words[:count])
        return (*named, *entries)
