"""What a load did, in words: every sheet and row, old and new, and what may be said now."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

from credits.formats.tables.again import ChangedRow, RowOfEntry, SheetReport
from credits.formats.tables.lists import ListChange
from credits.formats.tables.load import FacesReport, LoadPlan
from credits.model.facts import EntryNumber
from credits.model.words import counted, listed

NAMED = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportPart:
    """Lines of a report about one kind of thing; ``close`` stands below them."""

    lines: tuple[str, ...]
    close: str = ""


def load_report(plan: LoadPlan) -> Iterator[ReportPart]:
    """Yield the parts of the report on a load in which there are no problems."""
    if plan.lists:
        yield ReportPart(lines=tuple(map(_list_change, plan.lists)))
    if plan.faces is not None:
        yield ReportPart(lines=(_faces(plan.faces),))
    for sheet in plan.sheets:
        yield from _sheet(sheet, plan.needs_word)


def advice(plan: LoadPlan) -> str | None:
    """Say what to call where a load did not write everything; None: it did."""
    if plan.needs_word:
        other = sum(row.other_work for sheet in plan.sheets for row in sheet.changed)
        sheets = [sheet.file for sheet in plan.sheets if sheet.needs_word]
        why = f"so many rows of {listed(sheets)} would change"
        if other:
            rows = counted(other, "row")
            why = f"{rows} would be about another piece of work than before"
        ways = "If that is right, load with --amend; if these are other entries, give the sheet"
        return f"Nothing was written, for {why}. {ways} another name (--sheet NAME) or other refs."
    held = sum(len(sheet.not_written) for sheet in plan.sheets)
    if not held:
        return None
    were = "was" if held == 1 else "were"
    ways = "To amend their entries load with --amend; to write them as new entries, with --again."
    return f"{counted(held, 'changed row')} {were} not written. {ways}"


def _list_change(change: ListChange) -> str:
    return f"{change.place}: {change.key}: {_columns(change.columns)}"


def _columns(columns: Mapping[str, tuple[str, str]]) -> str:
    return "; ".join(
        f"{column} {_said(old)} -> {_said(new)}" for column, (old, new) in columns.items()
    )


def _said(text: str) -> str:
    return " ".join(text.split()) or "(empty)"


def _faces(faces: FacesReport) -> str:
    take = f" take {faces.take}" if faces.take is not None else ""
    are = "frame {} is" if faces.replaced.count == 1 else "frames {} are"
    said = f"{faces.shot}{take}: {are.format(faces.replaced.shown)} replaced"
    return f"{said}; {faces.kept.shown} stay as they are" if faces.kept else said


def _sheet(sheet: SheetReport, needs_word: bool) -> Iterator[ReportPart]:
    """The parts about one sheet. needs_word: nothing of the load is written."""
    if sheet.new and not needs_word:
        numbers = number_ranges(row.entry for row in sheet.new)
        new = counted(len(sheet.new), "new entry", "new entries")
        yield ReportPart(lines=(f"{sheet.file}: {new}: {numbers}",))
    written = [row for row in sheet.changed if row.is_written and not needs_word]
    held = [row for row in sheet.changed if not row.is_written or needs_word]
    for rows, what in ((written, "amended"), (held, "not written")):
        if rows:
            yield ReportPart(lines=tuple(_changed(sheet, row, what) for row in rows))
    yield from _standing(sheet, sheet.said_again, "says what {} says, so it is not written again")
    yield from _standing(sheet, sheet.corrected, "{} stays as it was corrected or voided")
    if sheet.said_again:
        yield ReportPart(lines=(), close="If these are further entries, load with --again.")
    if sheet.gone:
        yield _gone(sheet, needs_word)


def _changed(sheet: SheetReport, row: ChangedRow, what: str) -> str:
    other = ", another piece of work" if row.other_work else ""
    return f"{sheet.file} row {row.row}: {row.entry} {what}{other}: {_columns(row.columns)}"


def _standing(sheet: SheetReport, rows: Sequence[RowOfEntry], what: str) -> Iterator[ReportPart]:
    if rows:
        yield ReportPart(
            lines=tuple(f"{sheet.file} row {row.row}: {what.format(row.entry)}" for row in rows)
        )


def _gone(sheet: SheetReport, needs_word: bool) -> ReportPart:
    named = listed(map(str, sheet.gone), NAMED, "other", "others")
    entries = counted(len(sheet.gone), "entry", "entries")
    if sheet.voided and not needs_word:
        what = f"{sheet.file}: {entries} without a row void: {named}"
        return ReportPart(lines=(what,))
    what = f"{sheet.file}: {entries} loaded earlier without a row here: {named}"
    close = "That is as it should be where a sheet holds only what is new: they stay."
    return ReportPart(
        lines=(what,), close=f"{close} If they were never done: --void-missing --why TEXT."
    )


def number_ranges(numbers: Iterable[EntryNumber]) -> str:
    """Return ``A-18 to A-41, A-43``."""
    runs: list[list[EntryNumber]] = []
    for _, run in groupby(
        enumerate(sorted(numbers)), key=lambda item: (item[1].origin, item[1].number - item[0])
    ):
        runs.append([number for _, number in run])
    return ", ".join(f"{run[0]} to {run[-1]}" if len(run) > 1 else str(run[0]) for run in runs)
