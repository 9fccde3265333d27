"""Waiting for another program that writes: as fair as it can be, and not in silence.

Where nobody hands out turns, as nobody does for a file, whoever waits tries again and again. Who
has waited longer tries more often, so that nobody waits for ever behind those who came later.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

SAID_AFTER = 1.0
"""Seconds after which it is said that something waits."""
LONGEST_PAUSE, SHORTEST_PAUSE = 0.02, 0.002  # seconds between two tries


class _Listener:
    """Who wants to know that this process waits."""

    say: Callable[[], None] | None = None


@contextmanager
def told_to(say: Callable[[], None]) -> Iterator[None]:
    """Have it said, once each time, that this process waits for another one."""
    before, _Listener.say = _Listener.say, say
    try:
        yield
    finally:
        _Listener.say = before


def say_waiting() -> None:
    """Have it said that this process waits, where somebody wants to know."""
    if _Listener.say is not None:
        _Listener.say()


def tries(seconds: float) -> Iterator[bool]:
    """Yield at each try, with a pause before every other; True at the last one, when time is over.

    seconds: how long to wait at most.
    """
    begun, said = time.monotonic(), False
    while (waited := time.monotonic() - begun) < seconds:
        yield False
        if waited > SAID_AFTER and not said:
            said = True
            say_waiting()
        time.sleep(max(SHORTEST_PAUSE, LONGEST_PAUSE / (1 + 4 * waited)))
    yield True
