"""Commands for single entries: log, amend, void."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace
from datetime import date
from typing import Annotated, Any

import typer

from credits.app.entries import (
    Logged,
    amend_entries,
    cells_said,
    dated,
    doubts,
    effect,
    log_entries,
    sentence,
    takes_of,
    void_entries,
)
from credits.app.line import TARGETS, LineReader, split_words
from credits.app.named import fact_named, text_meant
from credits.app.rows import read_row
from credits.cli import printing
from credits.cli.asking import ask, leaving, may_ask, needed
from credits.cli.options import JsonOption, ProductionOption, Text, argument, option
from credits.cli.production import codes, entry_numbers, folder_of
from credits.errors import Finding, WrongCall
from credits.formats.tables.columns import TABLES
from credits.model.log import WrittenLog
from credits.model.replay import entry_of, replay
from credits.store.log import open_log

_THINGS = codes(*TARGETS.values())


def _column(names: str, metavar: str, text: str, *tables: str) -> Any:
    """Make the option of a column of the entries table."""
    return option(..., names, text, metavar, codes(*tables) if tables else None)


Character = Annotated[Text, _column("--character", "CODE", "The character.", "characters")]
Puppet = Annotated[Text, _column("--puppet", "CODE", "The puppet.", "puppets")]
Part = Annotated[Text, _column("--part", "CODE", "The part.", "parts")]
Sequence = Annotated[Text, _column("--sequence", "CODE", "The sequence.", "sequences")]
Shot = Annotated[Text, _column("--shot", "CODE", "The shot.", "shots")]
Take = Annotated[Text, _column("--take", "N", "The take of the shot.")]
Frames = Annotated[Text, _column("--frames", "FRAMES", "Such as 1-48 or 1-20,25-48.")]
PosesOn = Annotated[Text, _column("--poses-on", "N", "Frames each pose is held: 1, 2, 3.")]
Share = Annotated[Text, _column("--share", "SHARE", "Such as 2 or 1/2; 1 if not given.")]
BEGUN = "When it was begun; alone: still being done."
Begun = Annotated[Text, _column("--from --started-on", "DATE", BEGUN)]
Minutes = Annotated[Text, _column("--minutes", "N", "How long it took.")]
WAIT = "Minutes that the stage waited for it."
Wait = Annotated[Text, _column("--wait --wait-minutes", "N", WAIT)]
Stage = Annotated[Text, _column("--stage", "CODE", "On which stage.", "stages")]
Note = Annotated[Text, _column("--note", "TEXT", "A note; Markdown is allowed.")]
By = Annotated[Text, _column("--by --logged-by", "NAME", "Who logs it.", "people")]
Ref = Annotated[Text, _column("--ref", "REF", "Your own spreadsheet's key for the entry.")]

# How the columns of the entries table are called here, where not by an option of their own name.
WORD_FOR = {
    "craft": "craft",
    "person": "person",
    "started_on": "--from",
    "finished_on": "--on",
    "wait_minutes": "--wait",
    "logged_by": "--by",
}


@contextmanager
def _in_words_of_the_command() -> Iterator[None]:
    """Name the options in what is wrong, where columns are named."""
    try:
        yield
    except WrongCall as error:
        raise WrongCall(*map(_by_option, error.findings)) from None


def _by_option(finding: Finding) -> Finding:
    column = finding.column
    if column is None or column.startswith("-"):
        return finding
    return replace(finding, column=WORD_FOR.get(column, f"--{column.replace('_', '-')}"))


def _cells(given: Mapping[str, Any], leave_out: Collection[str] = ()) -> dict[str, str]:
    """Return the columns of the entries table that a command was given, as a row has them."""
    texts = {True: "yes", False: "no"}
    return {
        column: texts.get(given[column], given[column])
        for column in TABLES["entries"].column_names
        if given.get(column) is not None and column not in leave_out
    }


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
    character: Character = None,
    puppet: Puppet = None,
    part: Part = None,
    sequence: Sequence = None,
    shot: Shot = None,
    take: Take = None,
    frames: Frames = None,
    poses_on: PosesOn = None,
    share: Share = None,
    finished_on: Text = option(
        None,
        "--on --finished-on",
        "When it was done: 2026-03-02, today, yesterday; '' for undated. Default: today.",
        "DATE",
    ),
    started_on: Begun = None,
    minutes: Minutes = None,
    wait_minutes: Wait = None,
    stage: Stage = None,
    note: Note = None,
    private: bool | None = option(None, "--private", "The note is for the office alone."),
    logged_by: By = None,
    ref: Ref = None,
    like: Text = option(
        None,
        "--like",
        "What is not said is as in this entry, A-17 or last.",
        "ID",
        entry_numbers,
    ),
    again: bool = option(False, "--again", "Log it although an entry says the same already."),
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Log one entry: this person did this craft on this.

    For example: credits log animation ana wick wick-1 010-020 1-30
    """
    words = [word for word in (craft, person, *(target or ())) if word is not None]
    cells = _cells(locals(), leave_out=("craft", "person"))
    folder = folder_of(production)

    def said(written: WrittenLog, origin: str) -> dict[str, str]:
        found = cells_said(words, cells, like, written, origin)
        return found if like is not None else dated(found)

    with _in_words_of_the_command():
        if like is None and may_ask(as_json):
            with open_log(folder) as opened:
                written, origin = opened.read(), opened.origin
            asked = _asked(cells_said(words, cells, like, written, origin), written)
            logged = log_entries(folder, lambda *_: asked, again)
        else:
            logged = log_entries(folder, said, again)
    for each in logged:
        if each.line is None:
            already = f"{each.number} says this already: nothing was written"
            printing.remark(f"{already} (--again logs it again).")
    if as_json:
        printing.say_json(_alone([{"entry": str(each.number)} for each in logged]))
    for each in logged:
        say_effect(each, as_json)


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
    line, after = logged.line, logged.after
    entry = entry_of(after, logged.number) if line is not None else None
    if entry is None or line is None:
        return
    if not as_json:
        amends = f" (amends {line.corrects})" if line.corrects else ""
        said = sentence(entry.work, replay(replace(after, lines=())), date.today())
        printing.say(f"{logged.number}{amends}: {said}. {effect(after, entry)}".rstrip())
    for check in doubts(after, entry):
        printing.remark(f"{check.severity}: {check.message} {check.hint}")


def _say_followed(logged: Logged) -> None:
    """Say so when the entry was amended already, so that another line is corrected."""
    now = logged.holds and logged.holds.number
    if now != logged.asked:
        printing.remark(f"{logged.asked} was amended already; {now} says it now and is corrected.")


def amend(
    numbers: list[str] = argument(
        ..., "ID...", "The entry, such as A-17, or last; or several.", entry_numbers
    ),
    craft: Text = option(None, "--craft", "The craft.", "CODE", codes("crafts")),
    person: Text = option(None, "--person", "Who did it.", "CODE", codes("people")),
    character: Character = None,
    puppet: Puppet = None,
    part: Part = None,
    sequence: Sequence = None,
    shot: Shot = None,
    take: Take = None,
    frames: Frames = None,
    poses_on: PosesOn = None,
    share: Share = None,
    finished_on: Text = option(
        None, "--on --finished-on", "When it was done: 2026-03-02, yesterday.", "DATE"
    ),
    started_on: Begun = None,
    minutes: Minutes = None,
    wait_minutes: Wait = None,
    stage: Stage = None,
    note: Note = None,
    private: bool | None = option(
        None, "--private/--not-private", "Whether the note is for the office alone."
    ),
    logged_by: By = None,
    ref: Ref = None,
    why: Text = option(None, "--why", "Why it is corrected.", "TEXT"),
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Correct an entry. Only what is named changes; '' takes a value away.

    For example: credits amend A-17 --frames 1-24 --note ''
    """
    changes = _cells(locals())
    if not changes:
        raise WrongCall(Finding("nothing to change", "Name it: --frames 1-24, --note TEXT."))
    why = text_meant(why or "", "--why")
    with _in_words_of_the_command():
        amended = amend_entries(folder_of(production), numbers, changes, why)
    for each in amended:
        say_amended(each, as_json)
    if as_json:
        printing.say_json(_alone([_amended_json(each) for each in amended]))


def say_amended(logged: Logged, as_json: bool = False) -> None:
    """Say what an amendment changes, old and new, and what the entry is now."""
    _say_followed(logged)
    if logged.line is None:
        printing.remark(f"{logged.number} says this already: nothing was written.")
        return
    for column, (old, new) in logged.changes.items():
        if not as_json:
            printing.say(f"{column}: {old or 'nothing'} -> {new or 'nothing'}")
    say_effect(logged, as_json)


def _amended_json(logged: Logged) -> dict[str, Any]:
    if logged.line is None:
        return {"entry": str(logged.number)}
    return {**_numbers(logged), "changes": logged.changes}


def void(
    numbers: list[str] = argument(
        ..., "ID...", "The entry, such as A-17, or last; or several.", entry_numbers
    ),
    why: Text = option(None, "--why", "Why it does not count.", "TEXT"),
    by: By = None,
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
    voided = void_entries(folder_of(production), numbers, reason, by)
    for each in voided:
        say_voided(each, as_json)
    if as_json:
        printing.say_json(_alone([_numbers(each) for each in voided]))


def say_voided(logged: Logged, as_json: bool = False) -> None:
    """Say what counts no more, and why."""
    _say_followed(logged)
    if not as_json and logged.holds and logged.holds.work and logged.line:
        said = sentence(logged.holds.work, replay(replace(logged.after, lines=())))
        voids = f"{logged.number} voids {logged.holds.number}: {said} -> counts nowhere."
        printing.say(f"{voids} Why: {logged.line.why}.")


def _numbers(logged: Logged) -> dict[str, object]:
    corrects = logged.holds and logged.holds.number
    return {"entry": str(logged.number), "corrects": str(corrects)}
