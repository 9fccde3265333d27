"""Commands that look up: find, same."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Annotated

import typer

from credits.cli import printing
from credits.cli.codes import fact_named, folder_of, name_of, production_codes, with_name
from credits.cli.options import JsonOption, ProductionOption
from credits.cli.sentences import sentence, thing, written_line
from credits.cli.targets import cells_of
from credits.errors import Finding, ProblemsFound, WrongCall
from credits.model.facts import EntryNumber, Part, Person, Puppet, Shot, Work
from credits.model.ledger import Entry, Ledger
from credits.model.log import Batch, LogLine, WrittenLog
from credits.model.replay import entries_with, one_person, replay
from credits.names import fold
from credits.store import open_log

SHOWN_ON_TERMINAL = 200


@dataclass(frozen=True, slots=True)
class Match:
    """One thing that matches: what it is, its code or number, what it is called or says."""

    kind: str
    code: str
    says: str


def find(
    text: Annotated[
        list[str],
        typer.Argument(
            metavar="TEXT", help="Part of a code, name, note or ref; A-17 shows an entry's history."
        ),
    ],
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Find people, characters, puppets, shots and entries by a text."""

    wanted = " ".join(text)
    folder: Path = folder_of(production)
    with open_log(folder) as log:
        written = log.read()
    ledger = replay(written)
    history = _history(wanted, written)
    matches = list(_matches(wanted, written, ledger))
    if as_json:
        printing.say_json(_json(matches, history))
    else:
        _say(matches, history, ledger)
    if not matches and not history:
        printing.remark(f"Nothing matches '{printing.clean(wanted)}'.")
        raise typer.Exit(1)


def _history(text: str, written: WrittenLog) -> tuple[LogLine, ...]:
    """All lines of the entry of this number, as they were written; none when it is no number."""

    try:
        number = EntryNumber.parse(text)
    except ValueError:
        return ()
    return entries_with(written, lambda line: line.number == number).lines


def _searched(written: WrittenLog, ledger: Ledger) -> Iterator[tuple[str, object, tuple[str, ...]]]:
    """Every thing with the texts in which it is looked for."""
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


def _matches(text: str, written: WrittenLog, ledger: Ledger) -> Iterable[Match]:

    words = fold(text).split()
    for kind, fact, texts in _searched(written, ledger):
        folded = " ".join(fold(each) for each in texts if each)
        if not words or not all(word in folded for word in words):
            continue
        if isinstance(fact, Entry):
            note = f" Note: {fact.work.note}" if fact.work.note else ""
            yield Match(kind, str(fact.number), f"{sentence(fact.work, ledger)}.{note}")
        elif isinstance(fact, Puppet):
            yield Match(kind, fact.code, thing(Work("", "", puppet=fact.code), ledger))
        elif isinstance(fact, Part):
            yield Match(kind, fact.code, thing(Work("", "", part=fact.code), ledger))
        elif isinstance(fact, Shot):
            yield Match(kind, fact.code, fact.description or f"{fact.length} frames")
        else:
            yield Match(kind, fact.code, name_of(fact) or "")  # type: ignore[attr-defined]


def _json(matches: list[Match], history: tuple[LogLine, ...]) -> dict[str, object]:

    return {
        "found": [
            {"kind": match.kind, "code": match.code, "says": match.says} for match in matches
        ],
        "history": [
            {
                "entry": str(line.number),
                "does": str(line.verb),
                "corrects": str(line.corrects) if line.corrects else None,
                "logged_at": line.logged_at.isoformat(),
                "logged_by": line.logged_by,
                "why": line.why,
                "ref": line.ref,
                "source": line.source,
                "says": cells_of(line.work) if line.work else None,
            }
            for line in history
        ],
    }


def _say(matches: list[Match], history: tuple[LogLine, ...], ledger: Ledger) -> None:

    for line in history:
        printing.say(written_line(line, ledger))
    if not matches:
        return
    shown = matches[:SHOWN_ON_TERMINAL] if printing.is_terminal(sys.stdout) else matches
    printing.table(("what", "code", "says"), [(m.kind, m.code, m.says) for m in shown])
    if len(shown) < len(matches):
        printing.remark(f"… and {len(matches) - len(shown)} more.")


PersonArgument = Annotated[
    str, typer.Argument(metavar="PERSON", autocompletion=production_codes("people"))
]


def same(
    first: PersonArgument,
    second: PersonArgument,
    undo: Annotated[bool, typer.Option("--undo", help="They are two people after all.")] = False,
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Say that two codes are one person; --undo takes it back.

    The person is known by the first of the two codes.
    """

    with open_log(folder_of(production)) as log, log.writing() as pen:
        people = pen.read().people
        one, other = (fact_named("people", text, people) for text in (first, second))
        if one.code == other.code:
            what = "is one code, not two"
            raise WrongCall(Finding(what, "Name two codes of the people table.", value=one.code))
        by_code = {person.code: person for person in people}
        change = _parted(one, other, by_code) if undo else _joined(one, other, people)
        if change is not None:
            pen.write(Batch(people=(change,)))
            by_code[change.code] = change
    ends = one_person(by_code.values())
    if as_json:
        printing.say_json(
            {
                "person": ends[one.code],
                "codes": sorted(code for code, end in ends.items() if end == ends[one.code]),
                "changed": change is not None,
            }
        )
    elif change is None:
        printing.say(f"Nothing new: {with_name(other)} is {with_name(one)} already.")
    elif undo:
        printing.say(f"{with_name(one)} and {with_name(other)} are two people again.")
    else:
        end = by_code[ends[one.code]]
        also = "" if end.code == one.code else f", known as {with_name(end)}"
        printing.say(f"{with_name(other)} is {with_name(one)}: one person everywhere{also}.")


def _joined(one: Person, other: Person, people: tuple[Person, ...]) -> Person | None:
    """The row that joins them: the end of the second's chain points at the first's; None: done."""

    ends = one_person(people)
    if ends[one.code] == ends[other.code]:
        return None
    last = next(person for person in people if person.code == ends[other.code])
    return replace(last, same_as=ends[one.code])


def _parted(one: Person, other: Person, by_code: Mapping[str, Person]) -> Person:
    """The row that parts them. Raises ProblemsFound when they are not joined, or by others."""

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
