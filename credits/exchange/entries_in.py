"""Rows of the entries table become pieces of work, each checked against the tables it names."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import cast

from credits.exchange.codes import CodeBooks
from credits.exchange.columns import TABLES
from credits.exchange.reference_checks import Checked, Wrong
from credits.exchange.rows import Rows
from credits.model.facts import Kind, Work

_COLUMNS = TABLES["entries"].columns
_REF, *_WORK, _LOGGED_BY = _COLUMNS


@dataclass(frozen=True, slots=True)
class EntryRow:
    """One row of an entries sheet: what it says, its own key, who logged it, where it stands."""

    work: Work
    ref: str | None
    logged_by: str | None
    rows: Rows
    index: int

    @property
    def source(self) -> str:
        """The file and row, as the log keeps it."""
        return str(self.rows.sheet.place(self.index))


def entry_rows(sheets: Sequence[Rows], books: CodeBooks, checked: Checked) -> list[EntryRow]:
    """All entries of the sheets that hold no problem; the problems go to the sheets' findings."""
    out: list[EntryRow] = []
    check = EntryCheck(checked)
    for rows in sheets:
        refs = rows.column(_REF, books)
        logged_by = rows.column(_LOGGED_BY, books)
        said = zip(*(rows.column(column, books) for column in _WORK), strict=True)
        can_conclude = all(rows.has(column.name) for column in _COLUMNS if column.required)
        # The columns stand in the order of Work's fields, and each holds what its field holds.
        for index, values in enumerate(said):
            bad = rows.bad_in(index)
            work = Work(*values)
            wrong = check.wrong(work)
            if wrong:
                for column, value, what, hint in wrong:
                    if _NEEDS[column].isdisjoint(bad):
                        rows.problem(index, column, value, what, hint)
            elif not bad and can_conclude:
                ref, hand = cast("str | None", refs[index]), cast("str | None", logged_by[index])
                out.append(EntryRow(work, ref, hand, rows, index))
    return out


# The cells that a finding about a column is concluded from: all of them must have been read.
_NEEDS = {
    "character": {"craft", "character", "puppet", "part"},
    "puppet": {"character", "puppet"},
    "part": {"character", "puppet", "part"},
    "sequence": {"sequence", "shot"},
    "take": {"shot", "take"},
    "frames": {"shot", "frames"},
    "finished_on": {"started_on", "finished_on"},
}


class EntryCheck:
    """What cannot be in an entry (3.2). Frames above the shot's length are no problem here: that is
    the question frames-beyond-shot, which the check asks for as long as the shot is so short."""

    def __init__(self, checked: Checked) -> None:
        self._checked = checked
        self._targets: dict[tuple[str, str | None, str | None, str | None], tuple[Wrong, ...]] = {}
        self._sequences: dict[tuple[str | None, str | None], tuple[Wrong, ...]] = {}

    def wrong(self, work: Work) -> tuple[Wrong, ...]:
        """Everything that is wrong with the work as a whole, cell by cell."""
        target = (work.craft, work.character, work.puppet, work.part)
        found = self._targets.get(target)
        if found is None:
            found = self._targets[target] = tuple(self._target(*target))
        if work.shot is None:
            if work.take is not None or work.frames is not None:
                found += tuple(_without_shot(work))
        elif work.sequence is not None:
            pair = (work.sequence, work.shot)
            wrong = self._sequences.get(pair)
            if wrong is None:
                wrong = self._sequences[pair] = tuple(self._sequence(*pair))
            found += wrong
        begun, done = work.started_on, work.finished_on
        if begun is not None and done is not None and done < begun:
            what = f"lies before started_on ({begun})"
            found += (("finished_on", done, what, "Correct one of the two dates."),)
        return found

    def _target(
        self, craft: str, character: str | None, puppet: str | None, part: str | None
    ) -> Iterator[Wrong]:
        if character is None and puppet is None and part is None:
            what = "the entry names no character, puppet or part"
            yield "character", None, what, "Name what was worked on."
            return
        copy = self._checked.puppets.get(puppet) if puppet else None
        piece = self._checked.parts.get(part) if part else None
        if copy and character and copy.character != character:
            what = f"is a puppet of {copy.character}, not of {character}"
            yield "puppet", puppet, what, "Correct the puppet or the character."
        whose = character or (copy.character if copy else None)
        if piece and piece.character and whose and piece.character != whose:
            what = f"is a part of {piece.character}, not of {whose}"
            yield "part", part, what, "Correct the part, or the character or puppet."
        kind = self._checked.crafts[craft].kind if craft in self._checked.crafts else None
        lone = character is None and puppet is None and piece is not None
        if lone and piece and piece.character is None and kind is Kind.PERFORMANCE:
            what = f"part {part} belongs to no character, so this says nothing of whose performance"
            yield "character", None, what, "Name the character."

    def _sequence(self, sequence: str, shot: str) -> Iterator[Wrong]:
        known = self._checked.shots.get(shot)
        if known and known.sequence != sequence:
            what = f"shot {shot} is in sequence {known.sequence}"
            yield "sequence", sequence, what, f"Write {known.sequence}, or leave it empty."


def _without_shot(work: Work) -> Iterator[Wrong]:
    if work.take is not None:
        yield "take", work.take, "the entry names no shot", "Name the shot of the take."
    if work.frames is not None:
        yield "frames", work.frames.text, "the entry names no shot", "Name the shot they are in."
