"""``credits confirm``: how a name is spelled is confirmed, and who has not answered yet."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Annotated

import typer

from credits.cli import printing
from credits.cli.completion import production_codes
from credits.cli.options import JsonOption, ProductionOption, folder_of
from credits.errors import Finding, WrongCall

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    from credits.exchange.confirmations_out import Asked
    from credits.model.facts import Confirmation, Person


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
    before, after, is_new = _write(folder, person, name, on, by, undo)
    if as_json:
        printing.say_json(
            {
                "person": after.code,
                "name": after.credit_name,
                "confirmed": not undo,
                "changed": is_new,
            }
        )
        return
    shown = f"{after.credit_name} ({after.code})"
    if not is_new:
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


def _write(
    folder: Path, text: str, name: str | None, on: str | None, by: str | None, undo: bool
) -> tuple[Person, Person, bool]:
    """Write the word: the person before, the person after, whether anything was new."""
    from credits.cli.codes import day_named, fact_named
    from credits.cli.corrections import text_meant
    from credits.model.batch import Batch, NewConfirmation
    from credits.model.replay import replay
    from credits.store import open_log

    day = day_named(on, "--on") if on is not None else None
    who = text_meant(by, "--by") if by is not None else None
    spelled = text_meant(name, "--as") if name is not None else None
    if spelled == "":
        raise WrongCall(Finding("is empty", "Write the name.", None, "--as", name))
    with open_log(folder) as log, log.writing() as pen:
        ledger = replay(pen.read())
        before = ledger.person(fact_named("people", text, ledger.people.values()).code)
        after = replace(before, credit_name=spelled) if spelled else before
        last = ledger.confirmation(before.code)
        word = (after.credit_name, not undo)
        there = last is not None and (last.name, last.is_right) == word
        if undo:
            there = there or last is None
        elif there and last is not None:
            there = day in (None, last.confirmed_on)
        if there and before == after:
            return before, after, False
        day = _day(day, last)
        people = (after,) if after != before else ()
        new = NewConfirmation(before.code, after.credit_name, day, not undo, who)
        pen.write(Batch(people=people, confirmations=(new,)))
    return before, after, True


def _day(day: date | None, last: Confirmation | None) -> date | None:
    """The day of the answer: not before that of the last one, which would go on to count."""
    from datetime import date

    if last is None or last.confirmed_on <= (day or date.today()):
        return day
    if day is None:
        return last.confirmed_on
    what = f"is before the last answer about this name, of {last.confirmed_on}"
    raise WrongCall(Finding(what, "Write that day or a later one.", None, "--on", str(day)))


def _list_open(folder: Path, as_json: bool) -> None:
    from credits.app import read_credits
    from credits.exchange.confirmations_out import asked

    ledger, compiled = read_credits(folder)
    found = [one for one in asked(compiled, ledger) if one.confirmed_on is None]
    if as_json:
        words = [_open_json(one, ledger.confirmation(one.person)) for one in found]
        printing.say_json({"open": words})
        return
    rows = [
        (one.person, one.name, ", ".join(one.headings), _remark(ledger.confirmation(one.person)))
        for one in found
    ]
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


def write_sheet(folder: Path, out: str | None) -> None:
    """Write the confirmation sheet: a workbook that ``credits load`` takes back."""
    from pathlib import Path

    from credits.app import read_credits
    from credits.exchange.confirmations_out import confirmation_sheet
    from credits.exchange.delivery import check_target
    from credits.files import write_whole

    if out == "-":
        hint = "Name a file, such as confirmations.xlsx."
        raise WrongCall(Finding("a workbook is no text", hint, None, "--out", out))
    ledger, compiled = read_credits(folder)
    target = Path(out or f"{ledger.production.code}-confirmations.xlsx")
    check_target(target, ".xlsx")
    write_whole(target, confirmation_sheet(compiled, ledger))
    printing.say(str(target))
