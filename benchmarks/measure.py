"""How quick everything is: whole processes, on productions of several sizes, in one run.

What is measured is listed in ``measures``, how it is measured in ``steps``. Each time is the median
of some runs after one to warm up. What takes longer than a minute is run once.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import platform
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from benchmarks import report
from benchmarks.made import SIZE_NAMES, asked_about, make
from benchmarks.measures import BASELINES
from benchmarks.processes import ROOT, FailedError, Figure
from benchmarks.steps import Bench, Found

GROUPS = ("loads", "questions", "entries", "sites")


def told(text: str) -> None:
    """Say what is at work: on a terminal in one line, else a line for each."""
    sys.stderr.write(f"\r\x1b[K{text}\r" if sys.stderr.isatty() else f"{text}\n")
    sys.stderr.flush()


@contextlib.contextmanager
def _folder(kept: Path | None) -> Iterator[Path]:
    if kept is not None:
        kept.mkdir(parents=True, exist_ok=True)
        yield kept.resolve()
        return
    with tempfile.TemporaryDirectory() as own:
        yield Path(own)


def measure(size: str, folder: Path, groups: list[str], runs: int) -> tuple[Found, bool]:
    """Measure groups of lines on a production of one size; tell whether all went well.

    A group in which a command fails is left out, and what the command said is told.
    """
    found: Found = {}
    went_well = True
    with tempfile.TemporaryDirectory(dir=folder) as scratch:
        try:
            made = make(size, folder, told)
        except FailedError as failed:
            told(str(failed))
            return found, False
        bench = Bench.of(made, asked_about(made.production), Path(scratch), runs, told)
        for group in groups:
            try:
                found |= getattr(bench, group)()
            except FailedError as failed:
                told(str(failed))
                went_well = False
    took = {key: each.took for key, each in found.items() if each.took and key not in BASELINES}
    found["memory"] = Figure(max((each.memory for each in took.values()), default=0.0))
    return found, went_well


def main() -> int:
    """Measure; print the table, and write it into a document where that is asked."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--size", action="append", choices=SIZE_NAMES, help="may be given again")
    parser.add_argument("--only", action="append", choices=GROUPS, help="may be given again")
    parser.add_argument("--runs", type=int, default=5, metavar="N")
    parser.add_argument("--keep", type=Path, metavar="DIR", help="keep the productions there")
    parser.add_argument("--write", type=Path, metavar="FILE", help="write the table into it")
    asked = parser.parse_args()
    results: dict[str, Found] = {}
    sizes, went_well = asked.size or ["feature"], True
    with _folder(asked.keep) as folder:
        for size in sizes:
            groups = asked.only or list(GROUPS)
            results[size], well = measure(size, folder, groups, asked.runs)
            went_well = went_well and well
            if sys.stderr.isatty():
                told("")
            print("\n".join(report.terminal_lines(results, [size])), flush=True)
    if asked.write is not None:
        python = ".".join(platform.python_version_tuple()[:2])
        said = (
            f"Whole processes, median of {asked.runs} after one to warm up"
            " (of what takes longer than a minute, one);"
            f" {os.cpu_count()} processors, Python {python}."
        )
        place = ROOT / asked.write
        document = place.read_text(encoding="utf-8")
        table = report.document_table(results, said)
        place.write_text(report.written_into(document, table), encoding="utf-8")
    return 0 if went_well else 1


if __name__ == "__main__":
    sys.exit(main())
