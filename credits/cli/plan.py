"""Commands for the plan and its answers: plan, why, confirm."""

from __future__ import annotations

from pathlib import Path

from credits.app.credits import confirm_name, unanswered
from credits.app.named import fact_named
from credits.app.production import first_plan_text, open_snapshot, write_plan
from credits.billing import credits as billed
from credits.billing.reasons import Reason, in_words
from credits.billing.threshold import Reached
from credits.cautions import CREDITS_CAUTION
from credits.cli import printing
from credits.cli.options import JsonOption, ProductionOption, Text, argument, option
from credits.cli.production import codes, folder_of
from credits.errors import Finding, WrongCall
from credits.formats.deliver.plain import because_json
from credits.formats.tables.confirmations import Asked
from credits.model.facts import Confirmation, Person
from credits.site.pages.credits import entry_ranges, figures_text

STANDARD_OUTPUT = "-"


def plan(
    out: Path | None = option(
        None,
        "--out",
        "Where to write it; - shows it. Else credit-plan.toml in the production folder.",
        "FILE",
    ),
    force: bool = option(False, "--force", "Write over a plan that is there already."),
    production: ProductionOption = None,
) -> None:
    """Write a first credit plan from the log, to be changed."""
    folder = folder_of(production)
    if out == Path(STANDARD_OUTPUT):
        said = first_plan_text(folder).splitlines()
    else:
        wrote = f"Wrote {write_plan(folder, out, force)}."
        said = [wrote, "Next: change it, then see what comes of it: credits roll"]
    for line in said:
        printing.say(line)


NOT_OWED = "No credit is owed yet: the log has no work and the crew list no engagement."


def why(
    person: str = argument(..., "PERSON", complete=codes("people")),
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Why a person stands where they stand in the credits."""
    snapshot = open_snapshot(folder_of(production))
    ledger, compiled = snapshot.ledger, snapshot.credits
    named = fact_named("people", person, ledger.people.values())
    who = ledger.person(named.code)
    found = billed.why(compiled, who.code)
    confirmed = ledger.confirmed(who.code)
    if as_json:
        printing.say_json({**_json(found, who, confirmed, compiled), "caution": CREDITS_CAUTION})
        return
    _say(found, who, confirmed, compiled)
    printing.remark(CREDITS_CAUTION)


def _json(
    found: billed.Why, who: Person, confirmed: bool, compiled: billed.Credits
) -> dict[str, object]:
    def held(one: billed.Held) -> dict[str, object]:
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
                **printing.fields_json(line, "name role"),
                "because": because_json(line.because),
            }
            for section, line in found.lines
        ],
        "considered": [_considered_json(one) for one in found.considered],
        "held": held(found.held) if found.held else None,
        "held_lines": [held(one) for one in found.held_lines],
    }


def _considered_json(one: billed.Considered) -> dict[str, object]:
    return {
        "heading": one.heading,
        "outcome": one.outcome.value,
        "to": billed.destination_words(one.to) if one.to is not None else None,
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
        **printing.fields_json(reached, "enough character without_cut"),
    }


def _say(found: billed.Why, who: Person, confirmed: bool, compiled: billed.Credits) -> None:
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
        printing.say(f"  {billed.not_here_words(one)}")
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
    person: Text = argument(None, "[PERSON]", complete=codes("people")),
    name: Text = option(None, "--as", "The name is spelled so.", "NAME"),
    on: Text = option(None, "--on", "The day of the answer; else today.", "DATE"),
    by: Text = option(None, "--by", "Who took the answer.", "WHO", codes("people")),
    undo: bool = option(False, "--undo", "The name is not right, or was never confirmed."),
    still_open: bool = option(False, "--open", "List the printed people who have not confirmed."),
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
    code, name = done.after.code, done.after.credit_name
    if not done.is_new:
        said = f"Nothing new: {name} ({code}) {'is not' if undo else 'is'} confirmed."
    elif undo:
        said = f"{name} ({code}) is not confirmed; it will be asked about again."
    else:
        was = f", before: {done.before.credit_name}" if done.before != done.after else ""
        said = f"{name} ({code}) is confirmed{was}."
    shape = {"person": code, "name": name, "confirmed": not undo, "changed": done.is_new}
    printing.answer(as_json, shape, said)


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
        who = "1 person has" if len(rows) == 1 else f"{len(rows)} people have"
        printing.remark(f"{who} not confirmed the spelling.")
    else:
        printing.remark("Every printed name is confirmed.")


def _open_json(one: Asked, last: Confirmation | None) -> dict[str, object]:
    return {
        **printing.fields_json(one, "person name headings"),
        "answered": _yes_or_no(last) if last else None,
        "answered_name": last and last.name,
        "answered_on": last and last.confirmed_on.isoformat(),
    }


def _yes_or_no(word: Confirmation) -> str:
    return "yes" if word.is_right else "no"


def _remark(last: Confirmation | None) -> str:
    return f"{_yes_or_no(last)} to '{last.name}' on {last.confirmed_on}" if last else ""
