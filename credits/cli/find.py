"""``credits find``: people, characters, puppets, parts, shots and entries that match a text."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from credits.cli import printing
from credits.cli.codes import name_of
from credits.cli.options import JsonOption, ProductionOption, folder_of

if TYPE_CHECKING:
    from credits.model.ledger import Ledger
    from credits.model.written import Written, WrittenLog

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
    from credits.model.replay import replay
    from credits.store import open_log

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


def _history(text: str, written: WrittenLog) -> tuple[Written, ...]:
    """All lines of the entry of this number, as they were written; none when it is no number."""
    from credits.cli.effect import around
    from credits.model.facts import EntryNumber

    try:
        number = EntryNumber.parse(text)
    except ValueError:
        return ()
    return around(written, lambda line: line.number == number).lines


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
    from credits.cli.sentences import sentence, thing
    from credits.model.facts import Part, Puppet, Shot, Work
    from credits.model.ledger import Entry
    from credits.names import fold

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


def _json(matches: list[Match], history: tuple[Written, ...]) -> dict[str, object]:
    from credits.cli.entry_in import cells_of

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


def _say(matches: list[Match], history: tuple[Written, ...], ledger: Ledger) -> None:
    import sys

    from credits.cli.sentences import written_line

    for line in history:
        printing.say(written_line(line, ledger))
    if not matches:
        return
    shown = matches[:SHOWN_ON_TERMINAL] if printing.is_terminal(sys.stdout) else matches
    printing.table(("what", "code", "says"), [(m.kind, m.code, m.says) for m in shown])
    if len(shown) < len(matches):
        printing.remark(f"… and {len(matches) - len(shown)} more.")
