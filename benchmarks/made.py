"""The productions that are measured: made through the public tables, and kept where that is asked.

A folder for each size holds the tables, the production that they make, and the tables of the query
in SQL.
"""

from __future__ import annotations

import csv
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from benchmarks.processes import CREDITS, PYTHON, ROOT, run
from benchmarks.production import SIZES

EXAMPLE = "example"
SIZE_NAMES = (EXAMPLE, *SIZES)
WHOLE = "whole"
"""A file that is written last: without it, what is in the folder is made anew."""


@dataclass(frozen=True, slots=True)
class Made:
    """A production that was made, and what it was made of."""

    size: str
    folder: Path

    @property
    def production(self) -> Path:
        """Return the folder of the production."""
        return self.folder / "production"

    @property
    def tables(self) -> Path:
        """Return the folder of the tables that it was loaded from."""
        return self.folder / "tables"

    @property
    def database(self) -> Path:
        """Return the tables of the query in SQL."""
        return self.folder / "footage.duckdb"

    @property
    def rows(self) -> int:
        """Return how many rows the tables have."""
        return int((self.folder / WHOLE).read_text(encoding="utf-8"))


def make(size: str, folder: Path, told: Callable[[str], None]) -> Made:
    """Make the production of a size, unless it is there already."""
    made = Made(size, folder / size)
    if (made.folder / WHOLE).is_file():
        return made
    shutil.rmtree(made.folder, ignore_errors=True)
    made.folder.mkdir(parents=True)
    told(f"making {size}")
    if size == EXAMPLE:
        _copy_example(made)
    else:
        run((*PYTHON, "benchmarks.production", size, str(made.folder)))
    load(made, made.production)
    run((*PYTHON, "benchmarks.sql_tables", str(made.database), str(made.production)))
    files = made.tables.rglob("*.csv")
    (made.folder / WHOLE).write_text(str(sum(map(_rows_of, files))), encoding="utf-8")
    return made


def _rows_of(file: Path) -> int:
    with file.open(encoding="utf-8", newline="") as lines:
        return max(sum(1 for _ in csv.reader(lines)) - 1, 0)


def _copy_example(made: Made) -> None:
    source = next((ROOT / "examples").glob("*/production.toml")).parent
    for file in sorted(source.rglob("*.csv")):
        apart = file.name == "cut.csv" or file.name.startswith("face-sheet-")
        target = (made.folder if apart else made.tables) / file.name
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(file, target)


def start(production: Path) -> None:
    """Start an empty production; one that is there is taken away."""
    shutil.rmtree(production, ignore_errors=True)
    run((*CREDITS, "start", "The Measured Film", str(production), "--code", "measured"))


def load(made: Made, production: Path) -> None:
    """Make a production of the tables, the sheet that comes again, and the cut."""
    start(production)
    where = ("--production", str(production))
    run((*CREDITS, "load", str(made.tables), *where))
    again = made.folder / "again"
    if again.is_dir():
        why = ("--why", "struck out by the unit")
        run((*CREDITS, "load", str(again), "--amend", "--void-missing", *why, *where))
    run((*CREDITS, "cut", str(made.folder / "cut.csv"), *where))


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What questions ask about: a shot of middling size, and who and what was on it last.

    ``animators``: everybody who animates; ``doctor``: somebody who repairs; ``name``: of a person.
    """

    shot: str
    take: int
    person: str
    animators: tuple[str, ...]
    on: str
    day: str
    stage: str
    doctor: str
    name: str


_MIDDLING = """
SELECT shot FROM entries WHERE craft = 'animation' AND frames IS NOT NULL GROUP BY shot
ORDER BY count(*), shot
"""
_LAST_ON = """
SELECT shot, coalesce(take, 1), person, coalesce(puppet, character), finished_on, stage
FROM entries
WHERE shot = ? AND craft = 'animation' AND finished_on IS NOT NULL AND stage IS NOT NULL
  AND coalesce(puppet, character) IS NOT NULL
ORDER BY take DESC, finished_on DESC, line DESC LIMIT 1
"""
_ANIMATORS = """
SELECT DISTINCT person FROM entries WHERE craft = 'animation' AND person IS NOT NULL ORDER BY 1
"""


def asked_about(production: Path) -> Asked:
    """Find in a log what the questions ask about."""
    with closing(sqlite3.connect(production / "production.db")) as log:
        shots = log.execute(_MIDDLING).fetchall()
        shot, take, person, on, day, stage = log.execute(
            _LAST_ON, shots[len(shots) // 2]
        ).fetchone()
        animators = tuple(code for (code,) in log.execute(_ANIMATORS))
        (doctor,) = log.execute(
            "SELECT person FROM entries WHERE craft = 'repair' ORDER BY line DESC LIMIT 1"
        ).fetchone()
        (name,) = log.execute(
            "SELECT credit_name FROM people WHERE person = ?", (person,)
        ).fetchone()
    return Asked(
        shot=shot,
        take=take,
        person=person,
        animators=animators,
        on=on,
        day=day,
        stage=stage,
        doctor=doctor,
        name=name.split()[0],
    )
