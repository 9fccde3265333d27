"""``credits why``: every line that a person has or does not have, and the reason."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from credits.cli import printing
from credits.cli.codes import fact_named
from credits.cli.completion import production_codes
from credits.cli.options import JsonOption, ProductionOption, folder_of

if TYPE_CHECKING:
    from credits.compute.credits import Because, Considered, Credits, Held
    from credits.compute.threshold import Reached
    from credits.compute.why import Why
    from credits.model.facts import Person

NOT_OWED = "No credit is owed yet: the log has no work and the crew list no engagement."


def why(
    person: Annotated[
        str, typer.Argument(metavar="PERSON", autocompletion=production_codes("people"))
    ],
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Why a person stands where they stand in the credits."""
    from credits import app
    from credits.cautions import CREDITS_CAUTION
    from credits.compute.why import why as why_of

    ledger, compiled = app.read_credits(folder_of(production))
    named = fact_named("people", person, ledger.people.values())
    who = ledger.person(named.code)
    found = why_of(compiled, who.code)
    confirmed = ledger.confirmed(who.code)
    if as_json:
        printing.say_json({**_json(found, who, confirmed, compiled), "caution": CREDITS_CAUTION})
        return
    _say(found, who, confirmed, compiled)
    printing.remark(CREDITS_CAUTION)


def _json(found: Why, who: Person, confirmed: bool, compiled: Credits) -> dict[str, object]:
    from credits.exchange.credits_json import because_json

    def held(one: Held) -> dict[str, object]:
        return {
            "heading": one.heading or None,
            "reason": one.reason,
            "because": because_json(one.because),
        }

    return {
        "person": who.code,
        "name": who.credit_name,
        "confirmed": confirmed,
        "plan": compiled.plan,
        "lines": [
            {
                "heading": section.heading,
                "name": line.name,
                "role": line.role,
                "because": because_json(line.because),
            }
            for section, line in found.lines
        ],
        "considered": [_considered_json(one) for one in _all_of(compiled, who.code)],
        "held": held(found.held) if found.held else None,
        "held_lines": [held(one) for one in found.held_lines],
    }


def _all_of(compiled: Credits, person: str) -> list[Considered]:
    return [one for one in compiled.considered if one.person == person]


def _considered_json(one: Considered) -> dict[str, object]:
    from credits.exchange.credits_json import because_json

    return {
        "heading": one.heading,
        "outcome": one.outcome.value,
        "to": one.to or None,
        "asked": _reached_json(one.reached) if one.reached else None,
        "because": because_json(one.because),
    }


def _reached_json(reached: Reached) -> dict[str, object]:
    threshold = reached.threshold
    return {
        "threshold": threshold.words,
        "counted_in": threshold.counted_in,
        "least": str(threshold.least),
        "reached": str(reached.figure),
        "reached_shown": reached.shown,
        "enough": reached.enough,
        "character": reached.character,
        "without_cut": reached.without_cut,
    }


def _say(found: Why, who: Person, confirmed: bool, compiled: Credits) -> None:
    from credits.compute.why import not_here_words

    remark = "" if confirmed else " (spelling not confirmed)"
    printing.say(f"{who.credit_name}{remark}, by the {compiled.plan}")
    for section, line in found.lines:
        printing.heading(f"Under '{section.heading}': {_with_role(line.name, line.role)}")
        _say_because(line.because)
    if found.held:
        printing.heading(f"Held: {found.held.reason}")
        _say_because(found.held.because)
    for one in found.not_here:
        printing.heading(f"Not under '{one.heading}': {one.outcome}")
        printing.say(f"  {not_here_words(one)}")
        _say_because(one.because, threshold=False)
    if not found.lines and not found.held:
        printing.say(NOT_OWED)


def _with_role(name: str, role: str | None) -> str:
    return f"{name}, {role}" if role else name


def _say_because(because: Because, threshold: bool = True) -> None:
    from credits.pages.person_credit import entry_ranges, figures_of

    printing.say(f"  {because.rule}")
    if threshold and because.threshold:
        printing.say(f"  {because.threshold}")
    figures = "; ".join(
        text for text in (figures_of(because), figures_of(because, contract=True)) if text
    )
    if figures:
        printing.say(f"  Figures: {figures}.")
    if because.entries:
        printing.say(f"  Entries: {entry_ranges(because.entries)}.")
