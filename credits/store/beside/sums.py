"""Sums of what is kept beside the log, added up by the engine: nothing but sums is made in SQL."""

from __future__ import annotations

import sqlite3
from collections.abc import Collection, Mapping, Sequence
from math import lcm
from typing import Any

from credits.store.beside.figures_db import CELL, LOG, MEASURED
from credits.store.reading import LogReader

MANY = 8
"""Where more than one row in so many is wanted, all are read."""


class KeptSums(LogReader):
    """Adds up entries as they stand and cells of footage; the figures are open."""

    def done_in_brief(self) -> list[tuple[Any, ...]]:
        """Read what everybody did, by craft: the lowest number of a record and of a line that says
        an entry now, how many entries, their first and last day.

        A craft and a person stand there once for each origin of these numbers.
        """
        return self.driver.execute(
            "SELECT craft, person, first_origin, min(first_number), origin, min(number), count(*),"
            " min(day), max(day) FROM main.standing"
            " GROUP BY craft, person, first_origin, origin"
        ).fetchall()

    def craft_work(self, craft: str) -> list[tuple[Any, ...]]:
        """Read who did a craft, by character: how many entries, the minutes, the day on which it
        was begun and the last one."""
        own, every = self.driver.execute(
            "SELECT (SELECT count(*) FROM main.standing WHERE craft = ?),"
            " (SELECT count(*) FROM main.standing)",
            (craft,),
        ).fetchone()
        # Where most rows are of the craft, all are read faster than those one by one.
        among = "main.standing s NOT INDEXED" if own * MANY > every else "main.standing s"
        return self.driver.execute(
            "SELECT s.person, s.character, count(*), coalesce(sum(e.minutes), 0), min(CASE WHEN"
            " s.day IS NOT NULL THEN coalesce(e.started_on, s.day) END), max(s.day)"
            f" FROM {among}"
            f" JOIN {LOG}.entries e ON e.line = s.line WHERE s.craft = ?"
            " GROUP BY s.person, s.character",
            (craft,),
        ).fetchall()

    def week_work(self, weeks: Mapping[str, str]) -> list[tuple[Any, ...]]:
        """Read how many people worked in each week, how many entries say so, on how many stages.

        weeks: the week of each day; undated entries stand under the empty word.
        """
        self._say_weeks(weeks)
        return self.driver.execute(
            "SELECT coalesce(week, ''), count(DISTINCT person), count(*), count(DISTINCT stage)"
            " FROM main.standing LEFT JOIN temp.weeks ON on_day = day GROUP BY 1"
        ).fetchall()

    def people_in_shots(self, crafts: Sequence[str]) -> set[str]:
        """Read who did any of some crafts in frames of shots that are known."""
        marks = ", ".join("?" * len(crafts))
        found = self.driver.execute(
            f"SELECT DISTINCT s.person FROM main.standing s WHERE s.craft IN ({marks})"
            " AND s.shot IS NOT NULL AND (s.frames IS NOT NULL OR s.shot IN"
            f" (SELECT shot FROM {LOG}.shots))",
            tuple(crafts),
        )
        return {row[0] for row in found}

    def reached_together(self) -> list[tuple[str, str]]:
        """Read the characters and the people of the frames that hands are in, each two once."""
        return self.driver.execute(
            "SELECT DISTINCT characters, people FROM main.reached"
        ).fetchall()

    def days_worked(self) -> list[str]:
        """Read every day of an entry; empty for what is undated."""
        found = self.driver.execute("SELECT DISTINCT day FROM main.standing")
        return [row[0] or "" for row in found]

    def _say_weeks(self, weeks: Mapping[str, str]) -> None:
        self.driver.execute("CREATE TEMP TABLE IF NOT EXISTS weeks (on_day PRIMARY KEY, week)")
        self.driver.execute("DELETE FROM temp.weeks")
        self.driver.executemany("INSERT INTO temp.weeks VALUES (?, ?)", weeks.items())

    def days_of_cells(self) -> list[str]:
        """Read every day of a cell."""
        found = self.driver.execute("SELECT DISTINCT day FROM main.cells WHERE day IS NOT NULL")
        return [row[0] for row in found]

    def shot_days(self) -> list[str]:
        """Read every day of a cell with shot frames."""
        found = self.driver.execute(
            "SELECT DISTINCT day FROM main.cells WHERE day IS NOT NULL AND shot_shot <> 0"
        )
        return [row[0] for row in found]

    def claimed_days(self) -> list[tuple[str, str | None, str]]:
        """Read the person, the day and the shot of the cells, each three once."""
        return self.driver.execute("SELECT DISTINCT person, day, shot FROM main.cells").fetchall()

    def summed_cells(
        self, names: Collection[str], weeks: Mapping[str, str] | None = None
    ) -> list[tuple[Any, ...]]:
        """Read the cells, as rows of CELL without ``at``, summed by some of its columns.

        What is not among the names is None. weeks: the week of each day; those of a week are summed
        together, and its first one stands for it. A sum is of whole numbers over one denominator;
        where the engine's do not hold it, the cells themselves are returned.
        """
        columns = [name for name in CELL[: CELL.index("den")] if name != "at"]
        of = {name: name if name in names else "NULL" for name in columns}
        keys, tables = [name for name in columns if name in names], "main.cells"
        if weeks is not None:
            self._say_weeks(weeks)
            tables += " LEFT JOIN temp.weeks ON on_day = day"
            of["day"] = "min(day)"
            keys.append("week")
        found = self._summed(tables, of, keys)
        if found is not None:
            return found
        return self.driver.execute(
            f"SELECT {', '.join(columns)}, den, {', '.join(MEASURED)} FROM main.cells"
        ).fetchall()

    def summed_work(self, names: Collection[str]) -> list[tuple[Any, ...]] | None:
        """Read the cells as ``summed_cells`` by columns of what is kept by take and week.

        Of a day its week stands there, empty where there is no day. None: the engine's whole
        numbers do not hold the sums.
        """
        columns = [name for name in CELL[: CELL.index("den")] if name != "at"]
        of = {name: name if name in names else "NULL" for name in columns}
        if "day" in names:
            of["day"] = "week"
        keys = [of[name] for name in columns if name in names]
        return self._summed("main.worked", of, keys, " WHERE den IS NOT NULL")

    def _summed(
        self, tables: str, of: Mapping[str, str], keys: Sequence[str], where: str = ""
    ) -> list[tuple[Any, ...]] | None:
        """Sum cells by keys, over one denominator; None where the engine does not hold that."""
        dens = self.driver.execute(f"SELECT DISTINCT den FROM {tables}{where}")
        common = lcm(*(int(row[0]) for row in dens))
        sums = ", ".join(f"sum({name} * (?1 / den))" for name in MEASURED)
        by = f" GROUP BY {', '.join(keys)}" if keys else ""
        try:
            found = self.driver.execute(
                f"SELECT {', '.join(of.values())}, ?1, {sums} FROM {tables}{where}{by}", (common,)
            ).fetchall()
        except (OverflowError, sqlite3.OperationalError):
            return None
        # A product that is larger than the engine's whole numbers makes a sum that is none.
        return None if any(float in map(type, row) for row in found) else found
