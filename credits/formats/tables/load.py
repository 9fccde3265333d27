"""One load: every table, or the face sheet of one shot, and what it would write."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from credits.errors import Finding, Place, ProblemsFound
from credits.formats.tables.cells import Unreadable, shown, stripped, whole
from credits.formats.tables.columns import TABLES, Codes, Sheet, codes_of, find_shot_and_take
from credits.formats.tables.confirmations import plan_confirmations
from credits.formats.tables.entries import entry_rows, plan_entries
from credits.formats.tables.lists import Rows, beyond_shot, plan_reference, row_of
from credits.formats.tables.sheets import WORKBOOKS, Sheets, file_bytes, read_csv, read_workbook
from credits.model.facts import Part, Replacement, Shot
from credits.model.log import Batch, TableCount, WrittenLog
from credits.text import fold_code
from credits.units.frames import HIGHEST_FRAME, Frames


@dataclass(frozen=True, slots=True)
class LoadPlan:
    """``batch`` is empty as soon as there is one problem: a load is written whole or not at all.

    ``counts``: for each table that was given, how many rows are new, changed and the same.
    ``notes``: what else the report says: rows that were not filled in, or that stay as they are.
    """

    batch: Batch = field(default_factory=Batch)
    problems: tuple[Finding, ...] = ()
    counts: Mapping[str, TableCount] = field(default_factory=dict)
    notes: tuple[Finding, ...] = ()

    @property
    def changes_nothing(self) -> bool:
        """Whether there is nothing to write."""
        return self.batch == Batch()


# A table stands after those whose rows are needed to check its own.
_IN_ORDER = (
    "crafts", "people", "characters", "puppets", "parts", "sequences", "shots", "stages",
    "engagements", "fittings", "takes", "replacements",
)  # fmt: skip


def plan_load(read: Sheets, written: WrittenLog) -> LoadPlan:
    """Plan what loading these sheets into this log writes; every problem of every row is found."""
    all_rows = [Rows(sheet) for sheet in read.sheets]
    by_table: dict[str, list[Rows]] = defaultdict(list)
    for rows in all_rows:
        by_table[rows.sheet.table].append(rows)
    unusable = {rows.sheet.table for rows in all_rows if not rows.usable}
    books = codes_of(written, read.unread | unusable)
    for rows in all_rows:
        if rows.table.coded and rows.usable:  # its codes are known, however bad its rows are
            rows.own_codes(books)
    checked: dict[str, dict[str, Any]] = {}
    new: dict[str, Any] = {}
    counted: dict[str, TableCount] = {}
    for name in _IN_ORDER:
        new[name], standing, counted[name] = plan_reference(
            TABLES[name], by_table[name], getattr(written, name), books, checked
        )
        if TABLES[name].coded:
            checked[name] = {fact.code: fact for fact in standing}
    entries = entry_rows(by_table["entries"], books, checked)
    new["lines"], counted["entries"] = plan_entries(entries, written.lines)
    new["confirmations"], corrected, counted["confirmations"] = plan_confirmations(
        by_table["confirmations"], written, checked["people"], by_table["people"], books
    )
    counts = {name: counted[name] for name in TABLES if by_table[name]}
    found = (found for rows in all_rows for found in sorted(rows.findings, key=row_of))
    problems = (*read.problems, *found)
    if problems:
        return LoadPlan(problems=problems, counts=counts)
    # A correction is the last word on a row that this load writes too.
    new["people"] = ({person.code: person for person in new["people"]} | corrected).values()
    facts: dict[str, Any] = {name: tuple(rows) for name, rows in new.items()}
    return LoadPlan(Batch(**facts), counts=counts)


# --- Face sheets, as they are written on the stage

CANDIDATES_NAMED = 6
DITTO = frozenset({'"', "''", "″", "〃", "”", "“", "„", "do", "do."})
NONE_SHOWN = frozenset({"", "-", "–", "—"})
_LAST_DIGITS = re.compile(r"([0-9]+)$")
_BETWEEN_PARTS = re.compile(r"[+;]")
_FRAME = whole(1, HIGHEST_FRAME)


def plan_face_sheet(path: Path, shot_and_take: str, written: WrittenLog) -> LoadPlan:
    """Plan what a face sheet of ``SHOT`` or ``SHOT/TAKE`` writes.

    It takes the place of what the log has there for the characters that it has columns for.
    """
    shots = {shot.code: shot for shot in written.shots}
    try:
        code, take = find_shot_and_take(shot_and_take, Codes("shots", shots))
        sheet = _sheet(path)
    except Unreadable as problem:
        found = Finding(problem.what, problem.hint, None, "shot", shot_and_take)
        return LoadPlan(problems=(found,))
    except ProblemsFound as error:
        return LoadPlan(problems=error.findings)
    if sheet is None:
        return LoadPlan(counts={"replacements": TableCount()})
    reader = _FaceReader(sheet, shots[code], written)
    seen = tuple(reader.replacements(take))
    if reader.findings:
        return LoadPlan(problems=tuple(reader.findings))
    before = [r for r in written.replacements if (r.shot, r.take) == (code, take)]
    return _exchange(code, take, set(reader.character_at.values()), seen, before)


def _sheet(path: Path) -> Sheet | None:
    """The one sheet of the file with its headings as written; None when it has no rows."""
    found = Sheets()
    if path.suffix.lower() in WORKBOOKS:
        for sheet in read_workbook(path):
            if any(fold_code(shown(cell)) == "frame" for row in sheet.rows for cell in row):
                found.add("replacements", f"{path.name} sheet {sheet.name}", sheet.rows, shown)
                break
        else:
            what = "none of its sheets has a column frame"
            hint = "Write frame over the frame numbers."
            raise ProblemsFound(Finding(what, hint, Place(path.name)))
    else:
        rows = read_csv(file_bytes(path), path.name, ("frame",))
        found.add("replacements", path.name, rows, shown)
    if found.problems:
        raise ProblemsFound(*found.problems)
    return found.sheets[0] if found.sheets and found.sheets[0].cells else None


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
        self._sheet = sheet
        self._shot = shot
        self._parts = _FaceParts(written.parts)
        self._frame_at: int | None = None
        self._understand_header(written)

    def _problem(self, index: int | None, column: str, value: str, what: str, hint: str) -> None:
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
                self._problem(None, "column", heading, what, hint)
            elif found in self.character_at.values():
                what = f"{found} has another column already"
                self._problem(None, "column", heading, what, "Keep one.")
            else:
                self.character_at[at] = found
        if self._frame_at is None:
            hint = "Write frame over the frame numbers."
            self._problem(None, "column", "frame", "this column is missing", hint)

    def replacements(self, take: int | None) -> Iterator[Replacement]:
        """Read what the sheet shows, by character and part in order of appearance."""
        numbers = self._frame_numbers()
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
                self._problem(index, "frame", shown(cell), problem.what, problem.hint)
            if frame and frame in row_of:
                what = f"row {row_of[frame]} is the same frame"
                self._problem(index, "frame", str(frame), what, "Correct one of the two rows.")
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
                self._problem(index, heading, text, what, "Write the part.")
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
                    self._problem(index, heading, piece, problem.what, problem.hint)
        return tuple(dict.fromkeys(found))


def _exchange(
    shot: str,
    take: int | None,
    characters: set[str],
    seen: Sequence[Replacement],
    before: Sequence[Replacement],
) -> LoadPlan:
    """Exchange the sheet of the shot and take; characters without a column keep what they had."""
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
