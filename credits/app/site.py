"""Build the sites of a production, an edition each."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import closing, suppress
from functools import partial
from hashlib import sha256
from pathlib import Path
from typing import NamedTuple

import credits
from credits.app.credits import credits_of
from credits.editions import Edition
from credits.figures.keep import open_figures
from credits.figures.marks import Marks
from credits.figures.renewal import Depth
from credits.files import Progress, shipped
from credits.formats.plan.write import FILE_NAME
from credits.memory import all_kept
from credits.site.links import DataFile, Page
from credits.site.pictures import pictures_of
from credits.site.publish import File, OldFile, Published, SiteMovedError, files_there, publish
from credits.site.render import all_pages, site_files
from credits.site.source import PageSource
from credits.store.kept import FiguresFile
from credits.store.log import open_log
from credits.store.reading import but_lines

WATCHED = ("production.db", "production.db-wal", "production.toml", FILE_NAME)
MOST_STALE = 300
"""Pages: where more are to be made, the whole log is read at once."""


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
            with closing(_Build(folder, left)) as build:
                done = build.editions(progress)
        except SiteMovedError:
            with closing(_Build(folder, left, anew=True)) as build:
                done = build.editions(progress)
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

    targets: the editions, and the folders of their sites. anew: no page stays that is there.
    """

    def __init__(
        self, folder: Path, targets: Mapping[Edition, Path], *, anew: bool = False
    ) -> None:
        self._folder = folder
        self._targets = targets
        self._shared = _made_of(folder, lines=False)
        # What the checks find is for the office alone.
        depth = Depth.FIGURES if Edition.OFFICE in targets else Depth.REACH
        self._file = file = open_figures(folder, depth)
        self.close = file.close
        stay = [] if anew else [target for target in targets.values() if target.is_dir()]
        known = {target: file.pages(target) for target in stay}
        self._known = {
            target: pages
            for target, pages in known.items()
            if pages.get(SHARED, ("",))[0] == self._shared
        }
        self._read = partial(credits_of, file, depth, "last")
        # Where all is made anew, all is read at once.
        self._set(whole=len(self._known) < len(targets))

    def _set(self, *, whole: bool) -> None:
        with all_kept():
            now = self._read(whole=whole)
        self._comparison, self._results = now.comparison, now.snapshot
        self._marks = Marks(self._results, self._file)

    def editions(self, progress: Progress | None) -> dict[Path, tuple[Published, Pages]]:
        """Build the editions in their folders."""
        with all_kept():
            return {
                target: self._edition(edition, target, progress)
                for edition, target in self._targets.items()
            }

    def _edition(
        self, edition: Edition, target: Path, progress: Progress | None
    ) -> tuple[Published, Pages]:
        names, contents = pictures_of(self._folder / "pictures", self._results.ledger, edition)
        source = PageSource(self._results, edition, names, self._comparison)
        items = list(all_pages(source))
        marks = self._marks_of(source, items)
        old = self._old(target, marks)
        if not self._results.is_held and len(items) - len(old) > MOST_STALE:
            # So many are made faster where everything is at hand, by two processes.
            self._set(whole=True)
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
