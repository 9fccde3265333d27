"""``credits void``: an entry that never was; the line stays readable and counts nowhere."""

from __future__ import annotations

import sys
from typing import Annotated

import typer

from credits.cli import entry_options as o
from credits.cli import printing
from credits.cli.completion import entry_numbers
from credits.cli.options import JsonOption, ProductionOption, folder_of
from credits.errors import Finding, WrongCall


def void(
    number: Annotated[
        str,
        typer.Argument(metavar="ID", help="The entry, such as A-17.", autocompletion=entry_numbers),
    ],
    why: Annotated[
        str | None, typer.Option("--why", metavar="TEXT", help="Why it does not count.")
    ] = None,
    by: o.By = None,
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Void an entry: it was never done. The old line stays readable."""
    from credits.cli.corrections import entry_meant, say_followed, text_meant
    from credits.cli.sentences import sentence
    from credits.model.batch import Batch, NewLine
    from credits.model.replay import replay
    from credits.model.written import Verb
    from credits.store import open_log

    reason = (why or _asked(as_json)).strip()
    if not reason:
        hint = "Write for example: --why 'logged twice'."
        raise WrongCall(Finding("a void needs a reason", hint, column="--why"))
    reason, by = text_meant(reason, "--why"), text_meant(by or "", "--by")
    with open_log(folder_of(production)) as log, log.writing() as pen:
        written = pen.read()
        meant = entry_meant(number, written, log.origin)
        holds = meant.holds
        line = NewLine(Verb.VOID, corrects=holds.number, logged_by=by or None, why=reason)
        done = pen.write(Batch(lines=(line,))).numbers[0]
    say_followed(meant)
    if as_json:
        printing.say_json({"entry": str(done), "corrects": str(holds.number)})
        return
    from dataclasses import replace

    assert holds.work is not None
    said = sentence(holds.work, replay(replace(written, lines=())))
    printing.say(f"{done} voids {holds.number}: {said} -> counts nowhere. Why: {reason}.")


def _asked(as_json: bool) -> str:
    if as_json or not (printing.is_terminal(sys.stdin) and printing.is_terminal(sys.stdout)):
        return ""
    return str(typer.prompt("Why", err=True))
