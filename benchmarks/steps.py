"""How each line of the table is measured on a production that was made."""

from __future__ import annotations

import hashlib
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from itertools import count
from pathlib import Path
from statistics import median

from benchmarks.made import Asked, Made, start
from benchmarks.measures import QUESTIONS, cold
from benchmarks.processes import (
    CREDITS,
    LONG,
    PYTHON,
    ROOT,
    FailedError,
    Figure,
    Task,
    measured,
    run,
)

KEPT = "figures.db"
"""What is kept beside a log, and made anew where it is missing."""

POLL = 0.005
PATIENCE = 1800.0
Told = Callable[[str], None]
Found = dict[str, Figure]


def always(*words: object) -> Callable[[int], list[str]]:
    """Return the same words for every run."""
    return lambda _number: [str(word) for word in words]


def forget(production: Path) -> None:
    """Take away everything that is kept beside the log."""
    for file in production.glob(f"{KEPT}*"):
        file.unlink()


@dataclass(frozen=True, slots=True)
class Bench:
    """One production with what is asked of it. ``scratch``: a folder for copies and sites."""

    made: Made
    asked: Asked
    scratch: Path
    runs: int
    told: Told
    numbers: Iterator[int]

    @classmethod
    def of(cls, made: Made, asked: Asked, scratch: Path, runs: int, told: Told) -> Bench:
        """Return the bench of a production."""
        return cls(made, asked, scratch, runs, told, count(1))

    def credits(self, *words: object, production: Path | None = None) -> list[str]:
        """Return a call of a command on the production."""
        where = production or self.made.production
        return [*CREDITS, *map(str, words), "--production", str(where)]

    def measured(self, *tasks: Task) -> Found:
        """Measure some tasks in turn."""
        return measured(tasks, self.runs, self.told)

    # -- questions

    def questions(self) -> Found:
        """Measure every question, and the query in SQL; then each with nothing kept."""
        run(self.credits("footage"))  # what is kept, is kept now
        sql = (*PYTHON, "benchmarks.footage_sql", self.made.database)
        found = self.measured(Task(key="duckdb", words=always(*sql)), *self._questions())
        return found | self.measured(*self._questions(nothing_kept=True))

    def _questions(self, nothing_kept: bool = False) -> Iterator[Task]:
        asked = self.asked
        month = ("--from", f"{asked.day[:7]}-01", "--to", f"{asked.day[:7]}-28")
        words: dict[str, tuple[str, ...]] = {
            "footage": ("footage",),
            "footage-shots": ("footage", "--by", "person,shot"),
            "footage-weeks": ("footage", "--by", "week"),
            "footage-stages": ("footage", "--by", "stage"),
            "hands": ("hands", asked.shot),
            "reach": ("reach",),
            "roll": ("roll",),
            "why": ("why", asked.person),
            "check": ("check",),
            "find": ("find", asked.name),
            "find-entries": ("find", "--person", asked.person, *month),
            "review": ("review", asked.person),
            "day": ("day", asked.day, "--list"),
        }
        for key in QUESTIONS:
            yield Task(
                key=cold(key) if nothing_kept else key,
                words=always(*self.credits(*words[key])),
                before=(lambda _number: forget(self.made.production)) if nothing_kept else None,
                answers=(0, 1) if key == "check" else (0,),
            )

    # -- loads

    def loads(self) -> Found:
        """Measure a load that is only checked, and one that is written, into an empty log."""
        empty = self.scratch / "loaded"
        start(empty)
        call = self.credits("load", self.made.tables, production=empty)
        found = self.measured(
            Task(key="check-rows", words=always(*call, "--dry-run")),
            Task(key="load-rows", words=always(*call), before=lambda _number: start(empty)),
        )
        shutil.rmtree(empty)
        return {
            key: Figure(self.made.rows / figure.value, figure.took, figure.runs)
            for key, figure in found.items()
        }

    # -- entries

    def entry(self, production: Path) -> list[str]:
        """Return a call that logs animation that nobody has logged yet: it changes the shot."""
        asked, number = self.asked, next(self.numbers)
        person = asked.animators[number % len(asked.animators)]
        place = f"{asked.shot}/{asked.take}"
        words = ("log", "animation", person, asked.on, place, f"{number}-{number + 8}")
        when = ("--on", asked.day, "--stage", asked.stage, "--minutes", number)
        return self.credits(*words, *when, production=production)

    def _repair(self, production: Path) -> list[str]:
        asked, number = self.asked, next(self.numbers)
        words = ("log", "repair", asked.doctor, asked.on, "--on", asked.day, "--minutes", number)
        return self.credits(*words, "--wait", 10, "--stage", asked.stage, production=production)

    def entries(self) -> Found:
        """Measure one entry at a time, in a copy of the production; Tab, help, and Python alone."""
        own = self._copied("entered")
        shell = {"_CREDITS_COMPLETE": "complete_bash", "CREDITS_PRODUCTION": str(own)}

        def tab(key: str, typed: str) -> Task:
            cells = {"COMP_WORDS": typed, "COMP_CWORD": str(typed.count(" "))}
            return Task(key=key, words=always(*CREDITS), environment={**shell, **cells})

        found = self.measured(
            Task(key="pass", words=always(sys.executable, "-c", "pass")),
            Task(key="sqlmodel", words=always(sys.executable, "-c", "import sqlmodel")),
            Task(key="help", words=always(*CREDITS, "--help")),
            tab("tab", f"credits hands {self.asked.shot[:2]}"),
            tab("tab-entry", "credits amend A-1"),
            Task(key="entry", words=lambda _number: self.entry(own)),
            Task(key="repair", words=lambda _number: self._repair(own)),
        )
        shutil.rmtree(own)
        return found

    def _copied(self, name: str) -> Path:
        own = self.scratch / name
        shutil.rmtree(own, ignore_errors=True)
        shutil.copytree(self.made.production, own)
        run(self.credits("footage", production=own))
        return own

    # -- sites

    def sites(self) -> Found:
        """Measure the sites: full, again, after an entry, watched; and how large they are."""
        own = self._copied("shown")
        one, every = self.scratch / "crew", self.scratch / "all"

        def build(edition: str, out: Path) -> Callable[[int], list[str]]:
            call = self.credits("site", "--edition", edition, "--out", out, production=own)
            return always(*call)

        def anew(out: Path) -> Callable[[int], object]:
            return lambda _number: shutil.rmtree(out, ignore_errors=True)

        found = self.measured(Task(key="site-all", words=build("all", every), before=anew(every)))
        shutil.rmtree(every)
        found |= self.measured(Task(key="site", words=build("crew", one), before=anew(one)))
        site = one / "crew"
        found |= _sizes(site)
        if (took := found["site"].took) is not None:
            found["site-memory"] = Figure(took.memory, None, found["site"].runs)
        found |= self._beside(site)
        found |= self.measured(Task(key="site-again", words=build("crew", one)))
        found |= self.measured(
            Task(
                key="site-entry",
                words=build("crew", one),
                before=lambda _number: run(self.entry(own)),
            )
        )
        found |= self._written(site, own, build("crew", one)(0))
        pause, runs = found["site-entry"].value, self.runs if found["site"].value <= LONG else 1
        found["site-watch"] = self._watched(site, own, build("crew", one)(0), pause, runs)
        shutil.rmtree(own)
        shutil.rmtree(one)
        return found

    def _beside(self, site: Path) -> Found:
        """What copying the site takes, and Hugo with as many pages of the same bytes."""
        project, out = self.scratch / "hugo", self.scratch / "hugo-out"
        run((*PYTHON, "benchmarks.hugo", str(site), str(project)))

        def clear(_number: int) -> None:
            shutil.rmtree(out, ignore_errors=True)

        tasks = [Task(key="copy", words=always("cp", "-r", site, out), before=clear)]
        if shutil.which("hugo"):
            call = always("hugo", "--quiet", "--source", project, "--destination", out)
            tasks.append(Task(key="hugo", words=call, before=clear))
        else:
            self.told("Hugo is not installed: left out")
        found = self.measured(*tasks)
        shutil.rmtree(project)
        shutil.rmtree(out)
        return found

    def _written(self, site: Path, production: Path, build: list[str]) -> Found:
        """How many files one entry changes, and how many are written."""
        before = dict(_files(site))
        run(self.entry(production))
        run(build)
        after = dict(_files(site))
        changed = sum(
            before.get(way, (0, ""))[1] != digest for way, (_, digest) in after.items()
        ) + len(before.keys() - after.keys())
        written = sum(before.get(way, (0, ""))[0] != when for way, (when, _) in after.items())
        return {
            "site-changed": Figure(changed),
            "site-written": Figure(written + len(before.keys() - after.keys())),
        }

    def _watched(
        self, site: Path, production: Path, build: list[str], pause: float, runs: int
    ) -> Figure:
        """How long after an entry is in the log its shot's page is new, while a site is watched.

        pause: seconds until the site is whole again after an entry.
        """
        page = site / "shots" / f"{self.asked.shot}.html"
        waits = []
        with subprocess.Popen(
            [*build, "--watch"],
            cwd=ROOT,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            text=True,
        ) as watching:
            try:
                _until_watching(watching)
                for number in range(runs + 1):
                    self.told(f"site-watch, {number or 'to warm up'}")
                    waits.append(self._until_new(page, production, watching))
                    time.sleep(pause)
            finally:
                watching.terminate()
        return Figure(median(waits[1:]), None, len(waits) - 1)

    def _until_new(self, page: Path, production: Path, watching: subprocess.Popen[str]) -> float:
        """Log an entry; seconds from the log's last change by it to the new page."""
        old, written, log = page.read_bytes(), _written_at(page), _written_at(*_log_of(production))
        entered = subprocess.Popen(
            self.entry(production),
            cwd=ROOT,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        logged, ends = 0.0, time.monotonic() + PATIENCE
        while True:
            if not logged and _written_at(*_log_of(production)) != log:
                logged = time.monotonic()
            if logged and _written_at(page) != written and page.read_bytes() != old:
                break
            if time.monotonic() > ends or watching.poll() is not None:
                raise FailedError(f"{page} did not change.")
            time.sleep(POLL)
        seen = time.monotonic()
        if entered.wait() != 0:
            raise FailedError("The entry was not logged.")
        return seen - logged


def _until_watching(watching: subprocess.Popen[str]) -> None:
    assert watching.stderr is not None
    for line in watching.stderr:
        if "Watching" in line:
            return
    raise FailedError("The site was not watched.")


def _log_of(production: Path) -> Iterator[Path]:
    """The file of the log, and that in which it is written first."""
    return (production / f"production.db{end}" for end in ("", "-wal"))


def _written_at(*files: Path) -> tuple[tuple[int, int], ...]:
    """When files were last written; those that are not there are left out."""
    found = []
    for file in files:
        with suppress(FileNotFoundError):
            known = file.stat()
            found.append((known.st_ino, known.st_mtime_ns))
    return tuple(found)


def _files(site: Path) -> Iterator[tuple[str, tuple[tuple[int, int], str]]]:
    for file in sorted(each for each in site.rglob("*") if each.is_file()):
        known = file.stat()
        digest = hashlib.sha256(file.read_bytes()).hexdigest()
        yield str(file.relative_to(site)), ((known.st_ino, known.st_mtime_ns), digest)


def _sizes(site: Path) -> Found:
    files = [each for each in site.rglob("*") if each.is_file()]
    pages = [each.stat().st_size / 1000 for each in files if each.suffix == ".html"]
    return {
        "site-bytes": Figure(sum(each.stat().st_size for each in files) / 1_000_000),
        "site-largest": Figure(max(pages)),
        "site-median": Figure(median(pages)),
    }
