"""The command confirm: how a name is spelled, and who has not said."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from credits.app.spellings.confirm import Unanswered, confirm_name, unanswered
from credits.cli.options import JsonOption, ProductionOption, Text, argument, option
from credits.cli.production import codes, folder_of
from credits.cli.terminal import printing
from credits.errors import Finding, WrongCall
from credits.model.facts import Confirmation


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
    if done.is_respaced:
        printing.remark("Spaces in a row were read as one.")
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
    by = found.answer_by
    shape = {
        "open": list(map(_open_json, found.people)),
        "answer_by": by and by.isoformat(),
        "late": found.late,
    }
    rows = [
        (one.asked.person, one.asked.name, ", ".join(one.asked.headings), _remark(one.last))
        for one in found.people
    ]
    heads = ("person", "name", "printed under", "last answer")
    printing.say_rows(as_json, shape, heads, rows, "Every printed name is confirmed.")
    if rows and not as_json:
        who = "1 person has" if len(rows) == 1 else f"{len(rows)} people have"
        printing.remark(f"{who} not confirmed the spelling{_due(by, found.late)}.")


def _due(answer_by: date | None, late: int) -> str:
    if answer_by is None:
        return ""
    return f"; answers were due by {answer_by}" if late else f"; answers are due by {answer_by}"


def _open_json(one: Unanswered) -> dict[str, object]:
    last = one.last
    return {
        **printing.fields_json(one.asked, "person name headings"),
        "answered": _yes_or_no(last) if last else None,
        "answered_name": last and last.name,
        "answered_on": last and last.confirmed_on.isoformat(),
        "late": one.is_late,
    }


def _yes_or_no(word: Confirmation) -> str:
    return "yes" if word.is_right else "no"


def _remark(last: Confirmation | None) -> str:
    return f"{_yes_or_no(last)} to '{last.name}' on {last.confirmed_on}" if last else ""
