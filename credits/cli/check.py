"""``credits check``: what cannot be right, and what somebody must answer."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

import typer

from credits.cli import printing
from credits.cli.options import JsonOption, ProductionOption, read_ledger

if TYPE_CHECKING:
    from credits.compute.checks import Check


def check(production: ProductionOption = None, as_json: JsonOption = False) -> None:
    """List what cannot be right, and what somebody must answer.

    The exit status is 1 when anything is wrong.
    """
    from credits.compute.checks import Severity, all_checks
    from credits.compute.results import credits_of, footage_of

    ledger = read_ledger(production)
    runs, use, feet = footage_of(ledger)
    found = all_checks(ledger, runs, use, credits_of(ledger, runs, use, feet))
    wrong = sum(each.severity is Severity.WRONG for each in found)
    if as_json:
        printing.say_json({"checks": [_json(each) for each in found]})
    else:
        _say(found, wrong)
    if wrong:
        raise typer.Exit(1)


def _json(each: Check) -> dict[str, object]:
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
        "mend": each.mend,
    }


def _say(found: tuple[Check, ...], wrong: int) -> None:
    import sys

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
        if len(cases) > most:
            printing.say(f"  … and {len(cases) - most} more.")
        for mend in dict.fromkeys(each.mend for each in cases[:most]):
            printing.say(f"  -> {mend}")
    questions = len(found) - wrong
    if found:
        printing.remark(f"{wrong} wrong, {counted(questions, 'question')}.")
    else:
        printing.remark("Nothing to ask: every check is answered.")
