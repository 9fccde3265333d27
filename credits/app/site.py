"""Build the sites of a production, an edition each; make the example production with its own."""

from __future__ import annotations

import shutil
import tomllib
from collections.abc import Iterable, Iterator, Sequence
from contextlib import suppress
from hashlib import sha256
from pathlib import Path
from typing import NamedTuple

import credits
from credits.app.credits import read_credits
from credits.app.load_report import advice
from credits.app.production import read_ledger
from credits.app.tables import import_cut, load_face_sheet, load_tables
from credits.editions import Edition
from credits.errors import CreditsError, Finding, LogUnusable, ProblemsFound, WrongCall
from credits.files import require_folder, shipped
from credits.formats.plan.write import FILE_NAME
from credits.formats.tables.sheets import Progress, read_tables
from credits.memory import all_kept
from credits.model.ledger import Ledger
from credits.site.pictures import pictures_of
from credits.site.publish import Published, files_there, publish
from credits.site.render import site_files
from credits.site.source import PageSource
from credits.store.kept import FiguresFile
from credits.store.log import open_log
from credits.store.production import create_production
from credits.store.settings import read_settings

WATCHED = ("production.db", "production.db-wal", "production.toml", FILE_NAME)
TABLES = "tables"
CUT = "cut.csv"
FACE_SHEET = "face-sheet-"
SETTINGS = ("title", "code", "frame_rate", "gauge", "day_minutes")


class BuiltSite(NamedTuple):
    """One edition that was built, the folder that holds it, and what was written."""

    edition: Edition
    folder: Path
    published: Published


def build_sites(
    folder: Path,
    editions: Sequence[Edition],
    out: Path | None = None,
    progress: Progress | None = None,
) -> tuple[BuiltSite, ...]:
    """Build the sites, a folder per edition under ``out``, else under the production's ``site``.

    A site of which nothing has changed, not what it is made of and not its files, stays as it is.
    progress: is told of every file of an edition, and of how many as far as is known.
    """
    targets = {edition: (out or folder / "site") / edition.value for edition in editions}
    made_of = _made_of(folder)
    there = _as_they_are(folder, targets.values(), made_of)
    is_there = len(there) == len(targets)
    now = None if is_there else read_credits(folder, "last", whole=True)
    built = []
    for edition, target in targets.items():
        if now is None or target in there:
            built.append(BuiltSite(edition, target, there[target]))
            continue
        names, contents = pictures_of(folder / "pictures", now.snapshot.ledger, edition)
        source = PageSource(now.snapshot, edition, names, now.comparison)
        with all_kept():
            files = site_files(source, contents)
            what = f"Building the {edition} edition, files"
            published = publish(target, _told(files, what, files_there(target), progress))
        built.append(BuiltSite(edition, target, published))
    fresh = [each.folder for each in built if each.folder not in there]
    # What was written meanwhile is in the next build, which must not take this one for it.
    if fresh and _made_of(folder) == made_of:
        _keep(folder, fresh, made_of)
    return tuple(built)


def _made_of(folder: Path) -> str:
    """Return what stands for everything that sites are made of: the log, files, the program."""
    with open_log(folder) as log:
        digest = sha256(repr(log.position()).encode())
    shipped_files = (path for path in shipped("site_templates").rglob("*") if path.is_file())
    code = Path(credits.__file__).parent.rglob("*.py")
    own = (folder / name for name in ("production.toml", FILE_NAME))
    pictures = (folder / "pictures").glob("*")
    for path in (*own, *sorted(pictures), *sorted(shipped_files), *sorted(code)):
        with suppress(OSError):
            seen = path.stat()
            digest.update(repr((str(path), seen.st_size, seen.st_mtime_ns)).encode())
    return digest.hexdigest()


def _looks(folder: Path) -> str:
    """Return what the files of a folder look like: any change of them changes it."""
    digest = sha256()
    for path in sorted(path for path in folder.rglob("*") if path.is_file()):
        seen = path.stat()
        digest.update(repr((str(path), seen.st_size, seen.st_mtime_ns)).encode("utf-8", "replace"))
    return digest.hexdigest()


def _as_they_are(folder: Path, targets: Iterable[Path], made_of: str) -> dict[Path, Published]:
    """Find the sites that would be built as they are."""
    found: dict[Path, Published] = {}
    file = FiguresFile(folder)
    try:
        for target in targets:
            if file.site(target) == (made_of, _looks(target)):
                files = [path for path in target.rglob("*") if path.is_file()]
                pages = sum(path.suffix == ".html" for path in files)
                found[target] = Published(pages, 0, len(files), 0)
    finally:
        file.close()
    return found


def _keep(folder: Path, targets: Iterable[Path], made_of: str) -> None:
    """Note of sites that were built what they are made of."""
    file = FiguresFile(folder)
    try:
        file.keep_sites({target: (made_of, _looks(target)) for target in targets})
    finally:
        file.close()


def _told(
    files: Iterable[tuple[str, bytes]], what: str, likely: int, progress: Progress | None
) -> Iterator[tuple[str, bytes]]:
    """Hand the files on and tell how many there were.

    likely: how many the folder holds from the build before, which is what is said in advance; once
    there are more, nobody knows how many there will be.
    """
    for done, file in enumerate(files, 1):
        if progress is not None:
            progress(what, done, likely if done <= likely else 0)
        yield file


def watched_state(folder: Path) -> frozenset[tuple[str, int, int]]:
    """Return what the files that a site is made from look like: any change of them changes it."""
    states = set()
    for file in (*(folder / name for name in WATCHED), *(folder / "pictures").glob("*")):
        with suppress(OSError):
            seen = file.stat()
            # Opening a log makes an empty -wal, which says nothing.
            if seen.st_size or not file.name.endswith("-wal"):
                states.add((file.name, seen.st_mtime_ns, seen.st_size))
    return frozenset(states)


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
    import_cut(folder, folder / TABLES / CUT)
    sites = build_sites(folder, tuple(Edition), progress=progress)
    return MadeDemo(read_ledger(folder), is_new, sites)


def _start(folder: Path, source: Path) -> bool:
    """Start the production; False where an earlier demo is there. Anything else is refused."""
    settings = tomllib.loads((source / "production.toml").read_text(encoding="utf-8"))
    if not folder.exists() or (folder.is_dir() and not any(folder.iterdir())):
        create_production(folder, *(settings[key] for key in SETTINGS))
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
