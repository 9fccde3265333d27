"""``credits amend``: an entry corrected; the old line stays readable."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Annotated

import typer

from credits.cli import entry_options as o
from credits.cli import printing
from credits.cli.completion import entry_numbers, production_codes
from credits.cli.options import JsonOption, ProductionOption, folder_of
from credits.errors import Finding, WrongCall

if TYPE_CHECKING:
    from credits.model.batch import NewLine
    from credits.model.written import Written, WrittenLog


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
    character: o.Character = None,
    puppet: o.Puppet = None,
    part: o.Part = None,
    sequence: o.Sequence = None,
    shot: o.Shot = None,
    take: o.Take = None,
    frames: o.Frames = None,
    poses_on: o.PosesOn = None,
    share: o.Share = None,
    on: Annotated[
        str | None,
        typer.Option(
            "--on", "--finished-on", metavar="DATE", help="When it was done: 2026-03-02, yesterday."
        ),
    ] = None,
    begun: o.Begun = None,
    minutes: o.Minutes = None,
    wait: o.Wait = None,
    stage: o.Stage = None,
    note: o.Note = None,
    private: Annotated[
        bool | None,
        typer.Option("--private/--not-private", help="Whether the note is for the office alone."),
    ] = None,
    by: o.By = None,
    ref: o.Ref = None,
    why: Annotated[
        str | None, typer.Option("--why", metavar="TEXT", help="Why it is corrected.")
    ] = None,
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Correct an entry. Only what is named changes; '' takes a value away.

    For example: credits amend A-17 --frames 1-24 --note ''
    """
    from credits.cli.corrections import entry_meant, say_followed
    from credits.cli.log import confirm, with_line
    from credits.model.batch import Batch
    from credits.store import open_log

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
    with open_log(folder_of(production)) as log, log.writing() as pen:
        written = pen.read()
        meant = entry_meant(number, written, log.origin)
        line = _amendment(meant.holds, changes, why, written)
        receipt = None if line is None else pen.write(Batch(lines=(line,)))
    say_followed(meant)
    if line is None or receipt is None:
        printing.remark(f"{meant.holds.number} says this already: nothing was written.")
        if as_json:
            printing.say_json({"entry": str(meant.holds.number)})
        return
    number_now = receipt.numbers[0]
    _say_changes(meant.holds, line, str(number_now), as_json)
    confirm(with_line(written, number_now, line), number_now, line, as_json)


def _say_changes(holds: Written, line: NewLine, number: str, as_json: bool) -> None:
    """Every column that differs: what it said, what it says."""
    from credits.cli.entry_in import cells_of

    assert holds.work is not None
    assert line.work is not None
    old, new = cells_of(holds.work), cells_of(line.work)
    columns = [c for c in dict.fromkeys((*old, *new)) if old.get(c) != new.get(c)]
    if as_json:
        differing = {c: [old.get(c), new.get(c)] for c in columns}
        corrects = str(holds.number)
        printing.say_json({"entry": number, "corrects": corrects, "changes": differing})
        return
    for column in columns:
        printing.say(f"{column}: {old.get(column, 'nothing')} -> {new.get(column, 'nothing')}")


def _amendment(
    holds: Written, changes: Mapping[str, str], why: str | None, written: WrittenLog
) -> NewLine | None:
    """The line that amends; None when it would say what the entry says already."""
    from credits.cli.corrections import text_meant
    from credits.cli.entry_in import cells_of, planned_line, with_days
    from credits.model.written import Verb

    assert holds.work is not None
    cells = {**cells_of(holds.work), **with_days(changes)}
    line = planned_line(cells, replace(written, lines=()))
    assert line is not None
    ref = changes.get("ref", "").strip() or None
    if line.work == holds.work and ref in (None, holds.ref):
        return None
    return replace(
        line,
        verb=Verb.AMEND,
        corrects=holds.number,
        why=text_meant(why or "", "--why") or None,
        ref=ref,
    )
