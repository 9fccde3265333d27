"""What somebody must decide before two logs are joined, and the sheet to fill in."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from credits.errors import Finding, Place, ProblemsFound
from credits.files import Over, write_whole
from credits.formats.tables.csv_files import file_bytes, plain_header, read_csv
from credits.model.merging import Keep
from credits.text import fold_words, guarded, nearest

COLUMNS = ("list", "row", "column", "ours", "theirs", "answers", "keep", "why")
CUT = "cut"
ALIKE = "alike"
"""Stands for the column where two rows may be one thing."""
ROW = "row"
"""Stands for the column where it is to be decided whether a row is there."""
BOTH, SAME = "both", "same"
KEEPS = tuple(str(word) for word in Keep)

About = tuple[str, str, str]
"""The list, the row and the column that something is decided of, folded."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MergeQuestion:
    """What is to be decided: two values side by side, or two rows that may be one.

    answers: the words that decide it. The list is ``cut`` for the cut in use. why_not: why two
    rows that may be one cannot be joined.
    """

    list: str
    row: str
    column: str
    ours: str
    theirs: str
    answers: tuple[str, ...] = KEEPS
    why_not: str = ""

    @property
    def answers_text(self) -> str:
        """Return the words that decide it, as people read them."""
        return " or ".join(self.answers)

    @property
    def about(self) -> About:
        """Return what it is about."""
        return about(self.list, self.row, self.column)


def about(list_name: str, row: str, column: str) -> About:
    """Return what something is decided of, however it is typed."""
    return fold_words(list_name), fold_words(row), fold_words(column)


@dataclass(frozen=True, slots=True, kw_only=True)
class Decided:
    """An answer, and why; place: where it was read."""

    keep: str
    why: str = ""
    place: Place | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class MergeChoices:
    """What was decided: single questions, and all that are left of a kind.

    keep: of every value that both logs have changed. both: what is spelled alike is two. by, why:
    who decides, and the reason where a single one has none.
    """

    single: Mapping[About, Decided] = field(default_factory=dict)
    keep: Keep | None = None
    both: bool = False
    by: str | None = None
    why: str | None = None

    def of(self, question: MergeQuestion) -> Decided | None:
        """Return what was decided of a question. ProblemsFound for a word that does not fit."""
        found = self.single.get(question.about)
        if found is None:
            word = self.keep if question.answers == KEEPS else BOTH if self.both else None
            return None if word is None else Decided(keep=str(word), why=self.why or "")
        if found.keep not in question.answers:
            like = nearest(found.keep, question.answers, most=1)
            hint = f"Did you mean {like[0]}? " if like else ""
            if found.keep == SAME:
                hint = (
                    f"{question.why_not} If both are one: take both in, amend the entries that"
                    f" name the one, and leave its row in the list of {question.list}. "
                ).lstrip()
            hint += f"Write {question.answers_text}."
            what = "is no answer to this"
            raise ProblemsFound(Finding(what, hint, found.place, "keep", found.keep))
        return Decided(keep=found.keep, why=found.why or self.why or "", place=found.place)


def read_decisions(path: Path) -> dict[About, Decided]:
    """Read a sheet of decisions; rows without a word in ``keep`` are open still.

    Raises ProblemsFound with everything that cannot be read.
    """
    rows = read_csv(file_bytes(path), path.name, COLUMNS)
    header = [plain_header(cell) for cell in rows[0]] if rows else []
    needed = ("list", "row", "column", "keep")
    missing = [name for name in needed if name not in header]
    if missing:
        what = f"is no sheet of decisions: the column {missing[0]} is missing"
        hint = "Let `credits merge OTHER --decide FILE` write a new one."
        raise ProblemsFound(Finding(what, hint, Place(path.name, 1)))
    found: dict[About, Decided] = {}
    problems = []
    for number, cells in enumerate(rows[1:], 2):
        said = {name: str(cell) for name, cell in zip(header, cells, strict=False)}
        keep = fold_words(said.get("keep", ""))
        if not keep:
            continue
        at = about(*(said.get(name, "").removeprefix("'") for name in needed[:3]))
        place = Place(path.name, number)
        if at in found and found[at].keep != keep:
            what = f"another row says '{found[at].keep}' of the same"
            problems.append(Finding(what, "Decide it once.", place, "keep", keep))
        found[at] = Decided(keep=keep, why=said.get("why", ""), place=place)
    if problems:
        raise ProblemsFound(*problems)
    return found


def write_decisions(
    path: Path, questions: Sequence[MergeQuestion], known: Mapping[About, Decided]
) -> None:
    """Write a sheet with what is to be decided, and what was filled in already.

    known: what was read of the sheet that stands there, whatever program has saved it. Raises
    WrongCall where something stands there that was not read.
    """
    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerow(COLUMNS)
    for each in questions:
        given = known.get(each.about)
        said = (each.list, each.row, each.column, each.ours, each.theirs, each.answers_text)
        answer = ("", "") if given is None else (given.keep, given.why)
        writer.writerow(map(guarded, (*said, *answer)))
    over = Over.ANYTHING if known else Over.ITS_LIKE
    write_whole(path, text.getvalue().encode("utf-8-sig"), over)
