"""What has changed since some renewal of the figures, and whose pages may be others by it.

Each renewal notes, under its number, what the entries name that stand otherwise by it, and whose
figures are others. What tables, the cut, the plan and the program say is not looked at here: where
that is another, every page is. A page that is made too often costs time; one that was made too
seldom would be wrong.
"""

from __future__ import annotations

import json
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from functools import cached_property
from typing import Any, NamedTuple

from credits.hands.hands import Via, build_target
from credits.model.facts import Craft, Kind
from credits.model.ledger import BriefEntry, Ledger, performs
from credits.store.beside.kept import FiguresFile
from credits.units.film_time import iso_week

Thing = tuple[str, str]
"""Something that changes: a word for what it is, and its code."""
EVERYTHING: Thing = ("everything", "")
"""What is noted where it would take as long to find out what has changed."""
_NAMED = ("craft", "person", "character", "puppet", "part", "shot")


def things_of(entry: BriefEntry, craft: Craft) -> Iterator[Thing]:
    """Yield everything that an entry is about and that pages rest on."""
    for name in _NAMED:
        code = getattr(entry, name)
        if code is not None:
            yield name, code
    if entry.day is not None:
        yield "day", entry.day.isoformat()
    if craft.kind is Kind.BUILD:
        target = build_target(entry)
        if target is not None:
            yield _made(*target)
    elif performs(craft) and entry.shot is None and entry.character is not None:
        yield "role", entry.character


def _made(via: Via, code: str) -> Thing:
    return f"made {via}", code


Row = Sequence[Any]


class _OfPeople(NamedTuple):
    """What a table of takes says of people. whose: the column that names them; at: the one that
    says only the place of a row within its take."""

    what: str
    whose: int
    at: int | None


PEOPLE_IN = {
    "cells": _OfPeople("footage", 3, 2),
    "animated": _OfPeople("footage", 0, None),
    "ways": _OfPeople("ways", 7, 2),
}
"""The tables of takes that the pages of people rest on."""


def people_changed(table: str, before: Iterable[Row], after: Iterable[Row]) -> set[Thing]:
    """Return the people of whom rows of some takes say something else than they did.

    table: one of PEOPLE_IN.
    """
    what, whose, at = PEOPLE_IN[table]

    def without(row: Row) -> Row:
        return row if at is None else (*row[:at], None, *row[at + 1 :])

    was, now = (Counter(map(without, rows)) for rows in (before, after))
    said: defaultdict[str, tuple[Counter[Row], Counter[Row]]]
    said = defaultdict(lambda: (Counter(), Counter()))
    for side, rows in enumerate((was - now, now - was)):
        for row, times in rows.items():
            people = json.loads(row[whose]) if table == "ways" else (row[whose],)
            for person in people:
                said[person][side][*row[:whose], *row[whose + 1 :]] += times
    return {(what, person) for person, (old, new) in said.items() if old != new}


class ChangedPages:
    """Whose pages may be others than they were.

    things: what has changed; the ledger and the figures are as they are now. A relation between
    two things changes only by an entry that names both, so it is enough to look at those of now.
    """

    def __init__(self, things: Iterable[Thing], ledger: Ledger, file: FiguresFile) -> None:
        self._ledger = ledger
        self._file = file
        self._of: defaultdict[str, set[str]] = defaultdict(set)
        for what, code in things:
            self._of[what].add(code)

    def __contains__(self, page: Thing) -> bool:
        """Tell it of a page that is about a shot, a sequence, a person, a character, its
        replacements, a puppet, a week or a craft, about all shots or all repairs (without a code);
        of one that is about none of these: never."""
        kind, code = page
        return EVERYTHING[0] in self._of or code in self._pages[kind]

    @cached_property
    def _pages(self) -> dict[str, set[str]]:
        of, ledger = self._of, self._ledger
        parts = {code: ledger.parts[code].character for code in of["part"]}
        shown = (one for one in ledger.replacements if one.part in parts or one.shot in of["shot"])
        days = map(date.fromisoformat, of["day"] | self._in_shots("day"))
        fitted = {f.puppet for code in parts for f in ledger.fittings_of_part.get(code, ())}
        made = of[_made(Via.CHARACTER, "")[0]]
        copies = {puppet for code in made for puppet in ledger.puppets_of.get(code, ())}
        wholes = {ledger.puppets[code].character for code in of["puppet"]} | {*parts.values()}
        shots = of["shot"] | self._seeing()
        crafts = of["craft"] & ledger.crafts.keys()
        return {
            "": set(),
            "shot": shots,
            "sequence": {ledger.shots[code].sequence for code in shots if code in ledger.shots},
            "person": of["person"] | of["footage"] | of["ways"] | self._in_shots("person"),
            "character": of["character"] | {*filter(None, wholes)} | self._in_shots("character"),
            "replacements": {one.character for one in shown},
            "puppet": of["puppet"] | copies | fitted | self._in_shots("puppet"),
            "week": set(map(iso_week, days)),
            "craft": of["craft"],
            "shots": {""} if of["shot"] else set(),
            "repairs": {""} if any(ledger.crafts[c].repair for c in crafts) else set(),
        }

    def _in_shots(self, name: str) -> set[str]:
        """Return what entries name together with the shots: what is kept of it depends on all that
        was done there. Of the people those who animated are asked for themselves."""
        crafts = self._ledger.crafts.values()
        but = [craft.code for craft in crafts if craft.footage and name == "person"]
        return self._file.in_shots(name, self._of["shot"], but)

    def _seeing(self) -> set[str]:
        """Return the shots that see what was made or played."""
        of, ledger = self._of, self._ledger
        made = {via: of[_made(via, "")[0]] for via in (Via.CHARACTER, Via.PUPPET, Via.PART)}
        characters = of["role"] | made[Via.CHARACTER]
        puppets = made[Via.PUPPET] | {
            fitting.puppet
            for code in made[Via.PART]
            for fitting in ledger.fittings_of_part.get(code, ())
        }
        shots = {
            one.shot
            for one in ledger.replacements
            if one.character in characters or one.part in made[Via.PART]
        }
        for column, codes in (("character", characters), ("puppet", puppets)):
            if codes:
                shots |= self._file.shots_with(column, codes)
        return shots
