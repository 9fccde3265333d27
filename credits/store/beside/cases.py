"""What the checks found, as it is kept."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from contextlib import suppress

from credits.store.reading import LogReader

PATIENCE_MILLISECONDS = 200
"""Whoever asks waits no longer for another program that writes."""


class KeptCases(LogReader):
    """Reads what the checks found, and keeps what they find in the film as a whole."""

    def cases(self) -> list[tuple[str, str]]:
        """Read what the checks found: of each case its kind, and what it says as JSON."""
        return self.driver.execute("SELECT kind, data FROM main.cases").fetchall()

    def characters_of(self, craft: str) -> list[str]:
        """Read on which characters a craft was done."""
        found = self.driver.execute(
            "SELECT DISTINCT character FROM main.standing"
            " WHERE craft = ? AND character IS NOT NULL",
            (craft,),
        )
        return [row[0] for row in found]

    def film_cases(self, made_of: str) -> list[tuple[str, str]] | None:
        """Read what the checks found in the film as a whole: as ``cases``.

        made_of: stands for everything that it was found in. None: of that nothing is kept.
        """
        found = self.driver.execute(
            "SELECT kind, data FROM main.film_cases WHERE of = ?", (made_of,)
        )
        rows = found.fetchall()
        return [(kind, data) for kind, data in rows if kind] if rows else None

    def keep_film_cases(self, made_of: str, rows: Iterable[tuple[str, str]]) -> None:
        """Keep what the checks found in the film as a whole, instead of what was found before.

        It is the last that is done with the figures: what is read after it is of another moment.
        Where it cannot be written soon it is found again next time.
        """
        # A row without a kind says that it was looked for, whatever was found.
        every = [(made_of, "", ""), *((made_of, *row) for row in rows)]
        with suppress(sqlite3.Error):
            self.driver.rollback()
            self.driver.execute(f"PRAGMA busy_timeout={PATIENCE_MILLISECONDS}")
            self.driver.execute("BEGIN IMMEDIATE")
            try:
                self.driver.execute("DELETE FROM main.film_cases")
                self.driver.executemany("INSERT INTO main.film_cases VALUES (?, ?, ?)", every)
            finally:
                self.driver.execute("COMMIT")
