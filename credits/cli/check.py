"""Commands for checks: check, settle."""

from __future__ import annotations

import shlex
import sys
from collections.abc import Iterable, Sequence
from itertools import groupby
from pathlib import Path
from typing import Annotated

import typer
from rapidfuzz import fuzz

from credits import app
from credits.app import read_ledger, read_plan
from credits.billing.plan import CreditPlan
from credits.checks.answers import CheckNames, Settled, fingerprint, open_and_settled, works_of
from credits.checks.checks import CHECKS, find_checks
from credits.checks.rule import Check, Known, Severity
from credits.cli import printing
from credits.cli.codes import as_typed, folder_meant, folder_of, production_codes
from credits.cli.options import JsonOption, ProductionOption
from credits.cli.targets import text_meant
from credits.errors import Finding, ProblemsFound, WrongCall
from credits.figures.results import credits_of, footage_of
from credits.model.facts import Settlement
from credits.model.ledger import Ledger
from credits.model.log import Batch, NewSettlement
from credits.model.words import counted
from credits.store import open_log


def check(production: ProductionOption = None, as_json: JsonOption = False) -> None:
    """List what cannot be right, and what somebody must answer.

    Questions that were answered (credits settle) are not asked again. The exit status is 1 when
    anything is wrong.
    """

    folder = folder_of(production)
    ledger = app.read_ledger(folder)
    every = every_check(ledger, app.read_plan(folder, ledger))
    found, settled = open_and_settled(every, ledger)
    wrong = sum(each.severity is Severity.WRONG for each in found)
    if as_json:
        printing.say_json(
            {
                "checks": [check_json(each) for each in found],
                "settled": [settled_json(each) for each in settled],
            }
        )
    else:
        _say(found, wrong, len(settled), CheckNames(every))
    if wrong:
        raise typer.Exit(1)


def every_check(ledger: Ledger, plan: CreditPlan) -> tuple[Check, ...]:
    """All checks of a ledger, the settled ones too; its credits are those of the plan."""

    runs, use, feet = footage_of(ledger)
    credits = credits_of(ledger, runs, use, feet, plan)
    return find_checks(Known(ledger=ledger, runs=runs, use=use, credits=credits))


def settle_command(each: Check, names: CheckNames) -> str:
    """How the question is settled: ``credits settle puppet-in-two-places wick-1 --why "..."``."""
    words = " ".join(shlex.quote(word) for word in names.words_for(each))
    return f'credits settle {each.kind} {words} --why "..."'


def settled_json(each: Settled) -> dict[str, object]:
    """A settled check in the shape of an open one, with its answer, by whom and when (UTC)."""
    return {
        **check_json(each.check),
        "why": each.answer.why,
        "settled_by": each.answer.settled_by,
        "settled_at": each.answer.settled_at.isoformat(),
    }


def check_json(each: Check) -> dict[str, object]:
    """Return a check as JSON holds it: the subjects by kind, a list where a kind comes twice."""
    subjects: dict[str, object] = {}
    for kind, code in each.subjects:
        there = subjects.get(kind)
        if there is None:
            subjects[kind] = code
        else:
            subjects[kind] = [*(there if isinstance(there, list) else [there]), code]
    return {
        "check": each.kind,
        "severity": str(each.severity),
        "subjects": subjects,
        "entries": [str(number) for number in each.entries],
        "message": each.message,
        "hint": each.hint,
        "mend": each.hint,
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


MOST_LISTED = 20


def check_names(incomplete: str) -> list[tuple[str, str]]:
    """The names of the checks, with what each looks for."""

    wanted = incomplete.casefold()
    return [
        (as_typed(rule.kind, incomplete), rule.description)
        for rule in CHECKS
        if rule.kind.startswith(wanted)
    ]


def check_subjects(ctx: typer.Context, incomplete: str) -> list[tuple[str, str]]:
    """The first subject of every open case of the check that stands before."""

    try:
        folder = folder_meant(ctx)
        ledger = read_ledger(folder)
        found = open_and_settled(every_check(ledger, read_plan(folder, ledger)), ledger)[0]
    except Exception:
        return []
    wanted = incomplete.casefold()
    firsts = dict.fromkeys(
        each.subjects[0] for each in found if each.kind == ctx.params.get("check_name")
    )
    return [
        (as_typed(code, incomplete), kind)
        for kind, code in firsts
        if code.casefold().startswith(wanted)
    ]


def settle(
    check_name: Annotated[
        str,
        typer.Argument(
            metavar="CHECK", help="The check, as it is named there.", autocompletion=check_names
        ),
    ],
    subject: Annotated[
        list[str],
        typer.Argument(
            metavar="SUBJECT...",
            help="What it is about: codes, such as wick-1 or puppet=wick-1, or an entry.",
            autocompletion=check_subjects,
        ),
    ],
    why: Annotated[str | None, typer.Option("--why", metavar="TEXT", help="The answer.")] = None,
    by: Annotated[
        str | None,
        typer.Option(
            "--by", metavar="NAME", help="Who answers.", autocompletion=production_codes("people")
        ),
    ] = None,
    undo: Annotated[bool, typer.Option("--undo", help="Take the answer back.")] = False,
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
    folder = folder_of(production)
    ledger = read_ledger(folder)
    rule = _rule_named(check_name)
    every = every_check(ledger, read_plan(folder, ledger))
    meant, answer = _meant(rule, subject, every, ledger, undo)
    written = _written(folder, ledger, meant, reason, who, undo)
    if as_json:
        now = check_json(meant) if undo else settled_json(Settled(meant, written))
        printing.say_json({"settled": not undo, **now})
        return
    if answer is not None and not undo:
        printing.remark(f"It was settled already; the new answer counts. Before: {_said(answer)}")
    printing.say(f"{'Open again' if undo else 'Settled'}: {meant.kind}: {meant.message}")
    if not undo:
        printing.say(f"  {_said(written)}")


def _said(answer: Settlement) -> str:
    """``The puppet was carried over. (Bo, 2026-03-09)``"""
    who = f"{answer.settled_by}, " if answer.settled_by else ""
    return f"{answer.why} ({who}{answer.settled_at.date()})"


def _written(
    folder: Path, ledger: Ledger, meant: Check, why: str, by: str, undo: bool
) -> Settlement:
    """Append the line and return it as the log holds it.

    The ledger was read before the log is locked: should the facts change in between, the answer
    rests on facts that are no more, and the question stays open.
    """

    facts = fingerprint(meant, works_of(ledger))
    new = NewSettlement(meant.kind, meant.subjects, facts, why or None, by or None, undo)
    with open_log(folder) as log:
        with log.writing() as pen:
            pen.write(Batch(settlements=(new,)))
        return log.read().settlements[-1]


def _meant(
    rule: str, words: Sequence[str], every: tuple[Check, ...], ledger: Ledger, undo: bool
) -> tuple[Check, Settlement | None]:
    """The one check that is meant and the answer that it has; errors that say what there is."""

    found, settled = open_and_settled(every, ledger)
    names = CheckNames(every)
    meant = list(names.meant(rule, words))
    if not meant:
        raise _nothing_meant(rule, words, found, names)
    answers = {each.check: each.answer for each in settled}
    # Where words mean several, those that could be answered (or taken back) are meant.
    fitting = [each for each in meant if (each in answers) == undo] or meant
    if len(fitting) > 1:
        raise _several_meant(rule, words, fitting, names)
    (only,) = fitting
    _refuse_wrong(only)
    if undo and only not in answers:
        raise ProblemsFound(Finding(f"{rule} is not settled here: {only.message}"))
    return only, answers.get(only)


def _rule_named(name: str) -> str:
    """The check of this name, without regard to case. Raises WrongCall with the nearest."""

    wanted = name.strip().casefold()
    known = [rule.kind for rule in CHECKS]
    if wanted in known:
        return wanted
    scores = sorted((-fuzz.ratio(wanted, each), each) for each in known)
    like = [each for score, each in scores[:3] if score <= -60]
    hint = f"Did you mean {' or '.join(like)}?" if like else f"The checks are {', '.join(known)}."
    raise WrongCall(Finding("no check has this name", hint, value=name))


def _refuse_wrong(check: Check) -> None:

    if check.severity is Severity.WRONG:
        what = f"{check.kind} cannot be true, and is corrected, not settled: {check.message}"
        raise ProblemsFound(Finding(what, check.hint))


def _listed(rule: str, checks: Iterable[Check], names: CheckNames) -> list[Finding]:

    every = list(checks)
    lines = [Finding(each.message, f"Settle it: {settle_command(each, names)}") for each in every]
    if len(every) > MOST_LISTED:
        more = f"… and {len(every) - MOST_LISTED} more; credits check lists all of {rule}"
        lines = [*lines[:MOST_LISTED], Finding(more)]
    return lines


def _nothing_meant(
    rule: str, words: Sequence[str], found: Iterable[Check], names: CheckNames
) -> WrongCall:
    own = [each for each in found if each.kind == rule]
    if not own:
        return WrongCall(Finding("asks nothing", "See `credits check`.", value=rule))
    what = f"{rule} asks nothing about {' '.join(words)}, but this"
    return WrongCall(Finding(what), *_listed(rule, own, names))


def _several_meant(
    rule: str, words: Sequence[str], meant: Sequence[Check], names: CheckNames
) -> WrongCall:
    what = f"{len(meant)} cases of {rule} are about {' '.join(words)}"
    return WrongCall(Finding(what, "Say which."), *_listed(rule, meant, names))
