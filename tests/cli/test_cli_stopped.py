"""Ctrl-C, at any moment: the status is 130, and what was and was not written is said."""

from __future__ import annotations

import os
import re
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import suppress
from pathlib import Path

import pytest

from credits.cli import main
from tests.cli.conftest import ROOT, Command
from tests.drawn import FULL

ENV = {**os.environ, "PYTHONPATH": str(ROOT)}
MOMENTS = [0.05, 0.5, 0.9, 1.3, 2.0] if FULL else [0.05, 0.5, 0.9]
FULLY = [(seconds, times) for seconds in MOMENTS for times in (1, 3)]
LOADS = FULLY if FULL else [(0.05, 1), (0.5, 3), (0.9, 1)]


def _begun(cwd: Path, *words: str) -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        [sys.executable, "-m", "credits", *words],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        cwd=cwd,
        env=ENV,
    )


def _stopped_after(seconds: float, cwd: Path, *words: str, times: int = 1) -> tuple[int, str]:
    """Stop a command after some time; its status, and what it said beside its answer."""
    process = _begun(cwd, *words)
    with suppress(subprocess.TimeoutExpired):  # who has ended before is not waited for
        process.wait(seconds)
    for _ in range(times):
        process.send_signal(signal.SIGINT)
        time.sleep(0.01)
    _, err = process.communicate(timeout=120)
    said = err.decode()
    # The first moments belong to the interpreter, which has not yet run a line of ours.
    if "memory.py" in said or "cli" in said or "Stopped" in said:
        assert "Traceback" not in said, said
    # The interpreter may end by the signal itself, which a shell shows alike, or fail in its start.
    in_its_start = process.returncode == 1 and "KeyboardInterrupt" in said
    by_signal = process.returncode == -signal.SIGINT or in_its_start
    return main.STOPPED if by_signal else process.returncode, said


@pytest.fixture
def many(film: Path) -> Path:
    """The film with a table of so many people that loading them takes a while."""
    rows = "".join(f"p{n},Person {n}\n" for n in range(6000))
    (film / "people.csv").write_text("person,credit_name\n" + rows)
    return film


def _count(film: Path, table: str) -> int:
    with sqlite3.connect(film / "production.db") as log:
        return int(log.execute(f"select count(*) from {table}").fetchone()[0])


@pytest.mark.parametrize(("seconds", "times"), LOADS)
def test_a_load_is_whole_or_nothing_and_says_which(many: Path, seconds: float, times: int) -> None:
    status, said = _stopped_after(seconds, many, "load", "people.csv", times=times)
    people = _count(many, "people")
    assert people in (3, 6003)
    if status == main.STOPPED and "Stopped" in said:
        assert ("Nothing was written." in said) == (people == 3)
        assert ("Written before that: 6,000 rows of people." in said) == (people == 6003)
    else:
        assert (status, people) in ((0, 6003), (main.STOPPED, 3))


@pytest.mark.parametrize("seconds", MOMENTS)
def test_a_site_is_the_old_one_or_the_new_one(
    film: Path, credits_: Command, seconds: float
) -> None:
    for _ in range(3):
        credits_("log", "paint", "cai", "wick-1", "--again")
    status, said = _stopped_after(seconds, film, "site")
    built = {path.name for path in (film / "site").glob("*")} if (film / "site").exists() else set()
    assert {name for name in built if not name.startswith(".")} == built
    for edition in built:
        assert (film / "site" / edition / "index.html").is_file()
    if "Stopped" in said:
        assert status == main.STOPPED
        named = set(re.findall(r"site/(\w+)", said))
        assert named == built
        assert ("Nothing was written." in said) == (not built)


@pytest.mark.parametrize("seconds", [0.3, 0.7, 1.2] if FULL else [0.3, 0.7])
def test_files_are_whole_or_not_there(film: Path, seconds: float) -> None:
    for words, target in (
        (("backup", "copy.db"), "copy.db"),
        (("export", "pdf", "--out", "credits.pdf"), "credits.pdf"),
    ):
        status, said = _stopped_after(seconds, film, *words)
        there = (film / target).exists()
        if "Stopped" in said:
            assert status == main.STOPPED
            assert ("Nothing was written." in said) == (not there)
        left = [p.name for p in film.iterdir() if p.suffix in (".new", ".unfinished")]
        assert left == []
        (film / target).unlink(missing_ok=True)


def test_an_entry_is_logged_or_not(film: Path) -> None:
    for seconds in (0.2, 0.4, 0.6, 0.8, 1.0) if FULL else (0.2, 0.4, 0.6):
        before = _count(film, "entries")
        status, said = _stopped_after(seconds, film, "log", "paint", "cai", "wick-1", "--again")
        written = _count(film, "entries") - before
        if "Stopped" in said:
            assert status == main.STOPPED
            assert ("Nothing was written." in said) == (written == 0)


def test_a_job_in_the_background_is_not_stopped(film: Path) -> None:
    """A shell lets such jobs ignore Ctrl-C, which is meant for the one in front."""
    line = f"trap '' INT; exec {sys.executable} -m credits footage"
    process = subprocess.Popen(["sh", "-c", line], stdout=-1, stderr=-1, cwd=film, env=ENV)
    time.sleep(0.5)
    process.send_signal(signal.SIGINT)
    out, _ = process.communicate(timeout=60)
    assert process.returncode == 0
    assert out.startswith(b"person\t")


@pytest.mark.usefixtures("film")
def test_what_stops_in_the_step_of_writing_waits_for_its_end(
    credits_: Command, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The file is in its place before the process knows of it: between the two nothing stops."""
    replace = Path.replace

    def stopped_meanwhile(self: Path, target: Path) -> Path:
        done = replace(self, target)
        os.kill(os.getpid(), signal.SIGINT)
        return done

    monkeypatch.setattr(Path, "replace", stopped_meanwhile)
    answer = credits_("export", "csv", "--out", "credits.csv")
    assert (answer.status, answer.out) == (main.STOPPED, "")
    assert "Written before that: credits.csv. Nothing else was written." in answer.err
    assert Path("credits.csv").is_file()
