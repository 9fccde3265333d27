"""Log, amend and void an entry: one line of the log each."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import NamedTuple

from credits.app.named import fact_named, number_meant
from credits.app.targets import cells_of, planned_line, read_targets, with_days
from credits.app.writing import write_if_unmoved
from credits.errors import Finding, ProblemsFound, WrongCall
from credits.model.facts import EntryNumber, Work
from credits.model.log import Batch, LogLine, NewLine, Verb, WrittenLog
from credits.model.replay import current_lines, entries_with
from credits.store import Log, open_log


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

    ((line, number, asked, corrects), written), receipt = write_if_unmoved(log, make)
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
            line = NewLine(verb=Verb.VOID, corrects=holds.number, logged_by=by or None, why=why)
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
