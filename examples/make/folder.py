"""Writing the production folder: every table, the logs as the departments kept them, the cut."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from . import around, edit, faces, questions, schedule
from .cast import CHARACTERS, LATE, PUPPET_NOTES, RETIRED, SMALL, character_rows, puppets_of
from .crew import CRAFTS, ENGAGEMENTS, PEOPLE
from .remarks import remark
from .shoot import animate_everything
from .stock import Stock, first_fittings, later_fittings, part_rows
from .story import SEQUENCES, SHOTS, status
from .tables import (
    COLUMNS,
    READING_COLUMNS,
    STAGE_COLUMNS,
    VOICE_COLUMNS,
    WORKSHOP_COLUMNS,
    Entry,
    Row,
    write_table,
)
from .workshop import Workshop, build

SLUG = "the-tardy-echo"
PRODUCTION = """\
title = "The Tardy Echo"
code = "ECHO"
frame_rate = "24"
gauge = "35mm-4perf"
day_minutes = 600
"""
WORKSHOPS = (
    ("entries-art", "AD", ("design", "maquette")),
    ("entries-puppets", "PW", ("sculpt", "armature", "mould", "casting", "fabrication")),
    ("entries-faces", "F", ("faces", "eyes")),
    ("entries-costume-hair-paint", "", ("costume", "hair", "paint")),
)
"""The departments' files, the letters of their own keys (one keeps none), their crafts."""


@dataclass(slots=True)
class Made:
    """The whole production in memory, just before it is written."""

    shop: Workshop
    stock: Stock
    diary: schedule.Diary
    shoot: list[Entry]
    bench: list[Entry]
    sheets: dict[faces.Key, faces.Sheet]


def _by_day(entry: Entry) -> tuple[date, str, int, str, str, str]:
    day = entry.finished_on or date.min
    return (day, entry.shot, entry.first, entry.craft, entry.person, entry.character)


def make() -> Made:
    """Build, shoot, and leave the open questions in."""
    shop, stock = build(), Stock()
    first_fittings(stock, shop.ready)
    diary = schedule.book_everything(stock, shop.ready)
    later_fittings(stock)
    floor = animate_everything(diary.booked)
    around.work_around(floor, diary.booked)
    bench = around.hospital_nights(diary.booked) + questions.from_the_bench()
    shop.entries += questions.from_the_workshop()
    sheets = faces.all_sheets(stock, floor.entries, diary.booked)
    faces.lose_two_frames(sheets)
    questions.plant(floor.entries)
    for log in (shop.entries, floor.entries, bench):
        log.sort(key=_by_day)
    remark([*shop.entries, *floor.entries, *bench])
    return Made(shop, stock, diary, floor.entries, bench, sheets)


def _numbered(entries: list[Entry], letters: str, logged_by: str) -> list[Row]:
    for number, entry in enumerate(entries, 1):
        entry.ref = f"{letters}-{number:04}" if letters else ""
        entry.logged_by = logged_by
    return [entry.row() for entry in entries]


def _puppet_rows(made: Made) -> list[Row]:
    rows: list[Row] = []
    for c in CHARACTERS:
        for n, puppet in enumerate(puppets_of(c.code), 1):
            retired = RETIRED.get(puppet)
            row = {"puppet": puppet, "character": c.code, "copy": str(n)}
            row["scale"] = SMALL.get(puppet, "1:1")
            row["ready_on"] = made.shop.ready[puppet].isoformat()
            row["retired_on"] = retired.isoformat() if retired else ""
            late = "Made when the shoot was near." if puppet in LATE else ""
            rows.append({**row, "note": PUPPET_NOTES.get(puppet, late)})
    return rows


def _shot_rows() -> list[Row]:
    return [
        {
            "shot": s.code,
            "sequence": s.sequence,
            "frames": str(s.frames),
            "status": status(s.code),
            "description": s.description,
        }
        for s in SHOTS
    ]


def _logs(made: Made) -> dict[str, tuple[tuple[str, ...], list[Row]]]:
    logs: dict[str, tuple[tuple[str, ...], list[Row]]] = {}
    for name, letters, crafts in WORKSHOPS:
        mine = [e for e in made.shop.entries if e.craft in crafts]
        logs[name] = (WORKSHOP_COLUMNS, _numbered(mine, letters, "fidelma" if letters else ""))
    logs["entries-voices"] = (VOICE_COLUMNS, [e.row() for e in around.voices()])
    logs["entries-reading"] = (READING_COLUMNS, [e.row() for e in around.readings()])
    for stage in schedule.STAGES:
        mine = [e for e in made.shoot if e.stage == stage]
        office = "fidelma" if stage < "S5" else "tomas"
        logs[f"entries-stage-{stage[1]}"] = (STAGE_COLUMNS, _numbered(mine, stage, office))
    logs["entries-hospital"] = (WORKSHOP_COLUMNS, _numbered(made.bench, "H", "fidelma"))
    return logs


def write(made: Made, folder: Path) -> dict[str, int]:
    """Write everything into the folder; give the rows of each file."""
    takes = edit.take_rows(made.diary.booked)
    tables: dict[str, Callable[[], list[Row]]] = {
        "people": lambda: PEOPLE,
        "engagements": lambda: [e.row() for e in ENGAGEMENTS],
        "crafts": lambda: list(CRAFTS),
        "characters": character_rows,
        "puppets": lambda: _puppet_rows(made),
        "parts": part_rows,
        "fittings": lambda: [f.row() for f in made.stock.fittings],
        "replacements": lambda: faces.replacement_rows(made.sheets),
        "sequences": lambda: [{"sequence": s, "name": name} for s, name in SEQUENCES],
        "shots": _shot_rows,
        "stages": lambda: [{"stage": s, "unit": unit} for s, unit in schedule.STAGES.items()],
        "takes": lambda: takes,
        "cut": lambda: edit.cut_rows(takes),
    }
    counts: dict[str, int] = {}
    for name, rows in tables.items():
        counts[name] = write_table(folder / f"{name}.csv", COLUMNS[name], rows())
    for name, (columns, lines) in _logs(made).items():
        counts[name] = write_table(folder / "entries" / f"{name}.csv", columns, lines)
    name = f"face-sheet-{faces.AS_ON_THE_STAGE}"
    columns_, sheet = faces.stage_sheet(made.sheets)
    counts[name] = write_table(folder / f"{name}.csv", columns_, sheet)
    (folder / "production.toml").write_text(PRODUCTION, encoding="utf-8")
    return counts
