"""Whole processes, from start to finish: how long each takes, and the memory that it holds."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import median

ROOT = Path(__file__).resolve().parent.parent
PYTHON = (sys.executable, "-m")
CREDITS = (*PYTHON, "credits")
LONG = 60.0
"""Seconds: what takes longer than that is run once, and no warm-up would change it."""

_IN_BYTES = sys.platform == "darwin"


@dataclass(frozen=True, slots=True)
class Took:
    """What a process took: seconds by the clock, seconds at work in all its threads and children,
    and the most memory, in MB, that it or any one of its children held."""

    seconds: float
    cpu: float
    memory: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """A command that is measured. ``words``: by the number of the run; ``before``: not measured.

    ``answers``: the exit statuses that are an answer.
    """

    key: str
    words: Callable[[int], Sequence[str]]
    before: Callable[[int], object] | None = None
    environment: Mapping[str, str] | None = None
    answers: Sequence[int] = (0,)


@dataclass(frozen=True, slots=True)
class Figure:
    """What was measured. ``took`` None: a size or a number, not a time."""

    value: float
    took: Took | None = None
    runs: int = 1


class FailedError(Exception):
    """A command that was to be measured has failed."""


def run(
    words: Sequence[str],
    environment: Mapping[str, str] | None = None,
    answers: Sequence[int] = (0,),
) -> Took:
    """Run a command to its end. Raises FailedError where its exit status is no answer.

    This process must stay small: until a child has become its command, it counts as large.
    """
    with tempfile.TemporaryFile() as said:
        began = time.perf_counter()
        child = subprocess.Popen(
            words,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=said,
            cwd=ROOT,
            env={**os.environ, **(environment or {})},
        )
        _, status, used = os.wait4(child.pid, 0)
        seconds = time.perf_counter() - began
        child.returncode = os.waitstatus_to_exitcode(status)
        if child.returncode not in answers:
            said.seek(0)
            text = said.read().decode(errors="replace")[-2000:]
            raise FailedError(f"{' '.join(words)} ended with {child.returncode}.\n{text}")
    memory = used.ru_maxrss / (1024 * 1024 if _IN_BYTES else 1024)
    return Took(seconds, used.ru_utime + used.ru_stime, memory)


def middle(took: Sequence[Took]) -> Took:
    """Return the median of each figure; of the memory the most."""
    seconds, cpu = median(each.seconds for each in took), median(each.cpu for each in took)
    return Took(seconds, cpu, max(each.memory for each in took))


def measured(tasks: Sequence[Task], runs: int, told: Callable[[str], None]) -> dict[str, Figure]:
    """Run each task once to warm up, then all of them in turn, ``runs`` times; the medians.

    In turn, so that a time in which the machine has other work to do falls on all of them.
    """
    took: dict[str, list[Took]] = {}
    for number in range(runs + 1):
        for task in tasks:
            known = took.setdefault(task.key, [])
            if known and number and known[0].seconds > LONG:
                continue
            if task.before is not None:
                task.before(number)
            told(f"{task.key}, {'to warm up' if number == 0 else f'{number} of {runs}'}")
            known.append(run(task.words(number), task.environment, task.answers))
    found = {}
    for key, every in took.items():
        counted = every[1:] or every
        whole = middle(counted)
        found[key] = Figure(whole.seconds, whole, len(counted))
    return found
