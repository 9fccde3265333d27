"""The command that joins the log of another unit with ours: merge."""

from __future__ import annotations

import shlex
from dataclasses import asdict
from pathlib import Path

import typer

from credits.app.logs.merge import ListRows, MergedLog, merge_logs
from credits.app.logs.merge_sheet import (
    COLUMNS,
    MergeChoices,
    MergeQuestion,
    read_decisions,
    write_decisions,
)
from credits.app.work.named import text_meant
from credits.cli.options import DryRunOption, JsonOption, ProductionOption, Text, argument, option
from credits.cli.production import codes, fixed_words, folder_of
from credits.cli.terminal import printing
from credits.errors import Finding, WrongCall
from credits.model.merging import Keep
from credits.model.words import counted, listed
from credits.text import fold_words, nearest

keeps = fixed_words(("ours", "what this log says"), ("theirs", "what the other log says"))


def merge(
    other: Path = argument(
        ..., "OTHER", "The other unit's folder, its log, or a copy made with `credits backup`."
    ),
    decide: Path | None = option(
        None,
        "--decide",
        "A sheet of decisions: written to be filled in where there is none, else read.",
        "FILE.csv",
    ),
    keep: Text = option(
        None,
        "--keep",
        "What both logs have changed says what it says here (ours) or there (theirs).",
        "WORD",
        keeps,
    ),
    both: bool = option(False, "--both", "Whatever is only spelled alike is two."),
    by: Text = option(None, "--by", "Who decides.", "NAME", codes("people")),
    why: Text = option(None, "--why", "Why, where the sheet does not say it.", "TEXT"),
    dry_run: DryRunOption = False,
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Take in what another unit has logged; the other log is only read.

    Lines keep their numbers. Where both logs say different things nothing is written: what is to
    be decided is shown side by side.
    """
    folder = folder_of(production)
    known = {} if decide is None or not decide.exists() else read_decisions(decide)
    choices = MergeChoices(
        single=known,
        keep=None if keep is None else _keep(keep),
        both=both,
        by=text_meant((by or "").strip(), "--by") or None,
        why=text_meant((why or "").strip(), "--why") or None,
    )
    done = merge_logs(folder, other, choices, write=not dry_run)
    if done.questions and decide is not None:
        write_decisions(decide, done.asked, known)
    for note in done.notes:
        printing.warn(str(note))
    if as_json:
        printing.say_json(_json(done))
    elif done.questions:
        _say_questions(done.questions, other, decide)
    else:
        _say_done(done, dry_run)
    if done.questions:
        raise typer.Exit(1)


def _keep(word: str) -> Keep:
    meant = fold_words(word)
    if meant not in map(str, Keep):
        like = nearest(meant, map(str, Keep), most=1)
        hint = f"Did you mean {like[0]}?" if like else "Write ours or theirs."
        raise WrongCall(Finding("is not a word for what is kept", hint, None, "--keep", word))
    return Keep(meant)


def _json(done: MergedLog) -> dict[str, object]:
    return {
        **printing.fields_json(done, "origin cuts cut_in_use answers confirmations"),
        "lines": dict(done.lines),
        "lists": {name: asdict(rows) for name, rows in done.lists.items()},
        "questions": [
            printing.fields_json(each, "list row column ours theirs answers")
            for each in done.questions
        ],
        "again": [{"entry": str(new), "like": str(old)} for new, old in done.again],
        "notes": list(map(printing.finding_json, done.notes)),
        "written": done.is_written,
    }


def _say_questions(questions: tuple[MergeQuestion, ...], other: Path, decide: Path | None) -> None:
    rows = [
        (each.list, each.row, each.column, each.ours, each.theirs, each.answers_text)
        for each in questions
    ]
    printing.table(COLUMNS[:6], rows)
    for why_not in dict.fromkeys(each.why_not for each in questions if each.why_not):
        printing.warn(why_not)
    count = counted(len(questions), "thing")
    printing.warn(f"{count} to decide first. Nothing was written.")
    if decide is None:
        printing.warn(f"On a sheet: credits merge {shlex.quote(str(other))} --decide decisions.csv")
        kinds = {"--both" if each.answers[0] == "both" else "--keep ours" for each in questions}
        printing.warn(f"Or all at once: {' '.join(sorted(kinds))}")
    else:
        printing.warn(f"Fill in the column keep of {decide}, then give the same command again.")


def _rows_text(table: str, rows: ListRows) -> str:
    said = ((rows.new, "new"), (rows.changed, "changed"), (rows.voided, "voided"))
    return f"{table}: {', '.join(f'{number} {word}' for number, word in said if number)}"


def _say_done(done: MergedLog, dry_run: bool) -> None:
    if not done.is_new:
        printing.say(f"Nothing new: what the log of {done.origin} has is here already.")
        return
    lines = [counted(number, f"line of {o}", f"lines of {o}") for o, number in done.lines.items()]
    parts = [listed(lines)] if lines else []
    if done.cuts:
        parts.append(counted(done.cuts, "cut"))
    if done.answers:
        parts.append(counted(done.answers, "answer to a check", "answers to checks"))
    if done.confirmations:
        parts.append(counted(done.confirmations, "word on a name", "words on names"))
    begin = "Would take in" if dry_run else "Taken in"
    printing.say(f"{begin}: {'; '.join(parts) or 'what was changed in lists'}.")
    for table, rows in done.lists.items():
        printing.say(f"  {_rows_text(table, rows)}")
    if done.cut_in_use is not None:
        printing.say(f"  The cut in use is version {done.cut_in_use}.")
    printing.say_dry_run(dry_run)
