"""The report on a sheet that was dropped on the desk, and what may be chosen about it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from credits.app.lists.load_report import number_ranges
from credits.desk.page import LABELS, RARE_LABELS
from credits.formats.tables.again import Choices, RowOfEntry, SheetReport
from credits.formats.tables.day_sheet import HEADINGS
from credits.formats.tables.load import LoadPlan
from credits.model.words import begin, counted, listed
from credits.site.render import rendered

NAMED = 12
_LABELS = {**HEADINGS, **LABELS, **RARE_LABELS}


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownChange:
    """A row, or a row of a list, that says something else than before. ``became``: in words."""

    row: str
    what: str
    columns: Sequence[tuple[str, str, str]]
    became: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownSheet:
    """What became of one sheet of entries. ``said``: in sentences."""

    file: str
    changed: Sequence[ShownChange]
    said: Sequence[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownChoice:
    """Something that may be chosen: a box to tick, or a text to write."""

    name: str
    label: str
    value: str
    hint: str = ""
    is_box: bool = False
    is_chosen: bool = False


def chosen(asked: Mapping[str, str]) -> Choices:
    """Return the choices that a page sends with a sheet; what is empty is not chosen."""
    return Choices(
        sheet=asked.get("sheet", "").strip() or None,
        amend=asked.get("amend") == "1",
        again=asked.get("again") == "1",
        void_missing=asked.get("void_missing", "").strip() or None,
    )


def report_html(plan: LoadPlan, name: str, writes: bool, choices: Choices) -> str:
    """Render what a sheet would write, or what was written, and what may be chosen now."""
    offered = () if plan.problems else tuple(_offered(plan, choices, writes))
    return rendered(
        "desk/_report.html",
        plan=plan,
        name=name,
        head=_head(plan, writes),
        sheets=[_shown_sheet(sheet, plan.needs_word) for sheet in plan.sheets],
        lists=[
            ShownChange(
                row=str(change.place.row or ""),
                what=change.key,
                columns=_columns(change.columns),
                became=change.table,
            )
            for change in plan.lists
        ],
        choices=offered,
        may_choose=any(choice.name != "sheet" for choice in offered),
        may_write=not plan.problems and not plan.changes_nothing and not writes,
    )


def _head(plan: LoadPlan, writes: bool) -> str:
    if plan.needs_word:
        return f"Nothing {'was' if writes else 'would be'} written: {_why(plan)}."
    if plan.changes_nothing and not plan.counts:
        return "Nothing was written: no rows of a known table were found in it."
    if plan.changes_nothing and plan.is_whole:
        return "Nothing new: every row of it is there already."
    if plan.changes_nothing:
        return (
            "Nothing was written: rows of it have changed, and nothing in it is new."
            if writes
            else "Nothing in it is new, but rows of it have changed."
        )
    return "Written." if writes else "Nothing is written yet. This is what it would write."


def _why(plan: LoadPlan) -> str:
    other = sum(row.other_work for sheet in plan.sheets for row in sheet.changed)
    if other:
        return f"{counted(other, 'row')} would be about another piece of work than before"
    return f"so many rows of {listed([s.file for s in plan.sheets if s.needs_word])} would change"


def _shown_sheet(sheet: SheetReport, needs_word: bool) -> ShownSheet:
    said = []
    if sheet.new and not needs_word:
        numbers = number_ranges(row.entry for row in sheet.new)
        said.append(f"{counted(len(sheet.new), 'new entry', 'new entries')}: {numbers}.")
    if sheet.said_again:
        what = "say what these entries say, so they are not written again"
        said.append(f"Rows that {what}: {_rows(sheet.said_again)}.")
    if sheet.corrected:
        what = "that were corrected or voided by hand and stay so"
        said.append(f"Entries {what}: {_rows(sheet.corrected)}.")
    if sheet.gone:
        numbers = listed(map(str, sheet.gone), NAMED, "other", "others")
        what = "are void" if sheet.voided and not needs_word else "stay"
        gone = counted(len(sheet.gone), "entry", "entries")
        said.append(f"{gone} of this sheet without a row here {what}: {numbers}.")
    return ShownSheet(
        file=sheet.file,
        said=said,
        changed=[
            ShownChange(
                row=str(row.row),
                what=str(row.entry),
                columns=_columns(row.columns),
                became=("amended" if row.is_written and not needs_word else "not written")
                + (", another piece of work" if row.other_work else ""),
            )
            for row in sheet.changed
        ],
    )


def _rows(rows: Iterable[RowOfEntry]) -> str:
    said = [f"row {row.row} ({row.entry})" for row in rows]
    return listed(said, NAMED, "other", "others")


def _columns(columns: Mapping[str, tuple[str, str]]) -> list[tuple[str, str, str]]:
    nothing = "nothing"
    return [(_label(name), old or nothing, new or nothing) for name, (old, new) in columns.items()]


def _label(column: str) -> str:
    return _LABELS.get(column, begin(column.replace("_", " ")))


def _offered(plan: LoadPlan, choices: Choices, writes: bool) -> Iterable[ShownChoice]:
    """Yield what may be chosen: what was chosen, and what the report makes a question.

    writes: what was chosen has been written, and is asked no more.
    """
    is_written = writes and not plan.changes_nothing
    held = sum(len(s.changed if plan.needs_word else s.not_written) for s in plan.sheets)
    changed = held or sum(len(s.changed) for s in plan.sheets if choices.amend and not is_written)
    if changed:
        yield ShownChoice(
            name="amend",
            label=_each(changed, "Write the {} as {}", "changed row", "amendment"),
            value="1",
            is_box=True,
            is_chosen=choices.amend,
        )
    like = sum(len(s.said_again) + len(s.not_written) for s in plan.sheets)
    if like or (choices.again and not is_written):
        yield ShownChoice(
            name="again",
            label="Write rows that are like an entry, or say the same, as new entries",
            value="1",
            is_box=True,
            is_chosen=choices.again,
        )
    gone = sum(len(s.gone) for s in plan.sheets if not (is_written and s.voided))
    if gone:
        are = "that is" if gone == 1 else "that are"
        yield ShownChoice(
            name="void_missing",
            label=f"Void the {counted(gone, 'row')} {are} gone, because",
            value=choices.void_missing or "",
            hint="Empty: they stay, as is right where a sheet holds only what is new.",
        )
    if len(plan.sheets) == 1 and not is_written:
        yield ShownChoice(
            name="sheet",
            label="Known as",
            value=plan.sheets[0].sheet,
            hint="By this name the sheet is known when it comes again. "
            "With another name its rows are other entries.",
        )


def _each(count: int, text: str, what: str, other: str) -> str:
    """Return ``Write the 3 changed rows as amendments``, of one ``Write the changed row as ...``"""
    if count == 1:
        return text.format(what, f"an {other}")
    return text.format(counted(count, what), f"{other}s")
