"""Say that two codes are one person; confirm how a name is spelled."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from credits.app.named import day_named, fact_named, text_meant, with_name
from credits.app.writing import write_if_unmoved
from credits.errors import Finding, ProblemsFound, WrongCall
from credits.model.facts import Confirmation, Person
from credits.model.log import Batch, NewConfirmation, WrittenLog
from credits.model.replay import one_person, replay
from credits.store import open_log


@dataclass(frozen=True, slots=True, kw_only=True)
class SamePerson:
    """Two codes as they now stand. ``known_as``: the person that the first is; ``codes``: all of
    that person's codes; ``changed``: whether anything was written."""

    first: Person
    second: Person
    known_as: Person
    codes: tuple[str, ...]
    changed: bool


def join_people(folder: Path, first: str, second: str, undo: bool = False) -> SamePerson:
    """Say that two codes are one person, known by the first of the two.

    undo: they are two people after all. Raises WrongCall, ProblemsFound.
    """

    def joining(written: WrittenLog) -> tuple[Batch | None, SamePerson]:
        by_code = {person.code: person for person in written.people}
        one, other = (fact_named("people", text, written.people) for text in (first, second))
        if one.code == other.code:
            what = "is one code, not two"
            raise WrongCall(Finding(what, "Name two codes of the people table.", value=one.code))
        change = _parted(one, other, by_code) if undo else _joined(one, other, by_code)
        if change is not None:
            by_code[change.code] = change
        ends = one_person(by_code.values())
        known = SamePerson(
            first=one,
            second=other,
            known_as=by_code[ends[one.code]],
            codes=tuple(sorted(code for code, end in ends.items() if end == ends[one.code])),
            changed=change is not None,
        )
        return None if change is None else Batch(people=(change,)), known

    with open_log(folder) as log:
        return write_if_unmoved(log, joining)[0]


def _joined(one: Person, other: Person, by_code: Mapping[str, Person]) -> Person | None:
    """Make the row that points the end of the second's chain at the first's; None: it does."""
    ends = one_person(by_code.values())
    if ends[one.code] == ends[other.code]:
        return None
    return replace(by_code[ends[other.code]], same_as=ends[one.code])


def _parted(one: Person, other: Person, by_code: Mapping[str, Person]) -> Person:
    """Make the row that parts them. Raises ProblemsFound when they are not joined, or by others."""
    ends = one_person(by_code.values())
    if ends[one.code] != ends[other.code]:
        what = f"{with_name(one)} and {with_name(other)} are two people: there is nothing to undo"
        raise ProblemsFound(Finding(what))
    for person in (other, one):
        if person.same_as is None:
            continue
        parted = replace(person, same_as=None)
        after = one_person({**by_code, person.code: parted}.values())
        if after[one.code] != after[other.code]:
            return parted
    what = f"{with_name(one)} and {with_name(other)} are joined by way of other codes"
    hint = f"Undo these one by one; all of them stand for {ends[one.code]}."
    raise ProblemsFound(Finding(what, hint))


@dataclass(frozen=True, slots=True)
class Confirmed:
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

    with open_log(folder) as log:
        return write_if_unmoved(log, word)[0]


def _day(day: date | None, last: Confirmation | None) -> date | None:
    """Return the day of an answer: not before the last one, which would go on to count."""
    if last is None or last.confirmed_on <= (day or date.today()):
        return day
    if day is None:
        return last.confirmed_on
    what = f"is before the last answer about this name, of {last.confirmed_on}"
    raise WrongCall(Finding(what, "Write that day or a later one.", None, "--on", str(day)))
