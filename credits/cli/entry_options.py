"""The options that say what an entry says: the same for ``log`` and ``amend``.

Every column of the entries table is an option by its own name too: --finished-on is --on.
"""

from __future__ import annotations

from typing import Annotated, Any

import typer

from credits.cli.completion import production_codes

TARGET_COLUMNS = frozenset({"character", "puppet", "part", "sequence", "shot"})


def _option(name: str, metavar: str, text: str, *tables: str) -> Any:
    completion = production_codes(*tables) if tables else None
    return typer.Option(*name.split(), metavar=metavar, help=text, autocompletion=completion)


Character = Annotated[str | None, _option("--character", "CODE", "The character.", "characters")]
Puppet = Annotated[str | None, _option("--puppet", "CODE", "The puppet.", "puppets")]
Part = Annotated[str | None, _option("--part", "CODE", "The part.", "parts")]
Sequence = Annotated[str | None, _option("--sequence", "CODE", "The sequence.", "sequences")]
Shot = Annotated[str | None, _option("--shot", "CODE", "The shot.", "shots")]
Take = Annotated[str | None, _option("--take", "N", "The take of the shot.")]
Frames = Annotated[str | None, _option("--frames", "FRAMES", "Such as 1-48 or 1-20,25-48.")]
PosesOn = Annotated[str | None, _option("--poses-on", "N", "Frames each pose is held: 1, 2, 3.")]
Share = Annotated[str | None, _option("--share", "SHARE", "Such as 2 or 1/2; 1 if not given.")]
Begun = Annotated[
    str | None,
    _option("--from --started-on", "DATE", "When it was begun; alone: still being done."),
]
Minutes = Annotated[str | None, _option("--minutes", "N", "How long it took.")]
Wait = Annotated[
    str | None, _option("--wait --wait-minutes", "N", "Minutes that the stage waited for it.")
]
Stage = Annotated[str | None, _option("--stage", "CODE", "On which stage.", "stages")]
Note = Annotated[str | None, _option("--note", "TEXT", "A note; Markdown is allowed.")]
By = Annotated[str | None, _option("--by --logged-by", "NAME", "Who logs it.", "people")]
Ref = Annotated[str | None, _option("--ref", "REF", "Your own spreadsheet's key for the entry.")]
