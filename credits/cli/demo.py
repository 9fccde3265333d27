"""``credits demo``: the example production, loaded, with its pages built."""

from __future__ import annotations

import os
import shutil
import tomllib
from pathlib import Path
from typing import Annotated

import typer

from credits.app import read_ledger
from credits.cli import printing
from credits.cli.cut import bring_in_cut
from credits.cli.load import bring_in, face_sheet_planner, progress_bar, table_planner
from credits.cli.site import EditionWord, built, editions_meant, say_reports
from credits.errors import CreditsError, Finding, LogUnusable, ProblemsFound, WrongCall
from credits.files import require_folder
from credits.model.words import counted
from credits.places import example
from credits.store import create_production, read_settings
from credits.units.film_time import clock

TABLES = "tables"
PICTURES = "pictures"
CUT = "cut.csv"
FACE_SHEET = "face-sheet-"


def demo(
    folder: Annotated[Path, typer.Argument(metavar="[DIR]", help="Where to make it.")] = Path(
        "demo"
    ),
) -> None:
    """Make the example production, an invented film, with its pages."""

    example = _example()
    _make(folder, example)
    _copy(example, folder)
    _load(folder)
    version, _, _ = bring_in_cut(folder, folder / TABLES / CUT)
    _say_figures(folder, version)
    say_reports(built(folder, editions_meant(EditionWord.ALL)))
    printing.remark(f"Try for example: credits footage --production {folder}")


def _example() -> Path:
    """The folder of the example production. Raises LogUnusable when it was not installed."""

    root = example()
    found = sorted(root.glob("*/production.toml")) if root.is_dir() else []
    if not found:
        what = "the example production is not installed"
        raise LogUnusable(Finding(what, "Install credits again.", value=str(root)))
    return found[0].parent


def _make(folder: Path, example: Path) -> None:
    """Start the production; an earlier demo is brought up to date, anything else is refused."""

    require_folder(folder)
    settings = tomllib.loads((example / "production.toml").read_text(encoding="utf-8"))
    if not folder.exists() or (folder.is_dir() and not any(folder.iterdir())):
        create_production(
            folder,
            settings["title"],
            settings["code"],
            settings["frame_rate"],
            settings["gauge"],
            settings["day_minutes"],
        )
    elif not _is_demo(folder, settings["title"]):
        what = "is there already and holds something else than an earlier demo"
        raise WrongCall(Finding(what, "Name another folder.", value=str(folder)))
    else:
        printing.remark(f"{folder} holds an earlier demo: it is brought up to date.")


def _is_demo(folder: Path, title: str) -> bool:

    if not (folder / "production.db").is_file() or not (folder / TABLES / CUT).is_file():
        return False
    try:
        return read_settings(folder).title == title
    except CreditsError:
        return False


def _copy(example: Path, folder: Path) -> None:
    """The tables and pictures beside the log; the settings are the production's own."""

    for source in sorted(example.rglob("*")):
        inside = source.relative_to(example)
        if not source.is_file() or inside.name == "production.toml":
            continue
        is_table = inside.suffix == ".csv"
        target = folder / TABLES / inside if is_table else folder / inside
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(source, target)


def _load(folder: Path) -> None:
    """Bring in the tables, then every face sheet; the example has no problems, or says them."""

    tables = folder / TABLES
    files = [p for p in sorted(tables.rglob("*.csv")) if p.name != CUT]
    sheets = [p for p in files if p.name.startswith(FACE_SHEET)]
    with progress_bar() as progress:
        planner = table_planner([p for p in files if p not in sheets], progress)
    planners = [planner]
    planners += [face_sheet_planner([p], p.stem.removeprefix(FACE_SHEET)) for p in sheets]
    for each in planners:
        plan = bring_in(folder, each)
        if plan.problems:
            raise ProblemsFound(*plan.problems)


def _say_figures(folder: Path, version: int) -> None:

    ledger = read_ledger(folder)
    shots = counted(len(ledger.shots), "shot")
    people = counted(len(set(ledger.one_person.values())), "person", "people")
    characters = counted(len(ledger.characters), "character")
    entries = counted(len(ledger.entries), "entry", "entries")
    the_cut = ""
    if ledger.cut is not None:
        length = clock(ledger.cut.length, ledger.production.rate)
        the_cut = f"; cut version {version} runs {length}"
    where = os.path.relpath(folder)
    counts = f"{people}, {characters}, {shots}, {entries}"
    printing.say(f"{ledger.production.title} in {where}: {counts}{the_cut}.")
