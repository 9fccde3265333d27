"""One row of work as somebody types it: names for codes, days and lengths as they are said.

Every door through which a single entry is typed reads it here: the command, the day as a session,
the page on which the day is logged.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from importlib import import_module

from credits.app.entries import planned_line
from credits.app.named import Coded, like_ones, name_of, of_code, with_name
from credits.errors import Finding, WrongCall
from credits.formats.tables.columns import TABLES
from credits.model.facts import EntryNumber, Work
from credits.model.log import LogLine, NewLine, WrittenLog
from credits.model.replay import Implied, current_lines, entries_with
from credits.units.spoken import spoken_day, spoken_minutes

REFERS = {c.name: c.refers for c in TABLES["entries"].columns if c.refers is not None}
"""The columns of an entry that hold a code, and the table that has it."""

DAYS = ("started_on", "finished_on")
LENGTHS = ("minutes", "wait_minutes")


@dataclass(frozen=True, slots=True, kw_only=True)
class TypedRow:
    """What a typed row means.

    ``cells``: the columns of the entries table as the log will have them: codes, ISO days, whole
    minutes; what could not be read stands as it was typed.
    ``line``: what it would append; None while something is wrong.
    ``findings``: what is wrong, each with its column; none has a place.
    ``said_by``: an entry that says exactly this already.
    """

    cells: Mapping[str, str]
    line: NewLine | None
    findings: tuple[Finding, ...]
    said_by: EntryNumber | None = None


def read_row(cells: Mapping[str, str], written: WrittenLog, today: date) -> TypedRow:
    """Read a row as it was typed. Nothing is written, and nothing is raised for what is in it.

    cells: columns of the entries table and their text; empty ones say nothing.
    """
    meant: dict[str, str] = {}
    findings: dict[str, Finding] = {}
    for column, typed in cells.items():
        text = typed.strip()
        if not text:
            continue
        try:
            meant[column] = cell_meant(column, text, written, today)
        except WrongCall as error:
            meant[column] = text
            findings[column] = replace(error.findings[0], column=column)
    line = None
    try:
        line = planned_line(meant, written)
    except WrongCall as error:
        for finding in error.findings:
            findings.setdefault(finding.column or "", finding)
    if findings or line is None:
        return TypedRow(cells=meant, line=None, findings=tuple(findings.values()))
    return TypedRow(cells=meant, line=line, findings=(), said_by=_said_by(line, written))


def _said_by(line: NewLine, written: WrittenLog) -> EntryNumber | None:
    """Find the entry that says the same, whether or not it names the character of its puppet."""
    wanted = line.work
    if wanted is None:
        return None
    implied = Implied(written)
    said = _whole(wanted, implied)

    def says_it(other: LogLine) -> bool:
        work = other.work
        if work is None or work.person != wanted.person:
            return False
        return work == wanted or _whole(work, implied) == said

    same = entries_with(written, says_it).lines
    holding = (holds for _, holds in current_lines(same)[0] if says_it(holds))
    return next((holds.number for holds in holding), None)


def _whole(work: Work, implied: Implied) -> Work:
    return replace(work, character=implied.character(work)) if work.puppet else work


def cell_meant(column: str, text: str, written: WrittenLog, today: date) -> str:
    """Return the cell that a text means. Raises WrongCall for a name of nobody, or of several.

    A text that is no name, day or length as people say them is returned as it is.
    """
    if column in REFERS:
        table = REFERS[column]
        return code_meant(table, text, getattr(written, table))
    if column in DAYS:
        day = spoken_day(text, today)
        return text if day is None else day.isoformat()
    if column in LENGTHS:
        minutes = spoken_minutes(text, written.production.day_minutes)
        return text if minutes is None else str(minutes)
    return text


def code_meant(table: str, text: str, facts: Iterable[Coded]) -> str:
    """Find the code that a text is, or else the one thing that has it as its name.

    Accents and case of a name do not count. Raises WrongCall for none, and for several.
    """
    every = tuple(facts)
    exact = of_code(text, every)
    if exact is not None:
        return exact.code
    # Only a name waits for the table of letters.
    fold = import_module("credits.names").fold
    wanted = fold(text)
    found = [fact for fact in every if wanted and fold(name_of(fact) or "") == wanted]
    if len(found) == 1:
        return found[0].code
    one = TABLES[table].one
    if found:
        which = " or ".join(with_name(fact) for fact in found[:6])
        what = f"is the name of {len(found)} {table}"
        raise WrongCall(Finding(what, f"Write the code of one: {which}.", value=text))
    hint = like_ones(text, every) or f"Write the code or the name of one of the {table}."
    raise WrongCall(Finding(f"no {one} has this code or name", hint, value=text))
