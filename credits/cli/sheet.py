"""The command sheet: day sheets for stages and workshops."""

from __future__ import annotations

import secrets
from datetime import date
from pathlib import Path

from credits.app.work.sheet import MadeSheet, make_sheets, place_in_words, sheet_day
from credits.cli.options import JsonOption, ProductionOption, Text, option
from credits.cli.production import codes, folder_of
from credits.cli.terminal import printing
from credits.errors import Finding, WrongCall
from credits.model.words import counted
from credits.units.film_time import day_text


def _new_id() -> str:
    """Return what no other day sheet has, on any machine."""
    return secrets.token_hex(6)


def sheet(
    day: Text = option(None, "--date", "The day: 2026-03-05, monday, tomorrow; else today.", "DAY"),
    stage: Text = option(None, "--stage", "For this stage.", "CODE", codes("stages")),
    workshop: Text = option(None, "--workshop", "For this department's workshop.", "DEPARTMENT"),
    every: bool = option(False, "--all", "A sheet for every stage and workshop at work."),
    out: Path | None = option(
        None, "--out", "Where to: a file, or a folder (for --all always a folder).", "PATH"
    ),
    force: bool = option(False, "--force", "Write over sheets that are there."),
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Make the day sheet of a stage or workshop; load takes it back.

    It begins with what the place has logged for the day and with what it was on last. Print it,
    or fill it in on a screen; whatever the file is called then, `credits load FILE` knows it.
    """
    if (stage is not None) + (workshop is not None) + every != 1:
        hint = "Write --stage CODE, or --workshop DEPARTMENT, or --all."
        raise WrongCall(Finding("say for which place", hint))
    folder = folder_of(production)
    on = sheet_day(day, date.today())
    made = make_sheets(folder, on, _new_id, stage, workshop, out, force)
    lines = [_line(each) for each in made]
    printing.answer(as_json, {"sheets": [_json(each) for each in made]}, *lines)


def _json(made: MadeSheet) -> dict[str, object]:
    return {
        "file": str(made.file),
        "date": made.on.isoformat(),
        "stage": made.place.stage,
        "department": made.place.department,
        "logged": made.logged,
        "begun": made.begun,
    }


def _line(made: MadeSheet) -> str:
    rows = f"{counted(made.logged, 'row')} logged, {counted(made.begun, 'row')} begun"
    return f"{made.file}: {place_in_words(made.place)}, {day_text(made.on)}; {rows}."
