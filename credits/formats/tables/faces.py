"""Face sheets as they are written on the stage."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import reduce
from operator import or_
from pathlib import Path

from credits.errors import Finding, Place, ProblemsFound
from credits.formats.tables.cells import Cell, Unreadable, shown, whole
from credits.formats.tables.columns import Codes, Sheet, find_shot_and_take
from credits.formats.tables.csv_files import TITLE_ROWS, file_bytes, read_csv
from credits.formats.tables.lists import beyond_shot
from credits.formats.tables.load import FacesReport, FileRead, LoadPlan
from credits.formats.tables.sheets import Sheets
from credits.formats.tables.workbooks import WORKBOOKS, read_workbook
from credits.model.facts import Part, Replacement, Shot
from credits.model.log import Batch, TableCount, WrittenLog
from credits.text import fold_code, stripped
from credits.units.frames import HIGHEST_FRAME, Frames

CANDIDATES_NAMED = 6
DITTO = frozenset({'"', "''", "″", "〃", "”", "“", "„", "do", "do."})
NONE_SHOWN = frozenset({"", "-", "–", "—"})
_LAST_DIGITS = re.compile(r"([0-9]+)$")
_BETWEEN_PARTS = re.compile(r"[+;]")
_FRAME = whole(1, HIGHEST_FRAME)


def plan_face_sheet(path: Path, shot_and_take: str, written: WrittenLog) -> LoadPlan:
    """Plan what a face sheet of ``SHOT`` or ``SHOT/TAKE`` writes.

    The frames that it names are replaced for the characters that it has columns for; all others
    stay as they are. Every sheet of a workbook that has a column frame is a page of it.
    """
    shots = {shot.code: shot for shot in written.shots}
    try:
        code, take = find_shot_and_take(shot_and_take, Codes("shots", shots))
        read = _pages(path)
    except Unreadable as problem:
        found = Finding(problem.what, problem.hint, None, "shot", shot_and_take)
        return LoadPlan(problems=(found,))
    except ProblemsFound as error:
        return LoadPlan(problems=error.findings)
    shown_in = _Shown()
    for page in read.sheets:
        shown_in.add(_FaceReader(page, shots[code], written), take)
    if problems := (*read.problems, *shown_in.problems):
        return LoadPlan(problems=problems)
    before = [r for r in written.replacements if (r.shot, r.take) == (code, take)]
    files = (FileRead(file=p.file, table="replacements", rows=len(p.cells)) for p in read.sheets)
    plan = _replaced(code, take, shown_in, before)
    return replace(plan, read=tuple(files), left_out=tuple(read.left_out))


def _pages(path: Path) -> Sheets:
    """The pages of the file that have rows, their headings as written."""
    found = Sheets()
    if path.suffix.lower() not in WORKBOOKS:
        rows = read_csv(file_bytes(path), path.name, ("frame",))
        _add_page(path.name, rows, _header_at(rows), found)
    else:
        any_frame = False
        for sheet in read_workbook(path):
            place = f"{path.name} sheet {sheet.name}"
            header_at = _header_at(sheet.rows)
            if header_at is None:
                what = sheet.unread or "has no column frame, so it is left out"
                found.leave_out(place, what)
                continue
            any_frame = True
            found.problems.extend(sheet.findings)
            _add_page(place, sheet.rows, header_at, found)
        if not any_frame:
            what = "none of its sheets has a column frame"
            hint = "Write frame over the frame numbers."
            raise ProblemsFound(Finding(what, hint, Place(path.name)))
    found.sheets = [sheet for sheet in found.sheets if sheet.cells]
    return found


def _header_at(rows: Sequence[Sequence[Cell]]) -> int | None:
    """Find the row in which frame stands over the frame numbers; titles may stand above it."""
    begin = enumerate(rows[:TITLE_ROWS])
    return next((at for at, row in begin if any(map(_is_frame, row))), None)


def _is_frame(cell: Cell) -> bool:
    return fold_code(shown(cell)) == "frame"


def _add_page(
    place: str, rows: Sequence[Sequence[Cell]], header_at: int | None, found: Sheets
) -> None:
    if header_at is not None:
        found.leave_out_titles(place, rows[:header_at])
        rows = [*((),) * header_at, *rows[header_at:]]
    found.add("replacements", place, rows, shown)


class _FaceParts:
    """The parts of a production, found by code or, within a character, by number."""

    def __init__(self, parts: Sequence[Part]) -> None:
        self._by_code = {fold_code(part.code): part for part in parts}
        self._by_number: dict[tuple[str, int], list[str]] = defaultdict(list)
        for part in parts:
            if part.character and (digits := _LAST_DIGITS.search(part.code)):
                self._by_number[part.character, int(digits[1])].append(part.code)

    def exactly(self, text: str, character: str) -> str | None:
        """Find the part of that code, when it is the character's or no character's."""
        part = self._by_code.get(fold_code(text))
        return part.code if part and part.character in (None, character) else None

    def find(self, text: str, character: str) -> str:
        """Find the part that a cell means: by code, else by number. Raises Unreadable."""
        if exact := self.exactly(text, character):
            return exact
        if text.isascii() and text.isdigit() and len(text) < 12:
            found = self._by_number.get((character, int(text)), [])
            if len(found) == 1:
                return found[0]
            what = f"{len(found)} parts of {character} end in this number"
            if found:
                named = ", ".join(found[:CANDIDATES_NAMED])
                raise Unreadable(f"{what} ({named})", "Write the code of the one that is meant.")
            hint = "Correct the number, or add the part to the parts table."
            raise Unreadable(f"no part of {character} ends in this number", hint)
        if other := self._by_code.get(fold_code(text)):
            what = f"is a part of {other.character}, not of {character}"
            raise Unreadable(what, f"Write a part of {character}.")
        own = (part.code for part in self._by_code.values() if part.character == character)
        like = Codes("parts", own).like(text)
        hint = f"Write {like}, or add {text} to the parts table." if like else "Add it to parts."
        raise Unreadable(f"there is no such part of {character}", hint)


class _FaceReader:
    """The cells of one face sheet, read against the characters and parts of the log."""

    def __init__(self, sheet: Sheet, shot: Shot, written: WrittenLog) -> None:
        self.findings: list[Finding] = []
        self.character_at: dict[int, str] = {}
        self.named = Frames()
        self._sheet = sheet
        self._shot = shot
        self._parts = _FaceParts(written.parts)
        self._frame_at: int | None = None
        self._understand_header(written)

    def problem(self, index: int | None, column: str, value: str, what: str, hint: str) -> None:
        """Note what is wrong in a row; without one, in the header."""
        self.findings.append(Finding(what, hint, self._sheet.place(index), column, value or None))

    def _understand_header(self, written: WrittenLog) -> None:
        codes = Codes("characters", (character.code for character in written.characters))
        named: dict[str, list[str]] = defaultdict(list)
        for character in written.characters:
            named[fold_code(character.name)].append(character.code)
        for at, heading in enumerate(self._sheet.header):
            if fold_code(heading) == "frame" and self._frame_at is None:
                self._frame_at = at
                continue
            by_name = named.get(fold_code(heading), [])
            found = codes.get(heading) or (by_name[0] if len(by_name) == 1 else None)
            if found is None:
                like = codes.like(heading)
                hint = f"Write {like}." if like else "Write a character's code, or take it out."
                what = "names several characters" if by_name else "is no character's code or name"
                self.problem(None, "column", heading, what, hint)
            elif found in self.character_at.values():
                what = f"{found} has another column already"
                self.problem(None, "column", heading, what, "Keep one.")
            else:
                self.character_at[at] = found
        if self._frame_at is None:
            hint = "Write frame over the frame numbers."
            self.problem(None, "column", "frame", "this column is missing", hint)

    def replacements(self, take: int | None) -> Iterator[Replacement]:
        """Read what the sheet shows, by character and part in order of appearance."""
        numbers = self._frame_numbers()
        self.named = Frames.of(*((n, n + 1) for n in numbers if n))
        for at, character in self.character_at.items():
            shown_in: dict[str, list[int]] = defaultdict(list)
            for number, parts in zip(numbers, self._parts_by_row(at, character), strict=True):
                for part in parts:
                    shown_in[part].append(number)
            for part, frames in shown_in.items():
                kept = Frames.of(*((n, n + 1) for n in frames if n))
                yield Replacement(
                    shot=self._shot.code, take=take, character=character, part=part, frames=kept
                )

    def _frame_numbers(self) -> list[int]:
        """The frame of each row; 0 where it cannot be read, which is a problem."""
        if self._frame_at is None:
            return [0] * len(self._sheet.cells)
        out: list[int] = []
        row_of: dict[int, int] = {}
        for index, cell in enumerate(row[self._frame_at] for row in self._sheet.cells):
            try:
                if not cell:
                    raise Unreadable("is empty", "Every row needs its frame.")
                frame = _FRAME(cell)
                if what := beyond_shot(frame, self._shot):
                    raise Unreadable(what, "Take the row out, or correct the shot's length.")
            except Unreadable as problem:
                frame = 0
                self.problem(index, "frame", shown(cell), problem.what, problem.hint)
            if frame and frame in row_of:
                what = f"row {row_of[frame]} is the same frame"
                self.problem(index, "frame", str(frame), what, "Correct one of the two rows.")
            row_of.setdefault(frame, self._sheet.numbers[index])
            out.append(frame)
        return out

    def _parts_by_row(self, at: int, character: str) -> Iterator[tuple[str, ...]]:
        above: tuple[str, ...] | None = None
        heading = self._sheet.header[at]
        for index, row in enumerate(self._sheet.cells):
            text = shown(row[at])
            if fold_code(text) not in DITTO:
                above = self._parts_in(index, heading, text, character)
            elif above is None:
                what = "repeats the row above, but there is none"
                self.problem(index, heading, text, what, "Write the part.")
                above = ()
            yield above

    def _parts_in(self, index: int, heading: str, text: str, character: str) -> tuple[str, ...]:
        if text in NONE_SHOWN:
            return ()
        if exact := self._parts.exactly(text, character):
            return (exact,)
        found: list[str] = []
        for piece in map(stripped, _BETWEEN_PARTS.split(text)):
            if piece not in NONE_SHOWN:
                try:
                    found.append(self._parts.find(piece, character))
                except Unreadable as problem:
                    self.problem(index, heading, piece, problem.what, problem.hint)
        return tuple(dict.fromkeys(found))


class _Shown:
    """What the pages of a face sheet show together.

    ``named``: by character the frames that the pages have rows for. ``parts``: what is seen in
    them, in order of appearance.
    """

    def __init__(self) -> None:
        self.named: dict[str, Frames] = {}
        self.parts: dict[tuple[str, str], Replacement] = {}
        self.problems: list[Finding] = []

    def add(self, page: _FaceReader, take: int | None) -> None:
        """Add a page; a frame of a character stands on one page alone."""
        for seen in page.replacements(take):
            key = (seen.character, seen.part)
            there = self.parts.get(key)
            frames = seen.frames | there.frames if there else seen.frames
            self.parts[key] = replace(seen, frames=frames)
        for character in page.character_at.values():
            before = self.named.get(character, Frames())
            if twice := before & page.named:
                are = "frame {} of {} is" if twice.count == 1 else "frames {} of {} are"
                what = f"{are.format(twice.shown, character)} on another page too"
                page.problem(None, "frame", "", what, "Correct one of the two pages.")
            self.named[character] = before | page.named
        self.problems += page.findings


def _replaced(
    shot: str, take: int | None, shown_in: _Shown, before: Sequence[Replacement]
) -> LoadPlan:
    """Replace the frames that are named, by character; other frames and characters stay."""
    named, parts = shown_in.named, dict(shown_in.parts)
    own = {(r.character, r.part): r for r in before if r.character in named}
    rests: dict[tuple[str, str], Replacement] = {}
    for key, old in own.items():
        if not (rest := old.frames - named[old.character]):
            continue
        if key in parts:
            parts[key] = replace(parts[key], frames=parts[key].frames | rest)
        else:
            rests[key] = replace(old, frames=rest)
    new = sum(key not in own for key in parts)
    same = sum(own.get(key) == part for key, part in parts.items())
    after = rests | parts
    changed = sum(after.get(key) != old for key, old in own.items())
    counts = {"replacements": TableCount(new, changed, same)}
    if after == own:
        return LoadPlan(counts=counts)
    stay = tuple(r for r in before if r.character not in named)
    rows = (*stay, *rests.values(), *parts.values())
    faces = FacesReport(
        shot=shot,
        take=take,
        replaced=reduce(or_, named.values(), Frames()),
        kept=reduce(or_, (old.frames - named[old.character] for old in own.values()), Frames()),
    )
    batch = Batch(cleared_face_sheets=((shot, take),), replacements=rows)
    return LoadPlan(batch, counts=counts, faces=faces)
