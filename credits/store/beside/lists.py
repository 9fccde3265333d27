"""The tables of a log, each read when somebody looks at it."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

from credits.model.lazy import KEY, Listed, Read
from credits.model.log import WrittenLog
from credits.model.replay import SAME
from credits.store.engines.driver import Driver
from credits.store.reading import (
    CLIPS,
    CONFIRMATIONS,
    FACT_TABLES,
    SETTLEMENTS,
    FactTable,
    LogReader,
    Position,
    but_lines,
    unreadable,
)
from credits.store.settings import read_settings

_TABLES = {table.name: table for table in (*FACT_TABLES, SETTLEMENTS, CONFIRMATIONS)}


class KeptLists(LogReader):
    """Reads the tables of a log, inside a transaction; each once for as long as it is the same."""

    def __init__(self, folder: Path, driver: Driver) -> None:
        super().__init__(folder, driver)
        # What was read, by table, and where the log stood, its lines aside. Whoever reads later
        # holds this reader, so the reader holds nothing but what was read.
        self._lists: tuple[Position, dict[str, tuple[Any, ...]]] | None = None

    def tables(self, *, at_once: bool = False) -> WrittenLog:
        """Return everything written but the lines; each table is read when somebody looks at it.

        at_once: all of them are read now, for whoever looks at most of them.
        """
        position = but_lines(self.position())
        if self._lists is None or self._lists[0] != position:
            self._lists = position, {}
        known = self._lists[1]
        lists: dict[str, Any] = {
            name: Listed(
                partial(self._list, known, name),
                partial(self._having, name),
                partial(self._size, table),
            )
            for name, table in _TABLES.items()
        }
        version = self.current_cut()
        cut = None
        if version is not None:
            clips = Listed(
                partial(self._clips, known, version),
                partial(self._clips_in, version),
                partial(self._size, CLIPS),
            )
            cut = replace(self.cut_but_clips(version), clips=clips)
        versions = Read(partial(self._versions, known))
        if at_once:
            lists = {name: table.all for name, table in lists.items()}
            cut = None if cut is None else replace(cut, clips=tuple(cut.clips))
        return WrittenLog(
            production=read_settings(self.folder), cut=cut, cut_versions=versions, **lists
        )

    def _list(self, known: dict[str, tuple[Any, ...]], name: str) -> tuple[Any, ...]:
        if name not in known:
            known[name] = self.facts_of(_TABLES[name])
        return known[name]

    def _size(self, table: FactTable) -> int:
        """Return the last place of a table: it has no more facts than that."""
        last = self.driver.execute(f"SELECT max({table.place}) FROM {table.name}").fetchone()
        return int(last[0] or 0)

    def _having(self, name: str, field: str, value: Any) -> tuple[Any, ...]:
        """Read the facts of a table that have a value in a field, as ``Listed`` asks for them."""
        table = _TABLES[name]
        with unreadable():
            if field == SAME:
                where = f"{SAME} IS NOT NULL OR person IN (SELECT {SAME} FROM {name})"
                return table.having(self.driver, where)
            column = table.key[0] if field == KEY else table.column(field)
            values = value if isinstance(value, tuple) else (value,)
            where = f"{column} IN ({', '.join('?' * len(values))})"
            try:
                return table.having(self.driver, where, *values)
            except UnicodeEncodeError:  # which no log can hold
                return ()

    def _clips(self, known: dict[str, tuple[Any, ...]], version: int) -> tuple[Any, ...]:
        if "clips" not in known:
            with unreadable():
                known["clips"] = tuple(self.cut(version).clips)
        return known["clips"]

    def _clips_in(self, version: int, field: str, value: Any) -> tuple[Any, ...]:
        """Read those clips of a version of the cut that have a value in a field."""
        with unreadable():
            where = f"version = ? AND {CLIPS.column(field)} = ?"
            return CLIPS.having(self.driver, where, version, value)

    def _versions(self, known: dict[str, tuple[Any, ...]]) -> tuple[Any, ...]:
        if "versions" not in known:
            with unreadable():
                known["versions"] = self.cut_versions()
        return known["versions"]

    def knows(self, other: KeptLists) -> None:
        """Take over the tables that another has read: where they are the same they are so here."""
        self._lists = other._lists
