"""The same film on SQLite and on PostgreSQL: loading, one entry, and what renewing costs after it.

    python -m benchmarks.engines --size example --runs 5 --keep .bench

Whole processes, as called from a shell, the engines in turns. The server is a private one on a
socket of this machine, which is the quickest a network can be: add your own for what lies between.
"""

from __future__ import annotations

import argparse
import shutil
import sys
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory

from benchmarks.made import EXAMPLE, Made, asked_about, make
from benchmarks.processes import CREDITS, run
from tests.postgres_server import PostgresServer

ENGINES = ("SQLite", "PostgreSQL")


def started(server: PostgresServer, folder: Path, engine: str) -> Path:
    """Start an empty production on an engine. The server's own database is new each time."""
    shutil.rmtree(folder, ignore_errors=True)
    where = () if engine == ENGINES[0] else ("--log", server.new_database().text)
    run((*CREDITS, "start", "The Measured Film", str(folder), "--code", "measured", *where))
    return folder


def measured(made: Made, server: PostgresServer, top: Path, runs: int) -> dict[str, list[float]]:
    """Measure both engines in turns: the median of the seconds, by what was done, of each."""
    asked = asked_about(made.production)
    found: dict[str, dict[str, list[float]]] = {}

    def took(what: str, engine: str, folder: Path, *words: str) -> None:
        seconds = run((*CREDITS, *words, "--production", str(folder))).seconds
        found.setdefault(what, {}).setdefault(engine, []).append(seconds)

    folders = {engine: top / engine for engine in ENGINES}
    for engine, folder in folders.items():
        started(server, folder, engine)
        took("load every table", engine, folder, "load", str(made.tables))
        took("import the cut", engine, folder, "cut", str(made.folder / "cut.csv"))
    for number in range(runs + 1):  # one to warm up
        for engine, folder in folders.items():
            entry = ("animation", asked.person, asked.on, f"{asked.shot}/{asked.take}")
            said = ("--frames", str(number + 1), "--on", asked.day, "--stage", asked.stage)
            took("log one entry, figures renewed", engine, folder, "log", *entry, *said, "--again")
            took("footage by person", engine, folder, "footage")
            took("who worked on a shot", engine, folder, "hands", asked.shot)
        beside = top / "beside"
        for engine, folder in folders.items():
            shutil.rmtree(beside, ignore_errors=True)
            beside.mkdir()
            shutil.copy(folder / "production.toml", beside)
            if engine == ENGINES[0]:
                shutil.copy(folder / "production.db", beside)
            took("footage, nothing kept at this site", engine, beside, "footage")
        for engine, folder in folders.items():
            took("verify", engine, folder, "verify")
    once = ("load every table", "import the cut")
    return {
        what: [median(times[e] if what in once else times[e][1:]) for e in ENGINES]
        for what, times in found.items()
    }


def main() -> int:
    """Measure, and print a table."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("--size", default=EXAMPLE)
    parser.add_argument("--runs", type=int, default=5)
    parser.add_argument("--keep", type=Path)
    given = parser.parse_args()
    with TemporaryDirectory() as folder:
        made = make(given.size, given.keep or Path(folder), lambda text: print(text, flush=True))
        server = PostgresServer()
        try:
            found = measured(made, server, Path(folder) / "engines", given.runs)
        finally:
            server.stop()
    print(f"| {given.size}, {made.rows:,} rows | {' | '.join(ENGINES)} | times |")
    print("| --- | --: | --: | --: |")
    for what, (one, other) in found.items():
        print(f"| {what} | {one:.2f} s | {other:.2f} s | {other / one:.1f} |")
    return 0


if __name__ == "__main__":
    sys.exit(main())
