"""Lines at a terminal break at words, a pipe gets them whole; what is at work is shown."""

from __future__ import annotations

import os
import pty
import re
import subprocess
import sys
import time
from pathlib import Path

import pytest

from credits.cli.terminal import printing, progress
from tests.cli.conftest import ROOT, Command
from tests.drawn import FULL


def _seen(cwd: Path, *words: str, columns: int = 80) -> tuple[int, str]:
    """Run a command at a terminal; its status and every sign that it was sent."""
    main, other = pty.openpty()
    process = subprocess.Popen(
        [sys.executable, "-m", "credits", *words],
        stdin=other,
        stdout=other,
        stderr=other,
        cwd=cwd,
        env={
            **os.environ,
            "PYTHONPATH": str(ROOT),
            "TERM": "xterm",
            "COLUMNS": str(columns),
        },
        close_fds=True,
    )
    os.close(other)
    seen = b""
    while True:
        try:
            piece = os.read(main, 65536)
        except OSError:  # the other end is closed
            break
        seen += piece
    os.close(main)
    return process.wait(timeout=60), seen.decode().replace("\r\n", "\n")


CLEAR = "\r\x1b[K"
DRAWN = re.compile(r"\r\x1b\[K([^\r\n]+)(?=\r)")
"""What was drawn and cleared again."""


def _lines(seen: str) -> list[str]:
    """What stays on the terminal."""
    return re.sub(r"\x1b\[\d*m", "", DRAWN.sub("", seen).replace(CLEAR, "")).splitlines()


@pytest.mark.parametrize("columns", [60, 80] if FULL else [60])
def test_findings_and_reasons_break_at_words(film: Path, credits_: Command, columns: int) -> None:
    (film / "shots.csv").write_text("shot,sequence,frames\n010-030,020,many\n")
    for words in (("load", "shots.csv"), ("why", "ben"), ("roll",)):
        _, seen = _seen(film, *words, columns=columns)
        lines = _lines(seen)
        assert max(map(printing.cells, lines)) <= columns, lines
        whole = credits_(*words)
        said = " ".join(f"{whole.out} {whole.err}".split())
        words_seen = {word for word in " ".join(lines).split() if word.isalpha()}
        assert words_seen <= set(said.split())


def test_a_pipe_gets_every_line_whole(film: Path, credits_: Command) -> None:
    (film / "shots.csv").write_text("shot,sequence,frames\n010-030,020," + "many " * 40 + "\n")
    answer = credits_("load", "shots.csv")
    assert len(answer.err.splitlines()) == 3
    assert max(map(len, answer.err.splitlines())) > 200


def test_a_command_to_copy_stays_on_one_line(film: Path) -> None:
    _, seen = _seen(film, "cut", "--list", columns=30)
    assert "credits cut FILE." in _lines(seen)[-1]


@pytest.fixture
def looked_on(monkeypatch: pytest.MonkeyPatch) -> None:
    """A person looks on at a terminal."""
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.setattr(printing, "is_terminal", lambda _: True)


@pytest.mark.usefixtures("looked_on")
def test_a_site_says_what_it_builds_and_how_much_of_it(
    film: Path, credits_: Command, monkeypatch: pytest.MonkeyPatch
) -> None:
    drawn = []
    step = progress.WorkLine.step

    def drawn_at_once(self: progress.WorkLine, what: str, done: int, total: int) -> None:
        step(self, what, done, total)
        drawn.append(self._text())

    assert credits_("site").status == 0  # how many files there will be is known the second time
    monkeypatch.setattr(progress.WorkLine, "step", drawn_at_once)
    for edition in ("public", "crew", "office"):  # a site that is as it was is not built again
        (film / "site" / edition / "index.html").unlink()
    assert credits_("site").status == 0
    counts = [re.search(r"(\w+) edition, files  \[[#.]+\] (\d+) of (\d+)", text) for text in drawn]
    assert {count[1] for count in counts if count} == {"public", "crew", "office"}
    for count in filter(None, counts):
        assert 0 < int(count[2]) <= int(count[3])
    assert all(printing.cells(text) < 80 for text in drawn)


def test_nothing_that_is_shown_at_work_stays(film: Path) -> None:
    status, seen = _seen(film, "site")
    assert status == 0
    assert not [line for line in _lines(seen) if " of " in line]


def test_a_quiet_command_and_a_plain_terminal_show_no_line(film: Path) -> None:
    _, seen = _seen(film, "site", "-q")
    assert "\r" not in seen


class Clock:
    """Time as the line at work sees it; it stands until it is set on."""

    now = 0.0

    def monotonic(self) -> float:
        """The time."""
        return self.now


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    """The clock of the line at work."""
    monkeypatch.setattr(progress, "time", Clock())
    return progress.time  # type: ignore[return-value]


@pytest.mark.usefixtures("looked_on")
def test_the_line_comes_after_a_moment_and_goes_before_what_is_printed(
    capsys: pytest.CaptureFixture[str], clock: Clock
) -> None:
    with progress.at_work("Reading"):
        time.sleep(3 * progress.EVERY)
        assert capsys.readouterr().err == ""
        progress.step("Reading <b>\x1b[2J", 3, 10)
        clock.now = progress.FIRST_AFTER
        said = ""
        while "Reading" not in said:
            time.sleep(progress.EVERY)
            said += capsys.readouterr().err
        printing.warn("Something.")
        said += capsys.readouterr().err
    assert "\rReading" not in said
    assert "Reading <b>\ufffd[2J  [######" in said
    assert said.endswith("\r\x1b[KSomething.\n")
    progress.step("later", 1, 1)  # nothing is at work: nothing happens
    assert capsys.readouterr().err == ""


@pytest.mark.usefixtures("looked_on")
def test_a_short_command_shows_no_line(capsys: pytest.CaptureFixture[str], clock: Clock) -> None:
    with progress.at_work("Reading"):
        clock.now = 0.9 * progress.FIRST_AFTER
        time.sleep(3 * progress.EVERY)
    assert capsys.readouterr().err == ""
