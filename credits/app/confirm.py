"""Spellings of names: who has not confirmed theirs, the sheet that asks, and the answers."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import NamedTuple

from credits.app.named import day_named, fact_named, text_meant
from credits.app.production import open_snapshot
from credits.app.writing import open_to_write
from credits.errors import Finding, WrongCall
from credits.figures.renewal import Depth
from credits.files import write_whole
from credits.formats.deliver.plain import check_target
from credits.formats.tables.confirmations import Asked, asked, confirmation_sheet
from credits.model.facts import Confirmation, NewConfirmation, Person
from credits.model.log import Batch, WrittenLog
from credits.model.replay import replay
from credits.store.settings import read_settings


def unanswered(folder: Path) -> list[tuple[Asked, Confirmation | None]]:
    """List the printed people who have not confirmed their spelling, with their last answer."""
    snapshot = open_snapshot(folder, Depth.FOOTAGE)
    every = asked(snapshot.credits, snapshot.ledger)
    return [
        (one, snapshot.ledger.confirmation(one.person)) for one in every if one.confirmed_on is None
    ]


def write_sheet(folder: Path, out: str | None) -> Path:
    """Write the workbook that ``credits load`` takes back; where it is.

    out: None: a file named after the production in the working folder. Raises WrongCall.
    """
    if out == "-":
        hint = "Name a file, such as confirmations.xlsx."
        raise WrongCall(Finding("a workbook is no text", hint, None, "--out", out))
    target = Path(out or f"{read_settings(folder).code}-confirmations.xlsx")
    if target.suffix.lower() != ".xlsx" and not target.is_dir():
        hint = f"Write a name that ends in .xlsx, such as {target.with_suffix('.xlsx').name}."
        what = "the sheet that asks for spellings is a workbook"
        raise WrongCall(Finding(what, hint, None, "--out", out))
    check_target(target, ".xlsx")
    snapshot = open_snapshot(folder, Depth.FOOTAGE)
    write_whole(target, confirmation_sheet(snapshot.credits, snapshot.ledger))
    return target


class Confirmed(NamedTuple):
    """A person before and after a word on their name; ``is_new``: whether anything was written."""

    before: Person
    after: Person
    is_new: bool


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
    spelled = text_meant(name, "--as") if name is not None else None
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
        return log.write_if_unmoved(word)[0]


def _day(day: date | None, last: Confirmation | None) -> date | None:
    """Return the day of an answer: not before the last one, which would go on to count."""
    if last is None or last.confirmed_on <= (day or date.today()):
        return day
    if day is None:
        return last.confirmed_on
    what = f"is before the last answer about this name, of {last.confirmed_on}"
    raise WrongCall(Finding(what, "Write that day or a later one.", None, "--on", str(day)))
