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
from credits.formats.tables.columns import TABLES, CodeBooks, Sheet, codes_of
from credits.formats.tables.entries import entry_rows, plan_entries
from credits.formats.tables.lists import Rows, row_of
from credits.model.facts import EntryNumber, Work
from credits.model.log import Batch, LogLine, NewLine, Verb, WrittenLog
from credits.model.replay import current_lines, entries_with
from credits.store import Log, open_log
from credits.units.frames import Frames

KINDS = {kind: f"{kind}s" for kind in ("character", "puppet", "part", "sequence", "shot")}
DAYS = ("started_on", "finished_on")

_LOOKS_LIKE_FRAMES = re.compile(r"[0-9,;–—-]+")


def _is_frames(word: str) -> bool:
    try:
        Frames.parse(word)
    except ProblemsFound:
        return False
    return True


def read_targets(words: Sequence[str], written: WrittenLog, given: Iterable[str]) -> dict[str, str]:
    """Read what the words name: columns of the entries table and their values.

    given: the columns that are named already; a word for one of these is one too many.
    Raises WrongCall for a word that is unknown, stands for two things, or is one too many.
    """
    found: dict[str, str] = {}
    books = codes_of(written)
    for word in words:
        for kind, value in _read_target(word, books, written, "shot" in found).items():
            if kind in found:
                thing = "frames twice" if kind == "frames" else f"two {kind}s"
                what = f"the entry names {thing}: {found[kind]} and {value}"
                raise WrongCall(Finding(what, "Log one entry for each."))
            found[kind] = value
    for column in given:
        if column in found:
            what = f"the {column} is named by a word and by --{column}"
            raise WrongCall(Finding(what, "Name it once.", value=found[column]))
    return found


def _read_target(
    word: str, books: CodeBooks, written: WrittenLog, behind_shot: bool
) -> dict[str, str]:
    """Read one word; frames stand behind their shot, and are no frames elsewhere."""
    codes = {kind: books[table].get(word) for kind, table in KINDS.items()}
    fitting = {kind: code for kind, code in codes.items() if code is not None}
    if behind_shot and _is_frames(word):
        fitting["frames"] = word
    if len(fitting) > 1:
        names = [kind if kind == "frames" else f"a {kind}" for kind in fitting]
        ways = " or ".join(f"--{kind} {word}" for kind in fitting)
        hint = f"Say which is meant: {ways}."
        raise WrongCall(Finding(f"is {' and '.join(names)}", hint, value=word))
    if fitting:
        return fitting
    shot, slash, take = word.rpartition("/")
    code = books["shots"].get(shot) if slash else None
    if code is not None and take.isascii() and take.isdigit():
        return {"shot": code, "take": take}
    raise _unknown(word, written, behind_shot)


def _unknown(word: str, written: WrittenLog, behind_shot: bool) -> WrongCall:
    if behind_shot and _LOOKS_LIKE_FRAMES.fullmatch(word):
        try:
            Frames.parse(word)
        except ProblemsFound as error:
            return WrongCall(*error.findings)
    facts: list[Coded] = [fact for table in KINDS.values() for fact in getattr(written, table)]
    like = like_ones(word, facts)
    hint = like or "Write the code of one, or load it into its table first; see `credits find`."
    if _is_frames(word) and not like:
        hint = f"Frames stand behind their shot: 010-020 1-30. {hint}"
    what = "no character, puppet, part, sequence or shot has this code"
    return WrongCall(Finding(what, hint, value=word))


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
    header, cells_of_row = zip(*filled.items(), strict=True) if filled else ((), ())
    rows = Rows(Sheet(table="entries", file="", header=header, numbers=(2,), cells=(cells_of_row,)))
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

    @property
    def changes(self) -> dict[str, tuple[str | None, str | None]]:
        """Every column that an amendment changes, with what it said and says."""
        old = self.corrects and self.corrects.work
        new = self.line and self.line.work
        before, now = (cells_of(work) if work else {} for work in (old, new))
        return {
            column: (before.get(column), now.get(column))
            for column in dict.fromkeys((*before, *now))
            if before.get(column) != now.get(column)
        }


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
        new = line.written(number, datetime.now(UTC))
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

    def amendment(holds: LogLine, written: WrittenLog) -> NewLine | None:
        assert holds.work is not None
        line = planned_line({**cells_of(holds.work), **with_days(changes)}, written)
        assert line is not None
        ref = changes.get("ref", "").strip() or None
        if line.work == holds.work and ref in (None, holds.ref):
            return None
        return replace(line, verb=Verb.AMEND, corrects=holds.number, why=why or None, ref=ref)

    return _correct(folder, number, amendment)


def void_entry(folder: Path, number: str, why: str, by: str | None = None) -> Logged:
    """Void an entry: it was never done. Raises WrongCall, ProblemsFound as ``amend_entry``."""

    def voiding(holds: LogLine, _: WrittenLog) -> NewLine:
        return NewLine(verb=Verb.VOID, corrects=holds.number, logged_by=by or None, why=why)

    return _correct(folder, number, voiding)


def _correct(
    folder: Path, number: str, line_of: Callable[[LogLine, WrittenLog], NewLine | None]
) -> Logged:
    with open_log(folder) as log:

        def correction(written: WrittenLog) -> _Plan:
            asked, holds = find_entry(number, written, log.origin)
            return _Plan(line_of(holds, written), holds.number, asked, holds)

        return _write(log, correction)


def find_entry(text: str, written: WrittenLog, origin: str) -> tuple[EntryNumber, LogLine]:
    """Find the entry of a number: the number, and the line that says the entry now.

    Raises WrongCall for an unknown one, ProblemsFound for a voided.
    """
    number = number_meant(text, origin)
    chain = entries_with(written, lambda line: line.number == number).lines
    if not chain:
        known = [line.number for line in written.lines if line.number.origin == number.origin]
        hint = "The log has no entries of this origin."
        if known:
            hint = f"The last one is {max(known)}."
        raise WrongCall(Finding("the log has no such entry", hint, value=text))
    current = current_lines(chain)[0]
    if not current:
        void = next(line for line in reversed(chain) if line.verb is Verb.VOID)
        why = f" ({void.why})" if void.why else ""
        what = f"was voided by {void.number}{why}"
        raise ProblemsFound(Finding(what, "If it was done after all, log it again.", value=text))
    return number, current[0][1]
