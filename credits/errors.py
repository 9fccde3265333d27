"""Findings and errors: everything the product says to a person when something is wrong.

A finding is a value: it can be collected, counted, printed and tested. It reads
``place: column 'value': what is wrong. What would be right.``
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

SHOWN_VALUE_LENGTH = 200
SHOWN_RUNS = 6
"""How many runs of rows are named where the same is said of many."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where something was read: a file or sheet, a row counted from 1 (the header is row 1).

    line: for a text file, the line counted from 1. cell: for a form, the cell: ``G7``.
    also: more rows, above ``row`` and rising, of which the same is said.
    """

    file: str
    row: int | None = None
    line: int | None = None
    cell: str | None = None
    also: tuple[int, ...] = ()

    @property
    def rows(self) -> tuple[int, ...]:
        """Every row that is meant."""
        return () if self.row is None else (self.row, *self.also)

    def __str__(self) -> str:
        if self.cell is not None:
            return f"{self.file} cell {self.cell}"
        if self.line is not None:
            return f"{self.file} line {self.line}"
        if self.row is None:
            return self.file
        if self.also:
            return f"{self.file} rows {_rows_in_words(self.rows)}"
        return in_row(self.file, self.row)


def in_row(file: str, row: int) -> str:
    """Return where a row stands, in words."""
    return f"{file} row {row}"


def _rows_in_words(rows: tuple[int, ...]) -> str:
    """Write rows as ``3-9, 14, 21 and 40 more``."""
    runs: list[list[int]] = []
    for row in rows:
        if runs and row == runs[-1][1] + 1:
            runs[-1][1] = row
        else:
            runs.append([row, row])
    named = [str(a) if a == b else f"{a}-{b}" for a, b in runs[:SHOWN_RUNS]]
    if more := sum(b - a + 1 for a, b in runs[SHOWN_RUNS:]):
        return f"{', '.join(named)} and {more} more"
    return " and ".join(filter(None, (", ".join(named[:-1]), named[-1])))


def quoted(value: object) -> str:
    """Return a value as a finding shows it: in single quotes, on one line, not too long."""
    text = "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in str(value))
    if len(text) > SHOWN_VALUE_LENGTH:
        text = text[: SHOWN_VALUE_LENGTH - 1] + "…"
    return f"'{text}'"


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that is wrong: where, which column and value, what it is, what would be right."""

    what: str
    hint: str = ""
    place: Place | None = None
    column: str | None = None
    value: str | None = None

    def __str__(self) -> str:
        value = None if self.value is None else quoted(self.value)
        subject = " ".join(filter(None, (self.column, value)))
        lead = ": ".join(filter(None, (str(self.place or ""), subject)))
        text = f"{lead}: {self.what}" if lead else self.what
        if text and text[-1] not in ".?!":
            text += "."
        return f"{text} {self.hint}".rstrip()


def grouped(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Make one finding of those that say the same of several rows, in the place of the first."""
    rows: dict[Finding, set[int]] = {}
    for finding in findings:
        place = finding.place
        if place is None or place.row is None:
            rows.setdefault(finding, set())
        else:
            key = replace(finding, place=replace(place, row=0, also=()))
            rows.setdefault(key, set()).update(place.rows)
    return tuple(_of_rows(finding, sorted(found)) for finding, found in rows.items())


def _of_rows(finding: Finding, rows: list[int]) -> Finding:
    if not rows or finding.place is None:
        return finding
    first, *also = rows
    return replace(finding, place=replace(finding.place, row=first, also=tuple(also)))


class CreditsError(Exception):
    """Anything that a person can put right. Carries its findings; the command line prints them."""

    exit_status = 1

    def __init__(self, *findings: Finding) -> None:
        self.findings = findings
        super().__init__("\n".join(str(finding) for finding in self.findings))


class WrongCall(CreditsError):
    """The command was called with words it cannot use."""

    exit_status = 2


class ProblemsFound(CreditsError):
    """The input holds problems. Nothing was written."""


class NoProduction(CreditsError):
    """No production folder was found where one was looked for."""

    exit_status = 2


class LogUnusable(CreditsError):
    """The log cannot be opened, read or written: damaged, locked, newer, not a log."""


class ReadElsewhereError(Exception):
    """Something is to be read that another process alone can read."""
