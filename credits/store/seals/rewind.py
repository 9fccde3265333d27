"""What the log held when a proof was made: the rows of lists as they were then, and what came
later."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import MISSING, fields
from typing import Any

from credits.model.facts import ProofMark
from credits.model.log import LogLine
from credits.store.reading import FACT_TABLES, LINES, FactTable, LogReader, line_of
from credits.store.schema.records import RECORDS

Facts = Mapping[str, tuple[Any, ...]]
"""The facts of lists, by the names of the lists."""


def lines_since(log: LogReader, mark: ProofMark) -> tuple[LogLine, ...]:
    """Read the lines that were written after a proof was made."""
    last = "SELECT line FROM entries ORDER BY line LIMIT 1 OFFSET ?"
    row = log.driver.execute(last, (mark.log_lines,)).fetchone()
    if row is None:
        return ()
    return tuple(map(line_of, LINES.rows(log.driver, "line >= ?", row)))


def lists_then(log: LogReader, now: Facts, mark: ProofMark) -> Facts:
    """Return the lists as they were when a proof was made, by walking their history back.

    now: the lists as they stand. Those that did not change are the same objects. A row that was
    taken out since stands at the end of its list.
    """
    tables = {table.name: table for table in FACT_TABLES}
    rows: dict[str, dict[Any, Any]] = {}
    later = "SELECT table_name, old_row, new_row FROM history WHERE position > ?"
    history = log.driver.execute(f"{later} ORDER BY position DESC", (mark.changes,))
    for name, old, new in history.fetchall():
        if name not in tables or old == new:  # what was noted of another log
            continue
        table = tables[name]
        own = rows.setdefault(name, {key_of(name, fact): fact for fact in now[name]})
        before = None if old is None else fact_then(table, json.loads(old))
        key = None if new is None else key_of(name, fact_then(table, json.loads(new)))
        if before is None:
            own.pop(key, None)
        elif key not in own:
            own[key_of(name, before)] = before
        else:  # at the same place, even with another key
            rows[name] = {
                (key_of(name, before) if each == key else each): (before if each == key else fact)
                for each, fact in own.items()
            }
    return {name: tuple(rows[name].values()) if name in rows else now[name] for name in tables}


_BY_NAME = {table.name: table for table in FACT_TABLES}


def key_of(table: str, fact: Any) -> tuple[Any, ...]:
    """Return what makes a row of a list unique: its folded code, or several of its columns."""
    own = _BY_NAME[table]
    return own.key_of(own.values(fact))


def fact_then(table: FactTable, row: Mapping[str, Any]) -> Any:
    """Make the fact that a row of the history held. A column that came later is as by default."""
    usual = {f.name: f.default for f in fields(table.fact) if f.default is not MISSING}
    values = []
    for field, name in zip(table.fields, table.names, strict=True):
        codec = RECORDS[table.name].columns[name].codec
        kept = row.get(name)
        if name not in row:
            values.append(usual.get(field))
        else:
            values.append(kept if codec is None else codec.read(kept))
    return table.fact_of(values)
