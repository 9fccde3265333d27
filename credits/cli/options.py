"""How options are made, and those that all commands share: the folder that is meant, and JSON."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Annotated, Any

import typer

from credits.errors import Finding, WrongCall

Text = str | None
Number = int | None
Completion = Callable[..., list[tuple[str, str]]]


def option(
    default: object,
    names: str,
    text: str,
    metavar: str | None = None,
    complete: Completion | None = None,
    min: int | None = None,
) -> Any:
    """Make an option of its names, parted by blanks; without a metavar it is a flag.

    default: ``...`` in an Annotated type: then the parameter has it.
    """
    return typer.Option(
        default, *names.split(), help=text, metavar=metavar, autocompletion=complete, min=min
    )


def argument(
    default: object, metavar: str, text: str | None = None, complete: Completion | None = None
) -> Any:
    """Make a word that stands in its place; ``default``: as in ``option``."""
    return typer.Argument(default, metavar=metavar, help=text, autocompletion=complete)


def refuse(options: Mapping[str, object], what: str, hint: str) -> None:
    """Refuse the first of some options that is given. Raises WrongCall."""
    for name, value in options.items():
        if value is not None:
            said = None if value is True else str(value)  # an option that takes no value
            raise WrongCall(Finding(what, hint, column=name, value=said))


def _before_or_after(ctx: typer.Context, given: Path | None) -> Path | None:
    """Return the folder given behind the command, else the one given before it."""
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
FromOption = Annotated[Text, option(..., "--from", "From this day on.", "DATE")]
ToOption = Annotated[Text, option(..., "--to", "Up to this day.", "DATE")]
DryRunOption = Annotated[bool, option(..., "--dry-run", "Only say what would be done.")]
JsonOption = Annotated[bool, option(..., "--json", "Answer in JSON.")]
