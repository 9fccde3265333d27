"""The command that puts a row of a list right: correct."""

from __future__ import annotations

from collections.abc import Iterator

import typer

from credits.app.lists.correct import RowHistory, correct_list, history_of_list, list_named
from credits.app.work.named import text_meant
from credits.cli.options import DryRunOption, JsonOption, ProductionOption, Text, argument, option
from credits.cli.production import codes, completion, fixed_words, folder_of
from credits.cli.terminal import printing
from credits.errors import Finding, WrongCall
from credits.formats.tables.columns import TABLES
from credits.model.log import REFERENCE_TABLES

list_names = fixed_words(*((name, f"a row is a {TABLES[name].one}") for name in REFERENCE_TABLES))


@completion
def row_words(ctx: typer.Context) -> Iterator[tuple[str, str]]:
    """Find the columns of the list that stands before."""
    table = list_named(str(ctx.params.get("list_name")))
    return ((f"{column.name}=", "") for column in table.columns)


def correct(
    list_name: str = argument(..., "LIST", "people, engagements, fittings, parts, ...", list_names),
    words: list[str] = argument(
        ...,
        "KEY... [COLUMN=VALUE...]",
        "Which row: its code, or for an engagement the person and as much of department, job"
        " title and start as makes it one; then what it is to say. COLUMN= empties a column.",
        row_words,
    ),
    void: bool = option(False, "--void", "The row was a mistake: void it."),
    why: Text = option(None, "--why", "Why; the history keeps it.", "TEXT"),
    by: Text = option(None, "--by", "Who corrects it.", "NAME", codes("people")),
    history: bool = option(
        False, "--history", "Only show how the rows of a code changed, and why they were corrected."
    ),
    dry_run: DryRunOption = False,
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Correct a row of a list, or void it, with a reason.

    For example: credits correct engagements ana Animation job_title=Animator --why "Misspelled."
    """
    if history:
        _say_history(history_of_list(folder_of(production), list_name, words), as_json)
        return
    reason, who = text_meant((why or "").strip(), "--why"), text_meant((by or "").strip(), "--by")
    if not reason:
        hint = 'Write for example: --why "Misspelled."'
        raise WrongCall(Finding("a correction needs a reason", hint, column="--why"))
    done = correct_list(
        folder_of(production),
        list_name,
        words,
        reason,
        void=void,
        by=who or None,
        write=not dry_run,
    )
    is_written = bool(done.changes) and not dry_run
    if as_json:
        shape = {"list": done.table, "row": done.row, "now": done.now, "changes": done.changes}
        printing.say_json({**shape, "written": is_written})
        return
    if not done.changes:
        printing.warn(f"{done.table}: {done.row} says this already: nothing was written.")
        return
    if done.now is None:
        printing.say(f"{done.table}: {done.row} is void. Why: {reason}")
    else:
        renamed = f" -> {done.now}" if done.now != done.row else ""
        printing.say(f"{done.table}: {done.row}{renamed}")
        for column, (old, new) in done.changes.items():
            printing.say(f"  {column}: {old or 'nothing'} -> {new or 'nothing'}")
    printing.say_dry_run(dry_run)


def _say_history(found: RowHistory, as_json: bool) -> None:
    if as_json:
        fields = "row now=instead why corrected_by written_at"
        printing.say_json(
            {
                "list": found.table,
                "changes": [
                    {**printing.fields_json(each, "key verb changed_at"), "columns": each.columns}
                    for each in found.changes
                ],
                "corrections": [printing.fields_json(each, fields) for each in found.corrections],
            }
        )
        return
    for each in found.changes:
        said = (f"{c}: {_value(old)} -> {_value(new)}" for c, (old, new) in each.columns.items())
        verb = {"insert": "added", "update": "changed", "delete": "voided"}[each.verb]
        printing.say(f"{each.changed_at:%Y-%m-%d %H:%M} UTC: {verb}: {'; '.join(said)}")
    for correction in found.corrections:
        by = f" ({correction.corrected_by})" if correction.corrected_by else ""
        now = f"-> {correction.instead}" if correction.instead else "is void"
        printing.say(f"{correction.row} {now}. Why: {correction.why}{by}")


def _value(value: object) -> str:
    return "nothing" if value is None else str(value)
