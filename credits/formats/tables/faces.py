"""Face sheets as they are written on the stage."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Sequence
from pathlib import Path

from credits.errors import Finding, Place, ProblemsFound
from credits.formats.tables.cells import Cell, Unreadable, stripped, whole
from credits.formats.tables.codes import Codes, find_shot_and_take
from credits.formats.tables.lists import beyond_shot
from credits.formats.tables.load import LoadPlan
from credits.formats.tables.sheets import (
    WORKBOOKS,
    FoundTables,
    Sheet,
    file_bytes,
    read_csv,
    sheet_of,
    shown,
)
from credits.formats.tables.xlsx import read_workbook
from credits.model.facts import Character, Part, Replacement, Shot
from credits.model.log import Batch, TableCount, WrittenLog
from credits.text import fold_code
from credits.units.frames import HIGHEST_FRAME, Frames

CANDIDATES_NAMED = 6
_LAST_DIGITS = re.compile(r"([0-9]+)$")


class FaceParts:
    """The parts of a production, found by code or, within a character, by number."""

    def __init__(self, parts: Iterable[Part]) -> None:
        self._by_code: dict[str, Part] = {}
        self._by_number: dict[tuple[str, int], list[str]] = defaultdict(list)
        self._of_character: dict[str, list[str]] = defaultdict(list)
        for part in parts:
            self._by_code[fold_code(part.code)] = part
            if part.character is None:
                continue
            self._of_character[part.character].append(part.code)
            if digits := _LAST_DIGITS.search(part.code):
                self._by_number[part.character, int(digits[1])].append(part.code)

    def exactly(self, text: str, character: str) -> str | None:
        """The part of that code, when it is the character's or no character's."""
        part = self._by_code.get(fold_code(text))
        return part.code if part and part.character in (None, character) else None

    def find(self, text: str, character: str) -> str:
        """The part that a cell means: by code, else by number. Raises Unreadable."""
        exact = self.exactly(text, character)
        if exact is not None:
            return exact
        if text.isascii() and text.isdigit():
            return self._numbered(text, character)
        other = self._by_code.get(fold_code(text))
        if other is not None:
            what = f"is a part of {other.character}, not of {character}"
            raise Unreadable(what, f"Write a part of {character}.")
        like = Codes("parts", self._of_character[character]).like(text)
        hint = f"Write {like}, or add {text} to the parts table." if like else "Add it to parts."
        raise Unreadable(f"there is no such part of {character}", hint)

    def _numbered(self, text: str, character: str) -> str:
        found = self._by_number.get((character, int(text)), [])
        if len(found) == 1:
            return found[0]
        if found:
            named = ", ".join(found[:CANDIDATES_NAMED])
            what = f"{len(found)} parts of {character} end in this number ({named})"
            raise Unreadable(what, "Write the code of the one that is meant.")
        what = f"no part of {character} ends in this number"
        raise Unreadable(what, "Correct the number, or add the part to the parts table.")


DITTO = frozenset({'"', "''", "″", "〃", "”", "“", "„", "do", "do."})
NONE_SHOWN = frozenset({"", "-", "–", "—"})
_BETWEEN_PARTS = re.compile(r"[+;]")
_FRAME = whole(1, HIGHEST_FRAME)


def plan_face_sheet(path: Path, shot_and_take: str, written: WrittenLog) -> LoadPlan:
    """What a face sheet of ``SHOT`` or ``SHOT/TAKE`` writes: it takes the place of the sheet that
    the log has for that shot and take, for the characters it has columns for. Pure but for reading
    the file; what is wrong is in ``problems``."""
    try:
        shot, take = find_shot_and_take(
            shot_and_take, Codes("shots", (s.code for s in written.shots))
        )
    except Unreadable as problem:
        found = Finding(problem.what, problem.hint, None, "shot", shot_and_take)
        return LoadPlan(problems=(found,))
    try:
        sheet = _sheet(path)
    except ProblemsFound as error:
        return LoadPlan(problems=error.findings)
    if sheet is None:
        return LoadPlan(counts={"replacements": TableCount()})
    reading = _Reading(sheet, next(s for s in written.shots if s.code == shot), written)
    seen = reading.replacements(take)
    if reading.findings:
        return LoadPlan(problems=tuple(reading.findings))
    return _plan(shot, take, reading.characters, seen, written.replacements)


def _sheet(path: Path) -> Sheet | None:
    """The one sheet of the file with its headings as written; None when it has no rows."""
    found = FoundTables()
    if path.suffix.lower() in WORKBOOKS:
        for sheet in read_workbook(path):
            if any(fold_code(shown(cell)) == "frame" for row in sheet.rows for cell in row):
                sheet_of(
                    "replacements", f"{path.name} sheet {sheet.name}", sheet.rows, found, shown
                )
                break
        else:
            what = "none of its sheets has a column frame"
            raise ProblemsFound(
                Finding(what, "Write frame over the frame numbers.", Place(path.name))
            )
    else:
        rows = read_csv(file_bytes(path), path.name, ("frame",))
        sheet_of("replacements", path.name, rows, found, shown)
    if found.problems:
        raise ProblemsFound(*found.problems)
    return found.sheets[0] if found.sheets and found.sheets[0].cells else None


class _Reading:
    """The cells of one face sheet, read against the characters and parts of the log."""

    def __init__(self, sheet: Sheet, shot: Shot, written: WrittenLog) -> None:
        self.sheet = sheet
        self.shot = shot
        self.findings: list[Finding] = []
        self.parts = FaceParts(written.parts)
        self.frame_at: int | None = None
        self.character_at: dict[int, str] = {}
        self._understand_header(written.characters)

    @property
    def characters(self) -> frozenset[str]:
        """The characters that have a column."""
        return frozenset(self.character_at.values())

    def _header_problem(self, heading: str, what: str, hint: str) -> None:
        place = Place(self.sheet.file, self.sheet.header_row)
        self.findings.append(Finding(what, hint, place, "column", heading or None))

    def _understand_header(self, characters: Sequence[Character]) -> None:
        codes = Codes("characters", (c.code for c in characters))
        named: dict[str, list[str]] = defaultdict(list)
        for character in characters:
            named[fold_code(character.name)].append(character.code)
        for at, heading in enumerate(self.sheet.header):
            if fold_code(heading) == "frame" and self.frame_at is None:
                self.frame_at = at
                continue
            by_name = named.get(fold_code(heading), [])
            found = codes.get(heading) or (by_name[0] if len(by_name) == 1 else None)
            if found is None:
                like = codes.like(heading)
                hint = f"Write {like}." if like else "Write a character's code, or take it out."
                what = "names several characters" if by_name else "is no character's code or name"
                self._header_problem(heading, what, hint)
            elif found in self.character_at.values():
                self._header_problem(heading, f"{found} has another column already", "Keep one.")
            else:
                self.character_at[at] = found
        if self.frame_at is None:
            hint = "Write frame over the frame numbers."
            self._header_problem("frame", "this column is missing", hint)

    def replacements(self, take: int | None) -> tuple[Replacement, ...]:
        """The replacements that the sheet shows, by character and part in order of appearance."""
        frames = self._frame_numbers()
        out: list[Replacement] = []
        for at, character in self.character_at.items():
            shown_in: dict[str, list[int]] = defaultdict(list)
            for frame, parts in zip(frames, self._parts_by_row(at, character), strict=True):
                for part in parts:
                    shown_in[part].append(frame)
            for part, numbers in shown_in.items():
                kept = Frames.of(*((n, n + 1) for n in numbers if n))
                out.append(Replacement(self.shot.code, take, character, part, kept))
        return tuple(out)

    def _frame_numbers(self) -> list[int]:
        """The frame of each row; 0 where it cannot be read, which is a problem."""
        if self.frame_at is None:
            return [0] * len(self.sheet.cells)
        out: list[int] = []
        row_of: dict[int, int] = {}
        for index, row in enumerate(self.sheet.cells):
            frame = self._frame(index, row[self.frame_at])
            if frame and frame in row_of:
                what = f"row {row_of[frame]} is the same frame"
                self._problem(index, "frame", str(frame), what, "Correct one of the two rows.")
            row_of.setdefault(frame, self.sheet.numbers[index])
            out.append(frame)
        return out

    def _frame(self, index: int, cell: Cell) -> int:
        if not cell:
            self._problem(index, "frame", None, "is empty", "Every row needs its frame.")
            return 0
        try:
            frame = _FRAME(cell)
        except Unreadable as problem:
            self._problem(index, "frame", shown(cell), problem.what, problem.hint)
            return 0
        assert isinstance(frame, int)
        for _, value, what, _ in beyond_shot(frame, str(frame), self.shot):
            hint = "Take the row out, or correct the shot's length."
            self._problem(index, "frame", str(value), what, hint)
        return frame

    def _parts_by_row(self, at: int, character: str) -> list[tuple[str, ...]]:
        out: list[tuple[str, ...]] = []
        heading = self.sheet.header[at]
        for index, row in enumerate(self.sheet.cells):
            text = shown(row[at])
            if fold_code(text) in DITTO:
                if not out:
                    what = "repeats the row above, but there is none"
                    self._problem(index, heading, text, what, "Write the part.")
                out.append(out[-1] if out else ())
                continue
            out.append(self._parts(index, heading, text, character))
        return out

    def _parts(self, index: int, heading: str, text: str, character: str) -> tuple[str, ...]:
        if text in NONE_SHOWN:
            return ()
        whole_cell = self.parts.exactly(text, character)
        if whole_cell is not None:
            return (whole_cell,)
        found: list[str] = []
        for piece in map(stripped, _BETWEEN_PARTS.split(text)):
            if piece in NONE_SHOWN:
                continue
            try:
                found.append(self.parts.find(piece, character))
            except Unreadable as problem:
                self._problem(index, heading, piece, problem.what, problem.hint)
        return tuple(dict.fromkeys(found))

    def _problem(self, index: int, column: str, value: str | None, what: str, hint: str) -> None:
        self.findings.append(Finding(what, hint, self.sheet.place(index), column, value))


def _plan(
    shot: str,
    take: int | None,
    characters: frozenset[str],
    seen: Sequence[Replacement],
    existing: Iterable[Replacement],
) -> LoadPlan:
    """Exchange the sheet of the shot and take; characters without a column keep what they had."""
    before = [r for r in existing if r.shot == shot and r.take == take]
    replaced = {(r.character, r.part): r for r in before if r.character in characters}
    kept = tuple(r for r in before if r.character not in characters)
    new = sum((r.character, r.part) not in replaced for r in seen)
    same = sum(replaced.get((r.character, r.part)) == r for r in seen)
    gone = len(replaced) - (len(seen) - new)
    counts = {"replacements": TableCount(new, len(seen) - new - same + gone, same)}
    if same == len(seen) == len(replaced):
        return LoadPlan(counts=counts)
    batch = Batch(cleared_face_sheets=((shot, take),), replacements=(*kept, *seen))
    return LoadPlan(batch, counts=counts)
