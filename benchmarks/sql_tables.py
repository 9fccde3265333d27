"""The tables that the query of footage reads, in DuckDB, made from a log."""

from __future__ import annotations

import csv
import sys
import tempfile
from collections.abc import Iterable, Iterator
from math import lcm
from pathlib import Path
from typing import Any

import duckdb

from credits.model.log import WrittenLog
from credits.store.log import open_log

TABLES = """
CREATE TABLE people (person INTEGER, code TEXT, same_as INTEGER);
CREATE TABLE crafts (craft INTEGER, footage BOOLEAN);
CREATE TABLE puppets (puppet INTEGER, character INTEGER);
CREATE TABLE parts (part INTEGER, character INTEGER);
CREATE TABLE shots (shot INTEGER, length INTEGER);
CREATE TABLE takes (shot INTEGER, take INTEGER, purpose TEXT, decision TEXT, decided_on DATE);
CREATE TABLE lines (
  line INTEGER, verb TEXT, logged_at TIMESTAMP, corrects INTEGER, craft INTEGER, person INTEGER,
  character INTEGER, puppet INTEGER, part INTEGER, shot INTEGER, take INTEGER, share INTEGER,
  day DATE, whole BOOLEAN
);
CREATE TABLE ranges (line INTEGER, first INTEGER, stop INTEGER);
CREATE TABLE clips (
  shot INTEGER, take INTEGER, shown INTEGER, source_first INTEGER, source_last INTEGER,
  numerator BIGINT, denominator BIGINT
);
"""
"""Codes are numbers here, lines are numbered in the order of entry numbers, shares are whole."""


def fill(database: duckdb.DuckDBPyConnection, log: WrittenLog) -> None:
    """Make the tables and bring a log into them."""
    database.execute(TABLES)
    with tempfile.TemporaryDirectory() as own:
        for table, rows in _rows(log).items():
            file = Path(own) / f"{table}.csv"
            with file.open("w", encoding="utf-8", newline="") as opened:
                csv.writer(opened).writerows(rows)
            if file.stat().st_size:
                database.execute(f"COPY {table} FROM '{file}' (FORMAT csv, HEADER false)")


def _numbered(facts: Iterable[Any]) -> dict[str, int]:
    return {fact.code: at for at, fact in enumerate(facts)}


def _rows(log: WrittenLog) -> dict[str, Iterable[tuple[Any, ...]]]:
    people = {code: at for at, code in enumerate(sorted(p.code for p in log.people))}
    crafts, characters, puppets, parts, shots = map(
        _numbered, (log.crafts, log.characters, log.puppets, log.parts, log.shots)
    )
    lines = sorted(log.lines, key=lambda line: line.number)
    numbers = {line.number: at for at, line in enumerate(lines)}
    works = [(at, line.work) for at, line in enumerate(lines) if line.work is not None]
    whole = lcm(*(work.share.denominator for _, work in works if work.share is not None))

    def said() -> Iterator[tuple[Any, ...]]:
        for at, line in enumerate(lines):
            known = (at, line.verb, line.logged_at.replace(tzinfo=None))
            corrects = numbers[line.corrects] if line.corrects is not None else None
            work = line.work
            if work is None:
                yield (*known, corrects, *[None] * 10)
                continue
            yield (
                *(*known, corrects, crafts[work.craft], people[work.person]),
                *(characters.get(work.character or ""), puppets.get(work.puppet or "")),
                *(parts.get(work.part or ""), shots.get(work.shot or ""), work.take),
                *((work.share or 1) * whole, work.day, work.frames is None),
            )

    return {
        "people": ((people[p.code], p.code, people.get(p.same_as or "")) for p in log.people),
        "crafts": ((crafts[craft.code], craft.footage) for craft in log.crafts),
        "puppets": ((puppets[p.code], characters[p.character]) for p in log.puppets),
        "parts": ((parts[p.code], characters.get(p.character or "")) for p in log.parts),
        "shots": ((shots[shot.code], shot.length) for shot in log.shots),
        "takes": (
            (shots[take.shot], take.number, take.purpose, take.decision, take.decided_on)
            for take in log.takes
        ),
        "lines": said(),
        "ranges": (
            (at, first, stop)
            for at, work in works if work.frames is not None
            for first, stop in work.frames.ranges
        ),
        "clips": (
            (
                *(shots[clip.shot], clip.take, clip.shown, clip.source_first, clip.source_last),
                *clip.speed.as_integer_ratio(),
            )
            for clip in (log.cut.clips if log.cut is not None else ())
            if clip.shot in shots
        ),
    }  # fmt: skip


def main() -> None:
    """Make a database of a production: DATABASE PRODUCTION."""
    with duckdb.connect(sys.argv[1]) as database, open_log(Path(sys.argv[2])) as log:
        fill(database, log.read())


if __name__ == "__main__":
    main()
