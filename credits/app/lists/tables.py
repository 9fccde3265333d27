"""Bring in files: tables and face sheets, in one transaction or not at all; the editors' cut."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any, NamedTuple

from credits.app.figures import read_ledger
from credits.app.lists.put_right import put_right
from credits.app.production import snapshot_of
from credits.app.work.filled import plan_sheets
from credits.app.work.writing import open_to_write
from credits.errors import Finding, ProblemsFound, WrongCall
from credits.files import Progress, write_whole
from credits.formats.cut.otio import cut_to_otio
from credits.formats.cut.read import read_cut
from credits.formats.tables.again import Choices
from credits.formats.tables.columns import TABLES, Sheet
from credits.formats.tables.faces import plan_face_sheet
from credits.formats.tables.headings import words_of
from credits.formats.tables.load import LoadPlan
from credits.formats.tables.sheets import Sheets, read_tables
from credits.memory import all_kept
from credits.model.facts import Confirmation, Cut, EntryNumber, Replacement
from credits.model.log import REFERENCE_TABLES, Batch, WrittenLog
from credits.store.settings import read_settings
from credits.units.film_time import FrameRate

# Of a log of more lines the checks are asked by a dry run alone: they would take as long again as
# the load.
ASKED_ABOUT = 20_000


def read_files(folder: Path, paths: Sequence[Path], progress: Progress | None = None) -> Sheets:
    """Read files in the words of the production's departments, as its settings say them.

    What cannot be read is in the sheets' ``problems``; what is wrong in the settings is raised.
    """
    words = words_of(read_settings(folder))
    with all_kept():
        return read_tables(paths, progress, words)


def load_tables(
    folder: Path,
    sheets: Sheets,
    write: bool = True,
    choices: Choices | None = None,
    ask_checks: bool = False,
) -> LoadPlan:
    """Load tables that were read. A plan with problems writes nothing.

    write: False: only say what would be written. ask_checks: count their open questions before
    and after. Raises WrongCall where ``choices`` name a sheet, and there is not one of entries.
    """
    if choices is not None and choices.sheet is not None:
        entries = [sheet.file for sheet in sheets.sheets if sheet.table == "entries"]
        entries += [sheet.file for sheet in sheets.day_sheets]
        if len(entries) != 1:
            what = f"names one sheet of entries, and these files hold {len(entries)}"
            hint = "Load each with its own name."
            raise WrongCall(Finding(what, hint, None, "--sheet", choices.sheet))
    return _load(
        folder,
        lambda written, origin: plan_sheets(sheets, written, choices, origin, date.today()),
        write,
        ask_checks,
        sheets.sheets,
    )


def load_face_sheet(
    folder: Path,
    paths: Sequence[Path],
    shot_and_take: str,
    write: bool = True,
    ask_checks: bool = False,
) -> LoadPlan:
    """Load one face sheet of a shot or a take (``010-020/2``). Raises WrongCall for more files."""
    if len(paths) != 1:
        what = f"a face sheet is one file, not {len(paths)}"
        raise WrongCall(Finding(what, "Load each with the shot that it belongs to."))
    return _load(
        folder,
        lambda written, _: plan_face_sheet(paths[0], shot_and_take, written),
        write,
        ask_checks,
    )


def _load(
    folder: Path,
    plan_of: Callable[[WrittenLog, str], LoadPlan],
    write: bool,
    ask_checks: bool,
    sheets: Sequence[Sheet] = (),
) -> LoadPlan:
    with all_kept(for_good=True), open_to_write(folder, None) as log:

        def planned(written: WrittenLog) -> tuple[Batch | None, tuple[LoadPlan, WrittenLog]]:
            plan = put_right(plan_of(written, log.origin), sheets, written, log.list_corrections())
            nothing = plan.problems or plan.changes_nothing
            return None if nothing else plan.batch, (plan, written)

        read = log.write_if_unmoved(planned)[0] if write else planned(log.read())[1]
    plan, written = read
    lines = len(written.lines) + len(plan.batch.lines)
    if not ask_checks or plan.changes_nothing or (write and lines > ASKED_ABOUT):
        return plan
    with suppress(ProblemsFound):  # a credit plan that cannot be read is no matter of a load
        before = len(snapshot_of(written, folder).open_checks)
        after = len(snapshot_of(_after(written, plan.batch, log.origin), folder).open_checks)
        return replace(plan, questions=(before, after))
    return plan


def _after(written: WrittenLog, batch: Batch, origin: str) -> WrittenLog:
    """Return the log as it is when a batch of tables is written, without reading it."""
    now = datetime.now(UTC)
    grown: dict[str, Any] = {}
    for name in REFERENCE_TABLES:
        keys = [column.field for column in TABLES[name].columns if column.key]
        rows = [row for row in getattr(written, name) if not _is_cleared(row, batch)]
        corrected = [each for each in batch.corrections if each.table == name]
        rows = [row for row in rows if all(row != each.row for each in corrected)]
        rows += [each.instead for each in corrected if each.instead is not None]
        rows += getattr(batch, name)
        grown[name] = tuple({tuple(getattr(r, key) for key in keys): r for r in rows}.values())
    last = max(
        (n.number for line in written.lines if (n := line.number).origin == origin), default=0
    )
    lines = (
        line.written(EntryNumber(origin, number), now)
        for number, line in enumerate(batch.lines, last + 1)
    )
    words = (
        Confirmation(
            person=word.person,
            name=word.name,
            confirmed_on=word.confirmed_on or now.date(),
            is_right=word.is_right,
            confirmed_by=word.confirmed_by,
            written_at=now,
        )
        for word in batch.confirmations
    )
    grown["lines"] = (*written.lines, *lines)
    return replace(written, **grown, confirmations=(*written.confirmations, *words))


def _is_cleared(row: object, batch: Batch) -> bool:
    return isinstance(row, Replacement) and (row.shot, row.take) in batch.cleared_face_sheets


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
    folder: Path, file: Path, first_frame: int | None = None, shot_pattern: str | None = None
) -> ImportedCut:
    """Read a cut and write it as a new version; one that is the same is not written again.

    first_frame: the number of a shot's frame 1 in the file; None: that of the media, else 1.
    shot_pattern: how a clip's name holds its shot. Raises ProblemsFound.
    """

    def version(written: WrittenLog) -> tuple[Batch | None, ImportedCut]:
        reading = read_cut(file, written, first_frame=first_frame, shot_pattern=shot_pattern)
        cut, used = reading.cut, written.cut
        is_new = used is None or _content(used) != _content(cut)
        number, rate = used.version if used is not None else 0, written.production.rate
        imported = ImportedCut(number, cut, is_new, rate, reading.not_understood)
        return Batch(cut=cut) if is_new else None, imported

    with open_to_write(folder, None) as log:
        imported, receipt = log.write_if_unmoved(version)
    return imported._replace(version=receipt.cut_version or imported.version)


def _content(cut: Cut) -> Cut:
    return replace(cut, version=0, source="", brought_in_on=None)


def use_cut(folder: Path, version: int) -> None:
    """Make a version of the cut the one in use. Raises WrongCall when there is none such."""
    with open_to_write(folder, None) as log, log.writing() as writer:
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
