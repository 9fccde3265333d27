"""Commands for single entries: log, amend, void."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, date, datetime
from typing import Annotated

import typer

from credits.cli import printing
from credits.cli import targets as o
from credits.cli.codes import entry_numbers, folder_of, production_codes
from credits.cli.options import JsonOption, ProductionOption
from credits.cli.sentences import doubts, effect, sentence
from credits.cli.targets import (
    cells_of,
    craft_and_person,
    entry_meant,
    planned_line,
    read_targets,
    say_followed,
    text_meant,
    with_days,
)
from credits.errors import Finding, WrongCall
from credits.model.facts import EntryNumber
from credits.model.log import Batch, LogLine, NewLine, Verb, WrittenLog
from credits.model.replay import current_lines, entries_with, entry_of, replay
from credits.store import LogWriter, open_log

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
    character: o.CharacterOption = None,
    puppet: o.PuppetOption = None,
    part: o.PartOption = None,
    sequence: o.SequenceOption = None,
    shot: o.ShotOption = None,
    take: o.TakeOption = None,
    frames: o.FramesOption = None,
    poses_on: o.PosesOnOption = None,
    share: o.ShareOption = None,
    on: Annotated[
        str | None,
        typer.Option(
            "--on",
            "--finished-on",
            metavar="DATE",
            help="When it was done: 2026-03-02, today, yesterday; '' for undated. Default: today.",
        ),
    ] = None,
    begun: o.BegunOption = None,
    minutes: o.MinutesOption = None,
    wait: o.WaitOption = None,
    stage: o.StageOption = None,
    note: o.NoteOption = None,
    private: Annotated[
        bool, typer.Option("--private", help="The note is for the office alone.")
    ] = False,
    by: o.ByOption = None,
    ref: o.RefOption = None,
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
    words = _ask_entry(craft, person, target or [], bool(cells.keys() & o.TARGET_COLUMNS), may_ask)
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


def _ask_entry(
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

    craft, person, target = words
    named = craft_and_person(craft, person, written)
    named |= read_targets(target, written, [c for c, text in cells.items() if text])
    return {**named, **with_days(cells)}


def _line(cells: Mapping[str, str], written: WrittenLog, again: bool) -> NewLine | None:
    """The line to append; None when the log says the same already."""

    ref = cells.get("ref", "").strip()
    if ref:
        return planned_line(cells, entries_with(written, lambda line: line.ref == ref))
    line = planned_line(cells, replace(written, lines=()))
    assert line is not None
    return line if again or _number_saying(line, written) is None else None


def _number_saying(line: NewLine, written: WrittenLog) -> EntryNumber | None:

    near = entries_with(written, lambda other: other.work == line.work)
    same = (holds.number for _, holds in current_lines(near.lines)[0] if holds.work == line.work)
    return next(same, None)


def _said_by(cells: Mapping[str, str], written: WrittenLog) -> EntryNumber:
    """The entry that says what these cells say. Raises WrongCall when it was voided."""

    ref = cells.get("ref", "").strip()
    if not ref:
        line = planned_line(cells, replace(written, lines=()))
        found = _number_saying(line, written) if line is not None else None
    else:
        holding = current_lines(entries_with(written, lambda line: line.ref == ref).lines)[0]
        found = next((holds.number for _, holds in holding), None)
    if found is None:
        what = "the entry with this ref was voided"
        raise WrongCall(Finding(what, "Give another --ref, or none.", column="--ref", value=ref))
    return found


def _write(pen: LogWriter, line: NewLine) -> EntryNumber:

    return pen.write(Batch(lines=(line,))).numbers[0]


def with_line(written: WrittenLog, number: EntryNumber, line: NewLine) -> WrittenLog:
    """The log with the line that was just written, which saves reading it all again."""

    now = datetime.now(UTC)
    new = LogLine(
        number, line.verb, now, line.work, line.corrects, line.logged_by, line.why, line.ref
    )
    return replace(written, lines=(*written.lines, new))


def confirm(
    written: WrittenLog, number: EntryNumber, line: NewLine | None, as_json: bool = False
) -> None:
    """Say back what was logged, what it changes, and at once what cannot be right."""

    entry = entry_of(written, number)
    if entry is None or line is None:
        return
    if not as_json:
        amends = f" (amends {line.corrects})" if line.corrects else ""
        said = sentence(entry.work, replay(replace(written, lines=())), date.today())
        printing.say(f"{number}{amends}: {said}. {effect(written, entry)}".rstrip())
    for check in doubts(written, entry):
        printing.remark(f"{check.severity}: {check.message} {check.hint}")


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
    character: o.CharacterOption = None,
    puppet: o.PuppetOption = None,
    part: o.PartOption = None,
    sequence: o.SequenceOption = None,
    shot: o.ShotOption = None,
    take: o.TakeOption = None,
    frames: o.FramesOption = None,
    poses_on: o.PosesOnOption = None,
    share: o.ShareOption = None,
    on: Annotated[
        str | None,
        typer.Option(
            "--on", "--finished-on", metavar="DATE", help="When it was done: 2026-03-02, yesterday."
        ),
    ] = None,
    begun: o.BegunOption = None,
    minutes: o.MinutesOption = None,
    wait: o.WaitOption = None,
    stage: o.StageOption = None,
    note: o.NoteOption = None,
    private: Annotated[
        bool | None,
        typer.Option("--private/--not-private", help="Whether the note is for the office alone."),
    ] = None,
    by: o.ByOption = None,
    ref: o.RefOption = None,
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


def _say_changes(holds: LogLine, line: NewLine, number: str, as_json: bool) -> None:
    """Every column that differs: what it said, what it says."""

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
    holds: LogLine, changes: Mapping[str, str], why: str | None, written: WrittenLog
) -> NewLine | None:
    """The line that amends; None when it would say what the entry says already."""

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


def void(
    number: Annotated[
        str,
        typer.Argument(metavar="ID", help="The entry, such as A-17.", autocompletion=entry_numbers),
    ],
    why: Annotated[
        str | None, typer.Option("--why", metavar="TEXT", help="Why it does not count.")
    ] = None,
    by: o.ByOption = None,
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Void an entry: it was never done. The old line stays readable."""

    reason = (why or _ask_void(as_json)).strip()
    if not reason:
        hint = "Write for example: --why 'logged twice'."
        raise WrongCall(Finding("a void needs a reason", hint, column="--why"))
    reason, by = text_meant(reason, "--why"), text_meant(by or "", "--by")
    with open_log(folder_of(production)) as log, log.writing() as pen:
        written = pen.read()
        meant = entry_meant(number, written, log.origin)
        holds = meant.holds
        line = NewLine(Verb.VOID, corrects=holds.number, logged_by=by or None, why=reason)
        done = pen.write(Batch(lines=(line,))).numbers[0]
    say_followed(meant)
    if as_json:
        printing.say_json({"entry": str(done), "corrects": str(holds.number)})
        return

    assert holds.work is not None
    said = sentence(holds.work, replay(replace(written, lines=())))
    printing.say(f"{done} voids {holds.number}: {said} -> counts nowhere. Why: {reason}.")


def _ask_void(as_json: bool) -> str:
    if as_json or not (printing.is_terminal(sys.stdin) and printing.is_terminal(sys.stdout)):
        return ""
    return str(typer.prompt("Why", err=True))
