"""What a check is: its rule, what it looks at, a case it finds, and the check that is shown."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum

from credits.billing.credits import Credits
from credits.footage.claims import TakeRuns
from credits.footage.cut import CutUse
from credits.model.facts import EntryNumber
from credits.model.ledger import Ledger

Subject = tuple[str, str]


class Severity(StrEnum):
    """``wrong`` cannot be true; ``question``: somebody must answer."""

    WRONG = "wrong"
    QUESTION = "question"


@dataclass(frozen=True, slots=True)
class Check:
    """A question the log cannot answer yet, or something that cannot be right.

    ``subjects``: kind and code of what it is about, the most important first; a kind may stand
    there twice (two people, two stages). ``message``: one sentence. ``hint``: what settles it.
    """

    check: str
    severity: Severity
    subjects: tuple[Subject, ...]
    entries: tuple[EntryNumber, ...]
    message: str
    hint: str


@dataclass(frozen=True, slots=True)
class Known:
    """Everything that the checks look at."""

    ledger: Ledger
    runs: Mapping[tuple[str, int], TakeRuns]
    use: CutUse | None
    credits: Credits


@dataclass(frozen=True, slots=True)
class Case:
    """One case that a rule found. ``severity`` None: that of the rule."""

    subjects: tuple[Subject, ...]
    message: str
    hint: str
    entries: tuple[EntryNumber, ...] = ()
    severity: Severity | None = None


@dataclass(frozen=True, slots=True)
class CheckRule:
    """A check by name: how severe it is, what it says in one line, and how its cases are found."""

    name: str
    severity: Severity
    description: str
    cases: Callable[[Known], Iterable[Case]]

    def checks(self, known: Known) -> Iterator[Check]:
        """The cases that the rule finds, as checks, in the order of their subjects."""
        for case in sorted(self.cases(known), key=_case_order):
            yield Check(
                self.name,
                case.severity or self.severity,
                case.subjects,
                case.entries,
                case.message,
                case.hint,
            )


def _case_order(case: Case) -> tuple[tuple[tuple[str, int, str], ...], tuple[EntryNumber, ...]]:
    """By subjects (take 2 before take 10), then by entries."""
    subjects = tuple(
        (kind, int(code) if kind == "take" else 0, code) for kind, code in case.subjects
    )
    return subjects, case.entries
