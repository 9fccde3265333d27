"""What the commands share: the folder that is meant, and JSON."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


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
JsonOption = Annotated[bool, typer.Option("--json", help="Answer in JSON.")]
