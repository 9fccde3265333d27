"""The checks of a small production written as text."""

from __future__ import annotations

from credits.checks.rule import Check
from credits.figures.snapshot import Snapshot
from tests.small_log import small_ledger


def checks_of(name: str, text: str, cut: str = "") -> tuple[Check, ...]:
    """Everything that the check of this kind finds in the production that the text writes."""
    return tuple(c for c in Snapshot(small_ledger(text, cut)).checks if c.kind == name)


def the_check_of(name: str, text: str, cut: str = "") -> Check:
    """The one thing that the check of this kind finds."""
    (check,) = checks_of(name, text, cut)
    return check


def numbers(check: Check) -> list[str]:
    """The entries of a check as people write them."""
    return [str(number) for number in check.entries]
