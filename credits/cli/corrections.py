"""What ``amend`` and ``void`` share: the entry that is meant, followed to the line that counts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from credits.cli import printing
from credits.errors import Finding, ProblemsFound, WrongCall

if TYPE_CHECKING:
    from credits.model.facts import EntryNumber
    from credits.model.written import Written, WrittenLog


@dataclass(frozen=True, slots=True)
class Meant:
    """The line that was asked for and the one that says the entry now."""

    asked: EntryNumber
    holds: Written


def number_meant(text: str, origin: str) -> EntryNumber:
    """``A-17``, or ``17`` for an entry of this log's own origin. Raises WrongCall."""
    from credits.model.facts import EntryNumber

    word = text.strip()
    if word.isascii() and word.isdigit():
        return EntryNumber(origin, int(word))
    try:
        return EntryNumber.parse(word)
    except ValueError:
        hint = f"Entries are numbered like {origin}-17."
        raise WrongCall(Finding("is not the number of an entry", hint, value=text)) from None


def entry_meant(text: str, written: WrittenLog, origin: str) -> Meant:
    """The entry of that number. Raises WrongCall for an unknown one, ProblemsFound for a voided."""
    from credits.cli.effect import around
    from credits.model.replay import current_lines
    from credits.model.written import Verb

    number = number_meant(text, origin)
    chain = around(written, lambda line: line.number == number).lines
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
    return Meant(number, current[0][1])


def text_meant(text: str, option: str) -> str:
    """A reason or a name on one line. Raises WrongCall for control characters and endless texts."""
    from credits.exchange.values import Unreadable, name, stripped

    try:
        return name(stripped(text))
    except Unreadable as found:
        raise WrongCall(Finding(found.what, found.hint, column=option, value=text)) from None


def say_followed(meant: Meant) -> None:
    """Say so when the entry was amended already, so that another line is corrected."""
    if meant.holds.number != meant.asked:
        printing.remark(
            f"{meant.asked} was amended already; {meant.holds.number} says it now and is corrected."
        )
