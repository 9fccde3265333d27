"""Look things up by a text, an entry's history by its number; say that two codes are one person."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from typing import NamedTuple

from credits.app.entries import sentence, thing
from credits.app.named import fact_named, name_of, with_name
from credits.errors import Finding, ProblemsFound, WrongCall
from credits.model.facts import EntryNumber, Part, Person, Puppet, Shot, Work
from credits.model.ledger import Ledger
from credits.model.log import Batch, LogLine, WrittenLog
from credits.model.replay import entries_with, one_person, replay
from credits.names import fold
from credits.store.log import open_log


class Match(NamedTuple):
    """One thing that matches: what it is, its code or number, what it is called or says."""

    kind: str
    code: str
    says: str


class FoundByText(NamedTuple):
    """What a text matches, and the lines of the entry whose number it is, as they were written."""

    matches: tuple[Match, ...]
    history: tuple[LogLine, ...]
    ledger: Ledger


def find_text(folder: Path, text: str) -> FoundByText:
    """Find people, characters, puppets, shots and entries by a part of what they are called."""
    with open_log(folder) as log:
        written = log.read()
    ledger = replay(written)
    history: tuple[LogLine, ...] = ()
    with suppress(ValueError):
        number = EntryNumber.parse(text)
        history = entries_with(written, lambda line: line.number == number).lines
    return FoundByText(tuple(_matches(text, written, ledger)), history, ledger)


# The tables that are searched: what one of a table is, and the texts in which it is looked for.
SEARCHED = {
    "people": ("person", "code credit_name sort_name"),
    "characters": ("character", "code name"),
    "puppets": ("puppet", "code copy note"),
    "parts": ("part", "code kind note"),
    "sequences": ("sequence", "code name"),
    "shots": ("shot", "code description"),
    "stages": ("stage", "code unit"),
}


def _matches(text: str, written: WrittenLog, ledger: Ledger) -> Iterator[Match]:
    words = fold(text).split()

    def fits(*texts: str | None) -> bool:
        folded = " ".join(fold(each) for each in texts if each)
        return bool(words) and all(word in folded for word in words)

    for table, (kind, fields) in SEARCHED.items():
        for fact in getattr(written, table):
            if fits(*(getattr(fact, field) for field in fields.split())):
                yield Match(kind, fact.code, _says(fact, ledger))
    for entry in ledger.entries:
        note = entry.work.note
        if fits(entry.ref, note):
            said = f"{sentence(entry.work, ledger)}.{f' Note: {note}' if note else ''}"
            yield Match("entry", str(entry.number), said)


def _says(fact: object, ledger: Ledger) -> str:
    if isinstance(fact, Puppet):
        return thing(Work(craft="", person="", puppet=fact.code), ledger)
    if isinstance(fact, Part):
        return thing(Work(craft="", person="", part=fact.code), ledger)
    if isinstance(fact, Shot):
        return fact.description or f"{fact.length} frames"
    return name_of(fact) or ""


class SamePerson(NamedTuple):
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
        ends, change = one_person(by_code.values()), None
        if undo:
            change = _parted(one, other, by_code)
        elif ends[one.code] != ends[other.code]:  # the end of one chain points at the other's
            change = replace(by_code[ends[other.code]], same_as=ends[one.code])
        if change is not None:
            by_code[change.code] = change
            ends = one_person(by_code.values())
        own = tuple(sorted(code for code, end in ends.items() if end == ends[one.code]))
        known = SamePerson(one, other, by_code[ends[one.code]], own, change is not None)
        return None if change is None else Batch(people=(change,)), known

    with open_log(folder) as log:
        return log.write_if_unmoved(joining)[0]


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
