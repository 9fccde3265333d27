"""What this process has written so far, for whoever says it when a command ends early.

A command that is stopped, or whose answer nobody can read, must not say that nothing was written
when something was. So whoever finishes a writing notes it here, in one step with the writing
itself: a Ctrl-C that comes in between waits for the note.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager

SECONDS_TO_END = 2.0
"""How long what is stopped may take to clear up before it is stopped once more."""


class _Notes:
    """The notes of this process.

    unbroken: how many steps are at work that nothing stops. waiting: somebody wants to stop them.
    stopped_at: when something was stopped last; it is then clearing up.
    """

    def __init__(self) -> None:
        self.written: list[object] | None = None
        self.unbroken = 0
        self.waiting = False
        self.stopped_at: float | None = None


_notes = _Notes()


@contextmanager
def collecting() -> Iterator[list[object]]:
    """Collect what is written while the block runs, in its order; without it nothing is kept."""
    before, _notes.written, _notes.stopped_at = _notes.written, [], None
    try:
        yield _notes.written
    finally:
        _notes.written = before


def note(what: object) -> None:
    """Note that something is written for good: the receipt of a log, the path of a file."""
    if _notes.written is not None:
        _notes.written.append(what)


@contextmanager
def unbroken() -> Iterator[None]:
    """Make one step of a writing and its note; what wants to stop the process waits till its end.

    Only the main thread is ever stopped, so in others nothing waits.
    """
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    _notes.unbroken += 1
    try:
        yield
    finally:
        _notes.unbroken -= 1
        if _notes.waiting and not _notes.unbroken:
            _notes.waiting = False
            _stop_now()


def stop() -> None:
    """Stop what the main thread does: at once, or at the end of an unbroken step.

    What is clearing up already, because it was stopped before, is left to it.
    """
    now, before = time.monotonic(), _notes.stopped_at
    if _notes.unbroken:
        _notes.waiting = True
    elif before is None or now - before > SECONDS_TO_END:
        _stop_now()


def _stop_now() -> None:
    _notes.stopped_at = time.monotonic()
    raise KeyboardInterrupt


def was_stopped() -> bool:
    """Tell whether something was stopped since the notes began."""
    return _notes.stopped_at is not None


def stop_was_lost() -> None:
    """Say that what was to stop the process was swallowed on its way, so that it is tried again."""
    _notes.stopped_at = None
