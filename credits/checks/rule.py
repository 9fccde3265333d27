"""What a check is: the facts it asks about, how they are found, and how they are said."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from operator import attrgetter
from re import sub
from typing import TYPE_CHECKING, Any, ClassVar, Self

from credits.footage.claims import TakeRuns
from credits.footage.cut import CutUse
from credits.model.facts import EntryNumber, Subjects
from credits.model.ledger import Entry, Ledger

if TYPE_CHECKING:  # whoever logs an entry does not wait for the billing
    from credits.billing.credits import Credits


class Severity(StrEnum):
    """``wrong`` cannot be true; ``question``: somebody must answer."""

    WRONG = "wrong"
    QUESTION = "question"


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """Everything that the checks look at, all of one ledger.

    use: None without a cut; the checks of the cut find nothing then. credits: None where only
    checks are asked that need none.
    """

    ledger: Ledger
    runs: Mapping[tuple[str, int], TakeRuns]
    use: CutUse | None = None
    credits: Credits | None = None

    @property
    def compiled(self) -> Credits:
        """The compiled credits. Raises ValueError where they are not at hand."""
        if self.credits is None:
            raise ValueError("this check is asked of the compiled credits")
        return self.credits


@dataclass(frozen=True, slots=True, kw_only=True)
class Check(ABC):
    """A question the log cannot answer yet, or something that cannot be right.

    Each check is a class of its own. Its fields are the facts that it asks about, as plain values:
    an answer holds for as long as they are the same. Its words are made of them and decide nothing.

    kind: its name, that of the class: ``NoEngagement`` is ``no-engagement``; logs hold it with the
    answers. description: what it looks for, the first line of the docstring of the class.
    about: its subjects, the most important first: each a kind that is the name of the field too, or
    ``kind=field``. of_spelling: whether it matters to nobody before the end credits are sent round.
    scope: what one case rests on (``shot``, ``person``, ``puppet``, ``part``, ``character``,
    ``day``): of a ledger that holds only one shot's rows and entries ``find`` gives the cases of
    this shot, no more and no less; of ``log`` only the whole gives them.
    of_days: whether a case can be about a day, by its subjects or by its entries.
    entries: those it rests on; what they say are facts too.
    """

    kind: ClassVar[str]
    description: ClassVar[str]
    about: ClassVar[str]
    of_spelling: ClassVar[bool] = False
    scope: ClassVar[str] = "log"
    of_days: ClassVar[bool] = True
    _subjects: ClassVar[tuple[tuple[str, Callable[[Any], Any]], ...]] = ()

    entries: tuple[EntryNumber, ...] = ()
    severity: Severity = Severity.QUESTION

    @classmethod
    @abstractmethod
    def find(cls, known: Known) -> Iterator[Self]:
        """Find every case, in any order."""

    def __init_subclass__(cls) -> None:
        cls.kind = sub("(?<=.)(?=[A-Z])", "-", cls.__name__).lower()
        cls.description = (cls.__doc__ or "").partition("\n")[0]
        about = (each.partition("=") for each in getattr(cls, "about", "").split())
        cls._subjects = tuple((kind, attrgetter(field or kind)) for kind, _, field in about)

    @property
    def subjects(self) -> Subjects:
        """Return kind and code of each subject; a kind may stand there twice (two people)."""
        found: list[tuple[str, str]] = []
        for kind, value_of in self._subjects:
            value = value_of(self)
            if type(value) is tuple:
                found += [(kind, str(code)) for code in value]
            else:
                found.append((kind, str(getattr(value, "code", value))))
        return tuple(found)

    @abstractmethod
    def in_words(self) -> tuple[str, str]:
        """Return one sentence that says what was found, and what settles it."""

    @property
    def message(self) -> str:
        """Return what was found, in one sentence."""
        return self.in_words()[0]

    @property
    def hint(self) -> str:
        """Return what settles it: whom to ask, what to correct."""
        return self.in_words()[1]

    @property
    def place(self) -> tuple[tuple[tuple[str, int, str], ...], tuple[EntryNumber, ...]]:
        """Return what it is sorted by: its subjects (take 2 before take 10), then its entries."""
        subjects = tuple(
            [(kind, int(code) if kind == "take" else 0, code) for kind, code in self.subjects]
        )
        return subjects, self.entries


def numbers_of(entries: Iterable[Entry]) -> tuple[EntryNumber, ...]:
    """Return the numbers of entries."""
    return tuple([entry.number for entry in entries])


def days_of(entries: Iterable[Entry]) -> tuple[date, ...]:
    """Return the days of the entries that have one."""
    return tuple(entry.day for entry in entries if entry.day is not None)


def find_checks(known: Known, checks: Iterable[type[Check]]) -> tuple[Check, ...]:
    """Find everything that some checks ask, in their order, then in that of their subjects.

    The cost of a check follows the entries, never the frames and never pairs of entries.
    """
    return tuple(
        found for check in checks for found in sorted(check.find(known), key=lambda c: c.place)
    )
