"""Commands for single entries: log, amend, void."""

from __future__ import annotations

import inspect
import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace
from datetime import date
from typing import Any

import typer

from credits.app.entries import (
    KINDS,
    Logged,
    amend_entry,
    cells_of,
    doubts,
    effect,
    log_entry,
    sentence,
    void_entry,
)
from credits.app.named import text_meant
from credits.cli import printing
from credits.cli.options import DryRunOption, JsonOption, ProductionOption, Text, argument, option
from credits.cli.production import codes, entry_numbers, folder_of
from credits.errors import Finding, WrongCall
from credits.model.replay import entry_of, replay

TARGETS = codes(*KINDS.values())


def _column(names: str, metavar: str, text: str, *tables: str) -> Any:
    """Make the option of a column of the entries table."""
    return option(None, names, text, metavar, codes(*tables) if tables else None)


WHEN = "When it was done: 2026-03-02, today, yesterday; '' for undated. Default: today."
BEGUN = "When it was begun; alone: still being done."
COLUMNS = {
    "character": _column("--character", "CODE", "The character.", "characters"),
    "puppet": _column("--puppet", "CODE", "The puppet.", "puppets"),
    "part": _column("--part", "CODE", "The part.", "parts"),
    "sequence": _column("--sequence", "CODE", "The sequence.", "sequences"),
    "shot": _column("--shot", "CODE", "The shot.", "shots"),
    "take": _column("--take", "N", "The take of the shot."),
    "frames": _column("--frames", "FRAMES", "Such as 1-48 or 1-20,25-48."),
    "poses_on": _column("--poses-on", "N", "Frames each pose is held: 1, 2, 3."),
    "share": _column("--share", "SHARE", "Such as 2 or 1/2; 1 if not given."),
    "finished_on": _column("--on --finished-on", "DATE", WHEN),
    "started_on": _column("--from --started-on", "DATE", BEGUN),
    "minutes": _column("--minutes", "N", "How long it took."),
    "wait_minutes": _column("--wait --wait-minutes", "N", "Minutes that the stage waited for it."),
    "stage": _column("--stage", "CODE", "On which stage.", "stages"),
    "note": _column("--note", "TEXT", "A note; Markdown is allowed."),
    "private": option(None, "--private", "The note is for the office alone."),
    "logged_by": _column("--by --logged-by", "NAME", "Who logs it.", "people"),
    "ref": _column("--ref", "REF", "Your own spreadsheet's key for the entry."),
}


CORRECTION = "entry=number corrects=holds.number"


def _with_columns(behind: str, **own: Any) -> Callable[[Callable[..., None]], Callable[..., None]]:
    """Give a command the options of the columns as ``columns``, behind one of its parameters.

    own: options that are this command's own, by column.
    """

    def with_columns(command: Callable[..., None]) -> Callable[..., None]:
        signature = inspect.signature(command, eval_str=True)
        parameters = [each for each in signature.parameters.values() if each.name != "columns"]
        place = 1 + [each.name for each in parameters].index(behind)
        parameters[place:place] = (
            inspect.Parameter(
                column,
                inspect.Parameter.POSITIONAL_OR_KEYWORD,
                default=its_option,
                annotation=bool | None if column == "private" else Text,
            )
            for column, its_option in {**COLUMNS, **own}.items()
        )
        vars(command)["__signature__"] = signature.replace(parameters=parameters)
        return command

    return with_columns


@contextmanager
def _in_words_of_the_command() -> Iterator[None]:
    """Name the options in what is wrong, where columns are named."""
    try:
        yield
    except WrongCall as error:
        raise WrongCall(*map(_by_option, error.findings)) from None


def _by_option(finding: Finding) -> Finding:
    if finding.column not in COLUMNS:
        return finding
    return replace(finding, column=COLUMNS[finding.column].param_decls[0])


def _cells(given: Mapping[str, Any]) -> dict[str, str]:
    """Return what a command was given of the columns, as a row has them."""
    texts = {True: "yes", False: "no"}
    return {name: texts.get(cell, cell) for name, cell in given.items() if cell is not None}


@_with_columns(behind="target")
def log(
    craft: Text = argument(
        None, "CRAFT", "The craft, such as animation or paint.", codes("crafts")
    ),
    person: Text = argument(None, "PERSON", "Who did it.", codes("people")),
    target: list[str] | None = argument(
        None,
        "TARGET...",
        "On what: codes of character, puppet, part, sequence, shot (010-020, or 010-020/2"
        " with its take); behind a shot also frames, such as 1-30.",
        TARGETS,
    ),
    again: bool = option(False, "--again", "Log it although an entry says the same already."),
    dry_run: DryRunOption = False,
    production: ProductionOption = None,
    as_json: JsonOption = False,
    **columns: Any,
) -> None:
    """Log one entry: this person did this craft on this.

    For example: credits log animation ana wick wick-1 010-020 1-30
    """
    cells = _cells(columns)
    if "finished_on" not in cells and "started_on" not in cells:
        cells["finished_on"] = "today"
    words = _ask_entry(
        craft, person, target or [], bool(cells.keys() & KINDS.keys()), _may_ask(as_json)
    )
    with _in_words_of_the_command():
        logged = log_entry(folder_of(production), *words, cells, again, write=not dry_run)
    if logged.line is None:
        already = f"{logged.number} says this already: nothing was written"
        printing.warn(f"{already} (--again logs it again).")
    printing.answer(as_json, {"entry": str(logged.number), **_would_write(logged, dry_run)})
    _say_effect(logged, as_json)
    printing.say_dry_run(dry_run)


def _would_write(logged: Logged, dry_run: bool) -> dict[str, Any]:
    """Return what the JSON of a dry run has beside: that nothing is written, and what would be."""
    if not dry_run:
        return {}
    work = logged.line and logged.line.work
    return {"written": False, "says": cells_of(work) if work else None}


def _may_ask(as_json: bool) -> bool:
    terminals = printing.is_terminal(sys.stdin) and printing.is_terminal(sys.stdout)
    return terminals and not as_json


def _ask_entry(
    craft: Text, person: Text, target: list[str], has_target: bool, may_ask: bool
) -> tuple[str, str, list[str]]:
    """Return the words; what is missing is asked for on a terminal, else refused."""
    there = {"CRAFT": craft, "PERSON": person, "TARGET": target or has_target}
    missing = [word for word, is_there in there.items() if not is_there]
    if missing and not may_ask:
        hint = "Write for example: credits log animation ana wick 010-020 1-30."
        raise WrongCall(Finding(f"{missing[0]} is missing", hint))
    craft = craft or typer.prompt("Craft", err=True)
    person = person or typer.prompt("Person", err=True)
    if "TARGET" in missing:
        target = str(typer.prompt("On what (character, puppet, shot, frames)", err=True)).split()
    return craft or "", person or "", target


def _say_effect(logged: Logged, as_json: bool) -> None:
    """Say back what was logged, what it changes, and at once what cannot be right."""
    line, after = logged.line, logged.after
    entry = entry_of(after, logged.number) if line is not None else None
    if entry is None or line is None:
        return
    if not as_json:
        amends = f" (amends {line.corrects})" if line.corrects else ""
        said = sentence(entry.work, replay(replace(after, lines=())), date.today())
        printing.say(f"{logged.number}{amends}: {said}. {effect(after, entry)}".rstrip())
    for check in doubts(after, entry):
        printing.warn(f"{check.severity}: {check.message} {check.hint}")


def _say_followed(logged: Logged) -> None:
    """Say so when the entry was amended already, so that another line is corrected."""
    now = logged.holds and logged.holds.number
    if now != logged.asked:
        printing.warn(f"{logged.asked} was amended already; {now} says it now and is corrected.")


@_with_columns(
    behind="person",
    finished_on=_column("--on --finished-on", "DATE", "When it was done: 2026-03-02, yesterday."),
    private=option(None, "--private/--not-private", "Whether the note is for the office alone."),
)
def amend(
    number: str = argument(..., "ID", "The entry, such as A-17.", entry_numbers),
    craft: Text = option(None, "--craft", "The craft.", "CODE", codes("crafts")),
    person: Text = option(None, "--person", "Who did it.", "CODE", codes("people")),
    why: Text = option(None, "--why", "Why it is corrected.", "TEXT"),
    dry_run: DryRunOption = False,
    production: ProductionOption = None,
    as_json: JsonOption = False,
    **columns: Any,
) -> None:
    """Correct an entry. Only what is named changes; '' takes a value away.

    For example: credits amend A-17 --frames 1-24 --note ''
    """
    changes = _cells({"craft": craft, "person": person, **columns})
    if not changes:
        raise WrongCall(Finding("nothing to change", "Name it: --frames 1-24, --note TEXT."))
    why = text_meant(why or "", "--why")
    with _in_words_of_the_command():
        logged = amend_entry(folder_of(production), number, changes, why, write=not dry_run)
    _say_followed(logged)
    if logged.line is None:
        printing.warn(f"{logged.number} says this already: nothing was written.")
        printing.answer(as_json, {"entry": str(logged.number)})
        return
    lines = [
        f"{of}: {old or 'nothing'} -> {new or 'nothing'}"
        for of, (old, new) in logged.changes.items()
    ]
    shape = {**printing.fields_json(logged, CORRECTION), "changes": logged.changes}
    printing.answer(as_json, {**shape, **_would_write(logged, dry_run)}, *lines)
    _say_effect(logged, as_json)
    printing.say_dry_run(dry_run)


def void(
    number: str = argument(..., "ID", "The entry, such as A-17.", entry_numbers),
    why: Text = option(None, "--why", "Why it does not count.", "TEXT"),
    by: Text = COLUMNS["logged_by"],
    dry_run: DryRunOption = False,
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Void an entry: it was never done. The old line stays readable."""
    if not why and _may_ask(as_json):
        why = typer.prompt("Why", err=True)
    reason = (why or "").strip()
    if not reason:
        hint = "Write for example: --why 'logged twice'."
        raise WrongCall(Finding("a void needs a reason", hint, column="--why"))
    reason, by = text_meant(reason, "--why"), text_meant(by or "", "--by")
    logged = void_entry(folder_of(production), number, reason, by, write=not dry_run)
    _say_followed(logged)
    if as_json:
        shape = printing.fields_json(logged, CORRECTION)
        printing.say_json({**shape, **_would_write(logged, dry_run)})
    elif logged.holds and logged.holds.work:
        said = sentence(logged.holds.work, replay(replace(logged.after, lines=())))
        voids = f"{logged.number} voids {logged.holds.number}: {said} -> counts nowhere."
        printing.say(f"{voids} Why: {reason}.")
    printing.say_dry_run(dry_run)
