"""Read the words that say what an entry is about, and make a line of the log of them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from credits.app.named import Coded, like_ones, relative_day
from credits.errors import Finding, ProblemsFound, WrongCall
from credits.formats.tables.codes import codes_of
from credits.formats.tables.columns import TABLES
from credits.formats.tables.entries import entry_rows, plan_entries
from credits.formats.tables.lists import Rows, row_of
from credits.formats.tables.sheets import Sheet
from credits.model.facts import Work
from credits.model.log import LogLine, NewLine, WrittenLog
from credits.units.frames import Frames

KINDS = {
    "character": "characters",
    "puppet": "puppets",
    "part": "parts",
    "sequence": "sequences",
    "shot": "shots",
}
DAYS = ("started_on", "finished_on")

_LOOKS_LIKE_FRAMES = re.compile(r"[0-9,;–—-]+")


def _is_frames(word: str) -> bool:
    try:
        Frames.parse(word)
    except ProblemsFound:
        return False
    return True


class _TargetReader:
    """Reads target words one by one; ``found`` holds the columns that they fill."""

    def __init__(self, written: WrittenLog) -> None:
        books = codes_of(written)
        self._books = {kind: books[table] for kind, table in KINDS.items()}
        self._written = written
        self.found: dict[str, str] = {}

    def _take(self, kind: str, value: str) -> None:
        if kind in self.found:
            thing = "frames twice" if kind == "frames" else f"two {kind}s"
            what = f"the entry names {thing}: {self.found[kind]} and {value}"
            raise WrongCall(Finding(what, "Log one entry for each."))
        self.found[kind] = value

    def word(self, word: str) -> None:
        """Read one word."""
        fitting = {
            kind: code for kind, book in self._books.items() if (code := book.get(word)) is not None
        }
        if "shot" in self.found and _is_frames(word):
            fitting["frames"] = word
        if len(fitting) > 1:
            raise self._ambiguous(word, fitting)
        if fitting:
            ((kind, code),) = fitting.items()
            self._take(kind, code)
        elif not self._shot_and_take(word):
            raise self._unknown(word)

    def _shot_and_take(self, word: str) -> bool:
        shot, slash, take = word.rpartition("/")
        code = self._books["shot"].get(shot) if slash else None
        if code is None or not (take.isascii() and take.isdigit()):
            return False
        self._take("shot", code)
        self._take("take", take)
        return True

    def _ambiguous(self, word: str, kinds: Iterable[str]) -> WrongCall:
        names = [kind if kind == "frames" else f"a {kind}" for kind in kinds]
        ways = " or ".join(f"--{kind} {word}" for kind in kinds)
        return WrongCall(
            Finding(f"is {' and '.join(names)}", f"Say which is meant: {ways}.", value=word)
        )

    def _unknown(self, word: str) -> WrongCall:
        if "shot" in self.found and _LOOKS_LIKE_FRAMES.fullmatch(word):
            try:
                Frames.parse(word)
            except ProblemsFound as error:
                return WrongCall(*error.findings)
        facts: list[Coded] = [
            fact for table in KINDS.values() for fact in getattr(self._written, table)
        ]
        like = like_ones(word, facts)
        hint = like or "Write the code of one, or load it into its table first; see `credits find`."
        if _is_frames(word) and not like:
            hint = f"Frames stand behind their shot: 010-020 1-30. {hint}"
        what = "no character, puppet, part, sequence or shot has this code"
        return WrongCall(Finding(what, hint, value=word))


def read_targets(words: Sequence[str], written: WrittenLog, given: Iterable[str]) -> dict[str, str]:
    """Read what the words name: columns of the entries table and their values.

    given: the columns that are named already; a word for one of these is one too many.
    Raises WrongCall for a word that is unknown, stands for two things, or is one too many.
    """
    reader = _TargetReader(written)
    for word in words:
        reader.word(word)
    for column in given:
        if column in reader.found:
            what = f"the {column} is named by a word and by --{column}"
            raise WrongCall(Finding(what, "Name it once.", value=reader.found[column]))
    return reader.found


def with_days(cells: Mapping[str, str]) -> dict[str, str]:
    """Return the cells with the words ``today`` and ``yesterday`` as dates."""
    return {
        column: relative_day(text) or text if column in DAYS else text
        for column, text in cells.items()
    }


def cells_of(work: Work) -> dict[str, str]:
    """Return a piece of work as the cells of a row, without the empty ones."""
    cells: dict[str, str] = {}
    for column in TABLES["entries"].column_names:
        value = getattr(work, column, None)
        if isinstance(value, Frames):
            cells[column] = value.text
        elif value is True:
            cells[column] = "yes"
        elif value is not None and value is not False:
            cells[column] = str(value)
    return cells


def planned_line(
    cells: Mapping[str, str], written: WrittenLog, lines: Sequence[LogLine] = ()
) -> NewLine | None:
    """Return the line that a row with these cells would append.

    cells: columns of the entries table and their text.
    lines: the lines that may say the same already; then None.
    Raises WrongCall with everything that a load would refuse.
    """
    filled = {column: text.strip() for column, text in cells.items() if text.strip()}
    sheet = Sheet(
        table="entries",
        file="",
        header=tuple(filled),
        numbers=(2,),
        cells=(tuple(filled.values()),),
    )
    rows = Rows(sheet)
    checked = {name: {fact.code: fact for fact in getattr(written, name)} for name in _CHECKED}
    new, _ = plan_entries(entry_rows([rows], codes_of(written), checked), lines)
    if problems := sorted(rows.findings, key=row_of):
        raise WrongCall(*(replace(finding, place=None) for finding in problems))
    # Typed words are no file: a later load must not take them for what a sheet says.
    return next((replace(line, source=None) for line in new), None)


_CHECKED = ("parts", "puppets", "shots", "crafts")
