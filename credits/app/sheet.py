"""Day sheets: made for the stages and workshops of a day, and understood when they come back."""

from __future__ import annotations

import os
import re
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from pathlib import Path
from typing import NamedTuple

from credits.app.entries import cells_of
from credits.app.named import day_named, name_of, of_code
from credits.app.production import read_ledger
from credits.app.rows import REFERS, cell_meant
from credits.cautions import MATERIALS_CAUTION, is_of_materials
from credits.errors import Finding, Place, ProblemsFound, WrongCall
from credits.files import require_folder, write_whole
from credits.footage.day import (
    Underway,
    Workplace,
    WorkplaceDay,
    day_of_work,
    underway,
    workplaces,
)
from credits.formats.tables.cells import Cell, shown, stripped
from credits.formats.tables.columns import TABLES, Sheet
from credits.formats.tables.day_sheet import (
    BETWEEN,
    DONE,
    HEADINGS,
    OPEN_FRAMES,
    DayForm,
    DaySheet,
    FilledRow,
    PrintedRow,
    SheetMark,
    day_sheet,
)
from credits.formats.tables.entries import Chain, chains_of, entry_of_key
from credits.formats.tables.load import LoadPlan, plan_load
from credits.formats.tables.sheets import Sheets
from credits.model.facts import Craft, Kind, Shot, ShotStatus
from credits.model.ledger import Ledger
from credits.model.log import TableCount, WrittenLog
from credits.model.words import counted, listed
from credits.text import fold_code, fold_words, nearest
from credits.units.frames import Frames
from credits.units.spoken import spoken_day

EMPTY_ROWS = 12
LONGEST_FILE_NAME = 60


# --- Out


@dataclass(frozen=True, slots=True, kw_only=True)
class MadeSheet:
    """A day sheet that was written: its place and day, the file, what it begins with."""

    place: Workplace
    on: date
    file: Path
    logged: int
    begun: int


def sheet_day(text: str | None, today: date) -> date:
    """Return the day that a sheet is for: a date, ``monday``, ``tomorrow``; None: today.

    Raises WrongCall.
    """
    if text is None:
        return today
    if text.strip().lower() == "tomorrow":
        return today + timedelta(days=1)
    return spoken_day(text, today) or day_named(text, "--date")


def place_in_words(place: Workplace) -> str:
    """Return ``Stage S1`` or ``Workshop Puppets``."""
    return f"Stage {place.stage}" if place.stage else f"Workshop {place.department}"


def make_sheets(
    folder: Path,
    on: date,
    new_id: Callable[[], str],
    stage: str | None = None,
    workshop: str | None = None,
    out: Path | None = None,
    force: bool = False,
) -> tuple[MadeSheet, ...]:
    """Write the day sheet of a stage or of a workshop; without either that of every place at work.

    Every place at work: each that has entries of the day, had some lately, or has people engaged.
    new_id: gives each sheet a name of its own, of hexadecimal digits, never the same twice.
    out: the file, or a folder for it; for every place a folder. None: in the working folder.
    force: whether to write over what is there. Raises WrongCall, ProblemsFound.
    """
    ledger = read_ledger(folder)
    days = {day.place: day for day in day_of_work(ledger, on).places}
    one = None
    if stage is not None or workshop is not None:
        one = _place_meant(ledger, days, stage, workshop)
    wanted = [one] if one is not None else list(days)
    if not wanted:
        what = "no stage or workshop has anything of this day or of the fortnight before it"
        hint = "Name one: --stage CODE, or --workshop DEPARTMENT."
        raise ProblemsFound(Finding(what, hint, value=str(on)))
    sheets = []
    files = _files(wanted, on, out, one is not None, force)
    for place, file in zip(wanted, files, strict=True):
        day = days.get(place) or WorkplaceDay(
            place=place, entries=(), before=(), before_on=None, idle=()
        )
        form = form_of(ledger, day, on, new_id())
        logged = sum(row.entry is not None for row in form.rows)
        begun = len(form.rows) - logged
        sheets.append((MadeSheet(place=place, on=on, file=file, logged=logged, begun=begun), form))
    if one is None:
        files[0].parent.mkdir(parents=True, exist_ok=True)
    for made, form in sheets:
        write_whole(made.file, day_sheet(form))
    return tuple(made for made, _ in sheets)


def _place_meant(
    ledger: Ledger, days: Iterable[Workplace], stage: str | None, workshop: str | None
) -> Workplace:
    if stage is not None and workshop is not None:
        hint = "Write --stage CODE, or --workshop DEPARTMENT, or --all."
        raise WrongCall(Finding("a sheet is for one place", hint))
    places = list(dict.fromkeys((*workplaces(ledger), *days)))
    known = [place for place in places if (place.stage is not None) == (stage is not None)]
    text, option = (stage, "--stage") if stage is not None else (workshop or "", "--workshop")
    found = next((p for p in known if fold_words(p.name) == fold_words(text)), None)
    if found is not None:
        return found
    one, many = ("stage", "stages") if stage is not None else ("department", "departments")
    names = [place.name for place in known]
    like = nearest(text, names)
    hint = f"Did you mean {' or '.join(like)}?" if like else ""
    hint = hint or (f"The {many} are {listed(names)}." if names else f"There are no {many} yet.")
    raise WrongCall(Finding(f"there is no such {one}", hint, None, option, text))


def _files(
    places: Sequence[Workplace], on: date, out: Path | None, one: bool, force: bool
) -> list[Path]:
    """Name the file of each place. Raises WrongCall for one that is there already."""
    parent = out or (Path() if one else Path(f"day-sheets-{on}"))
    if one and out is not None and not out.is_dir():
        if out.suffix.lower() != ".xlsx":
            hint = "Write a name that ends in .xlsx, or a folder that is there."
            raise WrongCall(Finding("a day sheet is a workbook", hint, None, "--out", str(out)))
        files = [out]
    else:
        require_folder(parent, "--out")
        files = [parent / f"{name}.xlsx" for name in _file_names(places, on)]
    there = [file for file in files if os.path.lexists(file)]
    if there and not force:
        more = f" and {counted(len(there) - 1, 'more')}" if len(there) > 1 else ""
        what = f"is there already{more}, and somebody may have filled it in"
        hint = "Name another place with --out, or write over it with --force."
        raise WrongCall(Finding(what, hint, value=str(there[0])))
    return files


def _file_names(places: Sequence[Workplace], on: date) -> Iterator[str]:
    """Name each place's file by day and place, in signs that every file system has."""
    often: Counter[str] = Counter()
    for place in places:
        plain = re.sub(r"[^\w.-]+", "-", place.name)[:LONGEST_FILE_NAME].strip("-.") or "sheet"
        often[plain.casefold()] += 1
        again = often[plain.casefold()]
        yield f"{on}-{plain}" + (f"-{again}" if again > 1 else "")


def form_of(ledger: Ledger, day: WorkplaceDay, on: date, made: str) -> DayForm:
    """Return the sheet of a place and day: what is logged, what it was on, rows without anything.

    made: the sheet's own name, of no other sheet.
    """
    logged = [PrintedRow(cells_of(entry.work), entry.first) for entry in day.entries]
    done = {(e.craft, e.person, e.character, e.shot) for e in day.entries}
    # What somebody has gone on with today is there already.
    begun = [
        PrintedRow(_begun(row))
        for row in underway(ledger, day)
        if (row.craft, row.person, row.character, row.shot) not in done
    ]
    rows = (*logged, *begun)
    mark = SheetMark(
        production=ledger.production.code,
        on=on,
        stage=day.place.stage,
        department=day.place.department,
        made=made,
    )
    own = [c for c in ledger.crafts.values() if c.department == day.place.department]
    own += [
        ledger.crafts[row.cells["craft"]] for row in rows if row.cells["craft"] in ledger.crafts
    ]
    with_materials = any(map(_is_of_materials, own))
    return DayForm(
        mark=mark,
        film=ledger.production.title,
        place=place_in_words(day.place),
        rows=rows,
        empty=EMPTY_ROWS,
        choices=_choices(ledger, day, rows),
        caution=MATERIALS_CAUTION if with_materials else "",
    )


def _is_of_materials(craft: Craft) -> bool:
    return is_of_materials(craft.code, craft.department, craft.kind is Kind.BUILD)


def _begun(row: Underway) -> dict[str, str]:
    cells = {column: getattr(row, column) for column in HEADINGS if hasattr(row, column)}
    cells["frames"] = None if row.next_frame is None else f"{row.next_frame}-"
    return {column: str(value) for column, value in cells.items() if value is not None}


def _choices(
    ledger: Ledger, day: WorkplaceDay, rows: Iterable[PrintedRow]
) -> dict[str, tuple[str, ...]]:
    """List what can be chosen in each column: what the place was on first, then the table."""
    used = {column: [row.cells.get(column) for row in rows] for column in HEADINGS}
    department = day.place.department
    own_crafts = [c.code for c in ledger.crafts.values() if c.department == department]
    used["craft"] = [*own_crafts, *used["craft"]]
    used["person"] += day.idle
    by_status = sorted(ledger.shots.values(), key=lambda shot: _SHOTS_FIRST.index(shot.status))
    used["shot"] += [shot.code for shot in by_status]
    tables: dict[str, Mapping[str, object]] = {
        "craft": ledger.crafts,
        "person": {c: p for c, p in ledger.people.items() if ledger.one_person.get(c, c) == c},
        "character": ledger.characters,
        "puppet": ledger.puppets,
        "part": ledger.parts,
        "shot": ledger.shots,
    }
    choices = {}
    for column, facts in tables.items():
        codes = dict.fromkeys(c for c in (*used[column], *facts) if c is not None)
        choices[column] = tuple(_label(code, facts.get(code), ledger) for code in codes)
    highest = max((number for _, number in ledger.takes), default=0)
    numbers = [int(take) for take in used["take"] if take]
    most = max(highest + 3, *numbers, _FEWEST_TAKES)
    choices["take"] = tuple(map(str, range(1, most + 1)))
    return choices


_SHOTS_FIRST = (ShotStatus.SHOOTING, ShotStatus.PLANNED, ShotStatus.DONE, ShotStatus.OMITTED)
_FEWEST_TAKES = 9


def _label(code: str, fact: object, ledger: Ledger) -> str:
    """Return what can be chosen: the code, and what people call it."""
    called = name_of(fact) if fact is not None else None
    if isinstance(fact, Shot):
        called = counted(fact.length, "frame")
    elif code in ledger.puppets and fact is ledger.puppets[code]:
        puppet = ledger.puppets[code]
        whose = ledger.characters.get(puppet.character)
        copy = f"copy {puppet.copy}" if puppet.copy else ""
        called = " ".join(filter(None, (whose.name if whose else "", copy)))
    return f"{code}{BETWEEN}{called}" if called else code


# --- And back


def plan_sheets(read: Sheets, written: WrittenLog) -> LoadPlan:
    """Plan a load, the day sheets in it as rows of entries; their problems are told by the cell."""
    if not read.day_sheets:
        return plan_load(read, written)
    log = _Log(written)
    understood = [_understand(sheet, log) for sheet in read.day_sheets]
    problems = [finding for one in understood for finding in one.problems]
    sheets = [one.sheet for one in understood if one.sheet is not None]
    given = replace(
        read, sheets=[*read.sheets, *sheets], problems=[*read.problems, *problems], day_sheets=[]
    )
    plan = plan_load(given, written)
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
    better = one.instead.get((place.row, column), finding)
    value = better.value
    if place.row == one.day_sheet.header_row:
        return finding
    return replace(
        better,
        place=one.day_sheet.cell(place.row, finding.column),
        column=HEADINGS.get(column, finding.column),
        value=value,
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
    keys = _keys(sheet)
    first: dict[str, tuple[int, Mapping[str, Cell]]] = {}
    for row, key in zip(sheet.rows, keys, strict=True):
        typed: dict[str, Cell] = {}
        for column, cell in row.cells.items():
            typed[column], finding = log.meaning(column, cell, mark.on)
            if finding is not None:
                out.instead[row.number, column] = finding
        chain = log.of_key(key)
        if not _is_filled_in(row, typed, sheet):
            not_filled += _say_not_filled(row, typed, sheet, chain, out)
            continue
        cells = _whole(row, typed, sheet)
        before = first.setdefault(row.key or key, (row.number, typed))
        if before[0] != row.number:
            if before[1] == typed:
                out.note(row, f"repeats row {before[0]} word for word, so it was not counted again")
                continue
            if chain is None:
                what = f"was copied from row {before[0]}, and is an entry of its own"
                out.note(row, what)
        if chain is None or not _stays(row, key, cells, chain, out):
            rows.append(_Row(row.number, key, cells))
    if not_filled:
        were = "was" if not_filled == 1 else "were"
        out.note(None, f"{counted(not_filled, 'row')} {were} not filled in")
    out.sheet = _as_entries(sheet, rows)
    return out


def _keys(sheet: DaySheet) -> list[str]:
    """Return the key of every row; one of its own for a row that was copied, or came without."""
    often: Counter[str] = Counter()
    keys = []
    for row in sheet.rows:
        often[row.key or ""] += 1
        again = often[row.key or ""]
        if row.key is None:
            keys.append(f"{sheet.mark.stem}+{again}")
        else:
            keys.append(row.key if again == 1 else f"{row.key}~{again}")
    return keys


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
    standing = chain.counts if chain is not None else None
    if row.printed.entry is not None and typed:
        out.unchanged += 1
        return False
    if standing is not None and chain is not None:
        number = chain.lines[0].number
        what = f"is empty now, but entry {number} stands: nothing is voided by an empty row"
        out.note(row, what, f"If it was never done: credits void {number} --why WHY.")
        return False
    if not row.printed.cells or row.printed.entry is not None:
        return False
    if typed and not _is_as_made(row, typed, sheet):
        now, then = _plain(typed), _plain(_shown(row, sheet))
        other = [c for c in HEADINGS if now.get(c) != then.get(c)]
        names = listed([HEADINGS[column] for column in other])
        what = f"says other things than before ({names}), but nothing that was done"
        out.note(row, what, "Write frames, minutes or a note, if something was done.")
    return True


def _whole(row: FilledRow, typed: Mapping[str, Cell], sheet: DaySheet) -> dict[str, Cell]:
    """Return all cells of the row's entry: what the page does not show stays as it was."""
    hidden = {c: text for c, text in row.printed.cells.items() if c not in sheet.columns}
    cells: dict[str, Cell] = {**hidden, **typed}
    if "finished_on" not in cells and "started_on" not in cells:
        cells["finished_on"] = sheet.mark.on.isoformat()
    if sheet.mark.stage is not None:
        cells.setdefault("stage", sheet.mark.stage)
    if sheet.signed is not None:
        cells["logged_by"] = sheet.signed
    return cells


def _stays(
    row: FilledRow, key: str, cells: Mapping[str, Cell], chain: Chain, out: _Understood
) -> bool:
    """Tell whether the entry stays as somebody corrected it since the sheet was made; say so."""
    holds, number = chain.counts, chain.lines[0].number
    if holds is not None and holds.work is not None:
        now = _plain(cells_of(holds.work))
        is_own_word = holds.ref == key and holds.source is not None
        if is_own_word or now == _plain(row.printed.cells):
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
