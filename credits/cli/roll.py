"""``credits roll``: the end credits as they stand, who is held, and why."""

from __future__ import annotations

from typing import TYPE_CHECKING

from credits.cli import printing
from credits.cli.options import JsonOption, ProductionOption, read_ledger

if TYPE_CHECKING:
    from credits.compute.credits import Because, Credits


def roll(production: ProductionOption = None, as_json: JsonOption = False) -> None:
    """Compile the end credits; say who is held, and why."""
    from credits.compute.results import credits_of, footage_of
    from credits.pages.cautions import CREDITS_CAUTION

    ledger = read_ledger(production)
    compiled = credits_of(ledger, *footage_of(ledger))
    if as_json:
        printing.say_json({**_json(compiled), "caution": CREDITS_CAUTION})
        return
    _say(compiled)
    printing.remark(CREDITS_CAUTION)


def _because(because: Because) -> dict[str, object]:
    return {
        "rule": because.rule,
        "figures": dict(because.figures),
        "entries": [str(number) for number in because.entries],
    }


def _json(compiled: Credits) -> dict[str, object]:
    return {
        "proof": None,
        "sections": [
            {
                "heading": section.heading,
                "lines": [
                    {
                        "person": line.person,
                        "name": line.name,
                        "role": line.role,
                        "because": _because(line.because),
                    }
                    for line in section.lines
                ],
            }
            for section in compiled.sections
        ],
        "held": [
            {
                "person": held.person,
                "reason": held.reason,
                "figures": dict(held.because.figures),
            }
            for held in compiled.held
        ],
        "order_of_appearance": list(compiled.order_of_appearance),
    }


def _say(compiled: Credits) -> None:
    rows = [
        (section.heading, line.name, line.role, "" if line.confirmed else "spelling not confirmed")
        for section in compiled.sections
        for line in section.lines
    ]
    rows += [("(held)", held.name, "", held.reason) for held in compiled.held]
    if not rows:
        printing.remark("Nobody yet: the log has no entries and no engagements.")
        return
    printing.parts(("heading", "name", "role", "remark"), rows)
