"""``credits plan``: writes a first credit plan, for the producer to change."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Annotated

import typer

from credits.cli import printing
from credits.cli.options import ProductionOption, folder_of
from credits.errors import Finding, WrongCall

STANDARD_OUTPUT = "-"


def plan(
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            metavar="FILE",
            help="Where to write it; - shows it. Else credit-plan.toml in the production folder.",
        ),
    ] = None,
    force: Annotated[
        bool, typer.Option("--force", help="Write over a plan that is there already.")
    ] = False,
    production: ProductionOption = None,
) -> None:
    """Write a first credit plan from the log, to be changed."""
    from credits.exchange.plan_words import FILE_NAME

    folder = folder_of(production)
    text = _first_plan(folder)
    if out == Path(STANDARD_OUTPUT):
        for line in text.splitlines():
            printing.say(line)
        return
    target = out or folder / FILE_NAME
    if target.is_dir():
        target = target / FILE_NAME
    if os.path.lexists(target) and not force:
        hint = "Name another file with --out FILE, or write over it with --force."
        raise WrongCall(Finding("is there already", hint, value=str(target)))
    _write(target, text)
    printing.say(f"Wrote {target}.")
    printing.say("Next: change it, then see what comes of it: credits roll")


def _first_plan(folder: Path) -> str:
    """The built-in plan as text; a plan that is there already is not read."""
    from dataclasses import replace

    from credits import app
    from credits.compute.credit_plan import built_in_plan
    from credits.compute.results import credits_of, footage_of
    from credits.exchange.plan_out import first_plan

    ledger = app.read_ledger(folder)
    built_in = replace(built_in_plan(ledger), name="first plan")
    return first_plan(built_in, ledger, credits_of(ledger, *footage_of(ledger), built_in))


def _write(target: Path, text: str) -> None:
    """The whole file or none: written beside, then put in its place."""
    beside = target.with_name(f"{target.name}.unfinished")
    try:
        beside.write_text(text, encoding="utf-8", newline="\n")
        beside.replace(target)
    except BaseException:
        beside.unlink(missing_ok=True)
        raise
