"""``credits start``: an empty production."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from credits.cli import printing


def start(
    title: Annotated[str, typer.Argument(metavar="TITLE", help="The title of the film.")],
    folder: Annotated[
        Path | None,
        typer.Argument(metavar="[DIR]", help="The folder to make; else one named after the title."),
    ] = None,
    code: Annotated[
        str | None, typer.Option("--code", metavar="CODE", help="A short name of the production.")
    ] = None,
    rate: Annotated[
        str, typer.Option("--rate", metavar="RATE", help="Frames a second: 24, or 24000/1001.")
    ] = "24",
    gauge: Annotated[
        str,
        typer.Option("--gauge", metavar="GAUGE", help="The film gauge that feet are counted in."),
    ] = "35mm-4perf",
    day_minutes: Annotated[
        int, typer.Option("--day-minutes", metavar="N", help="How long a working day is.")
    ] = 600,
) -> None:
    """Make an empty production: a folder with its log and its settings."""
    from credits.store import create_production

    made = create_production(
        folder or Path.cwd() / _folder_name(title), title, code, rate, gauge, day_minutes
    )
    printing.say(f"Made the production '{printing.clean(title)}' in {made}.")
    printing.say(f"Next: cd {made}, then bring in the tables: credits load FILES.")


def _folder_name(title: str) -> str:
    from credits.store.slug import slug

    return slug(title)
