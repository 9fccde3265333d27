"""Open a production: its ledger, its credit plan, a snapshot of both; write a first plan."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from credits.billing.plan import BUILT_IN, CreditPlan, built_in_plan, planned_headings
from credits.errors import Finding, Place, ProblemsFound, WrongCall
from credits.figures.keep import kept_wrongly, open_figures
from credits.figures.lookups import kept_ledger
from credits.figures.renewal import Depth
from credits.figures.snapshot import KeptSnapshot, Snapshot
from credits.files import write_whole
from credits.formats.plan.read import read_plan_file, read_plan_text
from credits.formats.plan.write import FILE_NAME, first_plan
from credits.memory import all_kept
from credits.model.ledger import Ledger
from credits.model.log import WrittenLog
from credits.model.replay import replay
from credits.model.words import some_of
from credits.store.figures_db import FIGURES_NAME, forget
from credits.store.kept import FiguresFile
from credits.store.verify import verify


def read_ledger(folder: Path) -> Ledger:
    """Read the ledger of the production in a folder; its credit plan is not looked at."""
    return kept_ledger(open_figures(folder))


def _plan_in(folder: Path, ledger: Ledger) -> tuple[CreditPlan | None, str]:
    """Read the plan in a production's folder, and its text; None: it has none of its own.

    Raises ProblemsFound with everything that is wrong with the file.
    """
    path = folder / FILE_NAME
    if not path.exists():
        return None, BUILT_IN
    return read_plan_file(path, ledger), path.read_text(encoding="utf-8-sig")


def headings_in_use(folder: Path, ledger: Ledger) -> tuple[str, ...]:
    """Return the headings of the credit plan and of contracts; nothing is compiled.

    Of the built-in plan those of crafts that somebody has done, and those of departments. Of a plan
    that cannot be read, which is told elsewhere, none but those of contracts.
    """
    try:
        plan, _ = _plan_in(folder, ledger)
    except ProblemsFound:
        plan = CreditPlan(BUILT_IN, ())
    if plan is None:
        built_in = built_in_plan(ledger)
        own = (s for s in built_in.sections if not s.crafts or any(map(_done_in(ledger), s.crafts)))
        plan = replace(built_in, sections=tuple(own))
    return tuple(dict.fromkeys(planned_headings(plan, ledger)))


def _done_in(ledger: Ledger) -> Callable[[str], bool]:
    return lambda craft: craft in ledger.by_craft


def snapshot_of(written: WrittenLog, folder: Path) -> Snapshot:
    """Return the snapshot of a log that was read and of the plan in its folder, else the built-in.

    Raises ProblemsFound with everything that is wrong with the plan's file.
    """
    with all_kept():
        ledger = replay(written)
    plan, text = _plan_in(folder, ledger)
    return Snapshot(ledger, plan, plan_text=text, written=written)


def open_snapshot(folder: Path, depth: Depth = Depth.FIGURES) -> Snapshot:
    """Open the production in a folder: its figures as they are kept, and its credit plan.

    depth: how far the figures are wanted. Raises as ``snapshot_of``.
    """
    return kept_snapshot(open_figures(folder, depth), depth)


def open_figures_of(folder: Path, depth: Depth) -> Snapshot:
    """Open the figures of the production in a folder; its credit plan is not looked at."""
    with all_kept():
        return KeptSnapshot(open_figures(folder, depth), depth, lambda _: (None, BUILT_IN))


def kept_snapshot(
    file: FiguresFile, depth: Depth = Depth.FIGURES, *, whole: bool = False
) -> Snapshot:
    """Return the snapshot of figures that were opened. Raises as ``snapshot_of``.

    whole: everything is read at once, for whoever looks at most of it.
    """
    with all_kept():
        return KeptSnapshot(file, depth, lambda ledger: _plan_in(file.folder, ledger), whole=whole)


def verify_production(folder: Path) -> tuple[Finding, ...]:
    """Find everything that is wrong with the log, the settings, and the figures that are kept.

    Figures that are wrong are removed, and made anew when somebody asks. Raises as ``verify``.
    """
    found = verify(folder)
    if found:
        return found
    wrong = kept_wrongly(folder)
    if not wrong:
        return ()
    forget(folder)
    what = f"does not hold what the log makes ({some_of(wrong)}); the log itself is sound"
    hint = "It was removed, and is made anew when it is next needed. Ask again what you asked."
    return (Finding(what, hint, Place(FIGURES_NAME)),)


def plan_of(text: str, ledger: Ledger) -> CreditPlan:
    """Return the plan that a proof was made by: its TOML text, or the name of the built-in plan.

    Raises ProblemsFound when the production no longer has what the plan names.
    """
    return built_in_plan(ledger) if text == BUILT_IN else read_plan_text(text, ledger)


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
    write_whole(target, first_plan_text(folder).encode("utf-8"))
    return target
