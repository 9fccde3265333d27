"""Rows of the figures that are renewed as one: those of a take, and whatever else is."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import chain, groupby
from typing import Any

from credits.store.reading import LogReader

Rows = Mapping[str, tuple[Sequence[Mapping[str, Any]], Sequence[tuple[Any, ...]]]]
"""For each table of the figures what goes from it, by values that rows have, and what comes."""


class KeptRows(LogReader):
    """Reads and replaces rows of the figures; they are open."""

    def rows(self, table: str, order: str = "") -> list[tuple[Any, ...]]:
        """Read a table of the figures whole."""
        return [*self.each_row(table, order)]

    def each_row(self, table: str, order: str = "") -> Iterator[tuple[Any, ...]]:
        """Read the rows of a table of the figures one by one."""
        by = f" ORDER BY {order}" if order else ""
        return iter(self.driver.execute(f"SELECT * FROM main.{table}{by}"))

    def has_rows(self, table: str) -> bool:
        """Tell whether a table of the figures has any row."""
        return self.driver.execute(f"SELECT 1 FROM main.{table} LIMIT 1").fetchone() is not None

    def rows_where(self, table: str, **values: Any) -> list[tuple[Any, ...]]:
        """Read those rows of a table of the figures that have these values."""
        where = " AND ".join(f"{column} = ?" for column in values)
        found = self.driver.execute(
            f"SELECT * FROM main.{table} WHERE {where}", tuple(values.values())
        )
        return found.fetchall()

    def replace(
        self,
        table: str,
        gone: Iterable[Mapping[str, Any]],
        rows: Iterable[Sequence[Any]],
    ) -> None:
        """Take the rows out that have these values, then put rows in."""
        for columns, same in groupby(gone, key=tuple):
            where = " AND ".join(f"{column} = ?" for column in columns) or "true"
            values = (tuple(each.values()) for each in same)
            self.driver.executemany(f"DELETE FROM main.{table} WHERE {where}", values)
        new = iter(rows)
        first = next(new, None)
        if first is not None:
            marks = ", ".join("?" * len(first))
            insert = f"INSERT INTO main.{table} VALUES ({marks})"
            self.driver.executemany(insert, chain((first,), new))

    def put(self, rows: Rows) -> None:
        """Renew several tables: for each, what goes from it and what comes."""
        for table, (gone, come) in rows.items():
            self.replace(table, gone, come)

    def content(self, table: str) -> list[tuple[Any, ...]]:
        """Read everything that a table says, in an order that does not follow how it came about."""
        columns = [row[1] for row in self.driver.execute(f"PRAGMA main.table_info({table})")]
        said = ", ".join(column for column in columns if column != "at")
        found = self.driver.execute(f"SELECT {said} FROM main.{table}").fetchall()
        return sorted(found, key=repr)
