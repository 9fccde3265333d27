"""Whole productions in a folder, from tables: what tests of sites and exports stand on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from credits.formats.cut.read import read_cut
from credits.formats.tables.faces import plan_face_sheet
from credits.formats.tables.load import LoadPlan, plan_load
from credits.formats.tables.sheets import read_tables
from credits.model.log import Batch
from credits.store.log import open_log
from credits.store.production import create_production


def production_from(
    folder: Path,
    tables: Sequence[Path],
    *,
    title: str = "The Small Film",
    face_sheets: Mapping[str, Path] | None = None,
    cut: Path | None = None,
) -> Path:
    """Make a production and load tables, face sheets (by shot) and the cut, in this order.

    Raises AssertionError with the findings when something in them is refused.
    """
    create_production(folder, title)
    with open_log(folder) as log, log.writing() as pen:
        if tables:
            pen.write(_loadable(plan_load(read_tables(tables), pen.read())))
        for shot, path in (face_sheets or {}).items():
            pen.write(_loadable(plan_face_sheet(path, shot, pen.read())))
        if cut is not None:
            reading = read_cut(cut, pen.read())
            pen.write(Batch(cut=reading.cut))
    return folder


def _loadable(plan: LoadPlan) -> Batch:
    assert not plan.problems, "\n".join(str(problem) for problem in plan.problems)
    assert plan.is_whole
    return plan.batch


def written_tables(folder: Path, tables: Mapping[str, str]) -> Path:
    """Write tables (name -> CSV text, indented as it stands in the test) into a folder."""
    folder.mkdir(parents=True)
    for name, text in tables.items():
        lines = (line.strip() for line in text.strip().splitlines())
        (folder / f"{name}.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    return folder
