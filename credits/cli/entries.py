"""Commands for single entries: log, amend, void."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace
from datetime import date
from typing import Any

import typer

from credits.app.work.entries import (
    Logged,
    amend_entries,
    cells_of,
    cells_said,
    dated,
    doubts,
    effect,
    log_entries,
    sentence,
    takes_of,
    void_entries,
)
from credits.app.work.line import TARGETS, LineReader, split_words
from credits.app.work.named import fact_named, text_meant
from credits.app.work.opened import EntryLog
from credits.app.work.rows import read_row
from credits.cli.options import DryRunOption, JsonOption, ProductionOption, Text, argument, option
from credits.cli.production import codes, entry_numbers, folder_of
from credits.cli.terminal import printing
from credits.cli.terminal.asking import ask, leaving, may_ask, needed
from credits.errors import Finding, WrongCall
from credits.model.log import WrittenLog
from credits.store.log import open_log

_THINGS = codes(*TARGETS.values())


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
        _THINGS,
    ),
    like: Text = option(
        None,
        "--like",
        "What is not said is as in this entry, A-17 or last.",
        "ID",
        entry_numbers,
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
    words = [word for word in (craft, person, *(target or ())) if word is not None]
    cells = _cells(columns)
    folder = folder_of(production)

    def said(written: WrittenLog, origin: str) -> dict[str, str]:
        found = cells_said(words, cells, like, written, origin)
        return found if like is not None else dated(found)

    with _in_words_of_the_command():
        if like is None and may_ask(as_json):
            with open_log(folder) as opened:
                written, origin = EntryLog(opened).now().written, opened.origin
            asked = _asked(cells_said(words, cells, like, written, origin), written)
            logged = log_entries(folder, lambda *_: asked, again, write=not dry_run)
        else:
            logged = log_entries(folder, said, again, write=not dry_run)
    for each in logged:
        if each.line is None:
            already = f"{each.number} says this already: nothing was written"
            printing.warn(f"{already} (--again logs it again).")
    if as_json:
        shapes = [{"entry": str(each.number), **_would_write(each, dry_run)} for each in logged]
        printing.say_json(_alone(shapes))
    for each in logged:
        say_effect(each, as_json)
    printing.say_dry_run(dry_run)


def _would_write(logged: Logged, dry_run: bool) -> dict[str, Any]:
    """Return what the JSON of a dry run has beside: that nothing is written, and what would be."""
    if not dry_run:
        return {}
    work = logged.line and logged.line.work
    return {"written": False, "says": cells_of(work) if work else None}


def _asked(said: Mapping[str, str], written: WrittenLog) -> dict[str, str]:
    """Ask for everything that an entry may have and that is not said; return all its cells."""
    cells = dict(said)
    today = date.today()

    def ask_for(column: str, question: str, default: str = "", hint: str = "") -> None:
        def read(text: str) -> str:
            row = read_row({**cells, column: text}, written, today)
            if wrong := [finding for finding in row.findings if finding.column == column]:
                raise WrongCall(*wrong)
            return row.cells.get(column, "")

        if not cells.get(column):
            needs = column == "craft"
            cells[column] = ask(question, needed(read) if needs else read, default, hint)

    reader = LineReader(written, today)
    with leaving():
        ask_for("craft", "Craft")
        if not cells.get("person"):
            people = ask("Person", needed(reader.people), hint="ana, or ana+ben")
            cells["person"] = people
        while not any(cells.get(column) for column in TARGETS):
            hint = "character, puppet, shot, frames"
            cells |= ask("On what", needed(lambda text: reader.read(split_words(text))), hint=hint)
        craft = fact_named("crafts", cells["craft"], written.crafts)
        if craft.footage:
            ask_for("shot", "Shot", hint="Enter: none")
        takes = takes_of(cells.get("shot", ""), written)
        if len(takes) > 1:
            ask_for("take", "Take", default=takes[-1], hint=f"there are {', '.join(takes)}")
        if craft.footage and cells.get("shot"):
            ask_for("frames", "Frames", hint="1-30; Enter: not known yet")
        if not {"finished_on", "started_on"} & cells.keys():
            ask_for("finished_on", "Day", default="today")
        ask_for("minutes", "How long", hint="8h, 8:30, 90 min; Enter: not known")
    return cells


def _alone(shapes: list[dict[str, Any]]) -> dict[str, Any]:
    """Return one shape as it is, several as the list ``entries``."""
    return shapes[0] if len(shapes) == 1 else {"entries": shapes}


def say_effect(logged: Logged, as_json: bool) -> None:
    """Say back what was logged, what it changes, and at once what cannot be right."""
    line, entry = logged.line, logged.entry
    if entry is None or line is None:
        return
    if not as_json:
        amends = f" (amends {line.corrects})" if line.corrects else ""
        said = sentence(entry.work, logged.ledger, date.today())
        changes = effect(logged.in_brief, entry)
        printing.say_wrapped(f"{logged.number}{amends}: {said}. {changes}".rstrip())
    for check in doubts(logged.ledger, entry):
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
    numbers: list[str] = argument(
        ..., "ID...", "The entry, such as A-17, or last; or several.", entry_numbers
    ),
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
        amended = amend_entries(folder_of(production), numbers, changes, why, write=not dry_run)
    for each in amended:
        say_amended(each, as_json)
    if as_json:
        shapes = [{**_amended_json(each), **_would_write(each, dry_run)} for each in amended]
        printing.say_json(_alone(shapes))
    printing.say_dry_run(dry_run)


def say_amended(logged: Logged, as_json: bool = False) -> None:
    """Say what an amendment changes, old and new, and what the entry is now."""
    _say_followed(logged)
    if logged.line is None:
        printing.warn(f"{logged.number} says this already: nothing was written.")
        return
    for column, (old, new) in logged.changes.items():
        if not as_json:
            printing.say(f"{column}: {old or 'nothing'} -> {new or 'nothing'}")
    say_effect(logged, as_json)


def _amended_json(logged: Logged) -> dict[str, Any]:
    if logged.line is None:
        return {"entry": str(logged.number)}
    return {**printing.fields_json(logged, CORRECTION), "changes": logged.changes}


def void(
    numbers: list[str] = argument(
        ..., "ID...", "The entry, such as A-17, or last; or several.", entry_numbers
    ),
    why: Text = option(None, "--why", "Why it does not count.", "TEXT"),
    by: Text = COLUMNS["logged_by"],
    dry_run: DryRunOption = False,
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Void an entry: it was never done. The old line stays readable."""
    if not why and may_ask(as_json):
        why = typer.prompt("Why", err=True)
    reason = (why or "").strip()
    if not reason:
        hint = "Write for example: --why 'logged twice'."
        raise WrongCall(Finding("a void needs a reason", hint, column="--why"))
    reason, by = text_meant(reason, "--why"), text_meant(by or "", "--by")
    voided = void_entries(folder_of(production), numbers, reason, by, write=not dry_run)
    for each in voided:
        say_voided(each, as_json)
    if as_json:
        shapes = [
            {**printing.fields_json(each, CORRECTION), **_would_write(each, dry_run)}
            for each in voided
        ]
        printing.say_json(_alone(shapes))
    printing.say_dry_run(dry_run)


def say_voided(logged: Logged, as_json: bool = False) -> None:
    """Say what counts no more, and why."""
    _say_followed(logged)
    if not as_json and logged.holds and logged.holds.work and logged.line:
        said = sentence(logged.holds.work, logged.ledger)
        voids = f"{logged.number} voids {logged.holds.number}: {said} -> counts nowhere."
        printing.say_wrapped(f"{voids} Why: {logged.line.why}.")
