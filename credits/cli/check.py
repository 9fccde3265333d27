"""Commands that ask the log: find, same, check, answer."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from itertools import groupby
from typing import Annotated

import typer

from credits.app.answers import (
    ChecksFound,
    Stands,
    Words,
    answer_checks,
    answer_command,
    answer_standing,
    look_at_checks,
    rules_and_subjects,
    standing_command,
)
from credits.app.find import EntryFilter, FoundByText, find_text, join_people
from credits.app.production import open_snapshot
from credits.app.work.entries import cells_of, written_line
from credits.app.work.named import period_named, text_meant, with_name
from credits.checks.answers import CheckNames, Settled, described
from credits.checks.checks import CHECKS
from credits.checks.rule import Check, Severity
from credits.cli.options import (
    FromOption,
    JsonOption,
    ProductionOption,
    Text,
    ToOption,
    argument,
    option,
)
from credits.cli.production import (
    Codes,
    Persons,
    codes,
    completion,
    fixed_words,
    folder_meant,
    folder_of,
    only,
)
from credits.cli.terminal import printing
from credits.errors import Finding, WrongCall
from credits.figures.renewal import Depth
from credits.memory import all_kept
from credits.model.facts import Settlement, Subjects
from credits.model.words import counted

On = Annotated[Text, option(..., "--on", "Of this day: 2026-03-02, monday, -1, 6 mar.", "DATE")]
Stages = Annotated[Codes, only("stage", "stages")]
Crafts = Annotated[Codes, only("craft", "crafts")]
Shots = Annotated[Codes, only("shot", "shots")]


check_names = fixed_words(*((rule.kind, rule.description) for rule in CHECKS))


def check(
    on: On = None,
    from_day: FromOption = None,
    to_day: ToOption = None,
    stage: Stages = None,
    person: Persons = None,
    kind: list[str] | None = option(
        None, "--kind", "Only this check; may be given again.", "CHECK", check_names
    ),
    since: Text = option(
        None, "--since", "Not asked before this day, or the last 'proof'.", "DATE|proof"
    ),
    names: bool = option(
        False, "--names", "List the questions about names too, although there is no proof yet."
    ),
    answered: bool = option(False, "--answered", "List what was answered too, and the answers."),
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """List what cannot be right, and what somebody must answer.

    Questions that were answered (credits answer) are not asked again. The exit status is 1 when
    anything that is listed is wrong.
    """
    found = look_at_checks(
        folder_of(production),
        kinds=kind,
        period=period_named(on, from_day, to_day),
        stages=stage,
        people=person,
        since=since,
    )
    if as_json:
        printing.say_json(
            {
                "checks": list(map(check_json, found.open)),
                "settled": list(map(settled_json, found.answered)),
                "standing": list(map(standing_json, found.standing)),
                "of": found.of,
                "late": {
                    "answer_by": found.answer_by and str(found.answer_by),
                    "people": found.late,
                },
            }
        )
    else:
        printing.isolate(found.called)
        with all_kept():
            _say(found, names or bool(kind))
        if answered:
            _say_answered(found)
        if late := len(found.late):
            who = f"{counted(late, 'person', 'people')} {'has' if late == 1 else 'have'}"
            due = f"answers were due by {found.answer_by}"
            printing.say(f"{who} not confirmed the name; {due}: credits confirm --open")
        _say_totals(found)
    if found.wrong:
        raise typer.Exit(1)


def standing_json(answer: Settlement) -> dict[str, object]:
    """Return a standing answer as JSON: the check, what its cases have, why, by whom, when."""
    return {
        "check": answer.check,
        "subjects": _subjects_json(answer.subjects),
        **printing.fields_json(answer, "why settled_by settled_at"),
    }


def _subjects_json(subjects: Subjects) -> dict[str, object]:
    """Return subjects as JSON; several of a kind are a list."""
    found: dict[str, list[str]] = {}
    for kind, code in subjects:
        found.setdefault(kind, []).append(code)
    return {kind: own if own[1:] else own[0] for kind, own in found.items()}


def settled_json(each: Settled) -> dict[str, object]:
    """Return an answered check as JSON, with its answer, by whom and when (UTC)."""
    answer = printing.fields_json(each.answer, "why settled_by settled_at")
    return {**check_json(each.check), **answer, "standing": each.is_standing}


def check_json(each: Check) -> dict[str, object]:
    """Return a check as JSON."""
    return {
        "check": each.kind,
        "severity": each.severity,
        "subjects": _subjects_json(each.subjects),
        **printing.fields_json(each, "entries message hint mend=hint"),
    }


def say_check(each: Check, names: CheckNames) -> str:
    """Print what is wrong or asked, with its entries, and how a question is answered.

    Return what settles it.
    """
    message, hint = each.in_words()
    entries = ", ".join(str(number) for number in each.entries[:8])
    more = f" and {len(each.entries) - 8} more" if len(each.entries) > 8 else ""
    said = f" [{entries}{more}]" if entries else ""
    printing.say_wrapped(f"  {each.severity}: {message}{said}")
    if each.severity is Severity.QUESTION:
        printing.say(f"     Answer it: {answer_command(each, names)}")
    return hint


def _say(found: ChecksFound, with_names: bool) -> None:
    most = printing.SHOWN_PROBLEMS if printing.is_terminal(sys.stdout) else len(found.open)
    apart = found.apart
    first = found.not_apart
    for name, group in groupby([*first, *apart] if with_names else first, lambda each: each.kind):
        cases = list(group)
        if apart and cases[0] == apart[0]:
            printing.heading("About names, for when a proof is made")
        printing.heading(f"{name} ({len(cases)})")
        hints = dict.fromkeys([say_check(each, found.names) for each in cases[:most]])
        if len(cases) > most:
            printing.say(f"  … and {len(cases) - most} more.")
        for hint in hints:
            printing.say_wrapped(f"  -> {hint}")
    if apart and not with_names:
        questions = counted(len(apart), "question")
        printing.say(f"{questions} about names, for when a proof is made: credits check --names")


def _say_answered(found: ChecksFound) -> None:
    if found.standing:
        printing.heading(f"Standing answers ({len(found.standing)})")
    for answer in found.standing:
        printing.say_wrapped(f"  {answer.check}: {described(answer)}: {_said(answer)}")
        printing.say(f"     Take it back: {standing_command(answer)} --undo")
    if found.answered:
        printing.heading(f"Answered ({len(found.answered)})")
    for each in found.answered:
        printing.say_wrapped(f"  {each.check.kind}: {each.check.message}")
        standing = f", for {described(each.answer)}" if each.is_standing else ""
        printing.say_wrapped(f"     {_said(each.answer)}{standing}")


def _say_totals(found: ChecksFound) -> None:
    """Print the totals, on the same stream as what they count."""
    questions, answered = len(found.open) - found.wrong, len(found.answered)
    said = f" {counted(answered, 'question')} answered." if answered else ""
    wrong, every = found.of["wrong"], counted(found.of["questions"], "open question")
    if not wrong + found.of["questions"]:
        printing.say(f"No errors, no open questions.{said}")
        return
    of = f"{found.wrong} of " if found.is_part and wrong else ""
    errors = f"{of}{counted(wrong, 'error')}" if wrong else "No errors"
    spelling = f", {len(found.apart)} of them about names" if found.apart else ""
    part = f"{questions} of " if found.is_part else ""
    printing.say(f"{errors}; {part}{every}{spelling}.{said}")


@completion
def check_words(ctx: typer.Context) -> Iterator[tuple[str, str]]:
    """Find the names of the checks; behind one the first subject of each of its open cases."""
    before = ctx.params.get("words") or ()
    if not before:
        return iter([(rule.kind, rule.description) for rule in CHECKS])
    found = open_snapshot(folder_meant(ctx), Depth.CHECKS).open_checks
    own = (each for each in found if each.kind == before[0])
    return ((code, kind) for kind, code in dict.fromkeys(each.subjects[0] for each in own))


def answer(
    words: list[str] = argument(
        ...,
        "CHECK [SUBJECT]...",
        "The check, and what it is about: codes, such as wick-1 or puppet=wick-1, or an entry."
        " Words that name no case together mean one each: ana ben.",
        check_words,
    ),
    why: Text = option(None, "--why", "The answer.", "TEXT"),
    by: Text = option(None, "--by", "Who answers.", "NAME", codes("people")),
    every: bool = option(False, "--all", "All open cases that the words mean; of several checks."),
    standing: bool = option(
        False, "--standing", "Every case like this, of later days too, until it is taken back."
    ),
    stage: list[str] | None = option(
        None, "--stage", "Standing: cases of this stage.", "CODE", codes("stages")
    ),
    person: list[str] | None = option(
        None, "--person", "Standing: cases of this person.", "CODE", codes("people")
    ),
    craft: list[str] | None = option(
        None, "--craft", "Standing: cases whose entries are of this craft.", "CODE", codes("crafts")
    ),
    undo: bool = option(False, "--undo", "Take the answer back."),
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Answer what the checks ask: one question, several, or all like it.

    It is asked again when its facts change; with --standing it holds until it is taken back, for
    each case that has all that is named. What cannot be true is corrected, not answered. Such as:

    credits answer no-engagement ana ben --why "Guests for a day."

    credits answer person-in-two-places --standing --craft repair --why "They go round the stages."
    """
    reason, who = text_meant((why or "").strip(), "--why"), text_meant((by or "").strip(), "--by")
    if not reason and not undo:
        hint = 'Write for example: --why "The puppet was carried over at noon."'
        raise WrongCall(Finding("an answer says why", hint, column="--why"))
    said = Words(why=reason, by=who, undo=undo)
    rules, subjects = rules_and_subjects(words)
    folder = folder_of(production)
    if standing:
        if len(rules) > 1:
            what = "a standing answer is about one check"
            raise WrongCall(Finding(what, "Give one for each.", value=" ".join(rules)))
        if not (every or subjects or stage or person or craft or undo):
            hint = "Name a stage, person, craft or other subject; --all means every case."
            raise WrongCall(Finding("does not say which cases", hint, column="--standing"))
        _say_standing(
            answer_standing(
                folder, rules[0], subjects, said, stages=stage, people=person, crafts=craft
            ),
            as_json,
        )
        return
    for name, given in (("--stage", stage), ("--person", person), ("--craft", craft)):
        if given:
            what, hint = "goes with --standing", "Name what the case is about without an option."
            raise WrongCall(Finding(what, hint, column=name, value=", ".join(given)))
    done = answer_checks(folder, rules, subjects, said, every)
    if as_json:
        shapes = [
            check_json(each.check) if undo else settled_json(Settled(each.check, each.answer))
            for each in done
        ]
        alone = shapes[0] if len(shapes) == 1 else {}
        printing.say_json({"settled": not undo, **alone, "answers": shapes})
        return
    for each in done:
        if each.before is not None and not undo:
            before = f"Before: {_said(each.before)}"
            printing.remark(f"It was answered already; the new answer counts. {before}")
        opened = "Open again" if undo else "Answered"
        printing.say(f"{opened}: {each.check.kind}: {each.check.message}")
    if not undo:
        printing.say(f"  {_said(done[0].answer)}")


def _say_standing(done: Stands, as_json: bool) -> None:
    given = done.answer
    cases = counted(len(done.cases), "question") if done.cases else "No question"
    if as_json:
        shapes = list(map(check_json, done.cases))
        about = standing_json(given)
        printing.say_json({"settled": not given.taken_back, **about, "answers": shapes})
        return
    if done.before is not None and not given.taken_back:
        printing.remark(f"It was answered so already. Before: {_said(done.before)}")
    lead = "Taken back" if given.taken_back else "Standing answer"
    printing.say(f"{lead}: {given.check}: {described(given)}")
    if given.taken_back:
        printing.say(f"  {cases} open again.")
        return
    printing.say(f"  {_said(given)}")
    printing.say(f"  {cases} answered now. Take it back: {standing_command(given)} --undo")


def _said(answer: Settlement) -> str:
    """Say an answer: ``The puppet was carried over. (Bo, 2026-03-09)``"""
    who = f"{answer.settled_by}, " if answer.settled_by else ""
    return f"{answer.why} ({who}{answer.settled_at.date()})"


SHOWN_ON_TERMINAL = 200


def find(
    text: list[str] | None = argument(
        None,
        "[TEXT]...",
        "Part of a code, name (a former and a legal one too), note, description or ref; a day;"
        " A-17 shows an entry's history.",
    ),
    on: On = None,
    from_day: FromOption = None,
    to_day: ToOption = None,
    stage: Stages = None,
    craft: Crafts = None,
    person: Persons = None,
    shot: Shots = None,
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Find people, things and entries by a text, day, stage or craft.

    Headings of the credits are found too. With a day, stage, craft, person or shot only entries
    are listed, with or without a text. Legal names are found too: they are for the office alone.
    """
    wanted = " ".join(text or ())
    chosen = EntryFilter(
        period=period_named(on, from_day, to_day),
        stage=stage,
        craft=craft,
        person=person,
        shot=shot,
    )
    if text is None and not chosen.is_given:
        hint = "Write a text, or --on, --stage, --craft, --person, --shot."
        raise WrongCall(Finding("nothing is looked for", hint))
    found = find_text(folder_of(production), wanted, chosen)
    if as_json:
        printing.say_json(_json(found))
    else:
        _say_found(found)
    if not found.matches and not found.history:
        said = f" '{printing.clean(wanted)}'" if wanted else ""
        printing.warn(f"Nothing matches{said}.")
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
        printing.warn(f"… and {len(matches) - len(shown)} more.")


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
