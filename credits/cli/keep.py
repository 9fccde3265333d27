"""``credits backup`` and ``credits verify``: a copy of the log, and whether the log is sound."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from credits.cli import printing
from credits.cli.options import JsonOption, ProductionOption, folder_of

BACKUPS = "backups"


def backup(
    target: Annotated[
        Path | None,
        typer.Argument(
            metavar="[TARGET]", help="A new file, or a folder; else 'backups' in the production."
        ),
    ] = None,
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Copy the log, whole, even while others write it."""
    from credits.store import back_up

    folder = folder_of(production)
    if target is None:
        target = folder / BACKUPS
        target.mkdir(exist_ok=True)
    copy = back_up(folder, target)
    if as_json:
        printing.say_json({"copy": str(copy)})
    else:
        printing.say(f"Copied the log to {copy}.")


def verify(production: ProductionOption = None, as_json: JsonOption = False) -> None:
    """Check that the whole log is sound, line by line."""
    from credits.store import verify as verified

    found = verified(folder_of(production))
    if as_json:
        printing.say_json({"problems": [printing.finding_json(finding) for finding in found]})
    if found:
        printing.problems(found)
        raise typer.Exit(1)
    if not as_json:
        printing.say("The log is sound: every line is there and can be read.")
