"""Look things up by a text, and an entry's history by its number."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from credits.app.named import name_of
from credits.app.sentences import sentence, thing
from credits.model.facts import EntryNumber, Part, Puppet, Shot, Work
from credits.model.ledger import Entry, Ledger
from credits.model.log import LogLine, WrittenLog
from credits.model.replay import entries_with, replay
from credits.names import fold
from credits.store import open_log


@dataclass(frozen=True, slots=True)
class Match:
    """One thing that matches: what it is, its code or number, what it is called or says."""

    kind: str
    code: str
    says: str


@dataclass(frozen=True, slots=True)
class FoundByText:
    """What a text matches, and the lines of the entry whose number it is, as they were written."""

    matches: tuple[Match, ...]
    history: tuple[LogLine, ...]
    ledger: Ledger


def find_text(folder: Path, text: str) -> FoundByText:
    """Find people, characters, puppets, shots and entries by a part of what they are called."""
    with open_log(folder) as log:
        written = log.read()
    ledger = replay(written)
    return FoundByText(tuple(_matches(text, written, ledger)), _history(text, written), ledger)


def _history(text: str, written: WrittenLog) -> tuple[LogLine, ...]:
    try:
        number = EntryNumber.parse(text)
    except ValueError:
        return ()
    return entries_with(written, lambda line: line.number == number).lines


def _searched(written: WrittenLog, ledger: Ledger) -> Iterator[tuple[str, object, tuple[str, ...]]]:
    """Give every thing with the texts in which it is looked for."""
    for person in written.people:
        yield "person", person, (person.code, person.credit_name, person.sort_name or "")
    for character in written.characters:
        yield "character", character, (character.code, character.name)
    for puppet in written.puppets:
        yield "puppet", puppet, (puppet.code, puppet.copy or "", puppet.note or "")
    for part in written.parts:
        yield "part", part, (part.code, part.kind, part.note or "")
    for sequence in written.sequences:
        yield "sequence", sequence, (sequence.code, sequence.name or "")
    for shot in written.shots:
        yield "shot", shot, (shot.code, shot.description or "")
    for stage in written.stages:
        yield "stage", stage, (stage.code, stage.unit or "")
    for entry in ledger.entries:
        yield "entry", entry, (entry.ref or "", entry.work.note or "")


def _matches(text: str, written: WrittenLog, ledger: Ledger) -> Iterator[Match]:
    words = fold(text).split()
    for kind, fact, texts in _searched(written, ledger):
        folded = " ".join(fold(each) for each in texts if each)
        if not words or not all(word in folded for word in words):
            continue
        if isinstance(fact, Entry):
            note = f" Note: {fact.work.note}" if fact.work.note else ""
            yield Match(kind, str(fact.number), f"{sentence(fact.work, ledger)}.{note}")
        elif isinstance(fact, Puppet):
            yield Match(kind, fact.code, thing(Work(craft="", person="", puppet=fact.code), ledger))
        elif isinstance(fact, Part):
            yield Match(kind, fact.code, thing(Work(craft="", person="", part=fact.code), ledger))
        elif isinstance(fact, Shot):
            yield Match(kind, fact.code, fact.description or f"{fact.length} frames")
        else:
            yield Match(kind, fact.code, name_of(fact) or "")  # type: ignore[attr-defined]
