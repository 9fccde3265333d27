"""``credits roll``: the end credits as they stand, who is held, and why."""

from __future__ import annotations

from typing import TYPE_CHECKING

import typer

from credits.cli import printing
from credits.cli.options import JsonOption, ProductionOption, folder_of
from credits.cli.proofs import (
    AgainstOption,
    ByOption,
    NoteOption,
    ProofsOption,
    SaveOption,
    change_json,
    list_proofs,
    refuse_alone,
    save,
    say_changes,
    say_saved,
)
from credits.cli.roll_speeds import (
    LengthOption,
    PitchOption,
    RasterOption,
    say_speeds,
    speeds,
    speeds_json,
)

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from credits.compute.credits import Credits, Section
    from credits.compute.proof_changes import Comparison


def roll(
    save_it: SaveOption = False,
    by: ByOption = None,
    note: NoteOption = None,
    against: AgainstOption = None,
    proofs: ProofsOption = False,
    raster: RasterOption = None,
    pitch: PitchOption = None,
    length: LengthOption = None,
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Compile the end credits by the plan; say who is held.

    A proof is a frozen copy with a number: --save makes one, --against says what changed since.
    """
    from credits import app
    from credits.cautions import CREDITS_CAUTION

    folder = folder_of(production)
    if proofs:
        list_proofs(folder, as_json)
        return
    if raster is not None or pitch is not None or length is not None:
        _propose(folder, raster, pitch, length, as_json)
        return
    if not save_it:
        refuse_alone(by, note)
    ledger, compiled = app.read_credits(folder)
    comparison = None
    if against is not None:
        comparison = app.changes_since(folder, ledger, compiled, against)
    saved = save(folder, by, note) if save_it else None
    number = app.proof_number(folder, ledger, compiled)
    if as_json:
        _say_json(compiled, number, comparison)
        return
    if comparison is not None:
        say_changes(comparison)
    else:
        _say(compiled)
    if saved is not None:
        say_saved(*saved)
    elif number is not None:
        printing.remark(f"These are the credits of proof {number}.")
    printing.remark(CREDITS_CAUTION)


def _say_json(compiled: Credits, number: int | None, comparison: Comparison | None) -> None:
    from credits.cautions import CREDITS_CAUTION
    from credits.exchange.credits_json import credits_shape

    shape: dict[str, object] = {"plan": compiled.plan, **credits_shape(compiled, number)}
    if comparison is not None:
        shape["against"] = comparison.mark.number
        shape["changes"] = [change_json(change) for change in comparison.changes]
    printing.say_json({**shape, "caution": CREDITS_CAUTION})


def _propose(
    folder: Path, raster: str | None, pitch: int | None, length: str | None, as_json: bool
) -> None:
    from credits import app

    ledger, compiled = app.read_credits(folder)
    found = speeds(compiled, ledger.production.rate, raster, pitch, length)
    if as_json:
        printing.say_json({"roll": speeds_json(found)})
    else:
        say_speeds(found)
    if found.small is not None or found.problems:
        raise typer.Exit(1)


def _rows(section: Section) -> Iterator[tuple[str, str, str | None, str]]:
    for text in section.text.splitlines():
        if text.strip():
            yield section.heading, text.strip(), "", ""
    for line in section.lines:
        remark = "" if line.confirmed else "spelling not confirmed"
        yield section.heading, line.name, line.role, remark


def _say(compiled: Credits) -> None:
    rows = [row for section in compiled.sections for row in _rows(section)]
    rows += [("(held)", held.name, "", held.reason) for held in compiled.held]
    rows += [
        ("(held line)", held.name, held.heading, held.because.threshold)
        for held in compiled.held_lines
    ]
    if not rows:
        printing.remark("Nobody yet: the log has no entries and no engagements.")
        return
    printing.parts(("heading", "name", "role", "remark"), rows)
