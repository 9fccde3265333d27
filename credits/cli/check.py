"""``credits check``: what cannot be right, and what somebody must answer."""

from __future__ import annotations

import shlex
from itertools import groupby
from typing import TYPE_CHECKING

import typer

from credits.cli import printing
from credits.cli.options import JsonOption, ProductionOption, folder_of

if TYPE_CHECKING:
    from credits.compute.checks import Check
    from credits.compute.credit_plan import CreditPlan
    from credits.compute.settled import CheckNames, Settled
    from credits.model.ledger import Ledger


def check(production: ProductionOption = None, as_json: JsonOption = False) -> None:
    """List what cannot be right, and what somebody must answer.

    Questions that were answered (credits settle) are not asked again. The exit status is 1 when
    anything is wrong.
    """
    from credits import app
    from credits.compute.checks import Severity
    from credits.compute.settled import CheckNames, open_and_settled

    folder = folder_of(production)
    ledger = app.read_ledger(folder)
    every = every_check(ledger, app.read_plan(folder, ledger))
    found, settled = open_and_settled(every, ledger)
    wrong = sum(each.severity is Severity.WRONG for each in found)
    if as_json:
        printing.say_json(
            {
                "checks": [check_json(each) for each in found],
                "settled": [settled_json(each) for each in settled],
            }
        )
    else:
        _say(found, wrong, len(settled), CheckNames(every))
    if wrong:
        raise typer.Exit(1)


def every_check(ledger: Ledger, plan: CreditPlan) -> tuple[Check, ...]:
    """All checks of a ledger, the settled ones too; its credits are those of the plan."""
    from credits.compute.checks import all_checks
    from credits.compute.results import credits_of, footage_of

    runs, use, feet = footage_of(ledger)
    return all_checks(ledger, runs, use, credits_of(ledger, runs, use, feet, plan))


def settle_command(each: Check, names: CheckNames) -> str:
    """How the question is settled: ``credits settle puppet-in-two-places wick-1 --why "..."``."""
    words = " ".join(shlex.quote(word) for word in names.words_for(each))
    return f'credits settle {each.check} {words} --why "..."'


def settled_json(each: Settled) -> dict[str, object]:
    """A settled check in the shape of an open one, with its answer, by whom and when (UTC)."""
    return {
        **check_json(each.check),
        "why": each.answer.why,
        "settled_by": each.answer.settled_by,
        "settled_at": each.answer.settled_at.isoformat(),
    }


def check_json(each: Check) -> dict[str, object]:
    """A check in the shape of 4.5."""
    subjects: dict[str, object] = {}
    for kind, code in each.subjects:
        there = subjects.get(kind)
        if there is None:
            subjects[kind] = code
        else:
            subjects[kind] = [*(there if isinstance(there, list) else [there]), code]
    return {
        "check": each.check,
        "severity": str(each.severity),
        "subjects": subjects,
        "entries": [str(number) for number in each.entries],
        "message": each.message,
        "hint": each.hint,
        "mend": each.hint,
    }


def _say(found: tuple[Check, ...], wrong: int, settled: int, names: CheckNames) -> None:
    import sys

    from credits.compute.checks import Severity
    from credits.pages.words import counted

    most = printing.SHOWN_PROBLEMS if printing.is_terminal(sys.stdout) else len(found)
    for name, group in groupby(found, key=lambda each: each.check):
        cases = list(group)
        printing.heading(f"{name} ({len(cases)})")
        for each in cases[:most]:
            entries = ", ".join(str(number) for number in each.entries[:8])
            more = f" and {len(each.entries) - 8} more" if len(each.entries) > 8 else ""
            said = f" [{entries}{more}]" if entries else ""
            printing.say(f"  {each.severity}: {each.message}{said}")
            if each.severity is Severity.QUESTION:
                printing.say(f"     Settle it: {settle_command(each, names)}")
        if len(cases) > most:
            printing.say(f"  … and {len(cases) - most} more.")
        for hint in dict.fromkeys(each.hint for each in cases[:most]):
            printing.say(f"  -> {hint}")
    questions = len(found) - wrong
    answered = f" {counted(settled, 'question')} settled." if settled else ""
    if found:
        printing.remark(f"{wrong} wrong, {counted(questions, 'question')}.{answered}")
    else:
        printing.remark(f"Nothing to ask: every check is answered.{answered}")
