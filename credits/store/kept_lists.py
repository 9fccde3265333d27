"""The tables of a log, each read when somebody looks at it."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

from credits.model.lazy import Read
from credits.model.log import WrittenLog
from credits.store.file import Driver
from credits.store.reading import (
    CONFIRMATIONS,
    FACT_TABLES,
    SETTLEMENTS,
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
        lists: dict[str, Any] = {name: Read(partial(self._list, known, name)) for name in _TABLES}
        version = self.current_cut()
        cut = None
        if version is not None:
            clips = Read(partial(self._clips, known, version))
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

    def _clips(self, known: dict[str, tuple[Any, ...]], version: int) -> tuple[Any, ...]:
        if "clips" not in known:
            with unreadable():
                known["clips"] = tuple(self.cut(version).clips)
        return known["clips"]

    def _versions(self, known: dict[str, tuple[Any, ...]]) -> tuple[Any, ...]:
        if "versions" not in known:
            with unreadable():
                known["versions"] = self.cut_versions()
        return known["versions"]

    def knows(self, other: KeptLists) -> None:
        """Take over the tables that another has read: where they are the same they are so here."""
        self._lists = other._lists
