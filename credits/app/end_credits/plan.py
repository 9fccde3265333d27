"""A first credit plan, written from the log."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path

from credits.app.figures import read_ledger
from credits.billing.plan import built_in_plan
from credits.errors import Finding, WrongCall
from credits.figures.snapshot import Snapshot
from credits.files import Over, write_whole
from credits.formats.plan import FILE_NAME
from credits.formats.plan.write import first_plan


def first_plan_text(folder: Path) -> str:
    """Return the built-in plan as text; a plan that is there already is not read."""
    ledger = read_ledger(folder)
    plan = replace(built_in_plan(ledger), name="first plan")
    return first_plan(plan, ledger, Snapshot(ledger, plan).credits)


def write_plan(folder: Path, out: Path | None = None, force: bool = False) -> Path:
    """Write the first plan; where it is.

    out: a file, or a folder for it; None: the production's own.
    force: whether to write over what is there. Raises WrongCall.
    """
    target = out or folder / FILE_NAME
    if target.is_dir():
        target = target / FILE_NAME
    if os.path.lexists(target) and not force:
        hint = "Name another file with --out FILE, or write over it with --force."
        raise WrongCall(Finding("is there already", hint, value=str(target)))
    write_whole(target, first_plan_text(folder).encode("utf-8"), Over.PLANS)
    return target
