"""Findings and errors: everything the product says to a person when something is wrong.

A finding is a value: it can be collected, counted, printed and tested. It reads
``place: column 'value': what is wrong. What would be right.``
"""

from __future__ import annotations

from dataclasses import dataclass

SHOWN_VALUE_LENGTH = 200


@dataclass(frozen=True, slots=True)
class Place:
    """Where something was read: a file or sheet, a row counted from 1 (the header is row 1).

    line: for a text file, the line counted from 1. cell: for a form, the cell: ``G7``.
    """

    file: str
    row: int | None = None
    line: int | None = None
    cell: str | None = None

    def __str__(self) -> str:
        if self.cell is not None:
            return f"{self.file} cell {self.cell}"
        if self.line is not None:
            return f"{self.file} line {self.line}"
        return self.file if self.row is None else f"{self.file} row {self.row}"


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
