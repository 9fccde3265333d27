"""A command at a real pseudo-terminal: what is typed when it asks, and what is seen."""

from __future__ import annotations

import fcntl
import os
import pty
import select
import signal
import subprocess
import sys
import termios
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
PATIENCE = 60


def _sit_down() -> None:
    """Have the terminal as the one that controls the process; Ctrl-C is not ignored."""
    fcntl.ioctl(0, termios.TIOCSCTTY, 0)
    signal.signal(signal.SIGINT, signal.SIG_DFL)


class Terminal:
    """One command with a terminal of its own for all three streams."""

    def __init__(self, cwd: Path, *words: str) -> None:
        self._main, other = pty.openpty()
        self.process = subprocess.Popen(
            [sys.executable, "-m", "credits", *words],
            stdin=other,
            stdout=other,
            stderr=other,
            cwd=cwd,
            env={**os.environ, "PYTHONPATH": str(ROOT), "TERM": "dumb", "COLUMNS": "200"},
            start_new_session=True,
            preexec_fn=_sit_down,
        )
        os.close(other)
        self.seen = ""
        self._told = 0

    def _read(self) -> bool:
        """Read what has come; False at the end."""
        ready, _, _ = select.select([self._main], [], [], PATIENCE)
        assert ready, f"nothing more came behind {self.seen[-300:]!r}"
        try:
            piece = os.read(self._main, 65536)
        except OSError:  # the other end is closed
            return False
        self.seen += piece.decode().replace("\r\n", "\n")
        return bool(piece)

    def until(self, text: str) -> str:
        """Wait until a text is seen; return everything since the last one."""
        while (at := self.seen.find(text, self._told)) < 0:
            assert self._read(), f"{text!r} did not come: {self.seen[-500:]!r}"
        begin, self._told = self._told, at + len(text)
        return self.seen[begin : self._told]

    def type(self, text: str) -> None:
        """Type a text, keys and all."""
        os.write(self._main, text.encode())

    def leave(self, key: str) -> None:
        """Press Ctrl-D or Ctrl-C once the command waits for an answer, as a person would."""
        self._until_it_waits()  # before it reads the interpreter sees no signal
        self.type({"Ctrl-D": "\x04", "Ctrl-C": "\x03"}[key])

    def _until_it_waits(self) -> None:
        """Wait until the process sleeps and does nothing for a moment: it waits for a key."""
        before = None
        while True:
            fields = Path(f"/proc/{self.process.pid}/stat").read_text().rpartition(")")[2].split()
            state, spent = fields[0], fields[11:13]
            if state == "S" and spent == before:
                return
            before = spent
            time.sleep(0.1)

    def end(self) -> int:
        """Wait for the end; return the exit status."""
        while self._read():
            pass
        assert "Traceback" not in self.seen
        return self.process.wait(timeout=PATIENCE)

    def close(self) -> None:
        """End the command if it still runs."""
        if self.process.poll() is None:
            self.process.kill()
            self.process.wait()
        os.close(self._main)


@contextmanager
def terminal(cwd: Path, *words: str) -> Iterator[Terminal]:
    """Run a command at a terminal."""
    opened = Terminal(cwd, *words)
    try:
        yield opened
    finally:
        opened.close()
