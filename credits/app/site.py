"""Build the sites of a production, an edition each; make the example production with its own."""

from __future__ import annotations

import shutil
import tomllib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from hashlib import sha256
from pathlib import Path
from typing import NamedTuple

import credits
from credits.app.credits import read_credits
from credits.app.load_report import advice
from credits.app.production import open_snapshot, read_ledger
from credits.app.tables import import_cut, load_face_sheet, load_tables
from credits.billing.compare import Comparison
from credits.editions import Edition
from credits.errors import CreditsError, Finding, LogUnusable, ProblemsFound, WrongCall
from credits.figures.keep import open_figures
from credits.figures.marks import Marks
from credits.figures.snapshot import KeptSnapshot, Snapshot
from credits.files import require_folder, shipped
from credits.formats.plan.write import FILE_NAME
from credits.formats.tables.sheets import Progress, read_tables
from credits.memory import all_kept
from credits.model.ledger import Ledger
from credits.site.links import DataFile, Page
from credits.site.pictures import pictures_of
from credits.site.publish import File, OldFile, Published, SiteMovedError, files_there, publish
from credits.site.render import all_pages, site_files
from credits.site.source import PageSource
from credits.store.kept import FiguresFile
from credits.store.log import open_log
from credits.store.production import create_production
from credits.store.reading import but_lines
from credits.store.settings import read_settings

WATCHED = ("production.db", "production.db-wal", "production.toml", FILE_NAME)
TABLES = "tables"
MOST_STALE = 300
"""Pages: where more are to be made, the whole log is read at once."""
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
    left = {edition: target for edition, target in targets.items() if target not in there}
    done: dict[Path, tuple[Published, Pages]] = {}
    if left:
        try:
            done = _Build(folder, left.values()).editions(left, progress)
        except SiteMovedError:
            done = _Build(folder, ()).editions(left, progress)
    # What was written meanwhile is in the next build, which must not take this one for it.
    if done and _made_of(folder) == made_of:
        _keep(folder, made_of, {target: pages for target, (_, pages) in done.items()})
    published = there | {target: each for target, (each, _) in done.items()}
    return tuple(BuiltSite(edition, at, published[at]) for edition, at in targets.items())


Pages = dict[str, tuple[str, int, int]]
"""The mark of each page of a site by its path, with the size and the time of its file."""
SHARED = ""
"""The path under which is kept what every page of a site depends on."""


class _Build:
    """The editions that are built of one production, as it is at one moment.

    targets: the sites of which pages that would be made as they are may stay.
    """

    def __init__(self, folder: Path, targets: Iterable[Path]) -> None:
        self._folder = folder
        self._shared = _made_of(folder, lines=False)
        file = open_figures(folder)
        try:
            known = {target: file.pages(target) for target in targets}
            has_proofs = bool(file.proofs())
        finally:
            file.close()
        self._known = {
            target: pages
            for target, pages in known.items()
            if pages.get(SHARED, ("",))[0] == self._shared
        }
        self._comparison: Comparison | None = None
        # A comparison with a proof looks at the whole log, and so do pages that are all made anew.
        if self._known and len(self._known) == len(known) and not has_proofs:
            self._set(open_snapshot(folder))
        else:
            self._read_whole()

    def _set(self, results: Snapshot) -> None:
        self._results = results
        self._marks = Marks(results)

    def _read_whole(self) -> None:
        now = read_credits(self._folder, "last", whole=True)
        self._comparison = now.comparison
        self._set(now.snapshot)

    def editions(
        self, targets: Mapping[Edition, Path], progress: Progress | None
    ) -> dict[Path, tuple[Published, Pages]]:
        """Build the editions in their folders."""
        with all_kept():
            return {
                target: self._edition(edition, target, progress)
                for edition, target in targets.items()
            }

    def _edition(
        self, edition: Edition, target: Path, progress: Progress | None
    ) -> tuple[Published, Pages]:
        names, contents = pictures_of(self._folder / "pictures", self._results.ledger, edition)
        source = PageSource(self._results, edition, names, self._comparison)
        items = list(all_pages(source))
        marks = self._marks_of(source, items)
        old = self._old(target, marks)
        if isinstance(self._results, KeptSnapshot) and len(items) - len(old) > MOST_STALE:
            # So many are made faster of the whole log, by two processes.
            self._read_whole()
            return self._edition(edition, target, progress)
        files = site_files(source, contents, items, old)
        what = f"Building the {edition} edition, files"
        published = publish(target, _told(files, what, files_there(target), progress))
        pages = {SHARED: (self._shared, 0, 0)}
        for path, mark in marks.items():
            if (file := OldFile.at(target / path)) is not None:
                pages[path] = (mark, *file)
        return published, pages

    def _marks_of(self, source: PageSource, items: Iterable[Page | DataFile]) -> dict[str, str]:
        """Return the mark of every page that need not be made each time."""
        # Whom the public edition names depends on everybody's credits.
        named = () if source.crew else sorted(source.printed)
        every = (self._shared, source.edition.value, named)
        shared = sha256(repr(every).encode("utf-8", "replace")).hexdigest()
        abouts = ((item.path, item.about) for item in items)
        return {
            path: self._marks.of(about.kind, about.code, shared, about.also())
            for path, about in abouts
            if about is not None
        }

    def _old(self, target: Path, marks: Mapping[str, str]) -> dict[str, OldFile]:
        """Return the pages that would be made as they are, and whose files nobody has changed."""
        known = self._known.get(target, {})
        found = {}
        for path, mark in marks.items():
            was, *looks = known.get(path, ("", 0, 0))
            if was == mark and OldFile.at(target / path) == tuple(looks):
                found[path] = OldFile(*looks)
        return found


def _made_of(folder: Path, *, lines: bool = True) -> str:
    """Return what stands for everything that sites are made of: the log, files, the program.

    lines: False: all but the lines of the log.
    """
    with open_log(folder) as log:
        position = log.position()
    digest = sha256(repr(position if lines else but_lines(position)).encode())
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


def _keep(folder: Path, made_of: str, sites: Mapping[Path, Pages]) -> None:
    """Note of sites that were built what they and their pages are made of."""
    file = FiguresFile(folder)
    try:
        for target, pages in sites.items():
            file.keep_pages(target, pages)
        file.keep_sites({target: (made_of, _looks(target)) for target in sites})
    finally:
        file.close()


def _told(
    files: Iterable[tuple[str, File]], what: str, likely: int, progress: Progress | None
) -> Iterator[tuple[str, File]]:
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
