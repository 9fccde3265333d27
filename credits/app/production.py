"""Open a production: its ledger, its credit plan, and a snapshot of both."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from credits.billing.plan import BUILT_IN, CreditPlan, built_in_plan
from credits.figures.snapshot import Snapshot
from credits.formats.plan.read import read_plan_file, read_plan_text
from credits.formats.plan.words import FILE_NAME
from credits.model.ledger import Ledger
from credits.model.log import WrittenLog
from credits.model.replay import replay
from credits.store import open_log


@contextmanager
def all_kept() -> Iterator[None]:
    """Search for no garbage while millions of facts are made that are all kept: a third faster."""
    searching = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if searching:
            gc.enable()


def read_ledger(folder: Path) -> Ledger:
    """Read the ledger of the production in a folder; its credit plan is not looked at."""
    with all_kept(), open_log(folder) as log:
        return replay(log.read())


def snapshot_of(written: WrittenLog, folder: Path) -> Snapshot:
    """Return the snapshot of a log that was read and of the credit plan in its folder.

    The plan is ``credit-plan.toml``, else the built-in one. Raises ProblemsFound with everything
    that is wrong with the file.
    """
    with all_kept():
        ledger = replay(written)
    path = folder / FILE_NAME
    if not path.exists():
        return Snapshot(ledger, written=written)
    plan = read_plan_file(path, ledger)
    text = path.read_text(encoding="utf-8-sig")
    return Snapshot(ledger, plan, plan_text=text, written=written)


def open_snapshot(folder: Path) -> Snapshot:
    """Open the production in a folder: one read of its log, and its credit plan."""
    with all_kept(), open_log(folder) as log:
        written = log.read()
    return snapshot_of(written, folder)


def plan_of(text: str, ledger: Ledger) -> CreditPlan:
    """Return the plan that a proof was made by: its TOML text, or the name of the built-in plan.

    Raises ProblemsFound when the production no longer has what the plan names.
    """
    return built_in_plan(ledger) if text == BUILT_IN else read_plan_text(text, ledger)
