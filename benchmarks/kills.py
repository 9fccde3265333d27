"""Commands killed at random moments: what is left must be the old or the new, and sound.

Each command is killed (SIGKILL, with every process that it began) once and again, half of the times
after a random time, half of them at a random step: a statement to the database, a file made,
renamed, linked or removed. Then it is asked:

- Are the log and everything else in the folder as before the command, or as after it, each file and
  each edition of the site? Was an answer printed, then everything is as after it.
- Is the log sound: the file, its rules, its seals, its lists, the figures that are kept?
- Is the command called once more: is everything as if it had never been killed, and is nothing left
  lying in the folder or beside it?

    python -m benchmarks.kills --kills 1000 --seed 1
"""

from __future__ import annotations

import argparse
import codecs
import hashlib
import json
import os
import random
import re
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import threading
import time
import urllib.error
import urllib.request
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import closing, suppress
from dataclasses import dataclass, field
from http.cookiejar import CookieJar
from importlib import import_module
from itertools import cycle
from pathlib import Path

from benchmarks.production import Maker, Size
from credits.app.logs.verified import verify_production
from credits.cli.main import COMMANDS, run
from credits.store.beside.figures_db import FIGURES_NAME
from credits.store.engines.driver import damage
from credits.store.file import LOG_NAME, opened

ROOT = Path(__file__).resolve().parent.parent
OLD_LOG = ROOT / "tests" / "store" / "log_0003.sql"
SMALL = Size(entries=80, shots=8, people=40, characters=4, puppets=8, stages=2)
ENTRY = ("log", "repair", "p1", "u1", "--on", "2026-03-02", "--minutes", "30")
LONGEST = 120.0  # seconds
SERVED = 7.0  # seconds: how long what never ends by itself is let alone
SIGN_OF_TIME = re.compile(r"-\d{8}-\d{6}")
STEPS = {"os.rename", "os.link", "os.remove", "os.mkdir", "os.rmdir", "os.chmod", "os.truncate"}

Units = Mapping[str, str]
"""What is in a folder: each thing that is old or new as a whole, and a digest of what it holds."""


Meanwhile = Callable[[Path, Path, threading.Event], list[str]]
"""What is done while a command runs, in its folder and with the file of its answer, until it has
ended: returns the entries that were acknowledged."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """A command that is killed.

    base: the folder that it begins in. then: what is called afterwards, if not the same.
    by_file: whether each page of a site is old or new by itself. often: how often it is killed
    while others are killed once; what takes long is killed the seldomer.
    """

    name: str
    words: Sequence[str]
    base: str = "film"
    then: Sequence[str] = ()
    meanwhile: Meanwhile | None = None
    by_file: bool = False
    often: int = 3


def tasks() -> tuple[Task, ...]:
    """Every command that writes; one more is one line more."""
    answer = ("--why", "It was so.", "--by", "Bo")
    return (
        Task(name="start", words=("start", "The Killed Film", "."), base="nothing"),
        Task(name="load", words=("load", "../made/tables"), base="empty"),
        Task(name="load more", words=("load", "../made/more", "--again")),
        Task(name="log", words=ENTRY),
        Task(name="amend", words=("amend", "A-3", "--note", "So it was.", "--why", "a slip")),
        Task(name="void", words=("void", "A-4", "--why", "twice")),
        Task(name="cut", words=("cut", "../made/cut.csv"), base="uncut"),
        Task(name="proof", words=("roll", "--save", "--note", "First round")),
        Task(name="answer", words=("answer", "frames-unclaimed", "--all", *answer)),
        Task(name="confirm", words=("confirm", "p1", "--on", "2026-03-02")),
        Task(name="merge", words=("merge", "../other")),
        Task(name="migration", words=("footage",), base="old"),
        Task(name="backup", words=("backup", "copy.db"), then=("backup", "next.db")),
        Task(name="restore", words=("restore", "../earlier.db", "--force")),
        Task(name="renewing", words=("footage",), base="without figures"),
        Task(name="export", words=("export", "csv", "--out", "credits.csv")),
        Task(name="review", words=("review", "p1", "--out", "pack")),
        Task(name="site", words=("site", "--edition", "all"), often=1),
        Task(name="site again", words=("site", "--edition", "all"), base="with site", often=1),
        Task(
            name="watch",
            words=("site", "--edition", "crew", "--watch"),
            then=("site", "--edition", "crew"),
            base="with site, of today",
            meanwhile=log_one,
            by_file=True,
            often=1,
        ),
        Task(
            name="desk",
            words=("desk", "--no-browser", "--no-site"),
            then=("footage",),
            meanwhile=type_at_the_desk,
            often=1,
        ),
    )


# --- what is in a folder


def units_of(folder: Path, by_file: bool = False) -> dict[str, str]:
    """Give a digest of everything in a folder that is old or new as a whole."""
    found: dict[str, list[str]] = {}
    for path in sorted(folder.rglob("*")):
        name = path.relative_to(folder).as_posix()
        if (
            path.is_dir()
            or name.endswith(("-wal", "-shm"))
            or name.startswith(FIGURES_NAME)
            or is_left(name)
        ):
            continue
        if name.startswith(f"{LOG_NAME}-"):  # the engine's own, a part of the log
            continue
        parts = name.split("/")
        in_folder = parts[0] in ("site", "pack") and not by_file
        unit = "/".join(parts[: 2 if parts[0] == "site" else 1]) if in_folder else name
        is_log = path.read_bytes()[:6] == b"SQLite"
        digest = _rows_in(path) if is_log else hashlib.sha256(path.read_bytes()).hexdigest()
        said = f"{name if in_folder else ''} {digest}"
        found.setdefault(SIGN_OF_TIME.sub("", unit), []).append(said)
    return {unit: "\n".join(each) for unit, each in found.items()}


def is_left(name: str) -> bool:
    """Whether a file or folder is one that was never finished."""
    return any(part.startswith(".") and part != ".credits-site" for part in name.split("/"))


def left_in(folder: Path) -> list[str]:
    """List what was never finished in a folder."""
    names = (path.relative_to(folder).as_posix() for path in folder.rglob("*"))
    return sorted(name for name in names if is_left(name))


def _rows_in(path: Path) -> str:
    """A digest of every row of a database, but for the moments at which they were written."""
    text = hashlib.sha256()
    with closing(sqlite3.connect(path)) as raw:
        names = raw.execute("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name")
        for (table,) in names.fetchall():
            columns = [
                row[1]
                for row in raw.execute(f"PRAGMA table_info({table})")
                if not row[1].endswith("_at") and row[1] not in ("seal", "digests")
            ]
            rows = raw.execute(f"SELECT {', '.join(columns)} FROM {table}").fetchall()
            text.update(repr((table, columns, sorted(rows, key=repr))).encode())
    return text.hexdigest()


# --- a process that is killed


@dataclass(slots=True)
class Ended:
    """How a command ended. status: negative where it was killed."""

    status: int
    out: str
    err: str
    seconds: float
    steps: list[str] = field(default_factory=list)


class _Steps:
    """Counts what a process does to files and databases, and kills it at one of these steps."""

    def __init__(self, at: int | None) -> None:
        self._at = at
        self.seen: list[str] = []
        self._connect = sqlite3.connect

    def begin(self) -> None:
        sys.addaudithook(self._audited)
        vars(sqlite3)["connect"] = self._connected

    def _step(self, what: str) -> None:
        if self.seen and self.seen[-1] == what:  # as the rows of one statement
            return
        self.seen.append(what)
        if len(self.seen) - 1 == self._at:
            os.killpg(0, signal.SIGKILL)

    def _audited(self, event: str, args: tuple[object, ...]) -> None:
        if event in STEPS:
            self._step(event)
        elif event == "open" and isinstance(args[2], int) and args[2] & (os.O_WRONLY | os.O_RDWR):
            self._step("open to write")

    def _connected(self, *args: object, **options: object) -> sqlite3.Connection:
        driver: sqlite3.Connection = self._connect(*args, **options)  # type: ignore[call-overload]
        driver.set_trace_callback(lambda text: self._step(" ".join(text.split()[:3])))
        return driver


def called(
    folder: Path,
    words: Sequence[str],
    *,
    after: float | None = None,
    at_step: int | None = None,
    first: Callable[[], object] | None = None,
    meanwhile: Meanwhile | None = None,
) -> tuple[Ended, list[str]]:
    """Run a command in a folder, in a copy of this process; kill it after a time or at a step.

    first: what the copy does before, such as to become another user.
    Returns how it ended, and what was acknowledged meanwhile.
    """
    said = Path(tempfile.mkdtemp(prefix="kills-"))
    for name in ("out", "err"):
        (said / name).touch()
    process = os.fork()
    if not process:
        _be_called(folder, words, said, at_step, first)
    acknowledged: list[str] = []
    thread, over = None, threading.Event()
    if meanwhile is not None:
        act, out = meanwhile, said / "out"
        thread = threading.Thread(target=lambda: acknowledged.extend(act(folder, out, over)))
        thread.start()
    begun = time.monotonic()
    status = _waited_for(process, begun + (LONGEST if after is None else after))
    seconds = time.monotonic() - begun
    with suppress(ProcessLookupError, PermissionError):
        os.killpg(process, signal.SIGKILL)  # and whatever it began
    if status is None:
        _, status = os.waitpid(process, 0)
    over.set()
    if thread is not None:
        thread.join(LONGEST)
    steps = said / "steps"
    ended = Ended(
        os.waitstatus_to_exitcode(status),
        (said / "out").read_text("utf-8", "replace"),
        (said / "err").read_text("utf-8", "replace"),
        seconds,
        json.loads(steps.read_text()) if steps.exists() else [],
    )
    shutil.rmtree(said)
    return ended, acknowledged


def _waited_for(process: int, until: float) -> int | None:
    """Wait for the end of a process; its status, None where it still runs then."""
    while time.monotonic() < until:
        ended, status = os.waitpid(process, os.WNOHANG)
        if ended:
            return status
        time.sleep(0.002)
    return None


def _be_called(
    folder: Path,
    words: Sequence[str],
    said: Path,
    at_step: int | None,
    first: Callable[[], object] | None,
) -> None:
    """Be the process that is killed; never returns."""
    status = 70
    try:
        os.setsid()
        os.chdir(folder)
        out, err = (os.open(said / name, os.O_WRONLY | os.O_CREAT) for name in ("out", "err"))
        os.dup2(out, 1)
        os.dup2(err, 2)
        sys.stdout = os.fdopen(1, "w", encoding="utf-8")
        sys.stderr = os.fdopen(2, "w", encoding="utf-8")
        os.environ.pop("CREDITS_PRODUCTION", None)
        steps = _Steps(at_step)
        steps.begin()
        if first is not None:
            first()
        status = run(list(words))
        if first is None:
            (said / "steps").write_text(json.dumps(steps.seen))
    finally:
        os._exit(status)


# --- what is done meanwhile


def _has_said(text: str, out: Path, over: threading.Event) -> bool:
    """Wait until a command has said something; False where it ends before."""
    while text not in out.read_text("utf-8"):
        if over.wait(0.01):
            return False
    return True


def log_one(folder: Path, out: Path, over: threading.Event) -> list[str]:
    """Log an entry as soon as the first build has answered."""
    if not _has_said("index.html", out, over):
        return []
    words = [sys.executable, "-m", "credits", *ENTRY, "--json", "-p", str(folder)]
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    done = subprocess.run(words, capture_output=True, check=False, env=environment)
    return [] if done.returncode else [json.loads(done.stdout)["entry"]]


def type_at_the_desk(_: Path, out: Path, over: threading.Event) -> list[str]:
    """Log one row after the other at a desk, until it answers no more."""
    if not _has_said("\n", out, over):
        return []
    entrance = out.read_text().split()[0]
    origin = entrance.partition("/enter")[0]
    browser = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(CookieJar()))
    done: list[str] = []
    with suppress(OSError, ValueError, KeyError):
        page = browser.open(entrance, timeout=5).read().decode()
        found = re.search(r'data-place="([^"]+)"', page)
        place = found[1] if found else ""
        for minutes in range(1, 1000):
            row = {"craft": "repair", "person": "p1", "on": "u1", "minutes": str(minutes)}
            post = {"day": "2026-03-02", "place": place, "rows": [row]}
            kind = {"content-type": "application/json", "origin": origin}
            asked = urllib.request.Request(f"{origin}/log", json.dumps(post).encode(), kind)
            done += json.loads(browser.open(asked, timeout=5).read())["answers"]
    return done


# --- the folders in which commands begin


def make_bases(top: Path, names: Sequence[str]) -> None:
    """Make the folders in which commands begin. names: those that are wanted."""
    made = top / "made"
    Maker(SMALL).write(made)
    (made / "more").mkdir()
    shutil.copy(made / "tables" / "entries-unit-2.csv", made / "more" / "entries-more.csv")
    (top / "nothing").mkdir()
    _done(top, "start", "The Killed Film", "empty")
    shutil.copytree(top / "empty", top / "uncut")
    _done(top / "uncut", "load", "../made/tables")
    _done(top / "uncut", "backup", "../earlier.db")
    shutil.copytree(top / "uncut", top / "film")
    _done(top / "film", "cut", "../made/cut.csv")
    _done(top, "start", "The Killed Film", "other", "--origin", "B")
    _done(top / "other", "load", "../made/tables")
    _done(top / "other", *ENTRY)
    shutil.copytree(top / "film", top / "without figures")
    for path in (top / "without figures").glob(f"{FIGURES_NAME}*"):
        path.unlink()
    shutil.copytree(top / "empty", top / "old")
    for path in (top / "old").glob("*.db*"):
        path.unlink()
    with closing(sqlite3.connect(top / "old" / LOG_NAME)) as raw:
        raw.executescript(OLD_LOG.read_text("utf-8"))
    if any(name.startswith("with site") for name in names):
        shutil.copytree(top / "film", top / "with site")
        _done(top / "with site", "site", "--edition", "all")
        shutil.copytree(top / "with site", top / "with site, of today")
        _done(top / "with site", "log", "repair", "p2", "u2", "--on", "2026-03-03")


def _done(folder: Path, *words: str) -> None:
    ended, _ = called(folder, words)
    if ended.status:
        raise RuntimeError(f"{' '.join(words)}: {ended.err}")


# --- the campaign


@dataclass(slots=True)
class Result:
    """What became of the kills of one command.

    survived: how often it ended before it was killed. stood: how often the folder was then as
    before the command, as after it, or between the two. left: how often something was left
    unfinished, which the next call clears. harms: what should not be.
    """

    task: Task
    kills: int = 0
    survived: int = 0
    stood: Counter[str] = field(default_factory=Counter)
    left: int = 0
    acknowledged: int = 0
    harms: list[str] = field(default_factory=list)


class Campaign:
    """Kills commands again and again, each in a fresh copy of its folder."""

    def __init__(self, top: Path, seed: int) -> None:
        self._top = top
        self._chance = random.Random(seed)
        self._known: dict[str, tuple[Units, Units, Ended]] = {}

    def kill(self, task: Task, result: Result) -> None:
        """Kill a command once, and look at what is left."""
        before, after, ended = self._reference(task)
        by_time = self._chance.random() < 0.5 or not ended.steps
        when: dict[str, float | int]
        if by_time:
            when = {"after": self._chance.random() * ended.seconds * 1.05}
        else:
            kind = self._chance.choice(sorted(set(ended.steps)))
            places = [at for at, step in enumerate(ended.steps) if step == kind]
            when = {"at_step": self._chance.choice(places)}
        folder = self.fresh(task)
        killed, acknowledged = called(folder, task.words, meanwhile=task.meanwhile, **when)  # type: ignore[arg-type]
        result.kills += 1
        result.survived += killed.status >= 0
        moment = f"{task.name}, {when}"
        harms = [*_unsound(folder, task)]
        found = units_of(folder, task.by_file)
        result.stood[self._stands(found, before, after)] += 1
        if task.name == "desk":
            harms += _lost(folder, acknowledged)
        else:
            harms += _neither(found, before, after)
            if killed.out and "Traceback" not in killed.err and task.meanwhile is None:
                harms += [f"answered, but {unit} is old" for unit in _old(found, after)]
        result.left += bool(left_in(folder))
        again, _ = called(folder, task.then or task.words)
        if again.status not in (0, 1, 2) or "Traceback" in again.err:
            harms.append(f"the next call said {again.err[-200:]!r}")
        harms += [f"after the next call: {harm}" for harm in _unsound(folder, task)]
        harms += [f"left lying: {name}" for name in left_in(folder)]
        if task.meanwhile is None and not task.then:
            now = units_of(folder, task.by_file)
            harms += [f"after the next call {unit} is not right" for unit in _old(now, after)]
            harms += [f"after the next call there is {unit}" for unit in now.keys() - after.keys()]
        result.harms += [f"{moment}: {harm}" for harm in harms]
        result.acknowledged += len(acknowledged)
        shutil.rmtree(folder)

    def fresh(self, task: Task) -> Path:
        """Make a fresh copy of the folder in which a command begins."""
        folder = Path(tempfile.mkdtemp(dir=self._top))
        folder.rmdir()
        shutil.copytree(self._top / task.base, folder)
        return folder

    def _reference(self, task: Task) -> tuple[Units, Units, Ended]:
        """How the folder is before the command and after it, and what the command does."""
        if task.name not in self._known:
            folder = self.fresh(task)
            before = units_of(folder, task.by_file)
            after = SERVED if task.meanwhile is not None else None
            ended, _ = called(folder, task.words, meanwhile=task.meanwhile, after=after)
            if ended.status not in (0, 1, -signal.SIGKILL):
                raise RuntimeError(f"{task.name}: {ended.err}")
            if task.meanwhile is not None and task.then:
                called(folder, task.then)
            self._known[task.name] = before, units_of(folder, task.by_file), ended
            shutil.rmtree(folder)
        return self._known[task.name]

    @staticmethod
    def _stands(found: Units, before: Units, after: Units) -> str:
        if found == after:
            return "after"
        return "before" if found == before else "during"


def _unsound(folder: Path, task: Task) -> Iterator[str]:
    """Say what is wrong with the log in a folder."""
    log = folder / LOG_NAME
    if not log.exists():
        if task.base != "nothing":
            yield "the log is gone"
        return
    with closing(opened(log)) as driver:
        yield from damage(driver)
    if task.base == "nothing" and not (folder / "production.toml").exists():
        yield "a log without settings"
        return
    for finding in verify_production(folder):
        if not finding.what.startswith("is of an older version"):
            yield str(finding)


def _neither(found: Units, before: Units, after: Units) -> Iterator[str]:
    """Say what is neither as it was nor as it is to be."""
    for unit in found.keys() | before.keys() | after.keys():
        if found.get(unit) not in (before.get(unit), after.get(unit)):
            yield f"{unit} is neither old nor new"


def _old(found: Units, after: Units) -> list[str]:
    return [unit for unit, digest in after.items() if found.get(unit) != digest]


def _lost(folder: Path, acknowledged: Sequence[str]) -> Iterator[str]:
    """Say which entries were acknowledged and are not there."""
    with closing(opened(folder / LOG_NAME)) as driver:
        rows = driver.execute("SELECT origin || '-' || number FROM entries")
        there = Counter(row[0] for row in rows)
    yield from (f"{each} was acknowledged and is gone" for each in acknowledged if not there[each])
    yield from (f"{each} is there twice" for each, count in there.items() if count > 1)


def preload() -> None:
    """Import what commands import, so that each kill falls into their work."""
    for name, _ in COMMANDS.values():
        import_module(f"credits.cli.{name}")
    for encoding in (
        "ascii",
        "utf-8-sig",
        "idna",
        "cp1252",
    ):  # another user may not read where they lie
        codecs.lookup(encoding)


def campaign(
    kills: int, seed: int, only: Sequence[str] = (), told: Callable[[str], None] | None = None
) -> list[Result]:
    """Kill commands in turn, so many times in all; what became of each."""
    preload()
    chosen = [task for task in tasks() if not only or task.name in only]
    results = [Result(task) for task in chosen]
    with tempfile.TemporaryDirectory(prefix="kills-") as place:
        make_bases(Path(place), [task.base for task in chosen])
        run_of = Campaign(Path(place), seed)
        turns = cycle([each for each in results for _ in range(each.task.often)])
        for at, result in zip(range(kills), turns, strict=False):
            known = len(result.harms)
            run_of.kill(result.task, result)
            if told is not None:
                told(f"{at + 1} of {kills}: {result.task.name}, {len(result.harms)} harms")
                for harm in result.harms[known:]:
                    told(harm)
    return results


def table_of(results: Sequence[Result]) -> str:
    """Return the results as a table in Markdown."""
    heads = ("command", "kills", "before", "during", "after", "ended first", "left", "harms")
    lines = [f"| {' | '.join(heads)} |", "| --- " * len(heads) + "|"]
    for each in results:
        stood = (each.stood[name] for name in ("before", "during", "after"))
        row = (each.task.name, each.kills, *stood, each.survived, each.left, len(each.harms))
        lines.append(f"| {' | '.join(map(str, row))} |")
    total = sum(each.kills for each in results)
    lines.append(f"\n{total} kills, {sum(len(each.harms) for each in results)} harms.")
    return "\n".join(lines)


def main() -> int:
    """Kill, and print what was found; 1 where there is any harm."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--kills", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", nargs="*", default=())
    given = parser.parse_args()
    results = campaign(
        given.kills, given.seed, given.only, lambda said: print(said, file=sys.stderr, flush=True)
    )
    print(table_of(results))
    for result in results:
        for harm in result.harms:
            print(harm)
    return int(any(result.harms for result in results))


if __name__ == "__main__":
    sys.exit(main())
