"""How long the whole job takes on a large production, step by step, and the memory it holds."""

from __future__ import annotations

import argparse
import resource
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from benchmarks.production import Size, make

T = TypeVar("T")


def peak_memory_mb() -> float:
    """The most memory this process has held, in MB (Linux counts kB, macOS bytes)."""
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak / (1024 * 1024 if sys.platform == "darwin" else 1024)


def step(name: str, work: Callable[[], T]) -> T:
    """Run one step; print its seconds and the most memory held so far."""
    begun = time.perf_counter()
    value = work()
    seconds = time.perf_counter() - begun
    print(f"{name:<34}{seconds:>8.2f} s{peak_memory_mb():>8.0f} MB", flush=True)
    return value


def load(tables: Path, production: Path) -> None:
    """Bring the tables and the cut in."""
    from credits.formats.cut.read import read_cut
    from credits.formats.tables.load import plan_load
    from credits.formats.tables.sheets import read_tables
    from credits.model.log import Batch
    from credits.store.log import open_log
    from credits.store.production import create_production

    create_production(production, "Measured")
    read = step("read the tables", lambda: read_tables([tables]))
    with open_log(production) as log:
        with log.writing() as pen:
            plan = step("check and match the rows", lambda: plan_load(read, pen.read()))
            assert not plan.problems, plan.problems[:3]
            step("write them", lambda: pen.write(plan.batch))
        with log.writing() as pen:
            reading = step("read the cut", lambda: read_cut(tables / "cut.csv", pen.read()))
            pen.write(Batch(cut=reading.cut))


def answer(production: Path) -> None:
    """Read the log, compute everything, build every edition twice."""
    from credits.app.site import build_sites
    from credits.editions import Edition
    from credits.figures.snapshot import Snapshot
    from credits.model.replay import replay
    from credits.store.log import open_log

    with open_log(production) as log:
        written = step("read the log", log.read)
    ledger = step("replay", lambda: replay(written))
    snapshot = Snapshot(ledger)
    step("footage alone", lambda: snapshot.footage)
    step("reach, credits, checks", lambda: (snapshot.reach, snapshot.open_checks))
    for again in ("built", "built again, nothing changed"):
        for edition in Edition:
            step(f"{edition} site {again}", lambda e=edition: build_sites(production, [e]))  # type: ignore[misc]


def main() -> None:
    """Make, load, answer; print a line for each step."""
    said = argparse.ArgumentParser(description=__doc__)
    said.add_argument("--entries", type=int, default=100_000)
    said.add_argument("--shots", type=int, default=1_500)
    said.add_argument("--people", type=int, default=400)
    said.add_argument("--frames-times", type=int, default=1)
    said.add_argument("--keep", type=Path, help="make the production in this folder and keep it")
    words = said.parse_args()
    size = Size(words.entries, words.shots, words.people, frames_times=words.frames_times)
    with tempfile.TemporaryDirectory() as scratch:
        folder = words.keep or Path(scratch)
        tables, production = folder / "tables", folder / "production"
        step("make the tables", lambda: make(tables, size))
        load(tables, production)
        answer(production)


if __name__ == "__main__":
    main()
