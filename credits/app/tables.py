"""Load tables and face sheets from spreadsheets, in one transaction or not at all."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from credits.app.writing import write_if_unmoved
from credits.errors import Finding, WrongCall
from credits.formats.tables.faces import plan_face_sheet
from credits.formats.tables.load import LoadPlan, plan_load
from credits.formats.tables.sheets import Sheets
from credits.model.log import Batch, WrittenLog
from credits.store import open_log


def load_tables(folder: Path, sheets: Sheets, write: bool = True) -> LoadPlan:
    """Load tables that were read. A plan with problems writes nothing.

    write: False: only say what would be written.
    """
    return _load(folder, lambda written: plan_load(sheets, written), write)


def load_face_sheet(
    folder: Path, paths: Sequence[Path], shot_and_take: str, write: bool = True
) -> LoadPlan:
    """Load one face sheet of a shot or a take (``010-020/2``). Raises WrongCall for more files."""
    if len(paths) != 1:
        what = f"a face sheet is one file, not {len(paths)}"
        raise WrongCall(Finding(what, "Load each with the shot that it belongs to."))
    return _load(folder, lambda written: plan_face_sheet(paths[0], shot_and_take, written), write)


def _load(folder: Path, plan_of: Callable[[WrittenLog], LoadPlan], write: bool) -> LoadPlan:
    def planned(written: WrittenLog) -> tuple[Batch | None, LoadPlan]:
        plan = plan_of(written)
        return None if plan.problems or plan.changes_nothing else plan.batch, plan

    with open_log(folder) as log:
        return write_if_unmoved(log, planned)[0] if write else plan_of(log.read())
