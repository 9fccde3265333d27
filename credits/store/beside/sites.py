"""Which sites were built of the figures, of what, and what each renewal has changed for them."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Mapping
from contextlib import suppress
from pathlib import Path

from credits.store.beside.rows import KeptRows


class KeptSites(KeptRows):
    """Notes what sites were made of; the figures are open."""

    def site(self, folder: Path) -> tuple[str, str] | None:
        """Read what the site in a folder was made of, and what its files looked like then."""
        found = self.driver.execute(
            "SELECT made_of, files FROM main.sites WHERE folder = ?", (str(folder.resolve()),)
        ).fetchone()
        return None if found is None else (found[0], found[1])

    def keep_sites(self, sites: Mapping[Path, tuple[str, str]]) -> None:
        """Note what the sites in some folders were made of, and what their files look like.

        Where that cannot be written, they are built again next time.
        """
        rows = ((str(folder.resolve()), *site) for folder, site in sites.items())
        with suppress(sqlite3.Error):
            self.driver.executemany("INSERT OR REPLACE INTO main.sites VALUES (?, ?, ?)", rows)

    def pages(self, folder: Path) -> dict[str, tuple[str, int, int]]:
        """Read the mark of every page of the site in a folder, with its file's size and time."""
        found = self.driver.execute(
            "SELECT path, mark, size, time FROM main.pages WHERE folder = ?",
            (str(folder.resolve()),),
        )
        return {path: (mark, size, time) for path, mark, size, time in found}

    def keep_pages(self, folder: Path, pages: Mapping[str, tuple[str, int, int]]) -> None:
        """Note the mark of every page of the site in a folder, with its file's size and time.

        Where that cannot be written, they are made again next time.
        """
        name, was = str(folder.resolve()), self.pages(folder)
        others = {path for path in was.keys() | pages.keys() if was.get(path) != pages.get(path)}
        with suppress(sqlite3.Error):
            self.driver.execute("BEGIN IMMEDIATE")
            try:
                gone = ({"folder": name, "path": path} for path in others)
                rows = ((name, path, *pages[path]) for path in others & pages.keys())
                self.replace("pages", gone, rows)
            finally:
                self.driver.execute("COMMIT")

    def note_changed(self, things: Iterable[tuple[str, str]], renewal: int) -> None:
        """Note what a renewal has changed: of each thing a word for what it is, and its code."""
        self.driver.executemany(
            "INSERT OR REPLACE INTO main.changed VALUES (?, ?, ?)",
            ((*thing, renewal) for thing in things),
        )

    def changed_since(self, renewal: int) -> list[tuple[str, str]]:
        """Read what was changed by the renewals after one."""
        return self.driver.execute(
            "SELECT what, code FROM main.changed WHERE renewal > ?", (renewal,)
        ).fetchall()

    def shots_changed_since(self, renewal: int) -> list[tuple[str, int]]:
        """Read the shots that renewals after one have changed, each with the last of these."""
        return self.driver.execute(
            "SELECT code, renewal FROM main.changed WHERE what = 'shot' AND renewal > ?", (renewal,)
        ).fetchall()
