"""A small production written as text: what a test puts in is there to read in the test.

    [people]
    person, sort_name
    ana
    ben, "Lind, Ben"

    [entries]
    craft, person, character, shot, frames, finished_on
    animation, ana, wick, 010-020, 1-30, 2026-03-02

A block is a table: its name, a header, rows. The columns are those of the tables that people load,
in any order and number; an empty cell, or one that a row leaves off at its end, is not given. Where
a name is not given it is the code with a capital. Nothing else is made up: a code that no table has
is refused.

``[entries]`` are records, numbered A-1, A-2, ... and written a minute apart from 2030-01-01 0:00,
long after the days that are told.
``[lines]`` come behind them with the same columns and ``verb`` (record, amend, void), ``corrects``,
and where wanted ``number``, ``logged_at``, ``why``. ``[cut]`` holds the clips in film order, laid
end to end: shot, take, first, last, speed, and where wanted ``film_first`` (a gap before it) and
``shown`` (a freeze). ``[production]`` has one row.
"""

from __future__ import annotations

import csv
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction
from math import ceil
from typing import Any

from credits.model import facts
from credits.model.facts import BUILT_IN_CRAFTS
from credits.model.ledger import Ledger
from credits.model.log import CutVersion, LogLine, Verb, WrittenLog
from credits.model.replay import replay
from credits.units.film_time import FrameRate, Gauge
from credits.units.frames import Frames

WORKED_EXAMPLE = """
    [people]
    person
    ana
    ben
    cai

    [characters]
    character
    wick
    brine

    [puppets]
    puppet, character
    wick-1, wick
    wick-2, wick
    brine-1, brine

    [sequences]
    sequence
    010

    [shots]
    shot, sequence, frames
    010-020, 010, 48

    [takes]
    shot, take, decision
    010-020, 1, accepted

    [entries]
    craft, person, character, puppet, shot, frames, finished_on
    animation, ana, wick, wick-1, 010-020, 1-30, 2026-03-02
    animation, ben, wick, wick-1, 010-020, 25-48, 2026-03-03
    animation, cai, brine, brine-1, 010-020, 13-48, 2026-03-03
    sculpt, cai, wick, , , , 2025-09-01
    fabrication, ben, , wick-2, , , 2025-12-01
    voice, ana, wick, , , , 2025-06-01
    repair, ana, , wick-1, , , 2026-03-03

    [cut]
    shot, first, last
    010-020, 9, 40
"""

FIRST_LOGGED_AT = datetime(2030, 1, 1, tzinfo=UTC)

Row = dict[str, str]

# What a cell holds, by its column; any other column whose name ends in _on is a date, else text.
_READ: dict[str, Callable[[str], Any]] = {
    **dict.fromkeys(("take", "minutes", "wait_minutes", "poses_on", "billing_number"), int),
    **dict.fromkeys(("first", "last", "film_first", "shown", "day_minutes"), int),
    **dict.fromkeys(("share", "speed"), Fraction),
    **dict.fromkeys(
        ("silent", "footage", "private", "repair"), {"yes": True, "no": False}.__getitem__
    ),
    **dict.fromkeys(("number", "corrects"), facts.EntryNumber.parse),
    "frames": Frames.parse,
    "shots.frames": int,
    "crafts.kind": facts.Kind,
    "credit_wish": facts.CreditWish,
    "status": facts.ShotStatus,
    "purpose": facts.Purpose,
    "decision": facts.Decision,
    "verb": Verb,
    "logged_at": lambda text: datetime.fromisoformat(text).replace(tzinfo=UTC),
    "frame_rate": FrameRate.parse,
    "gauge": Gauge.parse,
}

# Block -> its facts, the columns whose fields are called otherwise, and what is not to be given.
_TABLES: dict[str, tuple[Callable[..., Any], dict[str, str], dict[str, str]]] = {
    "crafts": (facts.Craft, {"craft": "code"}, {"department": "Animation"}),
    "people": (facts.Person, {"person": "code", "credit_wish": "wish"}, {}),
    "engagements": (facts.Engagement, {}, {"department": "Animation", "job_title": "Animator"}),
    "characters": (facts.Character, {"character": "code"}, {}),
    "puppets": (facts.Puppet, {"puppet": "code"}, {}),
    "parts": (facts.Part, {"part": "code"}, {"kind": "face"}),
    "fittings": (facts.Fitting, {}, {}),
    "replacements": (facts.Replacement, {}, {}),
    "sequences": (facts.Sequence, {"sequence": "code"}, {}),
    "shots": (facts.Shot, {"shot": "code", "frames": "length"}, {}),
    "stages": (facts.Stage, {"stage": "code"}, {}),
    "takes": (facts.Take, {"take": "number"}, {}),
}
_NAME_COLUMN = {"people": "credit_name", "characters": "name", "crafts": "name"}
_OTHER_BLOCKS = ("entries", "lines", "cut", "production")
_NAMED_IN = {
    "person": "people",
    "same_as": "people",
    **{c: f"{c}s" for c in ("craft", "character", "puppet", "part", "sequence", "shot", "stage")},
}
_LINE_COLUMNS = ("number", "verb", "corrects", "logged_at", "logged_by", "why", "ref", "source")


def _blocks(text: str) -> dict[str, list[Row]]:
    """The rows of each block, by its name: column -> cell, empty cells left out."""
    lines: dict[str, list[str]] = {}
    name = ""
    for line in text.splitlines():
        line = line.strip()
        if line.startswith("[") and line.endswith("]"):
            name = line[1:-1]
            if name not in (*_TABLES, *_OTHER_BLOCKS) or name in lines:
                raise ValueError(f"[{name}] is no table, or stands there twice")
            lines[name] = []
        elif line:
            lines[name].append(line)
    blocks: dict[str, list[Row]] = {}
    for name, own in lines.items():
        columns, *rows = csv.reader(own, skipinitialspace=True)
        blocks[name] = []
        for cells in rows:
            if len(cells) > len(columns):
                raise ValueError(f"[{name}] {cells}: more cells than columns")
            row = zip(columns, cells, strict=False)
            blocks[name].append({c.strip(): cell.strip() for c, cell in row if cell.strip()})
    return blocks


def _read(block: str, row: Row) -> dict[str, Any]:
    values: dict[str, Any] = {}
    for column, text in row.items():
        read = _READ.get(f"{block}.{column}") or _READ.get(column)
        if read is None:
            read = date.fromisoformat if column.endswith("_on") else str
        values[column] = read(text)
    return values


def _facts(name: str, rows: list[Row]) -> tuple[Any, ...]:
    make, renamed, given = _TABLES[name]
    made = []
    for row in rows:
        read = _read(name, {**given, **row})
        values = {renamed.get(column, column): value for column, value in read.items()}
        if name in _NAME_COLUMN:
            values.setdefault(_NAME_COLUMN[name], values["code"].capitalize())
        if name == "replacements":
            values.setdefault("take", None)
        made.append(make(**values))
    return tuple(made)


def _lines(blocks: Mapping[str, list[Row]]) -> Iterator[LogLine]:
    rows = [*blocks.get("entries", ()), *blocks.get("lines", ())]
    for place, row in enumerate(rows):
        values = _read("entries", row)
        line = {column: values.pop(column) for column in _LINE_COLUMNS if column in values}
        line.setdefault("number", facts.EntryNumber("A", place + 1))
        line.setdefault("verb", Verb.RECORD)
        line.setdefault("logged_at", FIRST_LOGGED_AT + timedelta(minutes=place))
        work = None if line["verb"] is Verb.VOID else facts.Work(**values)
        yield LogLine(work=work, **line)


def _cut(rows: list[Row]) -> facts.Cut:
    clips: list[facts.CutClip] = []
    at = 1
    for order, row in enumerate(rows, 1):
        values = _read("cut", row)
        first, last = values["first"], values["last"]
        speed = values.get("speed", Fraction(1))
        at = values.get("film_first", at)
        shown = values.get("shown", ceil((last - first + 1) / (abs(speed) or 1)))
        clips.append(
            facts.CutClip(
                order=order,
                film_first=at,
                shown=shown,
                shot=row["shot"],
                take=values.get("take"),
                source_first=first,
                source_last=last,
                speed=speed,
            )
        )
        at += shown
    return facts.Cut(version=1, source="cut.csv", length=at - 1, clips=tuple(clips))


def _production(rows: list[Row]) -> facts.Production:
    row = {"title": "The Small Film", "code": "small", "frame_rate": "24", "gauge": "35mm-4perf"}
    row = {**row, "day_minutes": "600", **(rows[0] if rows else {})}
    values = _read("production", row)
    return facts.Production(rate=values.pop("frame_rate"), **values)


def _refuse_unknown_codes(blocks: Mapping[str, list[Row]], log: WrittenLog) -> None:
    for block, rows in blocks.items():
        for column, table in _NAMED_IN.items():
            if block in ("cut", table) and column != "same_as":
                continue
            known = {fact.code for fact in getattr(log, table)}
            for row in rows:
                if column in row and row[column] not in known:
                    raise ValueError(f"[{block}] {column} {row[column]!r} is not in [{table}]")


def small_log(text: str, cut: str = "", **tables: tuple[Any, ...]) -> WrittenLog:
    """The log that the text writes (see above). Raises ValueError for what it cannot mean.

    ``cut``: the rows of the cut, header first, where it is to stand apart. ``tables``: facts that
    come behind those of the text, by table.
    """
    blocks = _blocks(text)
    if cut:
        blocks.update(_blocks(f"[cut]\n{cut}"))
    own = {name: _facts(name, blocks.get(name, [])) for name in _TABLES}
    own["crafts"] = tuple(
        {craft.code: craft for craft in (*BUILT_IN_CRAFTS, *own["crafts"])}.values()
    )
    log = WrittenLog(
        production=_production(blocks.get("production", [])),
        **{name: (*rows, *tables.pop(name, ())) for name, rows in own.items()},
        lines=(*_lines(blocks), *tables.pop("lines", ())),
    )
    if tables:
        raise ValueError(f"no such tables: {', '.join(tables)}")
    _refuse_unknown_codes(blocks, log)
    if "cut" not in blocks:
        return log
    made = _cut(blocks["cut"])
    version = CutVersion(
        version=1,
        source=made.source,
        clips=len(made.clips),
        length=made.length,
        brought_in_on=None,
        current=True,
    )
    return replace(log, cut=made, cut_versions=(version,))


def small_ledger(text: str, cut: str = "", **tables: tuple[Any, ...]) -> Ledger:
    """The ledger of ``small_log``: the same text, replayed."""
    return replay(small_log(text, cut, **tables))
