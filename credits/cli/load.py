"""``credits load``: tables from spreadsheets, in one transaction or not at all."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console
from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

from credits.cli import printing
from credits.cli.codes import folder_of
from credits.cli.options import JsonOption, ProductionOption
from credits.errors import Finding, WrongCall
from credits.formats.tables.faces import plan_face_sheet
from credits.formats.tables.load import LoadPlan, plan_load
from credits.formats.tables.sheets import read_tables
from credits.model.log import WrittenLog
from credits.store import open_log

ProgressReport = Callable[[str, int, int], None]
Planner = Callable[["WrittenLog"], "LoadPlan"]


def load(
    paths: Annotated[
        list[Path],
        typer.Argument(metavar="PATH...", help="CSV files, workbooks (.xlsx), folders of them."),
    ],
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="Only say what would be written.")
    ] = False,
    face_sheet: Annotated[
        str | None,
        typer.Option(
            "--face-sheet",
            metavar="SHOT[/TAKE]",
            help="The file is the face sheet of this shot: a row a frame, a column a character.",
        ),
    ] = None,
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Bring in tables; if anything is wrong, nothing is written."""
    folder = folder_of(production)
    with progress_bar() as progress:
        if face_sheet is not None:
            planner = face_sheet_planner(paths, face_sheet)
        else:
            planner = table_planner(paths, progress)
        if progress is not None:
            progress("checking" if dry_run else "checking and writing", 0, 0)
        plan = bring_in(folder, planner, write=not dry_run)
    if as_json:
        printing.say_json(_json(plan))
    if plan.problems:
        printing.problems(plan.problems)
        word = "problem" if len(plan.problems) == 1 else "problems"
        printing.remark(f"{len(plan.problems)} {word}. Nothing was written.")
        raise typer.Exit(1)
    if not as_json:
        _say(plan, dry_run)


def table_planner(paths: Sequence[Path], progress: ProgressReport | None = None) -> Planner:
    """Read tables; the planner says what they write into a log."""

    tables = read_tables(paths, progress)
    for finding in tables.left_out:
        printing.remark(f"Left out: {finding}")
    return lambda written: plan_load(tables, written)


def face_sheet_planner(paths: Sequence[Path], shot_and_take: str) -> Planner:
    """Read one face sheet. Raises WrongCall for more files than one."""

    if len(paths) != 1:
        what = f"a face sheet is one file, not {len(paths)}"
        raise WrongCall(Finding(what, "Load each with the shot that it belongs to."))
    return lambda written: plan_face_sheet(paths[0], shot_and_take, written)


def bring_in(folder: Path, planner: Planner, write: bool = True) -> LoadPlan:
    """Plan against the log and write, in one transaction; a plan with problems writes nothing."""

    with open_log(folder) as log:
        if not write:
            return planner(log.read())
        with log.writing() as pen:
            plan = planner(pen.read())
            if not plan.problems and not plan.changes_nothing:
                pen.write(plan.batch)
            return plan


@contextmanager
def progress_bar() -> Iterator[ProgressReport | None]:
    """A bar on standard error while a person looks on, else nothing.

    It is told what is at work, how many files are done, and of how many; of 0: nobody knows how
    long it takes, and the bar only moves.
    """
    if not printing.is_terminal(sys.stderr):
        yield None
        return

    words = TextColumn("{task.description}", markup=False)
    with Progress(
        words, BarColumn(), TimeElapsedColumn(), console=Console(stderr=True), transient=True
    ) as bar:
        task = bar.add_task("reading", total=None)

        def at(what: str, done: int, total: int) -> None:
            bar.update(task, description=what, completed=done, total=total or None)

        yield at


def _json(plan: LoadPlan) -> dict[str, object]:
    return {
        "tables": {
            name: {"new": count.new, "changed": count.changed, "same": count.same}
            for name, count in plan.counts.items()
        },
        "problems": [printing.finding_json(finding) for finding in plan.problems],
    }


def _say(plan: LoadPlan, dry_run: bool) -> None:
    rows = [(name, count.new, count.changed, count.same) for name, count in plan.counts.items()]
    printing.table(("table", "new", "changed", "same"), rows, numbers=3)
    if plan.changes_nothing:
        printing.remark("Nothing new: everything was already there.")
    elif dry_run:
        printing.remark("Nothing was written: this was a dry run.")
