"""Whoever finds another program writing waits for it: long enough, fairly, and not in silence."""

from __future__ import annotations

import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from credits import waiting
from credits.errors import LogUnusable
from credits.model.facts import Person
from credits.model.log import Batch
from credits.store.file import BUSY_MILLISECONDS
from credits.store.log import open_log
from tests.terminal import ROOT


def person(code: str) -> Batch:
    return Batch(people=(Person(code=code, credit_name=code),))


def test_it_is_waited_for_half_a_minute() -> None:
    assert BUSY_MILLISECONDS == 30_000


def test_whoever_waits_says_so_once_and_writes_then(
    film: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(waiting, "SAID_AFTER", 0.05)
    said: list[str] = []
    with open_log(film) as other, open_log(film) as log:
        with other.writing() as pen:
            pen.write(person("cai"))

            def write() -> None:
                with open_log(film) as own, own.writing() as late:
                    late.write(person("dov"))

            with waiting.told_to(lambda: said.append("waits")):
                late = threading.Thread(target=write)
                late.start()
                until = time.monotonic() + 60
                while not said and time.monotonic() < until:
                    time.sleep(0.01)
                late.join(0.3)
                assert late.is_alive()
        late.join(60)
        assert [each.code for each in log.read().people] == ["ana", "ben", "cai", "dov"]
    assert said == ["waits"]


def test_whoever_need_not_wait_says_nothing(film: Path) -> None:
    said: list[str] = []
    listening = waiting.told_to(lambda: said.append("waits"))
    with listening, open_log(film) as log, log.writing() as pen:
        pen.write(person("cai"))
    assert said == []


def test_after_its_time_it_is_told_who_writes(film: Path) -> None:
    with open_log(film) as other, other.writing():
        said = "is being written by another program. Try again"
        with open_log(film, busy_milliseconds=50) as log, pytest.raises(LogUnusable, match=said):
            log.writing().__enter__()


def test_who_has_waited_longer_tries_more_often(monkeypatch: pytest.MonkeyPatch) -> None:
    now, pauses = [0.0], []

    def sleep(seconds: float) -> None:
        pauses.append(seconds)
        now[0] += seconds

    monkeypatch.setattr(time, "monotonic", lambda: now[0])
    monkeypatch.setattr(time, "sleep", sleep)
    told = list(waiting.tries(30))
    assert told == [*[False] * len(pauses), True]
    assert pauses == sorted(pauses, reverse=True)
    assert waiting.SHORTEST_PAUSE <= pauses[-1] < pauses[0] <= waiting.LONGEST_PAUSE
    assert 30 <= now[0] < 31


def test_a_command_says_on_standard_error_that_it_waits(film: Path) -> None:
    with open_log(film) as other, other.writing() as pen:
        pen.write(person("cai"))
        words = [sys.executable, "-m", "credits", "log", "voice", "ana", "wick", "-p", str(film)]
        command = subprocess.Popen(
            words, stdout=-1, stderr=-1, text=True, env={"PYTHONPATH": str(ROOT)}
        )
        assert command.stderr is not None
        assert command.stderr.readline() == "Another program is writing; waiting.\n"
    out, _ = command.communicate(timeout=60)
    assert (command.returncode, out.startswith("A-1: ")) == (0, True)
