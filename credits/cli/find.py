"""Commands that look up: find, same."""

from __future__ import annotations

import sys
from typing import Annotated

import typer

from credits.app.entries import cells_of
from credits.app.find import FoundByText, find_text, join_people
from credits.app.named import with_name
from credits.app.sentences import written_line
from credits.cli import printing
from credits.cli.options import JsonOption, ProductionOption, argument, option
from credits.cli.production import codes, folder_of

SHOWN_ON_TERMINAL = 200


def find(
    text: list[str] = argument(
        ..., "TEXT", "Part of a code, name, note or ref; A-17 shows an entry's history."
    ),
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Find people, characters, puppets, shots and entries by a text."""
    wanted = " ".join(text)
    found = find_text(folder_of(production), wanted)
    if as_json:
        printing.say_json(_json(found))
    else:
        _say(found)
    if not found.matches and not found.history:
        printing.remark(f"Nothing matches '{printing.clean(wanted)}'.")
        raise typer.Exit(1)


def _json(found: FoundByText) -> dict[str, object]:
    return {
        "found": [printing.fields_json(match, "kind code says") for match in found.matches],
        "history": [
            {
                "entry": str(line.number),
                "does": line.verb,
                **printing.fields_json(line, "corrects logged_at logged_by why ref source"),
                "says": cells_of(line.work) if line.work else None,
            }
            for line in found.history
        ],
    }


def _say(found: FoundByText) -> None:
    for line in found.history:
        printing.say(written_line(line, found.ledger))
    matches = found.matches
    if not matches:
        return
    shown = matches[:SHOWN_ON_TERMINAL] if printing.is_terminal(sys.stdout) else matches
    printing.table(("what", "code", "says"), [(m.kind, m.code, m.says) for m in shown])
    if len(shown) < len(matches):
        printing.remark(f"… and {len(matches) - len(shown)} more.")


PersonArgument = Annotated[str, argument(..., "PERSON", complete=codes("people"))]


def same(
    first: PersonArgument,
    second: PersonArgument,
    undo: bool = option(False, "--undo", "They are two people after all."),
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Say that two codes are one person; --undo takes it back.

    The person is known by the first of the two codes.
    """
    now = join_people(folder_of(production), first, second, undo)
    one, other, end = with_name(now.first), with_name(now.second), now.known_as
    if not now.changed:
        said = f"Nothing new: {other} is {one} already."
    elif undo:
        said = f"{one} and {other} are two people again."
    else:
        also = "" if end.code == now.first.code else f", known as {with_name(end)}"
        said = f"{other} is {one}: one person everywhere{also}."
    shape = {"person": end.code, "codes": list(now.codes), "changed": now.changed}
    printing.answer(as_json, shape, said)
