"""Commands that read files into the log: load, cut."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Any

import typer
from typer.core import TyperCommand

from credits.app.lists.load_report import advice, load_report
from credits.app.lists.tables import (
    ImportedCut,
    import_cut,
    load_face_sheet,
    load_tables,
    read_files,
    save_cut,
    use_cut,
)
from credits.cli.options import JsonOption, Number, ProductionOption, Text, argument, option
from credits.cli.production import folder_of
from credits.cli.terminal import printing, progress
from credits.cli.terminal.stdin import STANDARD_INPUT, cut_meant, tables_meant
from credits.errors import Finding, WrongCall
from credits.formats.tables.again import Choices, RowOfEntry, SheetReport
from credits.formats.tables.columns import tables_listed
from credits.formats.tables.load import LoadPlan
from credits.model.words import counted
from credits.store.log import open_log
from credits.units.film_time import clock

SHOWN_CLIPS = 20


def load(
    paths: list[Path] = argument(
        ..., "PATH...", "CSV files, workbooks (.xlsx, .ods, .xls), folders; -: standard input."
    ),
    dry_run: bool = option(False, "--dry-run", "Only say what would be written."),
    sheet: Text = option(
        None,
        "--sheet",
        "The name by which the sheet is known when it comes again, else the file's; - needs it.",
        "NAME",
    ),
    amend: bool = option(False, "--amend", "Rows that changed amend their entries."),
    again: bool = option(
        False, "--again", "Rows that are like an entry, or say the same, are new entries."
    ),
    void_missing: bool = option(
        False, "--void-missing", "Void the entries that the sheet has no row for; with --why."
    ),
    why: Text = option(None, "--why", "Why the missing ones are void.", "TEXT"),
    face_sheet: Text = option(
        None,
        "--face-sheet",
        "The file is the face sheet of this shot: a row a frame, a column a character.",
        "SHOT[/TAKE]",
    ),
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Load tables; if anything is wrong, nothing is written.

    A sheet may come again, longer or corrected, under the same name: what the log has is not
    written twice, and what changed is shown before it is written.
    """
    folder = folder_of(production)
    own_name = None if STANDARD_INPUT in paths else sheet  # - is a file of that name already
    choices = _choices(own_name, amend, again, void_missing, why)
    if face_sheet is not None and choices != Choices():
        what = "a face sheet is loaded without --sheet, --amend, --again and --void-missing"
        raise WrongCall(Finding(what, "It replaces the frames that it names."))
    with tables_meant(paths, "face-sheet" if face_sheet is not None else sheet) as files:
        plan = _load(folder, files, face_sheet, choices, dry_run)
    for finding in plan.left_out:
        printing.warn(f"Left out: {finding}")
    for note in plan.notes:
        printing.warn(str(note))
    if as_json:
        printing.say_json(load_json(plan, dry_run))
    if plan.problems:
        printing.problems(plan.problems)
        printing.warn(f"{counted(len(plan.problems), 'problem')}. Nothing was written.")
        raise typer.Exit(1)
    if not as_json:
        _say_load(plan, dry_run)
    if advised := advice(plan):
        printing.warn(advised)
        raise typer.Exit(1)


def _choices(
    sheet: str | None, amend: bool, again: bool, void_missing: bool, why: str | None
) -> Choices:
    given = (why or "").strip() or None
    if void_missing and given is None:
        what = "the reason is missing"
        raise WrongCall(Finding(what, "Write --void-missing --why TEXT.", None, "--why"))
    if why is not None and not void_missing:
        what = "is the reason for --void-missing, which was not asked for"
        raise WrongCall(Finding(what, "Write both, or neither.", None, "--why", why))
    name = None if sheet is None else sheet.strip()
    if name == "":
        raise WrongCall(Finding("the name is empty", "Write --sheet NAME.", None, "--sheet"))
    return Choices(sheet=name, amend=amend, again=again, void_missing=given)


class LoadCommand(TyperCommand):
    """Its help ends with the tables and columns that it reads."""

    def format_epilog(self, ctx: Any, formatter: Any) -> None:  # noqa: ARG002
        """Write the list of tables into the help."""
        with formatter.section("Tables and their columns (* is required)"):
            formatter.write_dl(list(tables_listed()))


COMMAND_CLASSES = {"load": LoadCommand}


def _load(
    folder: Path, files: list[Path], face_sheet: str | None, choices: Choices, dry_run: bool
) -> LoadPlan:
    write = not dry_run
    if face_sheet is not None:
        return load_face_sheet(folder, files, face_sheet, write=write, ask_checks=True)
    tables = read_files(folder, files, progress.step)
    progress.step("Checking" if dry_run else "Checking and writing")
    return load_tables(folder, tables, write=write, choices=choices, ask_checks=True)


def load_json(plan: LoadPlan, dry_run: bool) -> dict[str, object]:
    """Return a load as JSON: what was read, what became of it, what is open now."""
    before, after = plan.questions or (None, None)
    return {
        "tables": {
            name: printing.fields_json(count, "new changed same")
            for name, count in plan.counts.items()
        },
        **printing.fields_json(plan, "problems left_out notes"),
        "written": not dry_run and not plan.changes_nothing,
        "read": [printing.fields_json(file, "file table rows") for file in plan.read],
        "lists": [
            {
                **printing.fields_json(change, "table key"),
                **printing.fields_json(change.place, "file row"),
                "columns": {column: list(pair) for column, pair in change.columns.items()},
            }
            for change in plan.lists
        ],
        "sheets": [_sheet_json(sheet) for sheet in plan.sheets],
        "face_sheet": plan.faces
        and {
            **printing.fields_json(plan.faces, "shot take"),
            "replaced": plan.faces.replaced.text,
            "kept": plan.faces.kept.text,
        },
        "questions": plan.questions and {"before": before, "after": after},
    }


def _sheet_json(sheet: SheetReport) -> dict[str, object]:
    def rows(found: Iterable[RowOfEntry]) -> list[dict[str, object]]:
        return [printing.fields_json(each, "row entry") for each in found]

    return {
        **printing.fields_json(sheet, "file sheet rows same"),
        "new": rows(sheet.new),
        "changed": [
            {
                **printing.fields_json(row, "row entry other_work"),
                "columns": {column: list(pair) for column, pair in row.columns.items()},
                "written": row.is_written,
            }
            for row in sheet.changed
        ],
        "said_again": rows(sheet.said_again),
        "corrected": rows(sheet.corrected),
        "gone": [str(number) for number in sheet.gone],
        **printing.fields_json(sheet, "voided needs_word"),
    }


def _say_load(plan: LoadPlan, dry_run: bool) -> None:
    rows = [(name, count.new, count.changed, count.same) for name, count in plan.counts.items()]
    printing.table(("table", "new", "changed", "same"), rows, right=(1, 2, 3))
    if plan.read:
        files = (f"{file.file} ({counted(file.rows, 'row')})" for file in plan.read)
        printing.remark(f"Read: {', '.join(files)}.")
    for part in load_report(plan):
        printing.lines(part.lines)
        if part.close:
            printing.remark(part.close)
    if plan.questions is not None:
        _say_questions(*plan.questions)
    if plan.changes_nothing and plan.is_whole and not plan.needs_word:
        if plan.left_out or plan.notes:
            printing.remark("Nothing new in what was read.")
        else:
            printing.remark("Nothing new: everything was already there.")
    elif dry_run:
        printing.remark("Nothing was written: this was a dry run.")


def _say_questions(before: int, after: int) -> None:
    if after > before:
        more = counted(after - before, "more open question")
        printing.remark(f"{more} than before, {after} now: see credits check.")
    elif after < before:
        fewer = counted(before - after, "open question")
        printing.remark(f"{fewer} fewer than before, {after} now: see credits check.")


def cut(
    file: Path | None = argument(
        None, "FILE", "The cut: .otio, .edl, or cut.csv; - is standard input, with --as."
    ),
    form: Text = option(None, "--as", "What comes on standard input.", "edl|otio|csv"),
    first_frame: Number = option(
        None,
        "--first-frame",
        "The number of a shot's frame 1 in FILE; else the first frame of its media, or 1.",
        "N",
    ),
    shot_pattern: Text = option(
        None,
        "--shot-pattern",
        "How a clip's name holds its shot: a group 'shot', and perhaps 'take'.",
        "REGEX",
    ),
    show_list: bool = option(False, "--list", "List all versions."),
    use: Number = option(None, "--use", "Go back to version N.", "N"),
    save: Path | None = option(None, "--save", "Write the cut in use as FILE.otio.", "FILE"),
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Import the editors' cut as a new version; earlier ones stay."""
    if (file is not None) + show_list + (use is not None) + (save is not None) != 1:
        hint = "Write a FILE, or --list, or --use N, or --save FILE.otio."
        raise WrongCall(Finding("one thing at a time", hint))
    folder = folder_of(production)
    if file is not None:
        with cut_meant(file, form) as meant:
            imported = import_cut(folder, meant, first_frame, shot_pattern)
        if as_json:
            printing.say_json(_cut_json(imported))
        else:
            _say_cut(imported)
    elif use is not None:
        use_cut(folder, use)
        printing.answer(as_json, {"cut": use}, f"Cut version {use} is in use.")
    elif save is not None:
        version = save_cut(folder, save)
        told = {"cut": version, "file": str(save)}
        printing.answer(as_json, told, f"Cut version {version} is written as {save}.")
    else:
        _list(folder, as_json)


def _cut_json(imported: ImportedCut) -> dict[str, object]:
    return {
        "cut": imported.version,
        "new": imported.is_new,
        "clips": len(imported.cut.clips),
        "shots": len({clip.shot for clip in imported.cut.clips}),
        "length": imported.cut.length,
        **printing.fields_json(imported, "not_understood"),
    }


def _say_cut(imported: ImportedCut) -> None:
    version, cut, found = imported.version, imported.cut, imported.not_understood
    if imported.is_new:
        shots = len({clip.shot for clip in cut.clips})
        size = f"{counted(len(cut.clips), 'clip')} of {counted(shots, 'shot')}"
        length = f"{counted(cut.length, 'frame')} ({clock(cut.length, imported.rate)})"
        printing.say(f"Cut version {version}: {size}, {length}.")
    else:
        printing.say(f"Nothing new: cut version {version} is the same.")
    if found:
        printing.remark("Please look at:")
        printing.problems(found, SHOWN_CLIPS)


def _list(folder: Path, as_json: bool) -> None:
    with open_log(folder) as log:
        versions = log.cut_versions()
    fields = "version source clips length brought_in_on current"
    shape = {"cuts": [printing.fields_json(each, fields) for each in versions]}
    heads = ("", "file", "imported on", "version", "clips", "frames")
    rows = [
        ("in use" if v.current else "", v.source, v.brought_in_on, v.version, v.clips, v.length)
        for v in versions
    ]
    nothing = "No cut yet. Import one: credits cut FILE."
    printing.say_rows(as_json, shape, heads, rows, nothing, right=(3, 4, 5))
