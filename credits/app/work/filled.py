"""Filled-in day sheets, read beside the log: what each row says, and what is left out and why."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from itertools import count
from typing import NamedTuple

from credits.app.work.entries import cells_of
from credits.app.work.named import name_of, of_code
from credits.app.work.rows import REFERS, cell_meant
from credits.app.work.sheet import cells_on_sheet
from credits.errors import Finding, Place, ProblemsFound, WrongCall
from credits.formats.tables.again import Choices
from credits.formats.tables.cells import Cell, shown
from credits.formats.tables.columns import TABLES, Sheet
from credits.formats.tables.day_sheet import (
    BETWEEN,
    DONE,
    HEADINGS,
    OPEN_FRAMES,
    DaySheet,
    FilledRow,
)
from credits.formats.tables.entries import Chain, chains_of, entry_of_key
from credits.formats.tables.load import LoadPlan, plan_load
from credits.formats.tables.sheets import Sheets
from credits.model.log import TableCount, WrittenLog
from credits.model.words import counted, listed
from credits.text import fold_code, fold_words, stripped
from credits.units.frames import Frames


def plan_sheets(
    read: Sheets,
    written: WrittenLog,
    choices: Choices | None = None,
    origin: str = "A",
    today: date | None = None,
) -> LoadPlan:
    """Plan a load, the day sheets in it as rows of entries; their problems are told by the cell."""
    if not read.day_sheets:
        return plan_load(read, written, choices, origin, today)
    log = _Log(written)
    understood = [_understand(sheet, log) for sheet in read.day_sheets]
    problems = [finding for one in understood for finding in one.problems]
    sheets = [one.sheet for one in understood if one.sheet is not None]
    given = replace(
        read, sheets=[*read.sheets, *sheets], problems=[*read.problems, *problems], day_sheets=[]
    )
    plan = plan_load(given, written, choices, origin, today)
    by_file = {one.day_sheet.file: one for one in understood}
    unchanged = sum(one.unchanged for one in understood)
    before = plan.counts.get("entries", TableCount())
    counts = {**plan.counts, "entries": replace(before, same=before.same + unchanged)}
    return replace(
        plan,
        problems=tuple(_by_cell(finding, by_file) for finding in plan.problems),
        counts=counts,
        notes=(*plan.notes, *(note for one in understood for note in one.notes)),
    )


@dataclass(slots=True)
class _Understood:
    """A day sheet beside the log.

    ``sheet``: its rows as rows of entries. ``instead``: by row and column what is wrong with a
    cell, should the load refuse it. ``unchanged``: how many rows show an entry as it was.
    """

    day_sheet: DaySheet
    sheet: Sheet | None = None
    problems: list[Finding] = field(default_factory=list)
    notes: list[Finding] = field(default_factory=list)
    instead: dict[tuple[int, str], Finding] = field(default_factory=dict)
    unchanged: int = 0

    def note(self, row: FilledRow | None, what: str, hint: str = "") -> None:
        """Say something of a row, or of the sheet."""
        place = Place(self.day_sheet.file, row.number if row is not None else None)
        self.notes.append(Finding(what, hint, place))


def _by_cell(finding: Finding, by_file: Mapping[str, _Understood]) -> Finding:
    """Return a finding about a row of a day sheet as one about the cell, in the page's words."""
    place = finding.place
    one = by_file.get(place.file) if place is not None else None
    if one is None or place is None or place.row is None or place.cell is not None:
        return finding
    column = finding.column or ""
    if place.row == one.day_sheet.header_row:
        return finding
    if column == "ref":
        what = "another file of this load has this row of the same sheet, filled in otherwise"
        return Finding(what, "Load only the later one.", place)
    return replace(
        one.instead.get((place.row, column), finding),
        place=one.day_sheet.cell(place.row, finding.column),
        column=HEADINGS.get(column, finding.column),
    )


class _Log:
    """What the log has, as rows of a day sheet ask for it."""

    def __init__(self, written: WrittenLog) -> None:
        self.written = written
        self._by_number: dict[object, Chain] = {}
        self._by_ref: dict[str, Chain] = {}
        for chain in chains_of(written.lines):
            self._by_number[chain.lines[0].number] = chain
            for line in chain.lines:
                if line.ref is not None:
                    self._by_ref.setdefault(line.ref, chain)

    def of_key(self, key: str | None) -> Chain | None:
        """Find the entry of a row by its key."""
        if key is None:
            return None
        return self._by_ref.get(key) or self._by_number.get(entry_of_key(key))

    def meaning(self, column: str, cell: Cell, today: date) -> tuple[Cell, Finding | None]:
        """Return what a cell means: the code of a label or of a name, minutes; what is wrong."""
        if isinstance(cell, date):
            return cell, None
        text = cell
        if BETWEEN in cell and column in REFERS:
            text, _, called = cell.partition(BETWEEN)
            finding = self._two_things(column, text, called)
            if finding is not None:
                return cell, finding
        if column == "frames" and (opened := OPEN_FRAMES.fullmatch(text)):
            hint = f"Write it behind the dash, such as {opened[1]}-{int(opened[1]) + 9}."
            return text, Finding("the last frame is missing", hint, value=cell)
        try:
            return cell_meant(column, text, self.written, today), None
        except WrongCall as error:
            return text, replace(error.findings[0], value=cell)

    def _two_things(self, column: str, code: str, called: str) -> Finding | None:
        """Say that the code and the name of a cell are those of two different things."""
        facts = getattr(self.written, REFERS[column])
        own = of_code(code, facts)
        wanted = fold_words(called)
        if own is None or column == "part" or wanted == fold_words(name_of(own) or ""):
            return None
        others = [fact for fact in facts if fold_words(name_of(fact) or "") == wanted]
        if not others:
            return None  # the name has been corrected since the sheet was made
        what = f"{code} is {name_of(own)}, and {called} is {others[0].code}"
        hint = f"Write {code} or {others[0].code}, whichever is meant."
        return Finding(what, hint, value=f"{code}{BETWEEN}{called}")


class _Row(NamedTuple):
    """A row that was filled in: its key, and its cells as the entries table has them."""

    number: int
    key: str
    cells: Mapping[str, Cell]


def _understand(sheet: DaySheet, log: _Log) -> _Understood:
    """Read the rows of a day sheet beside the log; what is left out is said."""
    out = _Understood(sheet)
    production, mark = log.written.production, sheet.mark
    if fold_code(mark.production) != fold_code(production.code):
        what = f"is a day sheet of another production ({mark.production}; this is"
        hint = "Load it there: credits load --production DIR."
        out.problems.append(Finding(f"{what} {production.code})", hint, Place(sheet.file)))
        return out
    rows: list[_Row] = []
    not_filled = 0
    first: dict[str, tuple[int, Mapping[str, Cell]]] = {}
    every = [_typed(row, log, out) for row in sheet.rows]
    keys = _keys(sheet, every, log)
    for row, typed, key in zip(sheet.rows, every, keys, strict=True):
        chain = log.of_key(key)
        if not _is_filled_in(row, typed, sheet):
            not_filled += _say_not_filled(row, typed, sheet, chain, out)
            continue
        number, there = first.setdefault(row.key or key, (row.number, typed))
        if number != row.number:
            if there == typed and chain is None:
                out.note(row, f"repeats row {number} word for word, so it was not counted again")
                continue
            if chain is None:
                out.note(row, f"was copied from row {number}, and is an entry of its own")
        cells = _whole(row, typed, sheet, chain, out)
        if chain is None or not _stays(row, key, cells, chain, out):
            rows.append(_Row(row.number, key, cells))
    if not_filled:
        were = "was" if not_filled == 1 else "were"
        out.note(None, f"{counted(not_filled, 'row')} {were} not filled in")
    out.sheet = _as_entries(sheet, rows)
    return out


def _typed(row: FilledRow, log: _Log, out: _Understood) -> dict[str, Cell]:
    """Return what the cells of a row mean; what is wrong with one is kept for the load to say."""
    typed: dict[str, Cell] = {}
    for column, cell in row.cells.items():
        typed[column], finding = log.meaning(column, cell, out.day_sheet.mark.on)
        if finding is not None:
            out.instead[row.number, column] = finding
    return typed


def _keys(sheet: DaySheet, typed: Sequence[Mapping[str, Cell]], log: _Log) -> list[str]:
    """Return the key of every row; one of its own for a row that was copied, or came without.

    Rows with one key between them are told apart by what they said when they were last loaded,
    what is left by their order: so another may be deleted or put before them.
    """
    together: dict[str | None, list[int]] = defaultdict(list)
    for at, row in enumerate(sheet.rows):
        together[row.key].append(at)
    keys: dict[int, str] = {}
    for key, rows in together.items():
        free: dict[str, list[dict[str, str]]] = {}
        for number in count(1):
            each = f"{key or sheet.mark.stem}{'~' if key else '+'}{number}"
            each = key if key and number == 1 else each
            chain = log.of_key(each)
            if number > len(rows) and chain is None:
                break
            free[each] = _last_words(each, chain)
        for at in rows:
            said = _plain(_cells(sheet.rows[at], typed[at], sheet))
            known = next((each for each, words in free.items() if said in words), None)
            if known is not None:
                keys[at] = known
                del free[known]
        left = iter(free)
        keys.update((at, next(left)) for at in rows if at not in keys)
    return [keys[at] for at in range(len(sheet.rows))]


def _last_words(key: str, chain: Chain | None) -> list[dict[str, str]]:
    """Return what the row of a key said last, and what its entry says now."""
    if chain is None:
        return []
    now = chain.counts.work if chain.counts is not None else None
    return [_plain(cells_on_sheet(work)) for work in (chain.last_loaded(key), now) if work]


def _shown(row: FilledRow, sheet: DaySheet) -> dict[str, str]:
    """Return what the row held when the sheet was made, of the columns that it shows."""
    return {c: stripped(text) for c, text in row.printed.cells.items() if c in sheet.columns}


def _is_as_made(row: FilledRow, typed: Mapping[str, Cell], sheet: DaySheet) -> bool:
    return _plain(typed) == _plain(_shown(row, sheet))


def _plain(cells: Mapping[str, Cell]) -> dict[str, str]:
    """Return cells to be compared: codes without regard to case, frames in one form."""
    plain = {}
    for column, cell in cells.items():
        text = shown(cell)
        if column in REFERS:
            text = fold_code(text)
        elif column == "frames":
            try:
                text = Frames.parse(text).text
            except ProblemsFound:
                text = text.strip()
        elif column == "note":
            text = "\n".join(text.split("\r\n"))
        plain[column] = text
    return plain


def _is_filled_in(row: FilledRow, typed: Mapping[str, Cell], sheet: DaySheet) -> bool:
    """Tell whether somebody has said something in a row.

    Of a row that shows an entry any change is something said. One that began with what the place
    was on must say what was done: other frames, minutes, a note.
    """
    if not typed or _is_as_made(row, typed, sheet):
        return False
    if row.printed.entry is not None or not row.printed.cells:
        return True
    now, then = _plain(typed), _plain(_shown(row, sheet))
    return any(now.get(column) not in (None, then.get(column)) for column in DONE)


def _say_not_filled(
    row: FilledRow,
    typed: Mapping[str, Cell],
    sheet: DaySheet,
    chain: Chain | None,
    out: _Understood,
) -> bool:
    """Say what there is to say of a row that was not filled in; whether it is to be counted."""
    entry = row.printed.entry
    if entry is not None and typed and chain is not None:
        out.unchanged += 1
        return False
    if entry is not None and typed:
        out.note(row, f"shows entry {entry}, which this log does not have", "It was left out.")
        return False
    if chain is not None and chain.counts is not None:
        number = chain.lines[0].number
        now = "says nothing that was done any more" if typed else "is empty now"
        what = f"{now}, but entry {number} stands: nothing is voided by an empty row"
        out.note(row, what, f"If it was never done: credits void {number} --why WHY.")
        return False
    if not row.printed.cells or entry is not None:
        return False
    if typed and not _is_as_made(row, typed, sheet):
        says, then = _plain(typed), _plain(_shown(row, sheet))
        other = [c for c in HEADINGS if says.get(c) != then.get(c)]
        names = listed([HEADINGS[column] for column in other])
        what = f"says other things than before ({names}), but nothing that was done"
        out.note(row, what, "Write frames, minutes or a note, if something was done.")
    return True


def _whole(
    row: FilledRow,
    typed: Mapping[str, Cell],
    sheet: DaySheet,
    chain: Chain | None,
    out: _Understood,
) -> dict[str, Cell]:
    """Return all cells of the row's entry, with the note that the sheet was not told."""
    cells = _cells(row, typed, sheet)
    work = chain.counts.work if chain is not None and chain.counts is not None else None
    is_private = "private" in row.printed.cells and row.printed.entry is not None
    if chain is not None and work is not None and is_private and work.private and work.note:
        if "note" in typed:
            number = chain.lines[0].number
            what = f"entry {number} has a note for the office alone, which is not on this sheet"
            hint = f"Leave the cell empty, or: credits amend {number} --note TEXT."
            place, value = sheet.cell(row.number, "note"), shown(typed["note"])
            out.problems.append(Finding(what, hint, place, HEADINGS["note"], value))
        cells["note"] = work.note
    if sheet.signed is not None:
        cells["logged_by"] = sheet.signed
    return cells


def _cells(row: FilledRow, typed: Mapping[str, Cell], sheet: DaySheet) -> dict[str, Cell]:
    """Return what a row says with its sheet: day and stage; what the page does not show stays."""
    hidden = {c: text for c, text in row.printed.cells.items() if c not in sheet.columns}
    cells: dict[str, Cell] = {**hidden, **typed}
    if "finished_on" not in cells and "started_on" not in cells:
        cells["finished_on"] = sheet.mark.on.isoformat()
    if sheet.mark.stage is not None:
        cells.setdefault("stage", sheet.mark.stage)
    return cells


def _stays(
    row: FilledRow, key: str, cells: Mapping[str, Cell], chain: Chain, out: _Understood
) -> bool:
    """Tell whether the entry stays as somebody corrected it since the sheet was made; say so."""
    holds, number = chain.counts, chain.lines[0].number
    if holds is not None and holds.work is not None:
        now = _plain(cells_of(holds.work))
        is_own_word = holds.ref == key and holds.source is not None
        if is_own_word or _plain(cells_on_sheet(holds.work)) == _plain(row.printed.cells):
            return False
        said = {column: cell for column, cell in cells.items() if column != "logged_by"}
        last = chain.last_loaded(key)
        if _plain(said) in (now, _plain(cells_of(last)) if last is not None else None):
            out.unchanged += 1
            return True
        what = f"is left out: entry {number} has been corrected since this sheet was made"
        out.note(row, what, f"It stays as it is. To change it: credits amend {number}.")
    else:
        what = f"is left out: entry {number} has been voided since this sheet was made"
        out.note(row, what, "If it was done after all, log it again: credits log.")
    return True


def _as_entries(sheet: DaySheet, rows: Sequence[_Row]) -> Sheet:
    header = TABLES["entries"].column_names
    return Sheet(
        table="entries",
        file=sheet.file,
        header_row=sheet.header_row,
        header=header,
        numbers=tuple(row.number for row in rows),
        cells=tuple(
            tuple(row.key if column == "ref" else row.cells.get(column, "") for column in header)
            for row in rows
        ),
    )
