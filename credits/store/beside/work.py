"""Rows of entries as they stand that days, poses and waits are made of."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from typing import Any

from credits.model.facts import EntryNumber
from credits.store.beside.figures_db import LOG, MEASURED
from credits.store.reading import LogReader


class WorkRows(LogReader):
    """Reads of entries what days of work are made of; the figures are open."""

    def _choose(self, codes: Iterable[Any]) -> None:
        self.driver.execute("CREATE TEMP TABLE IF NOT EXISTS chosen (code PRIMARY KEY)")
        self.driver.execute("DELETE FROM temp.chosen")
        self.driver.executemany(
            "INSERT OR IGNORE INTO temp.chosen VALUES (?)", ((code,) for code in codes)
        )

    def stage_rows(
        self, crafts: Sequence[str], column: str = "", codes: Iterable[Any] = ()
    ) -> list[tuple[Any, ...]]:
        """Read of every entry of some crafts its person, day, shot, take, puppet and minutes, by
        the number of its record.

        column: of those that have one of some codes in it alone; None is such a code, too.
        """
        of_chosen = ""
        if column:
            every = list(codes)
            self._choose(every)
            of_chosen = f" AND (s.{column} IN (SELECT code FROM temp.chosen)"
            of_chosen += f" OR s.{column} IS NULL)" if None in every else ")"
        marks = ", ".join("?" * len(crafts))
        # Most entries are of these crafts: the table is read through, and no index (+).
        return self.driver.execute(
            "SELECT s.person, s.day, s.shot, s.take, s.puppet, e.minutes FROM main.standing s"
            f" JOIN {LOG}.entries e ON e.line = s.line WHERE +s.craft IN ({marks}){of_chosen}"
            " ORDER BY s.first_origin, s.first_number",
            tuple(crafts),
        ).fetchall()

    def worked_rows(self) -> list[tuple[Any, ...]]:
        """Read what everybody did in each take and week, as it is kept; undated work has no week,
        and where no frames are claimed the denominator is 0."""
        return self.driver.execute(
            "SELECT shot, take, person, nullif(week, ''), purpose, minutes, days, claimed, poses,"
            f" poses_den, ifnull(den, 0), {', '.join(MEASURED)} FROM main.worked"
        ).fetchall()

    def rows_on_days(self, table: str, days: Iterable[str]) -> list[tuple[Any, ...]]:
        """Read the rows of a table of the figures that are of some days."""
        self._choose(days)
        return self.driver.execute(
            f"SELECT * FROM main.{table} WHERE day IN (SELECT code FROM temp.chosen)"
        ).fetchall()

    def waited_rows(self, crafts: Sequence[str]) -> list[tuple[Any, ...]]:
        """Read of every entry of some crafts that somebody waited for its number, puppet, part,
        shot, day and the minutes, by the number of its record."""
        marks = ", ".join("?" * len(crafts))
        return self.driver.execute(
            "SELECT s.origin, s.number, s.puppet, s.part, s.shot, s.day, e.wait_minutes"
            f" FROM main.standing s JOIN {LOG}.entries e ON e.line = s.line"
            f" WHERE s.craft IN ({marks}) AND e.wait_minutes > 0"
            " ORDER BY s.first_origin, s.first_number",
            tuple(crafts),
        ).fetchall()

    def who_in_shots(
        self, crafts: Sequence[str], pairs: Iterable[tuple[str, str]]
    ) -> list[tuple[int, str]]:
        """Read who did some crafts on puppets in shots: the place of puppet and shot among the
        pairs, and the person; both once."""
        self._name_pairs(pairs)
        marks = ", ".join("?" * len(crafts))
        return self.driver.execute(
            "SELECT DISTINCT p.place, s.person FROM temp.pairs p CROSS JOIN"
            " main.standing s ON s.puppet = p.puppet AND s.shot = p.other"
            f" WHERE +s.craft IN ({marks})",
            tuple(crafts),
        ).fetchall()

    def who_on_days(
        self, crafts: Sequence[str], pairs: Iterable[tuple[str, str]]
    ) -> list[tuple[int, str, str | None]]:
        """Read who did some crafts on puppets on days, once for each entry: the place of puppet and
        day among the pairs, the person and the shot."""
        self._name_pairs(pairs)
        marks = ", ".join("?" * len(crafts))
        return self.driver.execute(
            "SELECT p.place, s.person, s.shot FROM temp.pairs p CROSS JOIN"
            " main.standing s ON s.puppet = p.puppet AND s.day = p.other"
            f" WHERE +s.craft IN ({marks})",
            tuple(crafts),
        ).fetchall()

    def _name_pairs(self, pairs: Iterable[tuple[str, str]]) -> None:
        self.driver.execute(
            "CREATE TEMP TABLE IF NOT EXISTS pairs (place INTEGER PRIMARY KEY, puppet, other)"
        )
        self.driver.execute("DELETE FROM temp.pairs")
        self.driver.executemany(
            "INSERT INTO temp.pairs VALUES (?, ?, ?)",
            ((place, *pair) for place, pair in enumerate(pairs)),
        )

    def poses_on(self, shots: Iterable[str] | None) -> dict[EntryNumber, int]:
        """Read how many frames a pose holds, by the lines on some shots that say it.

        shots: None: on all.
        """
        of_chosen = ""
        if shots is not None:
            self._choose(shots)
            of_chosen = "s.shot IN (SELECT code FROM temp.chosen) AND"
        found = self.driver.execute(
            "SELECT s.origin, s.number, e.poses_on FROM main.standing s"
            f" JOIN {LOG}.entries e ON e.line = s.line WHERE {of_chosen} e.poses_on IS NOT NULL"
        )
        return {EntryNumber(origin, number): on for origin, number, on in found}

    def shots_with(self, column: str, codes: Iterable[str]) -> set[str]:
        """Find the shots of the entries that have one of some values in a column."""
        self._choose(codes)
        found = self.driver.execute(
            "SELECT DISTINCT shot FROM main.standing WHERE shot IS NOT NULL"
            f" AND {column} IN (SELECT code FROM temp.chosen)"
        )
        return {row[0] for row in found}

    def in_shots(self, column: str, shots: Collection[str], but: Sequence[str] = ()) -> set[str]:
        """Read which values of a column entries name together with some shots.

        but: entries of these crafts are passed over.
        """
        self._choose(shots)
        found = self.driver.execute(
            f"SELECT DISTINCT {column} FROM main.standing WHERE {column} IS NOT NULL AND shot IN"
            " (SELECT code FROM temp.chosen) AND craft NOT IN"
            f" ({', '.join('?' * len(but))})",
            tuple(but),
        )
        return {row[0] for row in found}
