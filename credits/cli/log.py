"""``credits log``: one entry, said back with what it changes and what cannot be right about it."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Annotated

import typer

from credits.cli import entry_options as o
from credits.cli import printing
from credits.cli.completion import production_codes
from credits.cli.options import JsonOption, ProductionOption, folder_of
from credits.errors import Finding, WrongCall

if TYPE_CHECKING:
    from credits.model.batch import NewLine
    from credits.model.facts import EntryNumber
    from credits.model.written import WrittenLog
    from credits.store import Pen

TARGETS = production_codes("characters", "puppets", "parts", "sequences", "shots")


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
            "--on",
            "--finished-on",
            metavar="DATE",
            help="When it was done: 2026-03-02, today, yesterday; '' for undated. Default: today.",
        ),
    ] = None,
    begun: o.Begun = None,
    minutes: o.Minutes = None,
    wait: o.Wait = None,
    stage: o.Stage = None,
    note: o.Note = None,
    private: Annotated[
        bool, typer.Option("--private", help="The note is for the office alone.")
    ] = False,
    by: o.By = None,
    ref: o.Ref = None,
    again: Annotated[
        bool, typer.Option("--again", help="Log it although an entry says the same already.")
    ] = False,
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Log one entry: this person did this craft on this.

    For example: credits log animation ana wick wick-1 010-020 1-30
    """
    from credits.store import open_log

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
    words = _asked(craft, person, target or [], bool(cells.keys() & o.TARGET_COLUMNS), may_ask)
    with open_log(folder_of(production)) as the_log, the_log.writing() as pen:
        before = pen.read()
        cells = _all_cells(words, cells, before)
        line = _line(cells, before, again)
        if line is None:
            after, number, new = before, _said_by(cells, before), False
        else:
            number, new = _write(pen, line), True
            after = with_line(before, number, line)
    if not new:
        printing.remark(f"{number} says this already: nothing was written (--again logs it again).")
    if as_json:
        printing.say_json({"entry": str(number)})
    if new:
        confirm(after, number, line, as_json)


def _asked(
    craft: str | None, person: str | None, target: list[str], has_target: bool, may_ask: bool
) -> tuple[str, str, list[str]]:
    """CRAFT, PERSON and TARGET words; what is missing is asked for on a terminal, else refused."""
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


def _all_cells(
    words: tuple[str, str, list[str]], cells: Mapping[str, str], written: WrittenLog
) -> dict[str, str]:
    from credits.cli.entry_in import with_days
    from credits.cli.targets import craft_and_person, read_targets

    craft, person, target = words
    named = craft_and_person(craft, person, written)
    named |= read_targets(target, written, [c for c, text in cells.items() if text])
    return {**named, **with_days(cells)}


def _line(cells: Mapping[str, str], written: WrittenLog, again: bool) -> NewLine | None:
    """The line to append; None when the log says the same already."""
    from credits.cli.effect import around
    from credits.cli.entry_in import planned_line

    ref = cells.get("ref", "").strip()
    if ref:
        return planned_line(cells, around(written, lambda line: line.ref == ref))
    line = planned_line(cells, replace(written, lines=()))
    assert line is not None
    return line if again or _number_saying(line, written) is None else None


def _number_saying(line: NewLine, written: WrittenLog) -> EntryNumber | None:
    from credits.cli.effect import around
    from credits.model.replay import current_lines

    near = around(written, lambda other: other.work == line.work)
    same = (holds.number for _, holds in current_lines(near.lines)[0] if holds.work == line.work)
    return next(same, None)


def _said_by(cells: Mapping[str, str], written: WrittenLog) -> EntryNumber:
    """The entry that says what these cells say. Raises WrongCall when it was voided."""
    from credits.cli.effect import around
    from credits.cli.entry_in import planned_line
    from credits.model.replay import current_lines

    ref = cells.get("ref", "").strip()
    if not ref:
        line = planned_line(cells, replace(written, lines=()))
        found = _number_saying(line, written) if line is not None else None
    else:
        holding = current_lines(around(written, lambda line: line.ref == ref).lines)[0]
        found = next((holds.number for _, holds in holding), None)
    if found is None:
        what = "the entry with this ref was voided"
        raise WrongCall(Finding(what, "Give another --ref, or none.", column="--ref", value=ref))
    return found


def _write(pen: Pen, line: NewLine) -> EntryNumber:
    from credits.model.batch import Batch

    return pen.write(Batch(lines=(line,))).numbers[0]


def with_line(written: WrittenLog, number: EntryNumber, line: NewLine) -> WrittenLog:
    """The log with the line that was just written, which saves reading it all again."""
    from datetime import UTC, datetime

    from credits.model.written import Written

    now = datetime.now(UTC)
    new = Written(
        number, line.verb, now, line.work, line.corrects, line.logged_by, line.why, line.ref
    )
    return replace(written, lines=(*written.lines, new))


def confirm(
    written: WrittenLog, number: EntryNumber, line: NewLine | None, as_json: bool = False
) -> None:
    """Say back what was logged, what it changes, and at once what cannot be right."""
    from datetime import date

    from credits.cli.effect import doubts, effect, entry_of
    from credits.cli.sentences import sentence
    from credits.model.replay import replay

    entry = entry_of(written, number)
    if entry is None or line is None:
        return
    if not as_json:
        amends = f" (amends {line.corrects})" if line.corrects else ""
        said = sentence(entry.work, replay(replace(written, lines=())), date.today())
        printing.say(f"{number}{amends}: {said}. {effect(written, entry)}".rstrip())
    for check in doubts(written, entry):
        printing.remark(f"{check.severity}: {check.message} {check.hint}")
