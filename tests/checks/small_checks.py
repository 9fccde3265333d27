"""The checks of a small production written as text."""

from __future__ import annotations

from credits.checks.rule import Check
from credits.figures.snapshot import Snapshot
from tests.small_log import small_ledger

FILM = """
    [people]
    person, credit_name
    ana, Ana Lind
    ben, Ben Ode
    [characters]
    character
    wick
    brine
    [puppets]
    puppet, character, ready_on, retired_on
    wick-1, wick, 2026-02-01, 2026-03-10
    wick-2, wick, , 2026-12-31
    brine-1, brine
    [parts]
    part, kind, character
    smile, mouth, wick
    [sequences]
    sequence
    010
    [shots]
    shot, sequence, frames
    010-020, 010, 48
    010-030, 010, 48
    [stages]
    stage
    3
    5
"""


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
