"""Make the example production: an invented film, loaded, with its pages."""

from __future__ import annotations

import shutil
import tomllib
from dataclasses import dataclass
from pathlib import Path

from credits.app.cut import import_cut
from credits.app.production import read_ledger
from credits.app.site import BuiltSite, build_sites
from credits.app.tables import load_face_sheet, load_tables
from credits.editions import Edition
from credits.errors import CreditsError, Finding, LogUnusable, ProblemsFound, WrongCall
from credits.files import require_folder
from credits.formats.tables.sheets import Progress, read_tables
from credits.model.ledger import Ledger
from credits.places import example
from credits.store import create_production, read_settings

TABLES = "tables"
CUT = "cut.csv"
FACE_SHEET = "face-sheet-"


@dataclass(frozen=True, slots=True, kw_only=True)
class MadeDemo:
    """The example as it was made. ``is_new``: False where an earlier one was brought up to date."""

    ledger: Ledger
    is_new: bool
    sites: tuple[BuiltSite, ...]


def make_demo(folder: Path, progress: Progress | None = None) -> MadeDemo:
    """Make the example production in a folder, or bring an earlier one up to date.

    Raises WrongCall for a folder that holds something else, LogUnusable without the example.
    """
    source = _example()
    require_folder(folder)
    is_new = _start(folder, source)
    _copy(source, folder)
    _load(folder, progress)
    import_cut(folder, folder / TABLES / CUT)
    ledger = read_ledger(folder)
    return MadeDemo(ledger=ledger, is_new=is_new, sites=build_sites(folder, tuple(Edition)))


def _example() -> Path:
    """Find the example production. Raises LogUnusable when it was not installed."""
    root = example()
    found = sorted(root.glob("*/production.toml")) if root.is_dir() else []
    if not found:
        what = "the example production is not installed"
        raise LogUnusable(Finding(what, "Install credits again.", value=str(root)))
    return found[0].parent


def _start(folder: Path, source: Path) -> bool:
    """Start the production; False where an earlier demo is there. Anything else is refused."""
    settings = tomllib.loads((source / "production.toml").read_text(encoding="utf-8"))
    if not folder.exists() or (folder.is_dir() and not any(folder.iterdir())):
        create_production(
            folder,
            settings["title"],
            settings["code"],
            settings["frame_rate"],
            settings["gauge"],
            settings["day_minutes"],
        )
        return True
    if not _is_demo(folder, settings["title"]):
        what = "is there already and holds something else than an earlier demo"
        raise WrongCall(Finding(what, "Name another folder.", value=str(folder)))
    return False


def _is_demo(folder: Path, title: str) -> bool:
    if not (folder / "production.db").is_file() or not (folder / TABLES / CUT).is_file():
        return False
    try:
        return read_settings(folder).title == title
    except CreditsError:
        return False


def _copy(example: Path, folder: Path) -> None:
    """Copy the tables and pictures beside the log; the settings are the production's own."""
    for source in sorted(example.rglob("*")):
        inside = source.relative_to(example)
        if not source.is_file() or inside.name == "production.toml":
            continue
        is_table = inside.suffix == ".csv"
        target = folder / TABLES / inside if is_table else folder / inside
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(source, target)


def _load(folder: Path, progress: Progress | None) -> None:
    """Load the tables, then every face sheet. Raises ProblemsFound."""
    files = [p for p in sorted((folder / TABLES).rglob("*.csv")) if p.name != CUT]
    sheets = [p for p in files if p.name.startswith(FACE_SHEET)]
    tables = read_tables([p for p in files if p not in sheets], progress)
    plans = [load_tables(folder, tables)]
    plans += [load_face_sheet(folder, [p], p.stem.removeprefix(FACE_SHEET)) for p in sheets]
    for plan in plans:
        if plan.problems:
            raise ProblemsFound(*plan.problems)
