"""Make the day sheets of the stages and workshops of a day."""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import chain, count
from pathlib import Path

from credits.app.figures import read_ledger
from credits.app.work.entries import cells_of
from credits.app.work.named import day_named, name_of
from credits.cautions import MATERIALS_CAUTION, is_of_materials
from credits.errors import Finding, ProblemsFound, WrongCall
from credits.files import require_folder, write_whole
from credits.footage.day import (
    Underway,
    Workplace,
    WorkplaceDay,
    day_of_work,
    underway,
    workplaces,
)
from credits.formats.tables.day_sheet import (
    BETWEEN,
    HEADINGS,
    DayForm,
    PrintedRow,
    SheetMark,
    day_sheet,
)
from credits.model.facts import Craft, Kind, Shot, ShotStatus, Work
from credits.model.ledger import Ledger
from credits.model.words import counted, listed
from credits.text import fold_words, nearest
from credits.units.spoken import spoken_day

EMPTY_ROWS, ROWS_OF_A_PAGE = 12, 22
LONGEST_FILE_NAME = 60


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
    where = set(workplaces(ledger))
    wanted = [place for place, day in days.items() if place in where or day.entries or day.before]
    if one is not None:
        wanted = [one]
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
        more = f" and {len(there) - 1} more" if len(there) > 1 else ""
        what = f"is there already{more}, and somebody may have filled it in"
        hint = "Name another place with --out, or write over it with --force."
        raise WrongCall(Finding(what, hint, value=str(there[0])))
    return files


def _file_names(places: Sequence[Workplace], on: date) -> Iterator[str]:
    """Name each place's file by day and place, in signs that every file system has."""
    taken = set[str]()
    for place in places:
        plain = re.sub(r"[^\w.-]+", "-", place.name)[:LONGEST_FILE_NAME].strip("-.") or "sheet"
        tries = chain((plain,), (f"{plain}-{again}" for again in count(2)))
        name = next(each for each in tries if each.casefold() not in taken)
        taken.add(name.casefold())
        yield f"{on}-{name}"


def form_of(ledger: Ledger, day: WorkplaceDay, on: date, made: str) -> DayForm:
    """Return the sheet of a place and day: what is logged, what it was on, rows without anything.

    made: the sheet's own name, of no other sheet.
    """
    logged = [PrintedRow(cells_on_sheet(entry.work), entry.first) for entry in day.entries]
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
        empty=max(EMPTY_ROWS, ROWS_OF_A_PAGE - len(rows)),
        choices=_choices(ledger, day, rows),
        caution=MATERIALS_CAUTION if with_materials else "",
    )


def cells_on_sheet(work: Work) -> dict[str, str]:
    """Return a piece of work as a row of a sheet holds it, without a note for the office alone."""
    cells = cells_of(work)
    if work.private:
        cells.pop("note", None)
    return cells


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
        own = whose.name if whose else None
        called = f"copy {puppet.copy}" if puppet.copy else own
    return f"{code}{BETWEEN}{called}" if called else code
