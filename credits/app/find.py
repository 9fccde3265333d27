"""Look things up by a text, an entry's history by its number; say that two codes are one person."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import NamedTuple

from credits.app.production import headings_in_use
from credits.app.work.entries import sentence, thing
from credits.app.work.named import (
    codes_named,
    day_named,
    fact_named,
    name_of,
    persons_named,
    with_name,
)
from credits.app.work.writing import open_to_write
from credits.errors import Finding, ProblemsFound, WrongCall
from credits.figures.keep import open_figures
from credits.figures.lookups import EntryLookup, kept_ledger
from credits.figures.renewal import Depth
from credits.formats.tables.lists import named_by_joining
from credits.memory import all_kept
from credits.model.facts import EntryNumber, Part, Person, Puppet, Shot, Work
from credits.model.ledger import Entry, Ledger
from credits.model.log import Batch, Change, LogLine, WrittenLog
from credits.model.replay import one_person
from credits.model.words import typed
from credits.names import fold
from credits.store.beside.kept import words_of
from credits.text import fold_code
from credits.units.film_time import WHOLE_TIME, Period


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


@dataclass(frozen=True, slots=True, kw_only=True)
class EntryFilter:
    """Which entries are looked for; codes in any spelling. What is None asks for nothing."""

    period: Period = WHOLE_TIME
    stage: Sequence[str] | None = None
    craft: Sequence[str] | None = None
    person: Sequence[str] | None = None
    shot: Sequence[str] | None = None

    @property
    def is_given(self) -> bool:
        """Tell whether it leaves anything out."""
        return self.period != WHOLE_TIME or any((self.stage, self.craft, self.person, self.shot))

    def of(self, ledger: Ledger, entries: EntryLookup) -> tuple[Entry, ...]:
        """Return the entries that are looked for. Raises WrongCall for unknown codes."""
        wanted = {
            "stage": codes_named("stages", self.stage, ledger.stages),
            "craft": codes_named("crafts", self.craft, ledger.crafts),
            "person": persons_named(self.person, ledger),
            "shot": codes_named("shots", self.shot, ledger.shots),
        }
        asked = {field: codes for field, codes in wanted.items() if codes is not None}
        return entries.among(asked, self.period)


@all_kept()
def find_text(folder: Path, text: str, entries: EntryFilter | None = None) -> FoundByText:
    """Find people, things, headings of the credits and entries by a part of what they are called.

    What they were called before finds them too, and the legal name of a person; so does a day the
    entries of that day.

    entries: only entries are looked for, and of these only such; then an empty text finds all.
    Raises WrongCall for a filter that cannot be.
    """
    is_by_words = entries is None or not entries.is_given
    file = open_figures(folder, Depth.WORDS if is_by_words else Depth.ENTRIES)
    lookup = EntryLookup(file)
    ledger = kept_ledger(file, lookup=lookup)
    if entries is not None and entries.is_given:
        chosen = (entry for entry in entries.of(ledger, lookup) if _says_it(text, entry, ledger))
        return FoundByText(tuple(_entry_match(e, ledger) for e in chosen), (), ledger)
    history: tuple[LogLine, ...] = ()
    with suppress(ValueError):
        history = lookup.history(EntryNumber.parse(text))
    headings = headings_in_use(folder, ledger)
    found = (
        *_things(text, file.updates(SEARCHED), ledger),
        *(_heading_match(each) for each in headings if _fits(text, each)),
        *_entries(text, ledger, lookup),
    )
    return FoundByText(found, history, ledger)


# The tables that are searched: what one of a table is, and the texts in which it is looked for.
SEARCHED = {
    "people": ("person", "code credit_name sort_name note"),
    "characters": ("character", "code name note"),
    "puppets": ("puppet", "code copy note"),
    "parts": ("part", "code kind note"),
    "sequences": ("sequence", "code name"),
    "shots": ("shot", "code description"),
    "stages": ("stage", "code unit"),
    "crafts": ("craft", "code name"),
}


def _fits(text: str, *texts: str | None) -> bool:
    """Tell whether every word stands in the texts; case and accents do not count."""
    words, folded = fold(text).split(), words_of(*texts)
    return bool(words) and all(word in folded for word in words)


def _things(text: str, updates: Iterable[Change], ledger: Ledger) -> Iterator[Match]:
    """Find what is called so, or was before, or by law."""
    former: dict[tuple[str, str], dict[str, None]] = defaultdict(dict)
    for change in updates:
        _, fields = SEARCHED.get(change.table, ("", ""))
        olds = (change.columns[each][0] for each in fields.split() if each in change.columns)
        former[change.table, fold_code(change.key)].update({str(old): None for old in olds if old})
    for table, (kind, fields) in SEARCHED.items():
        for fact in getattr(ledger, table).values():
            now = [getattr(fact, field) for field in fields.split()]
            if _fits(text, *now):
                yield Match(kind, fact.code, _says(fact, ledger))
                continue
            before = [each for each in former[table, fold_code(fact.code)] if each not in now]
            legal = fact.legal_name if isinstance(fact, Person) else None
            if _fits(text, *now, *before, legal):
                words = fold(text).split()

                def named(each: str, words: list[str] = words) -> bool:
                    return any(word in fold(each) for word in words)

                also = [f"formerly {each}" for each in before if named(each)]
                if legal and named(legal):
                    also.append(f"legal name, for the office alone: {legal}")
                yield Match(kind, fact.code, f"{_says(fact, ledger)} ({'; '.join(also)})")


def _entries(text: str, ledger: Ledger, lookup: EntryLookup) -> Iterator[Match]:
    """Find entries by their note, ref or day."""
    day = None
    with suppress(WrongCall):
        # "sun" is a part of many names, "6 mar" and 2026-03-06 are days.
        day = day_named(text, "TEXT") if any(map(str.isdigit, text)) else None
    for entry in lookup.saying(text, day):
        yield _entry_match(entry, ledger)


def _heading_match(heading: str) -> Match:
    says = f"heading of the end credits; who is there: credits why {typed(heading)}"
    return Match("heading", heading, says)


def _says_it(text: str, entry: Entry, ledger: Ledger) -> bool:
    said = (entry.ref, entry.work.note, sentence(entry.work, ledger), str(entry.number))
    return not text.strip() or _fits(text, *said, *_codes(entry))


def _codes(entry: Entry) -> Iterator[str | None]:
    for field in ("person", "character", "puppet", "part", "sequence", "shot", "craft"):
        yield getattr(entry, field)


def _entry_match(entry: Entry, ledger: Ledger) -> Match:
    note = f" Note: {entry.work.note}" if entry.work.note else ""
    return Match("entry", str(entry.number), f"{sentence(entry.work, ledger)}.{note}")


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
            _refuse_to_name({**by_code, change.code: change}, by_code)
        if change is not None:
            by_code[change.code] = change
            ends = one_person(by_code.values())
        own = tuple(sorted(code for code, end in ends.items() if end == ends[one.code]))
        known = SamePerson(one, other, by_code[ends[one.code]], own, change is not None)
        return None if change is None else Batch(people=(change,)), known

    with open_to_write(folder) as log:
        return log.write_if_unmoved(joining)[0]


def _refuse_to_name(joined: Mapping[str, Person], before: Mapping[str, Person]) -> None:
    """Raise ProblemsFound where joining would name somebody who asked not to be named."""
    known = {code for code, _ in named_by_joining(before.values())}
    for code, (_, one, what, _) in named_by_joining(joined.values()):
        if code not in known:
            hint = (
                f"Say which holds first: credits correct people {one} credit_wish=uncredited"
                f" --why TEXT, or: credits correct people {code} credit_wish=credited --why TEXT"
            )
            raise ProblemsFound(Finding(what, hint))


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
