"""Commands for single entries: log, amend, void."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import date
from typing import Annotated, Any

import typer

from credits.app.effect import doubts, effect
from credits.app.entries import Logged, amend_entry, changed_cells, log_entry, void_entry
from credits.app.named import text_meant
from credits.app.sentences import sentence
from credits.app.targets import KINDS
from credits.cli import printing
from credits.cli.options import JsonOption, ProductionOption
from credits.cli.production import entry_numbers, folder_of, production_codes
from credits.errors import Finding, WrongCall
from credits.model.replay import entry_of, replay

TARGETS = production_codes(*KINDS.values())


def _option(name: str, metavar: str, text: str, *tables: str) -> Any:
    completion = production_codes(*tables) if tables else None
    return typer.Option(*name.split(), metavar=metavar, help=text, autocompletion=completion)


CharacterOption = Annotated[
    str | None, _option("--character", "CODE", "The character.", "characters")
]
PuppetOption = Annotated[str | None, _option("--puppet", "CODE", "The puppet.", "puppets")]
PartOption = Annotated[str | None, _option("--part", "CODE", "The part.", "parts")]
SequenceOption = Annotated[str | None, _option("--sequence", "CODE", "The sequence.", "sequences")]
ShotOption = Annotated[str | None, _option("--shot", "CODE", "The shot.", "shots")]
TakeOption = Annotated[str | None, _option("--take", "N", "The take of the shot.")]
FramesOption = Annotated[str | None, _option("--frames", "FRAMES", "Such as 1-48 or 1-20,25-48.")]
PosesOnOption = Annotated[
    str | None, _option("--poses-on", "N", "Frames each pose is held: 1, 2, 3.")
]
ShareOption = Annotated[
    str | None, _option("--share", "SHARE", "Such as 2 or 1/2; 1 if not given.")
]
BegunOption = Annotated[
    str | None,
    _option("--from --started-on", "DATE", "When it was begun; alone: still being done."),
]
MinutesOption = Annotated[str | None, _option("--minutes", "N", "How long it took.")]
WaitOption = Annotated[
    str | None, _option("--wait --wait-minutes", "N", "Minutes that the stage waited for it.")
]
StageOption = Annotated[str | None, _option("--stage", "CODE", "On which stage.", "stages")]
NoteOption = Annotated[str | None, _option("--note", "TEXT", "A note; Markdown is allowed.")]
ByOption = Annotated[str | None, _option("--by --logged-by", "NAME", "Who logs it.", "people")]
RefOption = Annotated[
    str | None, _option("--ref", "REF", "Your own spreadsheet's key for the entry.")
]

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


def log(
    craft: Annotated[
        str | None,
        typer.Argument(
            metavar="CRAFT",
            help="The craft, such as animation or paint.",
            autocompletion=production_codes("crafts"),
        ),
    ] = None,
    person: Annotated[
        str | None,
        typer.Argument(
            metavar="PERSON", help="Who did it.", autocompletion=production_codes("people")
        ),
    ] = None,
    target: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="TARGET...",
            help="On what: codes of character, puppet, part, sequence, shot (010-020, or 010-020/2"
            " with its take); behind a shot also frames, such as 1-30.",
            autocompletion=TARGETS,
        ),
    ] = None,
    character: CharacterOption = None,
    puppet: PuppetOption = None,
    part: PartOption = None,
    sequence: SequenceOption = None,
    shot: ShotOption = None,
    take: TakeOption = None,
    frames: FramesOption = None,
    poses_on: PosesOnOption = None,
    share: ShareOption = None,
    on: Annotated[
        str | None,
        typer.Option(
            "--on",
            "--finished-on",
            metavar="DATE",
            help="When it was done: 2026-03-02, today, yesterday; '' for undated. Default: today.",
        ),
    ] = None,
    begun: BegunOption = None,
    minutes: MinutesOption = None,
    wait: WaitOption = None,
    stage: StageOption = None,
    note: NoteOption = None,
    private: Annotated[
        bool, typer.Option("--private", help="The note is for the office alone.")
    ] = False,
    by: ByOption = None,
    ref: RefOption = None,
    again: Annotated[
        bool, typer.Option("--again", help="Log it although an entry says the same already.")
    ] = False,
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Log one entry: this person did this craft on this.

    For example: credits log animation ana wick wick-1 010-020 1-30
    """
    given = {
        "character": character, "puppet": puppet, "part": part, "sequence": sequence, "shot": shot,
        "take": take, "frames": frames, "poses_on": poses_on, "share": share, "started_on": begun,
        "finished_on": on, "minutes": minutes, "wait_minutes": wait, "stage": stage, "note": note,
        "private": "yes" if private else None, "logged_by": by, "ref": ref,
    }  # fmt: skip
    cells = {column: text for column, text in given.items() if text is not None}
    if "finished_on" not in cells and "started_on" not in cells:
        cells["finished_on"] = "today"
    may_ask = printing.is_terminal(sys.stdin) and printing.is_terminal(sys.stdout) and not as_json
    words = _ask_entry(craft, person, target or [], bool(cells.keys() & KINDS.keys()), may_ask)
    with _in_words_of_the_command():
        logged = log_entry(folder_of(production), *words, cells, again)
    number = logged.number
    if logged.line is None:
        printing.remark(f"{number} says this already: nothing was written (--again logs it again).")
    if as_json:
        printing.say_json({"entry": str(number)})
    _say_effect(logged, as_json)


def _ask_entry(
    craft: str | None, person: str | None, target: list[str], has_target: bool, may_ask: bool
) -> tuple[str, str, list[str]]:
    """Return the words; what is missing is asked for on a terminal, else refused."""
    missing = [
        word
        for word, is_there in (
            ("CRAFT", craft),
            ("PERSON", person),
            ("TARGET", target or has_target),
        )
        if not is_there
    ]
    if missing and not may_ask:
        what = f"{missing[0]} is missing"
        hint = "Write for example: credits log animation ana wick 010-020 1-30."
        raise WrongCall(Finding(what, hint))
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
        printing.remark(f"{check.severity}: {check.message} {check.hint}")


def _say_followed(logged: Logged) -> None:
    """Say so when the entry was amended already, so that another line is corrected."""
    asked, corrects = logged.asked, logged.corrects
    if corrects is not None and corrects.number != asked:
        printing.remark(
            f"{asked} was amended already; {corrects.number} says it now and is corrected."
        )


def amend(
    number: Annotated[
        str,
        typer.Argument(metavar="ID", help="The entry, such as A-17.", autocompletion=entry_numbers),
    ],
    craft: Annotated[
        str | None,
        typer.Option(
            "--craft", metavar="CODE", help="The craft.", autocompletion=production_codes("crafts")
        ),
    ] = None,
    person: Annotated[
        str | None,
        typer.Option(
            "--person",
            metavar="CODE",
            help="Who did it.",
            autocompletion=production_codes("people"),
        ),
    ] = None,
    character: CharacterOption = None,
    puppet: PuppetOption = None,
    part: PartOption = None,
    sequence: SequenceOption = None,
    shot: ShotOption = None,
    take: TakeOption = None,
    frames: FramesOption = None,
    poses_on: PosesOnOption = None,
    share: ShareOption = None,
    on: Annotated[
        str | None,
        typer.Option(
            "--on", "--finished-on", metavar="DATE", help="When it was done: 2026-03-02, yesterday."
        ),
    ] = None,
    begun: BegunOption = None,
    minutes: MinutesOption = None,
    wait: WaitOption = None,
    stage: StageOption = None,
    note: NoteOption = None,
    private: Annotated[
        bool | None,
        typer.Option("--private/--not-private", help="Whether the note is for the office alone."),
    ] = None,
    by: ByOption = None,
    ref: RefOption = None,
    why: Annotated[
        str | None, typer.Option("--why", metavar="TEXT", help="Why it is corrected.")
    ] = None,
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Correct an entry. Only what is named changes; '' takes a value away.

    For example: credits amend A-17 --frames 1-24 --note ''
    """
    given = {
        "craft": craft, "person": person, "character": character, "puppet": puppet, "part": part,
        "sequence": sequence, "shot": shot, "take": take, "frames": frames, "poses_on": poses_on,
        "share": share, "started_on": begun, "finished_on": on, "minutes": minutes,
        "wait_minutes": wait, "stage": stage, "note": note, "logged_by": by, "ref": ref,
        "private": None if private is None else "yes" if private else "no",
    }  # fmt: skip
    changes = {column: text for column, text in given.items() if text is not None}
    if not changes:
        raise WrongCall(Finding("nothing to change", "Name it: --frames 1-24, --note TEXT."))
    why = text_meant(why or "", "--why")
    with _in_words_of_the_command():
        logged = amend_entry(folder_of(production), number, changes, why)
    _say_followed(logged)
    if logged.line is None:
        printing.remark(f"{logged.number} says this already: nothing was written.")
        if as_json:
            printing.say_json({"entry": str(logged.number)})
        return
    _say_changes(logged, as_json)
    _say_effect(logged, as_json)


def _say_changes(logged: Logged, as_json: bool) -> None:
    """Say of every column that differs what it said, what it says."""
    assert logged.line is not None
    assert logged.line.work is not None
    assert logged.corrects is not None
    assert logged.corrects.work is not None
    changes = changed_cells(logged.corrects.work, logged.line.work)
    if as_json:
        number, corrects = str(logged.number), str(logged.corrects.number)
        differing = {column: list(both) for column, both in changes.items()}
        printing.say_json({"entry": number, "corrects": corrects, "changes": differing})
        return
    for column, (old, new) in changes.items():
        printing.say(f"{column}: {old or 'nothing'} -> {new or 'nothing'}")


def void(
    number: Annotated[
        str,
        typer.Argument(metavar="ID", help="The entry, such as A-17.", autocompletion=entry_numbers),
    ],
    why: Annotated[
        str | None, typer.Option("--why", metavar="TEXT", help="Why it does not count.")
    ] = None,
    by: ByOption = None,
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Void an entry: it was never done. The old line stays readable."""
    reason = (why or _ask_void(as_json)).strip()
    if not reason:
        hint = "Write for example: --why 'logged twice'."
        raise WrongCall(Finding("a void needs a reason", hint, column="--why"))
    reason, by = text_meant(reason, "--why"), text_meant(by or "", "--by")
    logged = void_entry(folder_of(production), number, reason, by)
    _say_followed(logged)
    assert logged.corrects is not None
    corrects = logged.corrects
    if as_json:
        printing.say_json({"entry": str(logged.number), "corrects": str(corrects.number)})
        return
    assert corrects.work is not None
    said = sentence(corrects.work, replay(replace(logged.after, lines=())))
    printing.say(
        f"{logged.number} voids {corrects.number}: {said} -> counts nowhere. Why: {reason}."
    )


def _ask_void(as_json: bool) -> str:
    if as_json or not (printing.is_terminal(sys.stdin) and printing.is_terminal(sys.stdout)):
        return ""
    return str(typer.prompt("Why", err=True))
