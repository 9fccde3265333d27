"""What the commands share: their options, and how they open the production."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from credits.cli.completion import production_codes

if TYPE_CHECKING:
    from credits.model.ledger import Ledger


def _before_or_after(ctx: typer.Context, given: Path | None) -> Path | None:
    """The folder given behind the command, else the one given before it."""
    before = ctx.find_root().params.get("production") if ctx.parent is not None else None
    return given if given is not None else before


ProductionOption = Annotated[
    Path | None,
    typer.Option(
        "--production",
        "-p",
        metavar="DIR",
        callback=_before_or_after,
        help="The production folder; else CREDITS_PRODUCTION, else the working folder.",
    ),
]
JsonOption = Annotated[bool, typer.Option("--json", help="Answer in JSON.")]
PersonsOption = Annotated[
    list[str] | None,
    typer.Option(
        "--person",
        metavar="CODE",
        help="Only this person; may be given again.",
        autocompletion=production_codes("people"),
    ),
]
CharactersOption = Annotated[
    list[str] | None,
    typer.Option(
        "--character",
        metavar="CODE",
        help="Only this character; may be given again.",
        autocompletion=production_codes("characters"),
    ),
]


def folder_of(production: Path | None) -> Path:
    """The production folder that is meant (4.1). Raises NoProduction."""
    from credits.store import find_production

    return find_production(production, os.environ, Path.cwd())


def read_ledger(production: Path | None) -> Ledger:
    """The ledger of the production that is meant."""
    from credits import app

    return app.read_ledger(folder_of(production))
