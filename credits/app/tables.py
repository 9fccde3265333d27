"""Bring in files: tables and face sheets, in one transaction or not at all; the editors' cut."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import NamedTuple

from credits.app.filled import plan_sheets
from credits.app.production import read_ledger
from credits.errors import Finding, ProblemsFound, WrongCall
from credits.files import write_whole
from credits.formats.cut.otio import cut_to_otio
from credits.formats.cut.read import read_cut
from credits.formats.tables.load import LoadPlan, plan_face_sheet
from credits.formats.tables.sheets import Sheets
from credits.model.facts import Cut
from credits.model.log import Batch, WrittenLog
from credits.store.log import open_log
from credits.units.film_time import FrameRate


def load_tables(folder: Path, sheets: Sheets, write: bool = True) -> LoadPlan:
    """Load tables that were read, or only say what would be written; nothing with problems."""
    return _load(folder, lambda written: plan_sheets(sheets, written), write)


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
        return log.write_if_unmoved(planned)[0] if write else plan_of(log.read())


class ImportedCut(NamedTuple):
    """A cut that was read. ``is_new``: False where it is the same as the cut in use, ``version``.

    not_understood: what a person should look at.
    """

    version: int
    cut: Cut
    is_new: bool
    rate: FrameRate
    not_understood: tuple[Finding, ...]


def import_cut(
    folder: Path, file: Path, first_frame: int = 1, shot_pattern: str | None = None
) -> ImportedCut:
    """Read a cut and write it as a new version; one that is the same is not written again.

    first_frame: the number of a shot's frame 1 in the file.
    shot_pattern: how a clip's name holds its shot. Raises ProblemsFound.
    """

    def version(written: WrittenLog) -> tuple[Batch | None, ImportedCut]:
        reading = read_cut(file, written, first_frame=first_frame, shot_pattern=shot_pattern)
        cut, used = reading.cut, written.cut
        is_new = used is None or _content(used) != _content(cut)
        number, rate = used.version if used is not None else 0, written.production.rate
        imported = ImportedCut(number, cut, is_new, rate, reading.not_understood)
        return Batch(cut=cut) if is_new else None, imported

    with open_log(folder) as log:
        imported, receipt = log.write_if_unmoved(version)
    return imported._replace(version=receipt.cut_version or imported.version)


def _content(cut: Cut) -> Cut:
    return replace(cut, version=0, source="", brought_in_on=None)


def use_cut(folder: Path, version: int) -> None:
    """Make a version of the cut the one in use. Raises WrongCall when there is none such."""
    with open_log(folder) as log, log.writing() as writer:
        writer.use_cut(version)


def save_cut(folder: Path, file: Path) -> int:
    """Write the cut in use as an ``.otio`` file; its version. Raises ProblemsFound, WrongCall."""
    if file.suffix.lower() != ".otio":
        hint = "Write a name that ends in .otio."
        raise WrongCall(Finding("the cut is written as .otio", hint, None, "--save", str(file)))
    ledger = read_ledger(folder)
    if ledger.cut is None:
        hint = "Import one: credits cut FILE."
        raise ProblemsFound(Finding("there is no cut yet", hint))
    write_whole(file, cut_to_otio(ledger.cut, ledger).encode())
    return ledger.cut.version
