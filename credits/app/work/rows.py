"""One row of work as somebody types it: names for codes, days and lengths as they are said.

Every door through which a single entry is typed reads it here: the command, the day as a session,
the page on which the day is logged.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from credits.app.work.named import Coded, fact_named
from credits.errors import Finding, WrongCall
from credits.formats.tables.again import line_by_hand
from credits.formats.tables.columns import LENGTHS, TABLES, Sheet, codes_of
from credits.formats.tables.entries import entry_rows
from credits.formats.tables.lists import Rows, row_of
from credits.model.facts import EntryNumber, Work
from credits.model.lines import index_of
from credits.model.log import LogLine, NewLine, WrittenLog
from credits.model.replay import Implied, by_code
from credits.units.spoken import spoken_day, spoken_minutes

REFERS = {c.name: c.refers for c in TABLES["entries"].columns if c.refers is not None}
"""The columns of an entry that hold a code, and the table that has it."""

DAYS = ("started_on", "finished_on")


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
    like = index_of(written.lines).on_the_same(wanted, implied)
    return next((e.number for e in like if e.work and _whole(e.work, implied) == said), None)


def _whole(work: Work, implied: Implied) -> Work:
    return replace(work, character=implied.character(work)) if work.puppet else work


def cell_meant(column: str, text: str, written: WrittenLog, today: date) -> str:
    """Return the cell that a text means. Raises WrongCall for a name of nobody, or of several.

    A text that is no name, day or length as people say them is returned as it is.
    """
    if column in REFERS:
        table = REFERS[column]
        facts: tuple[Coded, ...] = getattr(written, table)
        return fact_named(table, text, facts).code
    if column in DAYS:
        day = spoken_day(text, today)
        return text if day is None else day.isoformat()
    if column in LENGTHS:
        minutes = spoken_minutes(text, written.production.day_minutes)
        return text if minutes is None else str(minutes)
    return text


def planned_line(
    cells: Mapping[str, str], written: WrittenLog, lines: Sequence[LogLine] = ()
) -> NewLine | None:
    """Return the line that a row with these cells would append.

    lines: the lines that may say the same already; then None.
    Raises WrongCall with everything that a load would refuse.
    """
    filled = {column: text.strip() for column, text in cells.items() if text.strip()}
    header, cells_of_row = zip(*filled.items(), strict=True) if filled else ((), ())
    rows = Rows(Sheet(table="entries", file="", header=header, numbers=(2,), cells=(cells_of_row,)))
    checked = {
        name: by_code(getattr(written, name)) for name in ("parts", "puppets", "shots", "crafts")
    }
    read = entry_rows([rows], codes_of(written), checked)
    new = [line_by_hand(row, lines) for row in read]
    if problems := sorted(rows.findings, key=row_of):
        raise WrongCall(*(replace(finding, place=None) for finding in problems))
    return next(iter(new), None)
