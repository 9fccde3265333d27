"""Spellings of names: who has not confirmed theirs, and the answers."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import NamedTuple

from credits.app.production import open_snapshot
from credits.app.spellings.due import is_late
from credits.app.work.named import day_named, fact_named, text_meant
from credits.app.work.writing import open_to_write
from credits.errors import Finding, WrongCall
from credits.figures.renewal import Depth
from credits.formats.tables.confirmations import Asked, asked
from credits.model.facts import Confirmation, NewConfirmation, Person
from credits.model.log import Batch, WrittenLog
from credits.model.replay import replay
from credits.text import single_spaced


class Unanswered(NamedTuple):
    """Somebody who prints and has not confirmed the spelling, with their last answer.

    is_late: the day to answer by has gone.
    """

    asked: Asked
    last: Confirmation | None
    is_late: bool


class StillOpen(NamedTuple):
    """Who has not confirmed; ``answer_by``: the day to answer by, where the production has one."""

    answer_by: date | None
    people: tuple[Unanswered, ...]

    @property
    def late(self) -> int:
        """Count those who are late."""
        return sum(one.is_late for one in self.people)


def unanswered(folder: Path) -> StillOpen:
    """List the printed people who have not confirmed their spelling, with their last answer."""
    snapshot = open_snapshot(folder, Depth.FOOTAGE)
    ledger = snapshot.ledger
    late = is_late(ledger.production.names_by)
    every = (one for one in asked(snapshot.credits, ledger) if one.confirmed_on is None)
    found = (Unanswered(one, ledger.confirmation(one.person), late) for one in every)
    return StillOpen(ledger.production.names_by, tuple(found))


class Confirmed(NamedTuple):
    """A person before and after a word on their name; ``is_new``: whether anything was written.

    is_respaced: the name was typed with spaces in a row, and written with one.
    """

    before: Person
    after: Person
    is_new: bool
    is_respaced: bool = False


def confirm_name(
    folder: Path,
    person: str,
    name: str | None = None,
    on: str | None = None,
    by: str | None = None,
    undo: bool = False,
) -> Confirmed:
    """Write down that a name is spelled right.

    name: how it is spelled; None: as it stands. on: the day of the answer; None: today.
    undo: it is not right, or was never confirmed. Raises WrongCall.
    """
    day = day_named(on, "--on") if on is not None else None
    who = text_meant(by, "--by") if by is not None else None
    _refuse_future(day)
    spelled = text_meant(name, "--as") if name is not None else None
    typed, spelled = spelled, single_spaced(spelled) if spelled is not None else None
    if spelled == "":
        raise WrongCall(Finding("is empty", "Write the name.", None, "--as", name))

    def word(written: WrittenLog) -> tuple[Batch | None, Confirmed]:
        ledger = replay(written)
        before = ledger.person(fact_named("people", person, ledger.people.values()).code)
        after = replace(before, credit_name=spelled) if spelled else before
        last = ledger.confirmation(before.code)
        there = last is not None and (last.name, last.is_right) == (after.credit_name, not undo)
        if undo:
            there = there or last is None
        elif there and last is not None:
            there = day in (None, last.confirmed_on)
        if there and before == after:
            return None, Confirmed(before, after, False)
        people = (after,) if after != before else ()
        new = NewConfirmation(
            person=before.code,
            name=after.credit_name,
            confirmed_on=_day(day, last),
            is_right=not undo,
            confirmed_by=who,
        )
        return Batch(people=people, confirmations=(new,)), Confirmed(before, after, True)

    with open_to_write(folder) as log:
        done: Confirmed = log.write_if_unmoved(word)[0]
    return done._replace(is_respaced=typed != spelled)


def _refuse_future(day: date | None) -> None:
    if day is not None and day > date.today():
        what, hint = f"is in the future: today is {date.today()}", "Write the day of the answer."
        raise WrongCall(Finding(what, hint, None, "--on", str(day)))


def _day(day: date | None, last: Confirmation | None) -> date | None:
    """Return the day of an answer: not before the last one, which would go on to count."""
    if last is None or last.confirmed_on <= (day or date.today()):
        return day
    if day is None:
        return last.confirmed_on
    what = f"is before the last answer about this name, of {last.confirmed_on}"
    raise WrongCall(Finding(what, "Write that day or a later one.", None, "--on", str(day)))
