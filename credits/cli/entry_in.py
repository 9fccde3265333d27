"""One entry from the command line goes the way of a row in a sheet: the same checks and words."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from fractions import Fraction

from credits.cli.codes import relative_day
from credits.errors import Finding, WrongCall
from credits.model.batch import NewLine
from credits.model.facts import Work
from credits.model.written import WrittenLog
from credits.units.frames import Frames

# The columns of the entries table (4.2) and the words of the command that stand for them.
WORD_FOR = {
    "ref": "--ref",
    "craft": "CRAFT",
    "person": "PERSON",
    "character": "--character",
    "puppet": "--puppet",
    "part": "--part",
    "sequence": "--sequence",
    "shot": "--shot",
    "take": "--take",
    "frames": "--frames",
    "poses_on": "--poses-on",
    "share": "--share",
    "started_on": "--from",
    "finished_on": "--on",
    "minutes": "--minutes",
    "wait_minutes": "--wait",
    "stage": "--stage",
    "note": "--note",
    "private": "--private",
    "logged_by": "--by",
}
DAYS = ("started_on", "finished_on")


def with_days(cells: Mapping[str, str]) -> dict[str, str]:
    """The cells with the words ``today`` and ``yesterday`` as dates."""
    return {
        column: relative_day(text) or text if column in DAYS else text
        for column, text in cells.items()
    }


def cells_of(work: Work) -> dict[str, str]:
    """A piece of work as the cells of a row, without the empty ones."""
    cells: dict[str, str] = {}
    for column in WORD_FOR:
        value = getattr(work, column, None)
        if value is None or value is False:
            continue
        if isinstance(value, Frames):
            cells[column] = value.text
        elif isinstance(value, Fraction | int | str) and value is not True:
            cells[column] = str(value)
        else:
            cells[column] = "yes" if value is True else str(value)
    return cells


def _in_words_of_the_command(finding: Finding) -> Finding:
    column = WORD_FOR.get(finding.column or "", finding.column)
    if column in ("CRAFT", "PERSON"):
        column = column.lower()
    return replace(finding, place=None, column=column)


def planned_line(cells: Mapping[str, str], written: WrittenLog) -> NewLine | None:
    """The line that a row with these cells would append; None when the log says the same already.

    In: columns of the entries table and their text; the log. Raises WrongCall with everything that
    a load would refuse.
    """
    from credits.exchange.load import plan_load
    from credits.exchange.sheets import Sheet, Tables

    filled = {column: text.strip() for column, text in cells.items() if text.strip()}
    sheet = Sheet("entries", "command line", 1, tuple(filled), (2,), (tuple(filled.values()),))
    plan = plan_load(Tables((sheet,)), written)
    if plan.problems:
        raise WrongCall.of(map(_in_words_of_the_command, plan.problems))
    lines: Iterable[NewLine] = plan.batch.lines
    # The words of a command are no file: a later load must not take them for what a sheet says.
    return next((replace(line, source=None) for line in lines), None)
