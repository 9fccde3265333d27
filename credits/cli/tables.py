"""Commands that read files into the log: load, cut."""

from __future__ import annotations

from pathlib import Path

import typer

from credits.app.tables import (
    ImportedCut,
    import_cut,
    load_face_sheet,
    load_tables,
    save_cut,
    use_cut,
)
from credits.cli import printing, progress
from credits.cli.options import JsonOption, Number, ProductionOption, Text, argument, option
from credits.cli.production import folder_of
from credits.cli.stdin import STANDARD_INPUT, cut_meant, tables_meant
from credits.errors import Finding, WrongCall
from credits.formats.tables.load import LoadPlan
from credits.formats.tables.sheets import read_tables
from credits.model.words import counted
from credits.store.log import open_log
from credits.units.film_time import clock

SHOWN_CLIPS = 20


def load(
    paths: list[Path] = argument(
        ..., "PATH...", "CSV files, workbooks (.xlsx), folders; -: standard input."
    ),
    dry_run: bool = option(False, "--dry-run", "Only say what would be written."),
    sheet: Text = option(None, "--sheet", "The table that comes on standard input (-).", "NAME"),
    face_sheet: Text = option(
        None,
        "--face-sheet",
        "The file is the face sheet of this shot: a row a frame, a column a character.",
        "SHOT[/TAKE]",
    ),
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Load tables; if anything is wrong, nothing is written."""
    folder = folder_of(production)
    if sheet is not None and STANDARD_INPUT not in paths:
        hint = "Leave it out: the name of a file says what it is."
        raise WrongCall(Finding("names what comes on standard input", hint, None, "--sheet", sheet))
    with tables_meant(paths, "face-sheet" if face_sheet is not None else sheet) as files:
        plan = _load(folder, files, face_sheet, dry_run)
    for note in plan.notes:
        printing.warn(str(note))
    if as_json:
        printing.say_json(_load_json(plan))
    if plan.problems:
        printing.problems(plan.problems)
        printing.warn(f"{counted(len(plan.problems), 'problem')}. Nothing was written.")
        raise typer.Exit(1)
    if not as_json:
        _say_load(plan, dry_run)


def _load(folder: Path, files: list[Path], face_sheet: str | None, dry_run: bool) -> LoadPlan:
    if face_sheet is not None:
        return load_face_sheet(folder, files, face_sheet, write=not dry_run)
    tables = read_tables(files, progress.step)
    for finding in tables.left_out:
        printing.warn(f"Left out: {finding}")
    progress.step("Checking" if dry_run else "Checking and writing")
    return load_tables(folder, tables, write=not dry_run)


def _load_json(plan: LoadPlan) -> dict[str, object]:
    return {
        "tables": {
            name: printing.fields_json(count, "new changed same")
            for name, count in plan.counts.items()
        },
        **printing.fields_json(plan, "problems notes"),
    }


def _say_load(plan: LoadPlan, dry_run: bool) -> None:
    rows = [(name, count.new, count.changed, count.same) for name, count in plan.counts.items()]
    printing.table(("table", "new", "changed", "same"), rows, right=(1, 2, 3))
    if plan.changes_nothing and plan.notes:
        printing.remark("Nothing new was written.")
    elif plan.changes_nothing:
        printing.remark("Nothing new: everything was already there.")
    elif dry_run:
        printing.remark("Nothing was written: this was a dry run.")


def cut(
    file: Path | None = argument(
        None, "FILE", "The cut: .otio, .edl, or cut.csv; - is standard input, with --as."
    ),
    form: Text = option(None, "--as", "What comes on standard input.", "edl|otio|csv"),
    first_frame: int = option(1, "--first-frame", "The number of a shot's frame 1 in FILE.", "N"),
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
