"""Tables written as text, loaded into a log that stays in memory."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from textwrap import dedent
from typing import Any

from credits.formats.tables.columns import TABLES
from credits.formats.tables.load import LoadPlan, plan_load
from credits.formats.tables.sheets import read_tables
from credits.model.facts import BUILT_IN_CRAFTS, Confirmation, EntryNumber, Production
from credits.model.log import Batch, LogLine, WrittenLog
from credits.units.film_time import FrameRate, Gauge

TODAY = date(2026, 3, 9)  # the day on which a load is written
EMPTY = WrittenLog(
    production=Production(
        title="The Lamplighter",
        code="LAMP",
        rate=FrameRate.parse("24"),
        gauge=Gauge.parse("35mm-4perf"),
        day_minutes=600,
    ),
    crafts=BUILT_IN_CRAFTS,
)

FILM = {
    "people": """
        person,credit_name
        ana,Ana Holm
        ben,Ben Okoro
    """,
    "characters": """
        character,name
        wick,Wick
        brine,Captain Brine
    """,
    "puppets": """
        puppet,character
        wick-1,wick
        wick-2,wick
        brine-1,brine
    """,
    "parts": """
        part,kind,character
        wick-face-012,face,wick
        wick-face-013,face,wick
        wick-lid-1,eyelids,wick
        brine-face-012,face,brine
        gloves,hands,
    """,
    "sequences": """
        sequence
        010
        020
    """,
    "shots": """
        shot,sequence,frames
        010-020,010,48
        020-010,020,120
    """,
    "stages": """
        stage
        A
        B
    """,
}

_KEYS: dict[str, tuple[str, ...]] = {
    "engagements": ("person", "department", "job_title", "starts_on"),
    "fittings": ("part", "puppet", "from_on"),
    "replacements": ("shot", "take", "character", "part"),
    "takes": ("shot", "number"),
}
_REFERENCE = [table for table in TABLES if table not in ("entries", "confirmations")]


def csv_text(table: str) -> str:
    """A table as a test writes it, without its indentation."""
    return dedent(table).strip() + "\n"


def files(folder: Path, tables: Mapping[str, str]) -> list[Path]:
    """The tables as CSV files of a folder; a name without a suffix gets .csv."""
    paths = []
    for name, text in tables.items():
        path = folder / (name if "." in name else f"{name}.csv")
        path.write_text(csv_text(text), encoding="utf-8")
        paths.append(path)
    return paths


def plan(folder: Path, log: WrittenLog, **tables: str) -> LoadPlan:
    """What loading these tables into the log would do."""
    return plan_load(read_tables(files(folder, tables)), log)


def problems(folder: Path, log: WrittenLog, **tables: str) -> list[str]:
    """The problems of a load as people read them; a load with problems writes nothing."""
    found = plan(folder, log, **tables)
    assert found.batch == Batch() or not found.problems
    return [str(problem) for problem in found.problems]


def loaded(folder: Path, log: WrittenLog, **tables: str) -> WrittenLog:
    """The log after loading tables that hold no problem."""
    found = plan(folder, log, **tables)
    assert [str(problem) for problem in found.problems] == []
    return after(log, found.batch)


def film(folder: Path) -> WrittenLog:
    """The log of FILM, without entries."""
    return loaded(folder, EMPTY, **FILM)


def after(log: WrittenLog, batch: Batch) -> WrittenLog:
    """The log once the batch is written, as Batch says it: rows replace those of their key."""
    changes: dict[str, Any] = {}
    for table in _REFERENCE:
        keys = _KEYS.get(table, ("code",))
        rows = {
            tuple(getattr(row, key) for key in keys): row
            for row in getattr(log, table)
            if table != "replacements" or (row.shot, row.take) not in batch.cleared_face_sheets
        }
        for row in getattr(batch, table):
            rows[tuple(getattr(row, key) for key in keys)] = row
        changes[table] = tuple(rows.values())
    start = datetime(2026, 1, 1, tzinfo=UTC)
    lines = list(log.lines)
    for line in batch.lines:
        at = len(lines) + 1
        said = {f.name: getattr(line, f.name) for f in dataclasses.fields(line)}
        number = EntryNumber("A", at)
        lines.append(LogLine(number=number, logged_at=start + timedelta(minutes=at), **said))
    words = tuple(
        Confirmation(
            person=w.person,
            name=w.name,
            confirmed_on=w.confirmed_on or TODAY,
            is_right=w.is_right,
            confirmed_by=w.confirmed_by,
            written_at=start,
        )
        for w in batch.confirmations
    )
    changes["confirmations"] = (*log.confirmations, *words)
    return dataclasses.replace(log, **changes, lines=tuple(lines))
