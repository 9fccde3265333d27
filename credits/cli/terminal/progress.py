"""What is at work, on standard error while a person looks on: one line that tells the truth.

It comes when a command has taken half a second, goes before anything else is printed, and says
what is done, how much of how much where that is known, and since when. Files and pipes get nothing.
"""

from __future__ import annotations

import shutil
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress

from credits.cli.terminal import printing

FIRST_AFTER = 0.4
EVERY = 0.1
BAR = 20
_CLEAR = "\r\033[K"


class WorkLine:
    """The line: a thread draws it again and again until the work is done."""

    def __init__(self, what: str) -> None:
        self._begun = time.monotonic()
        self._said = (what, 0, 0)
        self._drawn = False
        self._quiet_until = self._begun + FIRST_AFTER
        self._ended = threading.Event()
        self._lock = threading.Lock()
        self._thread = threading.Thread(target=self._draw_on, daemon=True)
        self._thread.start()

    def step(self, what: str, done: int, total: int) -> None:
        """Say what is at work now, how much of it is done, and of how much; 0: nobody knows."""
        self._said = (what, done, total)

    def clear(self) -> None:
        """Take the line away, as something is printed; it comes back when that stands a while."""
        with self._lock:
            self._quiet_until = time.monotonic() + FIRST_AFTER
            self._take_away()

    def end(self) -> None:
        """Take the line away for good."""
        self._ended.set()
        self._thread.join()
        self.clear()

    def _draw_on(self) -> None:
        while not self._ended.wait(EVERY):
            with self._lock:
                if time.monotonic() >= self._quiet_until:
                    self._put(_CLEAR + self._text())
                    self._drawn = True

    def _take_away(self) -> None:
        if self._drawn:
            self._put(_CLEAR)
            self._drawn = False

    def _put(self, text: str) -> None:
        with suppress(OSError, ValueError):  # the terminal is gone: nobody looks on
            sys.stderr.write(text)
            sys.stderr.flush()

    def _text(self) -> str:
        what, done, total = self._said
        seconds = f"{time.monotonic() - self._begun:.0f} s"
        counts = ""
        if total:
            filled = BAR * min(done, total) // total
            counts = f"  [{'#' * filled}{'.' * (BAR - filled)}] {done:,} of {total:,}"
        elif done:
            counts = f"  {done:,}"
        rest = f"{counts}  {seconds}"
        room = shutil.get_terminal_size().columns - 1 - len(rest)
        return printing.shortened(printing.clean(what), max(room, 0)) + rest


class _AtWork:
    line: WorkLine | None = None


def step(what: str, done: int = 0, total: int = 0) -> None:
    """Say what is at work; nothing happens where no line is shown."""
    if _AtWork.line is not None:
        _AtWork.line.step(what, done, total)


def end() -> None:
    """Take the line away before the command is done, as one that waits for ever does."""
    line, _AtWork.line = _AtWork.line, None
    printing.manner.before_printing = None
    if line is not None:
        line.end()


@contextmanager
def at_work(what: str) -> Iterator[None]:
    """Show that something is at work while the block runs; nothing with ``--quiet``."""
    if printing.manner.quiet or not printing.can_move(sys.stderr):
        yield
        return
    _AtWork.line = WorkLine(what)
    printing.manner.before_printing = _AtWork.line.clear
    try:
        yield
    finally:
        end()
