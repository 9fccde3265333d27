"""Log, amend and void an entry: one line of the log each, made of the words that were typed."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import NamedTuple

from credits.app.named import Coded, fact_named, like_ones, number_meant, relative_day
from credits.errors import Finding, ProblemsFound, WrongCall
from credits.formats.tables.codes import codes_of
from credits.formats.tables.columns import TABLES
from credits.formats.tables.entries import entry_rows, plan_entries
from credits.formats.tables.lists import Rows, row_of
from credits.formats.tables.sheet import Sheet
from credits.model.facts import EntryNumber, Work
from credits.model.log import Batch, LogLine, NewLine, Verb, WrittenLog
from credits.model.replay import current_lines, entries_with
from credits.store import Log, open_log
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Logged:
    """What a call did to the log.

    number: the line that was written; where none was, the one that says the same already.
    line: what was written; None: nothing was, for the log says it already.
    after: the log with that line.
    asked: the entry that was to be corrected, and ``corrects`` the line that said it.
    """

    number: EntryNumber
    line: NewLine | None
    after: WrittenLog
    asked: EntryNumber | None = None
    corrects: LogLine | None = None


class _Plan(NamedTuple):
    """What a call writes: a line; or none, and which entry says the same already."""

    line: NewLine | None
    said_by: EntryNumber | None = None
    asked: EntryNumber | None = None
    corrects: LogLine | None = None


def _write(log: Log, plan_of: Callable[[WrittenLog], _Plan]) -> Logged:
    def make(written: WrittenLog) -> tuple[Batch | None, tuple[_Plan, WrittenLog]]:
        plan = plan_of(written)
        return None if plan.line is None else Batch(lines=(plan.line,)), (plan, written)

    ((line, number, asked, corrects), written), receipt = log.write_if_unmoved(make)
    if line is not None:
        (number,) = receipt.numbers
        new = LogLine(
            number, line.verb, datetime.now(UTC), line.work, line.corrects, line.logged_by,
            line.why, line.ref,
        )  # fmt: skip
        written = replace(written, lines=(*written.lines, new))
    assert number is not None
    return Logged(number=number, line=line, after=written, asked=asked, corrects=corrects)


def log_entry(
    folder: Path,
    craft: str,
    person: str,
    targets: Sequence[str],
    cells: Mapping[str, str],
    again: bool = False,
) -> Logged:
    """Log that a person did a craft on something.

    targets: words that name what it was done on, and frames behind a shot.
    cells: other columns of the entries table; days may be ``today`` and ``yesterday``.
    again: whether to log it although an entry says the same. Raises WrongCall.
    """

    def entry(written: WrittenLog) -> _Plan:
        named = {
            "craft": fact_named("crafts", craft, written.crafts).code,
            "person": fact_named("people", person, written.people).code,
        }
        given = [column for column, text in cells.items() if text]
        named |= read_targets(targets, written, given)
        return _new_entry({**named, **with_days(cells)}, written, again)

    with open_log(folder) as log:
        return _write(log, entry)


def _new_entry(cells: Mapping[str, str], written: WrittenLog, again: bool) -> _Plan:
    ref = cells.get("ref", "").strip()
    near = entries_with(written, lambda line: line.ref == ref).lines if ref else ()
    line = planned_line(cells, written, near)
    if line is None:
        said_by = next((holds.number for _, holds in current_lines(near)[0]), None)
        if said_by is None:
            what = "the entry with this ref was voided"
            raise WrongCall(Finding(what, "Give another --ref, or none.", None, "--ref", ref))
        return _Plan(None, said_by)
    if not ref and not again:
        same = entries_with(written, lambda other: other.work == line.work).lines
        for _, holds in current_lines(same)[0]:
            if holds.work == line.work:
                return _Plan(None, holds.number)
    return _Plan(line)


def amend_entry(
    folder: Path, number: str, changes: Mapping[str, str], why: str | None = None
) -> Logged:
    """Correct an entry in the columns that are named; an empty text takes a value away.

    Raises WrongCall for an unknown entry, ProblemsFound for one that was voided.
    """
    with open_log(folder) as log:

        def amendment(written: WrittenLog) -> _Plan:
            asked, holds = find_entry(number, written, log.origin)
            assert holds.work is not None
            line = planned_line({**cells_of(holds.work), **with_days(changes)}, written)
            assert line is not None
            ref = changes.get("ref", "").strip() or None
            if line.work == holds.work and ref in (None, holds.ref):
                return _Plan(None, holds.number, asked, holds)
            amend = replace(line, verb=Verb.AMEND, corrects=holds.number, why=why or None, ref=ref)
            return _Plan(amend, None, asked, holds)

        return _write(log, amendment)


def void_entry(folder: Path, number: str, why: str, by: str | None = None) -> Logged:
    """Void an entry: it was never done. Raises WrongCall, ProblemsFound as ``amend_entry``."""
    with open_log(folder) as log:

        def voiding(written: WrittenLog) -> _Plan:
            asked, holds = find_entry(number, written, log.origin)
            line = NewLine(Verb.VOID, corrects=holds.number, logged_by=by or None, why=why)
            return _Plan(line, None, asked, holds)

        return _write(log, voiding)


def find_entry(text: str, written: WrittenLog, origin: str) -> tuple[EntryNumber, LogLine]:
    """Find the entry of a number: the number, and the line that says the entry now.

    Raises WrongCall for an unknown one, ProblemsFound for a voided.
    """
    number = number_meant(text, origin)
    chain = entries_with(written, lambda line: line.number == number).lines
    if not chain:
        known = [line.number for line in written.lines if line.number.origin == number.origin]
        hint = (
            f"The last one is {max(known)}." if known else "The log has no entries of this origin."
        )
        raise WrongCall(Finding("the log has no such entry", hint, value=text))
    current = current_lines(chain)[0]
    if not current:
        void = next(line for line in reversed(chain) if line.verb is Verb.VOID)
        why = f" ({void.why})" if void.why else ""
        what = f"was voided by {void.number}{why}"
        raise ProblemsFound(Finding(what, "If it was done after all, log it again.", value=text))
    return number, current[0][1]


def changed_cells(old: Work, new: Work) -> dict[str, tuple[str | None, str | None]]:
    """Compare two pieces of work: every column that differs, with what it said and says."""
    before, now = cells_of(old), cells_of(new)
    return {
        column: (before.get(column), now.get(column))
        for column in dict.fromkeys((*before, *now))
        if before.get(column) != now.get(column)
    }
