"""Make the example production, an invented film, with its sites."""

from __future__ import annotations

import shutil
import tomllib
from contextlib import suppress
from pathlib import Path
from typing import NamedTuple

from credits.app.end_credits.credits import save_proof
from credits.app.figures import read_ledger
from credits.app.lists.load_report import advice
from credits.app.lists.tables import import_cut, load_face_sheet, load_tables
from credits.app.site import BuiltSite, build_sites
from credits.editions import Edition
from credits.errors import CreditsError, Finding, LogUnusable, ProblemsFound, WrongCall
from credits.files import Progress, require_folder, shipped
from credits.formats.tables.sheets import read_tables
from credits.model.ledger import Ledger
from credits.store.production import create_production
from credits.store.settings import read_settings

TABLES = "tables"
CUT = "cut.csv"
FACE_SHEET = "face-sheet-"
PLAN = "credit-plan.toml"
FIRST_PLAN = "credit-plan-first-round.toml"
SETTINGS = ("title", "code", "frame_rate", "gauge", "day_minutes")


class MadeDemo(NamedTuple):
    """The example as it was made. ``is_new``: False where an earlier one was brought up to date."""

    ledger: Ledger
    is_new: bool
    sites: tuple[BuiltSite, ...]


def make_demo(folder: Path, progress: Progress | None = None) -> MadeDemo:
    """Make the example production in a folder, or bring an earlier one up to date.

    Raises WrongCall for a folder that holds something else, LogUnusable without the example.
    """
    root = shipped("examples")
    found = sorted(root.glob("*/production.toml")) if root.is_dir() else []
    if not found:
        what = "the example production is not installed"
        raise LogUnusable(Finding(what, "Install credits again.", value=str(root)))
    source = found[0].parent
    require_folder(folder)
    is_new = _start(folder, source)
    _copy(source, folder)
    _load(folder, progress)
    if is_new:
        _save_first_proof(folder)
    import_cut(folder, folder / TABLES / CUT)
    if is_new:
        save_proof(folder, note="Second round: by the cut")
    sites = build_sites(folder, tuple(Edition), progress=progress)
    return MadeDemo(read_ledger(folder), is_new, sites)


def _start(folder: Path, source: Path) -> bool:
    """Start the production; False where an earlier demo is there. Anything else is refused."""
    settings = tomllib.loads((source / "production.toml").read_text(encoding="utf-8"))
    if not folder.exists() or (folder.is_dir() and not any(folder.iterdir())):
        own = (settings[key] for key in SETTINGS)
        create_production(folder, *own, sentence=settings["sentence"])
        return True
    title = ""
    with suppress(CreditsError):
        title = read_settings(folder).title
    demo = (folder / "production.db").is_file() and (folder / TABLES / CUT).is_file()
    if not demo or title != settings["title"]:
        what = "is there already and holds something else than an earlier demo"
        raise WrongCall(Finding(what, "Name another folder.", value=str(folder)))
    return False


def _copy(example: Path, folder: Path) -> None:
    """Copy the tables and pictures beside the log; the settings are the production's own."""
    for source in sorted(example.rglob("*")):
        if source.is_file() and source.name != "production.toml":
            place = folder / TABLES if source.suffix == ".csv" else folder
            target = place / source.relative_to(example)
            target.parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(source, target)


def _save_first_proof(folder: Path) -> None:
    """Freeze the credits by the plan of the first round, before there is a cut."""
    plan, first = folder / PLAN, folder / FIRST_PLAN
    second = plan.read_bytes()
    try:
        shutil.copyfile(first, plan)
        save_proof(folder, note="First round: before there was a cut")
    finally:
        plan.write_bytes(second)


def _load(folder: Path, progress: Progress | None) -> None:
    """Load the tables, then every face sheet. Raises ProblemsFound."""
    files = [p for p in sorted((folder / TABLES).rglob("*.csv")) if p.name != CUT]
    sheets = [p for p in files if p.name.startswith(FACE_SHEET)]
    tables = read_tables([p for p in files if p not in sheets], progress)
    plans = [load_tables(folder, tables)]
    for done, file in enumerate(sheets, 1):
        if progress is not None:
            progress("Loading the face sheets", done, len(sheets))
        plans.append(load_face_sheet(folder, [file], file.stem.removeprefix(FACE_SHEET)))
    for plan in plans:
        if plan.problems:
            raise ProblemsFound(*plan.problems)
        if held := advice(plan):
            raise ProblemsFound(Finding(held, "Or make the demo in another folder."))
