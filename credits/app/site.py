"""Build the sites of a production, an edition each."""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import closing, suppress
from dataclasses import replace
from functools import partial
from hashlib import blake2b, sha256
from itertools import groupby
from pathlib import Path
from typing import NamedTuple

import credits
from credits.app.end_credits.credits import CreditsNow, credits_now, round_before
from credits.app.production import kept_snapshot
from credits.editions import Edition
from credits.figures.changed import ChangedPages
from credits.figures.keep import open_figures
from credits.figures.renewal import Depth
from credits.files import Progress, shipped
from credits.formats.plan.write import FILE_NAME
from credits.memory import all_kept
from credits.site.links import DataFile, Page
from credits.site.pictures import logos_of, pictures_of
from credits.site.publish import (
    File,
    OldFile,
    Published,
    SiteMovedError,
    exchange,
    files_in,
    files_there,
    publish,
)
from credits.site.render import all_pages, pages_of_shots, site_files
from credits.site.source import PageSource
from credits.store.beside.kept import FiguresFile
from credits.store.file import is_shared
from credits.store.log import open_log
from credits.store.reading import but_lines

WATCHED = ("production.db", "production.db-wal", "production.toml", FILE_NAME)
MOST_AHEAD = 3
"""Shots: where something was logged on more, no page comes before the others."""
LOOKS_EVERY = 0.1
"""Seconds between two looks at whether something was written since a build began."""
MOST_STALE = 300
"""Pages: where more are to be made, the whole log is read at once."""


class OvertakenError(Exception):
    """Something was written while a site was built, which is to be built first."""


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
    *,
    ahead: bool = False,
    patience: float = 0,
) -> tuple[BuiltSite, ...]:
    """Build the sites, a folder per edition under ``out``, else under the production's ``site``.

    A site of which nothing has changed, not what it is made of and not its files, stays as it is.
    progress: is told of every file of an edition, and of how many as far as is known.
    ahead: the pages of the shots that something was logged on are put into the sites that are
    there, each in one step, before all else is; for somebody who waits for them.
    patience: for so many seconds from now the build makes way for what is written meanwhile: then
    the sites stay as they are. Raises OvertakenError.
    """
    targets = {edition: (out or folder / "site") / edition.value for edition in editions}
    made_of = _made_of(folder)
    there = _as_they_are(folder, targets.values(), made_of)
    left = {edition: target for edition, target in targets.items() if target not in there}
    done: dict[Path, tuple[Published, Pages]] = {}
    news = _News(folder, made_of, patience)
    if left:
        try:
            with closing(_Build(folder, left, news)) as build:
                if ahead:
                    build.pages_ahead()
                done = build.editions(progress)
        except SiteMovedError:
            with closing(_Build(folder, left, news, anew=True)) as build:
                done = build.editions(progress)
    # What was written meanwhile is in the next build, which must not take this one for it.
    if done and _made_of(folder) == made_of:
        _keep(folder, made_of, {target: pages for target, (_, pages) in done.items()})
    published = there | {target: each for target, (each, _) in done.items()}
    return tuple(BuiltSite(edition, at, published[at]) for edition, at in targets.items())


Pages = dict[str, tuple[str, int, int]]
"""The mark of each page of a site by its path, with the size and the time of its file."""
SHARED = ""
"""The path under which is kept what every page of a site depends on, with the number of the
renewal of the figures that they were made of."""


class _News:
    """Looks at whether something was written since a build began.

    made_of: what stands for everything that its sites are made of. patience: seconds; later nobody
    looks any more.
    """

    def __init__(self, folder: Path, made_of: str, patience: float) -> None:
        self._folder = folder
        self._made_of = made_of
        self._next = time.monotonic()
        self._ends = self._next + patience
        self._seen = watched_state(folder)

    def look(self) -> None:
        """Raise OvertakenError where something was written."""
        now = time.monotonic()
        if not self._next <= now < self._ends:
            return
        self._next = now + LOOKS_EVERY
        seen = watched_state(self._folder)
        # A log that is closed is written to, and says the same.
        if seen != self._seen and _made_of(self._folder) != self._made_of:
            raise OvertakenError
        self._seen = seen


class _Build:
    """The editions that are built of one production, as it is at one moment.

    targets: the editions, and the folders of their sites. news: looks at what is written meanwhile.
    anew: no page stays that is there.
    """

    def __init__(
        self, folder: Path, targets: Mapping[Edition, Path], news: _News, *, anew: bool = False
    ) -> None:
        self._folder = folder
        self._pictures = folder / "pictures"
        self._targets = targets
        self._news = news
        self._shared = _made_of(folder, lines=False)
        self._written: Counter[Path] = Counter()
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
        self._snapshot = partial(kept_snapshot, file, depth)
        # Where all is made anew, all is read at once.
        self._set(whole=len(self._known) < len(targets))

    def _set(self, *, whole: bool) -> None:
        self._results = self._snapshot(whole=whole)
        self._now: CreditsNow | None = None
        self._sources: dict[Edition, tuple[PageSource, dict[str, bytes]]] = {}

    def editions(self, progress: Progress | None) -> dict[Path, tuple[Published, Pages]]:
        """Build the editions in their folders."""
        with all_kept():
            return {
                target: self._edition(edition, target, progress)
                for edition, target in self._targets.items()
            }

    def pages_ahead(self) -> None:
        """Put the pages of shots that something was logged on into the sites that are there."""
        for edition, target in self._targets.items():
            if (known := self._known.get(target)) is None or self._results.is_held:
                continue
            if shots := _latest(self._file.shots_changed_since(known[SHARED][1])):
                # Nothing of the credits is on these pages: nobody waits for them.
                names, _ = pictures_of(self._pictures, self._results.ledger, edition)
                source = PageSource(self._results, edition, names)
                written = [exchange(target, *page) for page in pages_of_shots(source, shots)]
                self._written[target] = sum(written)

    def _source(self, edition: Edition) -> tuple[PageSource, dict[str, bytes]]:
        """Return what the pages of an edition are made of, and its pictures."""
        if edition not in self._sources:
            file, results = self._file, self._results
            if self._now is None:
                self._now = credits_now(file, results, "last")
            comparison = self._now.comparison
            last = comparison and comparison.mark.number
            names, contents = pictures_of(self._pictures, results.ledger, edition)
            logos, marks = logos_of(self._pictures, results.credits)
            made = PageSource(
                results,
                edition,
                names,
                comparison,
                # Nobody else reads what a round changed.
                round_before(file, self._now) if edition is Edition.OFFICE else None,
                logos,
                file.log_seal(last) if last else "",
            )
            self._sources[edition] = made, contents | marks
        return self._sources[edition]

    def _edition(
        self, edition: Edition, target: Path, progress: Progress | None
    ) -> tuple[Published, Pages]:
        source, contents = self._source(edition)
        items = list(all_pages(source))
        marks = self._marks_of(source, items)
        old = self._old(target, items, marks)
        if not self._results.is_held and len(items) - len(old) > MOST_STALE:
            # So many are made faster where everything is at hand, by two processes.
            self._set(whole=True)
            return self._edition(edition, target, progress)
        if not self._results.is_held:
            self._file.let_copies_read()
        files = site_files(source, contents, items, old)
        what = f"Building the {edition} edition, files"
        told = _told(files, what, files_there(target), progress, self._news)
        shared = edition is not Edition.OFFICE or is_shared(self._folder)
        published = publish(target, told, shared=shared)
        ahead = self._written[target]
        published = replace(
            published, written=published.written + ahead, unchanged=published.unchanged - ahead
        )
        pages = {SHARED: (self._shared, self._file.renewals()[1], 0)}
        for path, mark in marks.items():
            if (file := old.get(path) or OldFile.at(f"{target}/{path}")) is not None:
                pages[path] = (mark, *file)
        return published, pages

    def _marks_of(self, source: PageSource, items: Iterable[Page | DataFile]) -> dict[str, str]:
        """Return the mark of every page that need not be made each time: what it is made of beside
        the entries of the log and the figures of what it is about."""
        # Whom the public edition names depends on everybody's credits.
        named = () if source.crew else sorted(source.printed)
        every = (self._shared, source.edition.value, named)
        shared = sha256(repr(every).encode("utf-8", "replace")).digest()
        marks = {}
        for item in items:
            if item.about is not None:
                said = repr(item.about.also()).encode("utf-8", "replace")
                marks[item.path] = blake2b(said, digest_size=16, key=shared).hexdigest()
        return marks

    def _old(
        self, target: Path, items: Iterable[Page | DataFile], marks: Mapping[str, str]
    ) -> dict[str, OldFile]:
        """Return the pages that would be made as they are, and whose files nobody has changed."""
        known = self._known.get(target)
        if known is None:
            return {}
        changed = self._changed_since(known[SHARED][1])
        found = {}
        for item in items:
            was, *looks = known.get(item.path, ("", 0, 0))
            if item.about is None or was != marks[item.path]:
                continue
            if (item.about.kind, item.about.code) in changed:
                continue
            if OldFile.at(f"{target}/{item.path}") == tuple(looks):
                found[item.path] = OldFile(*looks)
        return found

    def _changed_since(self, renewal: int) -> ChangedPages:
        things = self._file.changed_since(renewal)
        return ChangedPages(things, self._results.ledger, self._file)


def _made_of(folder: Path, *, lines: bool = True) -> str:
    """Return what stands for everything that sites are made of: the log, files, the program.

    lines: False: all but the lines of the log.
    """
    with open_log(folder) as log:
        position = log.position()
    digest = sha256(repr(position if lines else but_lines(position)).encode())
    shipped_files = (path for path in shipped("site_templates").rglob("*") if path.is_file())
    code = Path(credits.__file__).parent.rglob("*.py")
    folder = folder.resolve()
    own = (folder / name for name in ("production.toml", FILE_NAME))
    pictures = (folder / "pictures").glob("*")
    for path in (*own, *sorted(pictures), *sorted(shipped_files), *sorted(code)):
        with suppress(OSError):
            seen = path.stat()
            digest.update(repr((str(path), seen.st_size, seen.st_mtime_ns)).encode())
    return digest.hexdigest()


def _looks(folder: Path) -> str:
    """Return what the files of a folder look like: any change of them changes it."""
    looks = []
    for file in files_in(folder):
        seen = file.stat()
        looks.append((file.path, seen.st_size, seen.st_mtime_ns))
    return sha256(repr(sorted(looks)).encode("utf-8", "replace")).hexdigest()


def _as_they_are(folder: Path, targets: Iterable[Path], made_of: str) -> dict[Path, Published]:
    """Find the sites that would be built as they are."""
    found: dict[Path, Published] = {}
    file = FiguresFile(folder)
    try:
        for target in targets:
            was = file.site(target)
            if was is not None and was[0] == made_of and was[1] == _looks(target):
                files = [*files_in(target)]
                pages = sum(file.name.endswith(".html") for file in files)
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
    files: Iterable[tuple[str, File]],
    what: str,
    likely: int,
    progress: Progress | None,
    news: _News,
) -> Iterator[tuple[str, File]]:
    """Hand the files on and tell how many there were. Raises OvertakenError.

    likely: how many the folder holds from the build before, which is what is said in advance; once
    there are more, nobody knows how many there will be.
    """
    for done, file in enumerate(files, 1):
        if progress is not None:
            progress(what, done, likely if done <= likely else 0)
        yield file
        news.look()


def _latest(changed: Iterable[tuple[str, int]]) -> list[str]:
    """Return the shots that something was logged on last, by whole renewals, MOST_AHEAD at most.

    changed: shots with the number of the renewal that changed them.
    """
    found: list[str] = []
    by_renewal = groupby(sorted(changed, key=lambda own: -own[1]), key=lambda own: own[1])
    for _, own in by_renewal:
        shots = [shot for shot, _ in own]
        if len(found) + len(shots) > MOST_AHEAD:
            break
        found += shots
    return found


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
