"""Deliberate faults: each is put into a copy of the product, and the tests must notice.

    python -m benchmarks.faults                        # all of them
    python -m benchmarks.faults --only billing --show
    python -m benchmarks.faults --from 101 --processes 2

The faults stand in ``fault_list``. The tests that know most of a fault are asked first, then those
of its whole room. The end status is 1 when fewer than 95 % of the faults that change anything are
caught, or when tests fail without any fault.
"""

from __future__ import annotations

import argparse
import multiprocessing
import os
import shutil
import signal
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor, as_completed
from contextlib import contextmanager
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from queue import SimpleQueue
from typing import NoReturn

import hypothesis
import pytest

from benchmarks.fault_list import FAULTS
from benchmarks.fault_list.fault import Fault

ROOT = Path(__file__).resolve().parent.parent
COPIED = ("credits", "tests", "benchmarks", "db", "examples", "site_templates")
LEAST_CAUGHT = 95  # per cent of the faults that change anything
SECONDS_FIRST, SECONDS_ROOM = 240, 600
# What pytest returns: all have passed; some have not, or cannot even be read; none was chosen.
PASSED, FAILED, NO_TEST_LEFT = 0, (1, 2), 5
# What a room's tests are, where they are not those of the folder of its name.
ROOMS = {
    "ground": (
        "test_text.py",
        "test_names.py",
        "test_editions.py",
        "test_unfinished.py",
        "formats",
    ),
    "review": ("review", "pages/test_review.py", "pages/test_weeks.py"),
    "billing": ("billing", "laws/test_credits_laws.py", "laws/test_plan_laws.py"),
    "figures": ("figures", "laws/test_kept_laws.py"),
    "site": ("site", "pages"),
    "app": ("cli", "doors"),
}
# What tests import of others: each process begins where one stands that has it at hand. Of the
# product itself it has nothing: that is read with the fault.
AT_HAND = (
    "pytest", "hypothesis", "sqlmodel", "typer", "rich", "jinja2", "opentimelineio", "prov.model",
    "starlette.applications", "openpyxl", "xlsxwriter",
)  # fmt: skip
_PHASES = (hypothesis.Phase.explicit, hypothesis.Phase.generate)
_FROM = multiprocessing.get_context("forkserver")
# Those need a browser or an office program, and much time.
LEFT_OUT = "not browser and not office and not slow"


class Outcome(StrEnum):
    """What became of a fault."""

    FIRST = "caught at first"
    ROOM = "caught by the room"
    TOO_LONG = "too long"
    MISSED = "missed"
    NOTHING = "changes nothing"


CAUGHT = (Outcome.FIRST, Outcome.ROOM)


@dataclass(frozen=True, slots=True)
class Tried:
    """A fault with its number, what became of it, and how long that took."""

    number: int
    fault: Fault
    outcome: Outcome
    seconds: float


def copied(folder: Path) -> Path:
    """Copy what the tests need into a folder, and return that."""
    for name in COPIED:
        unwanted = shutil.ignore_patterns("__pycache__")
        shutil.copytree(ROOT / name, folder / name, ignore=unwanted)
    for path in ROOT.iterdir():
        if path.is_file():
            shutil.copy(path, folder)
    return folder


@contextmanager
def _folder() -> Iterator[str]:
    """Make a folder for a while that others may enter: some tests have a user of their own."""
    with tempfile.TemporaryDirectory(prefix="faults-", ignore_cleanup_errors=True) as own:
        Path(own).chmod(0o755)
        yield own


@contextmanager
def at_fault(tree: Path, fault: Fault) -> Iterator[None]:
    """Put a fault into a tree, and take it back."""
    path = tree / "credits" / fault.path
    source = path.read_text("utf-8")
    path.write_text(fault.applied_to(source), "utf-8")
    try:
        yield
    finally:
        path.write_text(source, "utf-8")


def _run(tree: Path, own: str, words: Sequence[str]) -> NoReturn:
    """Run pytest in a process and a group of its own, in a tree, without a word."""
    os.setsid()
    os.chdir(tree)
    os.environ |= {"PYTHONPATH": str(tree), "TMPDIR": own}
    tempfile.tempdir = None
    sys.path[:0] = [str(tree)]
    # An example that fails is enough: nobody waits until the least one is found.
    hypothesis.settings.register_profile("first failure", phases=_PHASES)
    hypothesis.settings.load_profile("first failure")
    nothing = os.open(os.devnull, os.O_RDWR)
    for stream in range(3):
        os.dup2(nothing, stream)
    sys.exit(pytest.main([*words, f"--basetemp={own}/tests"]))


def ask(tree: Path, tests: Iterable[str], seconds: float, chosen: str = "") -> int | None:
    """Run tests of a tree up to the first that fails; return pytest's status, None: too long."""
    words = ["-x", "-q", "-p", "no:randomly", "-p", "no:cacheprovider"]
    # What is at hand was not rewritten.
    words += ["-W", "ignore::pytest.PytestAssertRewriteWarning"]
    words += ["-m", chosen] if chosen else []
    words += [f"tests/{name}" for name in tests]
    with _folder() as own:
        process = _FROM.Process(target=_run, args=(tree, own, words))
        process.start()
        try:
            process.join(seconds)
            return process.exitcode
        finally:
            if process.is_alive() and process.pid is not None:
                os.killpg(process.pid, signal.SIGKILL)
                process.join()


def outcome_of(tree: Path, fault: Fault) -> Outcome:
    """Ask the tests about a fault: those that know most of it, then all of its room."""
    if fault.changes_nothing:
        return Outcome.NOTHING
    with at_fault(tree, fault):
        for outcome, tests, seconds, chosen in (
            (Outcome.FIRST, fault.tests, SECONDS_FIRST, ""),
            (Outcome.ROOM, ROOMS.get(fault.room, (fault.room,)), SECONDS_ROOM, LEFT_OUT),
        ):
            status = ask(tree, tests, seconds, chosen)
            if status is None:
                return Outcome.TOO_LONG
            if status in FAILED or status < PASSED:  # a signal ended it
                return outcome
            if status not in (PASSED, NO_TEST_LEFT):
                raise RuntimeError(f"{fault.path}: pytest could not run {', '.join(tests)}")
    return Outcome.MISSED


def tried(faults: Sequence[tuple[int, Fault]], trees: Sequence[Path]) -> Iterator[Tried]:
    """Try faults, one in each tree at a time, and yield what became of them as they end."""
    free: SimpleQueue[Path] = SimpleQueue()
    for tree in trees:
        free.put(tree)

    def one(number: int, fault: Fault) -> Tried:
        tree, begun = free.get(), time.monotonic()
        try:
            return Tried(number, fault, outcome_of(tree, fault), time.monotonic() - begun)
        finally:
            free.put(tree)

    with ThreadPoolExecutor(len(trees)) as workers:
        for future in as_completed([workers.submit(one, *each) for each in faults]):
            yield future.result()


def by_room(found: Iterable[Tried]) -> Iterator[str]:
    """Write what became of faults as a table, a row for each room."""
    counts: dict[str, Counter[Outcome]] = {}
    for each in found:
        counts.setdefault(each.fault.room, Counter())[each.outcome] += 1
    yield "| room | faults | " + " | ".join(Outcome) + " |"
    yield "| --- | --: | " + " | ".join("--:" for _ in Outcome) + " |"
    counts["all"] = sum(counts.values(), Counter())
    for room, own in counts.items():
        cells = (str(own[outcome]) for outcome in Outcome)
        yield f"| {room} | {own.total()} | {' | '.join(cells)} |"


def per_cent_caught(found: Iterable[Tried]) -> float:
    """Return how many of the faults that change anything were caught, in per cent."""
    outcomes = [each.outcome for each in found if each.outcome is not Outcome.NOTHING]
    return 100 * sum(outcome in CAUGHT for outcome in outcomes) / max(1, len(outcomes))


def main(arguments: Sequence[str] | None = None) -> int:
    """Try the faults that are asked for; print a line for each and the table at the end."""
    parser = argparse.ArgumentParser(prog="benchmarks.faults", description=__doc__.split("\n")[0])
    parser.add_argument("--only", metavar="ROOM", help="the faults of one room")
    parser.add_argument("--from", dest="first", type=int, default=1, metavar="N")
    parser.add_argument("--to", dest="last", type=int, default=len(FAULTS), metavar="N")
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--show", action="store_true", help="show what each fault changes")
    said = parser.parse_args(arguments)
    faults = [
        (number, fault)
        for number, fault in enumerate(FAULTS, 1)
        if said.first <= number <= said.last and said.only in (None, fault.room)
    ]
    if not faults:
        parser.error("no fault is of that room and number")
    _FROM.set_forkserver_preload([*AT_HAND])
    found = []
    with _folder() as folder:
        trees = [copied(Path(folder) / str(n)) for n in range(max(1, said.processes))]
        asked = sorted({name for _, fault in faults for name in fault.tests})
        if ask(trees[0], asked, 10 * SECONDS_ROOM):
            print("Some of these tests fail without any fault. Mend that first.", file=sys.stderr)
            return 1
        for each in tried(faults, trees):
            found.append(each)
            fault, took = each.fault, f"{each.seconds:5.0f} s"
            print(f"{each.number:4} {each.outcome:18} {took}", f"{fault.path}: {fault.harm}")
            if said.show:
                print(f"       {fault.text!r} -> {fault.instead!r}")
            sys.stdout.flush()
    print("", *by_room(found), sep="\n")
    caught = per_cent_caught(found)
    print(f"\n{caught:.1f} % of the faults that change anything were caught.")
    return 0 if caught >= LEAST_CAUGHT else 1


if __name__ == "__main__":
    sys.exit(main())
