"""Settled checks: questions that somebody answered, asked again when the facts behind them change.

An answer holds for one check, its subjects and the fingerprint of the facts behind it. Of several
lines on the same facts the last one counts; one that is taken back settles nothing. What cannot be
true is never settled: it is corrected.

A standing answer holds for every case of its check that it describes, those of later days too,
until it is taken back. An answer to one case goes before it.
"""

from __future__ import annotations

import hashlib
import json
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, is_dataclass
from typing import Any

from credits.checks.rule import Check, Severity
from credits.model.facts import EntryNumber, Settlement, Subjects, Work, said_by
from credits.model.ledger import Ledger
from credits.text import fold_code
from credits.units.frames import Frames

ENTRY = "entry"
FORMAT = "2:"
STANDING = "standing:1"
"""Stands where a fingerprint would: the subjects are what each case that is answered must have."""

CRAFT = "craft"
"""Of a standing answer: the crafts that the entries of a case have, no more and no less."""


@dataclass(frozen=True, slots=True)
class Settled:
    """A question and the answer that holds for it."""

    check: Check
    answer: Settlement

    @property
    def is_standing(self) -> bool:
        """Tell whether the answer is one for all cases like it."""
        return self.answer.facts == STANDING


def _given(fact: object) -> dict[str, Any]:
    """Return the fields of a fact that are given: one that is not says nothing."""
    said = said_by(fact).items()
    return {name: value for name, value in said if value is not None and value is not False}


def _plain(value: object) -> object:
    """Return a value as JSON holds it."""
    if isinstance(value, Frames):
        return value.text
    if isinstance(value, EntryNumber):
        return str(value)
    if is_dataclass(value):
        return {name: _plain(each) for name, each in _given(value).items()}
    if isinstance(value, tuple):
        return [_plain(each) for each in value]
    return value if value is None or isinstance(value, int) else str(value)


def fingerprint(check: Check, works: Mapping[EntryNumber, Work]) -> str:
    """Return what stands for the facts behind a check: ``2:`` and 64 hexadecimal figures.

    The facts: its kind, its subjects, its fields by name, and what each of its entries says. Its
    words are none of them. ``2:`` is the number of this format; fingerprint_1 has the one before.
    works: what the lines of the log say that count, by number; others may be there too.
    """
    said = [_plain(works.get(number)) for number in check.entries]
    return FORMAT + _digest((check.kind, check.subjects, _plain(check), said))


def fingerprint_1(check: Check, works: Mapping[EntryNumber, Work]) -> str:
    """Return what stood for the facts in logs whose fingerprints carry no format number.

    64 hexadecimal figures of the check's kind, severity, subjects and message, and of what its
    entries say. The messages are still those of that time, letter for letter; a test holds them to
    what that release wrote. Who rewords a message first moves its old wording here, as a function
    of the check's fields, so that the answers in old logs are kept. works: as in fingerprint.
    """
    said = [(str(n), _texts(works[n]) if n in works else {}) for n in check.entries]
    facts = (check.kind, str(check.severity), check.subjects, check.message, said)
    return _digest(facts)


def _texts(work: Work) -> dict[str, str]:
    return {
        name: value.text if isinstance(value, Frames) else str(value)
        for name, value in _given(work).items()
    }


def _digest(facts: object) -> str:
    text = json.dumps(facts, ensure_ascii=True, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode("ascii")).hexdigest()


class WorksOf(Mapping[EntryNumber, Work]):
    """What each line of the log says that counts; looked up when it is asked for."""

    def __init__(self, ledger: Ledger) -> None:
        self._entries = ledger.by_number

    def __getitem__(self, number: EntryNumber) -> Work:
        return self._entries[number].work

    def __iter__(self) -> Iterator[EntryNumber]:
        return iter(self._entries)

    def __len__(self) -> int:
        return len(self._entries)


def _answer(
    check: Check, lines: Sequence[Settlement], works: Mapping[EntryNumber, Work]
) -> Settlement | None:
    """Return the answer that holds for a check, of the lines about its kind and subjects."""
    facts = {fingerprint(check, works)}
    if not all(line.facts.startswith(FORMAT) for line in lines):
        facts.add(fingerprint_1(check, works))
    last = next((line for line in reversed(lines) if line.facts in facts), None)
    return None if last is None or last.taken_back else last


class StandingAnswers:
    """The standing answers of a ledger that were not taken back, the first one first."""

    def __init__(self, ledger: Ledger) -> None:
        last: dict[tuple[str, Subjects], Settlement] = {}
        for line in ledger.settlements:
            if line.facts == STANDING:
                last.pop((line.check, line.subjects), None)
                last[line.check, line.subjects] = line
        self.holding = tuple(line for line in last.values() if not line.taken_back)
        self._ledger = ledger

    def to(self, check: Check, works: Mapping[EntryNumber, Work]) -> Settlement | None:
        """Return the last one given that describes a check; none describes what cannot be true."""
        if check.severity is not Severity.QUESTION:
            return None
        own = (line for line in reversed(self.holding) if line.check == check.kind)
        return next((line for line in own if self._describes(line.subjects, check, works)), None)

    def _describes(
        self, condition: Subjects, check: Check, works: Mapping[EntryNumber, Work]
    ) -> bool:
        crafts = {code for kind, code in condition if kind == CRAFT}
        wanted = {self._same(*each) for each in condition if each[0] != CRAFT}
        if not wanted <= {self._same(*each) for each in check.subjects}:
            return False
        return not crafts or crafts == {works[n].craft for n in check.entries if n in works}

    def _same(self, kind: str, code: str) -> tuple[str, str]:
        """Return a subject; a person by the code that they are known by now."""
        return kind, self._ledger.one_person.get(code, code) if kind == "person" else code


def open_and_settled(
    checks: Sequence[Check], ledger: Ledger
) -> tuple[tuple[Check, ...], tuple[Settled, ...]]:
    """Return the checks that are open, and those that an answer of the ledger settles, in order."""
    lines: dict[tuple[str, Subjects], list[Settlement]] = defaultdict(list)
    for line in ledger.settlements:
        if line.facts != STANDING:
            lines[line.check, line.subjects].append(line)
    standing = StandingAnswers(ledger)
    works = WorksOf(ledger)
    still_open: list[Check] = []
    settled: list[Settled] = []
    for check in checks:
        own = lines.get((check.kind, check.subjects)) if lines else None
        can_be = own and check.severity is Severity.QUESTION
        answer = _answer(check, own or (), works) if can_be else None
        answer = answer or standing.to(check, works)
        if answer is None:
            still_open.append(check)
        else:
            settled.append(Settled(check, answer))
    return tuple(still_open), tuple(settled)


def described(answer: Settlement) -> str:
    """Say which cases a standing answer is about: ``every case with stage S1, of repair alone``."""
    subjects = " and ".join(f"{kind} {code}" for kind, code in answer.subjects if kind != CRAFT)
    crafts = " and ".join(code for kind, code in answer.subjects if kind == CRAFT)
    about = f" with {subjects}" if subjects else ""
    return f"every case{about}{f', of {crafts} alone' if crafts else ''}"


# --- Naming one check among many: by its subjects, by kind=code, by an entry.


def _names(check: Check) -> Iterator[str]:
    """Return everything that a check can be called by."""
    for kind, code in (*check.subjects, *((ENTRY, str(number)) for number in check.entries)):
        folded = fold_code(code)
        yield folded
        # Behind the sign, a letter with marks may be folded to another.
        yield f"{kind}={folded}" if code.isascii() else fold_code(f"{kind}={code}")


class CheckNames:
    """Which of some checks words mean, and by which words a check is meant alone.

    The names of a kind are looked at when somebody asks for one of it.
    """

    def __init__(self, checks: Sequence[Check]) -> None:
        self._of_kind: dict[str, list[Check]] = defaultdict(list)
        for check in checks:
            self._of_kind[check.kind].append(check)
        self._names: dict[str, dict[str, set[int]]] = {}

    def _called(self, kind: str) -> dict[str, set[int]]:
        """Return what the checks of a kind are called, each with their places."""
        if kind not in self._names:
            called = self._names[kind] = defaultdict(set)
            for place, check in enumerate(self._of_kind.get(kind, ())):
                for name in _names(check):
                    called[name].add(place)
        return self._names[kind]

    def _places(self, kind: str, words: Sequence[str]) -> Collection[int]:
        if not words:
            return range(len(self._of_kind.get(kind, ())))
        known = self._called(kind)
        called = [known.get(fold_code(word.strip()), set()) for word in words]
        return set.intersection(*sorted(called, key=len))

    def meant(self, kind: str, words: Iterable[str]) -> tuple[Check, ...]:
        """Return the checks of a kind that every word names; case does not matter."""
        own = self._of_kind.get(kind, ())
        return tuple(own[place] for place in sorted(self._places(kind, tuple(words))))

    def words_for(self, check: Check) -> tuple[str, ...]:
        """Return the fewest words, in the order of the subjects, that mean this check alone.

        Kinds stand before codes where codes alone mean several checks, then entries. Two checks
        that are alike in all of these cannot be told apart: all words are given.
        """
        subjects = check.subjects
        codes = [code for _, code in subjects]
        named = [f"{kind}={code}" for kind, code in subjects]
        entries = [str(number) for number in check.entries]
        plain = [n if c.startswith("-") else c for c, n in zip(codes, named, strict=True)]
        for words, least in ((plain, 1), (named, 1), ([*named, *entries], len(named) + 1)):
            for count in range(min(least, len(words)), len(words) + 1):
                if len(self._places(check.kind, words[:count])) == 1:
                    return tuple(words[:count])
        return (*named, *entries)
