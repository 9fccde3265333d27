"""Build the sites of a production, an edition each."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from credits.app.production import all_kept
from credits.app.proofs import Against, read_credits
from credits.editions import Edition
from credits.site.pictures import pictures_of
from credits.site.publish import Published
from credits.site.render import build
from credits.site.source import PageSource

WATCHED = ("production.db", "production.db-wal", "production.toml", "credit-plan.toml")


@dataclass(frozen=True, slots=True, kw_only=True)
class BuiltSite:
    """One edition that was built, and the folder that holds it."""

    edition: Edition
    folder: Path
    published: Published

    @property
    def open_this(self) -> Path:
        """The page to open first."""
        return self.folder / "index.html"


def build_sites(
    folder: Path,
    editions: Sequence[Edition],
    out: Path | None = None,
    progress: Callable[[str], None] | None = None,
) -> tuple[BuiltSite, ...]:
    """Build the sites of a production, a folder per edition under ``out``.

    out: None: ``site`` in the production's folder.
    progress: is told the path of every file as it is made.
    """
    now = read_credits(folder, Against.LAST)
    built = []
    for edition in editions:
        target = (out or folder / "site") / edition.value
        names, contents = pictures_of(folder / "pictures", now.snapshot.ledger, edition)
        source = PageSource(now.snapshot, edition, names, now.comparison)
        with all_kept():
            published = build(target, source, contents, progress)
        built.append(BuiltSite(edition=edition, folder=target, published=published))
    return tuple(built)


def watched_state(folder: Path) -> frozenset[tuple[str, int, int]]:
    """Return what the files that a site is made from look like: any change of them changes it."""
    return frozenset(_states(folder))


def _states(folder: Path) -> Iterator[tuple[str, int, int]]:
    pictures = folder / "pictures"
    files = [folder / name for name in WATCHED]
    if pictures.is_dir():
        files += sorted(pictures.iterdir())
    for file in files:
        try:
            seen = file.stat()
        except OSError:
            continue
        if file.name.endswith("-wal") and not seen.st_size:
            continue  # opening a log makes an empty one, which says nothing
        yield file.name, seen.st_mtime_ns, seen.st_size
