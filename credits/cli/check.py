"""Commands that ask the log: find, same, check, settle."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from itertools import groupby
from typing import Annotated

import typer

from credits.app.answers import answer_check, settle_command
from credits.app.entries import cells_of, written_line
from credits.app.find import FoundByText, find_text, join_people
from credits.app.named import text_meant, with_name
from credits.app.production import open_snapshot
from credits.checks.answers import CheckNames, Settled
from credits.checks.checks import CHECKS
from credits.checks.rule import Check, Severity
from credits.cli import printing
from credits.cli.options import JsonOption, ProductionOption, Text, argument, option
from credits.cli.production import codes, completion, folder_meant, folder_of
from credits.errors import Finding, WrongCall
from credits.model.facts import Settlement
from credits.model.words import counted


def check(production: ProductionOption = None, as_json: JsonOption = False) -> None:
    """List what cannot be right, and what somebody must answer.

    Questions that were answered (credits settle) are not asked again. The exit status is 1 when
    anything is wrong.
    """
    snapshot = open_snapshot(folder_of(production))
    found, settled = snapshot.open_checks, snapshot.settled
    wrong = sum(each.severity is Severity.WRONG for each in found)
    if as_json:
        settled_shapes = list(map(settled_json, settled))
        printing.say_json({"checks": list(map(check_json, found)), "settled": settled_shapes})
    else:
        _say(found, wrong, len(settled), CheckNames(snapshot.checks))
    if wrong:
        raise typer.Exit(1)


def settled_json(each: Settled) -> dict[str, object]:
    """Return a settled check as JSON, with its answer, by whom and when (UTC)."""
    answer = printing.fields_json(each.answer, "why settled_by settled_at")
    return {**check_json(each.check), **answer}


def check_json(each: Check) -> dict[str, object]:
    """Return a check as JSON; several subjects of a kind are a list."""
    subjects: dict[str, list[str]] = {}
    for kind, code in each.subjects:
        subjects.setdefault(kind, []).append(code)
    return {
        "check": each.kind,
        "severity": each.severity,
        "subjects": {kind: own if own[1:] else own[0] for kind, own in subjects.items()},
        **printing.fields_json(each, "entries message hint mend=hint"),
    }


def _say(found: tuple[Check, ...], wrong: int, settled: int, names: CheckNames) -> None:
    most = printing.SHOWN_PROBLEMS if printing.is_terminal(sys.stdout) else len(found)
    for name, group in groupby(found, key=lambda each: each.kind):
        cases = list(group)
        printing.heading(f"{name} ({len(cases)})")
        for each in cases[:most]:
            entries = ", ".join(str(number) for number in each.entries[:8])
            more = f" and {len(each.entries) - 8} more" if len(each.entries) > 8 else ""
            said = f" [{entries}{more}]" if entries else ""
            printing.say(f"  {each.severity}: {each.message}{said}")
            if each.severity is Severity.QUESTION:
                printing.say(f"     Settle it: {settle_command(each, names)}")
        if len(cases) > most:
            printing.say(f"  … and {len(cases) - most} more.")
        for hint in dict.fromkeys(each.hint for each in cases[:most]):
            printing.say(f"  -> {hint}")
    questions = len(found) - wrong
    answered = f" {counted(settled, 'question')} settled." if settled else ""
    if found:
        printing.remark(f"{wrong} wrong, {counted(questions, 'question')}.{answered}")
    else:
        printing.remark(f"Nothing to ask: every check is answered.{answered}")


@completion
def check_subjects(ctx: typer.Context) -> Iterator[tuple[str, str]]:
    """Find the first subject of every open case of the check that stands before."""
    found = open_snapshot(folder_meant(ctx)).open_checks
    own = (each for each in found if each.kind == ctx.params.get("check_name"))
    return ((code, kind) for kind, code in dict.fromkeys(each.subjects[0] for each in own))


@completion
def check_names(_: typer.Context) -> Iterator[tuple[str, str]]:
    """Find the names of the checks, with what each looks for."""
    return ((rule.kind, rule.description) for rule in CHECKS)


def settle(
    check_name: str = argument(..., "CHECK", "The check, as it is named there.", check_names),
    subject: list[str] = argument(
        ...,
        "SUBJECT...",
        "What it is about: codes, such as wick-1 or puppet=wick-1, or an entry.",
        check_subjects,
    ),
    why: Text = option(None, "--why", "The answer.", "TEXT"),
    by: Text = option(None, "--by", "Who answers.", "NAME", codes("people")),
    undo: bool = option(False, "--undo", "Take the answer back."),
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Answer a question that the checks ask.

    It is asked again when its facts change. What cannot be true is corrected, not settled.
    """
    reason, who = text_meant((why or "").strip(), "--why"), text_meant((by or "").strip(), "--by")
    if not reason and not undo:
        hint = 'Write for example: --why "The puppet was carried over at noon."'
        raise WrongCall(Finding("an answer says why", hint, column="--why"))
    done = answer_check(folder_of(production), check_name, subject, reason, who, undo)
    check, before = done.check, done.before
    if as_json:
        now = check_json(check) if undo else settled_json(Settled(check, done.answer))
        printing.say_json({"settled": not undo, **now})
        return
    if before is not None and not undo:
        printing.remark(f"It was settled already; the new answer counts. Before: {_said(before)}")
    printing.say(f"{'Open again' if undo else 'Settled'}: {check.kind}: {check.message}")
    if not undo:
        printing.say(f"  {_said(done.answer)}")


def _said(answer: Settlement) -> str:
    """Say an answer: ``The puppet was carried over. (Bo, 2026-03-09)``"""
    who = f"{answer.settled_by}, " if answer.settled_by else ""
    return f"{answer.why} ({who}{answer.settled_at.date()})"


SHOWN_ON_TERMINAL = 200


def find(
    text: list[str] = argument(
        ..., "TEXT", "Part of a code, name, note or ref; A-17 shows an entry's history."
    ),
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Find people, characters, puppets, shots and entries by a text."""
    wanted = " ".join(text)
    found = find_text(folder_of(production), wanted)
    if as_json:
        printing.say_json(_json(found))
    else:
        _say_found(found)
    if not found.matches and not found.history:
        printing.remark(f"Nothing matches '{printing.clean(wanted)}'.")
        raise typer.Exit(1)


def _json(found: FoundByText) -> dict[str, object]:
    fields = "entry=number does=verb corrects logged_at logged_by why ref source"
    return {
        "found": [printing.fields_json(match, "kind code says") for match in found.matches],
        "history": [
            {**printing.fields_json(line, fields), "says": line.work and cells_of(line.work)}
            for line in found.history
        ],
    }


def _say_found(found: FoundByText) -> None:
    for line in found.history:
        printing.say(written_line(line, found.ledger))
    matches = found.matches
    shown = matches[:SHOWN_ON_TERMINAL] if printing.is_terminal(sys.stdout) else matches
    if shown:
        printing.table(("what", "code", "says"), shown)
    if len(shown) < len(matches):
        printing.remark(f"… and {len(matches) - len(shown)} more.")


PersonArgument = Annotated[str, argument(..., "PERSON", complete=codes("people"))]


def same(
    first: PersonArgument,
    second: PersonArgument,
    undo: bool = option(False, "--undo", "They are two people after all."),
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Say that two codes are one person; --undo takes it back.

    The person is known by the first of the two codes.
    """
    now = join_people(folder_of(production), first, second, undo)
    one, other, end = with_name(now.first), with_name(now.second), now.known_as
    if not now.changed:
        said = f"Nothing new: {other} is {one} already."
    elif undo:
        said = f"{one} and {other} are two people again."
    else:
        also = "" if end.code == now.first.code else f", known as {with_name(end)}"
        said = f"{other} is {one}: one person everywhere{also}."
    shape = {"person": end.code, "codes": list(now.codes), "changed": now.changed}
    printing.answer(as_json, shape, said)
