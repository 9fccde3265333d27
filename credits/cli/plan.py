"""Commands for the plan and its answers: plan, why, confirm."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from credits.app.confirmations import unanswered
from credits.app.named import fact_named
from credits.app.people import confirm_name
from credits.app.plan import first_plan_text, write_plan
from credits.app.production import open_snapshot
from credits.billing.credits import (
    Considered,
    Credits,
    Held,
    Why,
    destination_words,
    not_here_words,
)
from credits.billing.credits import why as why_of
from credits.billing.reasons import Reason, in_words
from credits.billing.threshold import Reached
from credits.cautions import CREDITS_CAUTION
from credits.cli import printing
from credits.cli.options import JsonOption, ProductionOption
from credits.cli.production import folder_of, production_codes
from credits.errors import Finding, WrongCall
from credits.formats.deliver.json import because_json
from credits.formats.tables.confirmations import Asked
from credits.model.facts import Confirmation, Person
from credits.site.pages.credits import entry_ranges, figures_text

STANDARD_OUTPUT = "-"


def plan(
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            metavar="FILE",
            help="Where to write it; - shows it. Else credit-plan.toml in the production folder.",
        ),
    ] = None,
    force: Annotated[
        bool, typer.Option("--force", help="Write over a plan that is there already.")
    ] = False,
    production: ProductionOption = None,
) -> None:
    """Write a first credit plan from the log, to be changed."""
    folder = folder_of(production)
    if out == Path(STANDARD_OUTPUT):
        for line in first_plan_text(folder).splitlines():
            printing.say(line)
        return
    target = write_plan(folder, out, force)
    printing.say(f"Wrote {target}.")
    printing.say("Next: change it, then see what comes of it: credits roll")


NOT_OWED = "No credit is owed yet: the log has no work and the crew list no engagement."


def why(
    person: Annotated[
        str, typer.Argument(metavar="PERSON", autocompletion=production_codes("people"))
    ],
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Why a person stands where they stand in the credits."""
    snapshot = open_snapshot(folder_of(production))
    ledger, compiled = snapshot.ledger, snapshot.credits
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
        "considered": [_considered_json(one) for one in found.considered],
        "held": held(found.held) if found.held else None,
        "held_lines": [held(one) for one in found.held_lines],
    }


def _considered_json(one: Considered) -> dict[str, object]:
    return {
        "heading": one.heading,
        "outcome": one.outcome.value,
        "to": destination_words(one.to) if one.to is not None else None,
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
    remark = "" if confirmed else " (spelling not confirmed)"
    printing.say(f"{who.credit_name}{remark}, by the {compiled.plan}")
    for section, line in found.lines:
        role = f", {line.role}" if line.role else ""
        printing.heading(f"Under '{section.heading}': {line.name}{role}")
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


def _say_because(reasons: tuple[Reason, ...], threshold: bool = True) -> None:

    words, crew = in_words(reasons), in_words(reasons, office=False)
    printing.say(f"  {words.rule}")
    if threshold and words.threshold:
        printing.say(f"  {words.threshold}")
    contract = (figure for figure in words.figures if figure not in crew.figures)
    figures = "; ".join(filter(None, (figures_text(crew.figures), figures_text(contract))))
    if figures:
        printing.say(f"  Figures: {figures}.")
    if words.entries:
        printing.say(f"  Entries: {entry_ranges(words.entries)}.")


def confirm(
    person: Annotated[
        str | None,
        typer.Argument(metavar="[PERSON]", autocompletion=production_codes("people")),
    ] = None,
    name: Annotated[
        str | None, typer.Option("--as", metavar="NAME", help="The name is spelled so.")
    ] = None,
    on: Annotated[
        str | None, typer.Option("--on", metavar="DATE", help="The day of the answer; else today.")
    ] = None,
    by: Annotated[
        str | None,
        typer.Option(
            "--by",
            metavar="WHO",
            help="Who took the answer.",
            autocompletion=production_codes("people"),
        ),
    ] = None,
    undo: Annotated[
        bool, typer.Option("--undo", help="The name is not right, or was never confirmed.")
    ] = False,
    still_open: Annotated[
        bool, typer.Option("--open", help="List the printed people who have not confirmed.")
    ] = False,
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Confirm how a name is spelled; --open: who did not answer.

    A name that changes afterwards is asked about again.
    """
    folder = folder_of(production)
    if still_open or person is None:
        _refuse_words(still_open, person, {"--as": name, "--on": on, "--by": by})
        _list_open(folder, as_json)
        return
    if undo and name is not None:
        hint = "Leave one of the two out."
        raise WrongCall(Finding("is what is confirmed, and --undo takes back", hint, None, "--as"))
    done = confirm_name(folder, person, name, on, by, undo)
    before, after = done.before, done.after
    if as_json:
        printing.say_json(
            {
                "person": after.code,
                "name": after.credit_name,
                "confirmed": not undo,
                "changed": done.is_new,
            }
        )
        return
    shown = f"{after.credit_name} ({after.code})"
    if not done.is_new:
        printing.say(f"Nothing new: {shown} {'is not' if undo else 'is'} confirmed.")
    elif undo:
        printing.say(f"{shown} is not confirmed; it will be asked about again.")
    else:
        was = f", before: {before.credit_name}" if before != after else ""
        printing.say(f"{shown} is confirmed{was}.")


def _refuse_words(still_open: bool, person: str | None, options: dict[str, str | None]) -> None:
    if not still_open:
        raise WrongCall(Finding("no person is named", "Name one, or write --open for a list."))
    given = next((option for option, value in options.items() if value is not None), None)
    if person is not None or given is not None:
        what = "lists everybody who has not answered"
        raise WrongCall(Finding(what, f"Leave {given or person} out.", None, "--open"))


def _list_open(folder: Path, as_json: bool) -> None:
    found = unanswered(folder)
    if as_json:
        printing.say_json({"open": [_open_json(one, last) for one, last in found]})
        return
    rows = [(one.person, one.name, ", ".join(one.headings), _remark(last)) for one, last in found]
    if rows:
        printing.table(("person", "name", "printed under", "last answer"), rows)
    count = len(rows)
    printing.remark(
        f"{count} {'person has' if count == 1 else 'people have'} not confirmed the spelling."
        if count
        else "Every printed name is confirmed."
    )


def _open_json(one: Asked, last: Confirmation | None) -> dict[str, object]:
    return {
        "person": one.person,
        "name": one.name,
        "headings": list(one.headings),
        "answered": _yes_or_no(last) if last else None,
        "answered_name": last.name if last else None,
        "answered_on": last.confirmed_on.isoformat() if last else None,
    }


def _yes_or_no(word: Confirmation) -> str:
    return "yes" if word.is_right else "no"


def _remark(last: Confirmation | None) -> str:
    return f"{_yes_or_no(last)} to '{last.name}' on {last.confirmed_on}" if last else ""
