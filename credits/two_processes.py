"""Work in order on a list of things, every second stretch of it in a second process.

The second process is a copy of this one (fork), so it knows everything that was computed before.
Where the system has no fork, or one processor, or the list is short, one process does it all.
"""

from __future__ import annotations

import gc
import os
import pickle
import signal
import sys
import warnings
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from itertools import groupby
from typing import IO, Any, TypeVar

from credits.errors import ReadElsewhereError

try:
    from fcntl import fcntl
except ImportError:  # a system that has neither
    fcntl = None  # type: ignore[assignment]

T = TypeVar("T")
R = TypeVar("R")

STRETCH = 8
MOST_TOGETHER = 48  # so that neither process has all there is to do
LEAST = 200  # things; for fewer a second process is not worth its beginning
LEAST_OF_FEW = 6  # things that take long each
_SET_PIPE_SIZE = 1031  # F_SETPIPE_SZ of Linux
_ROOM = 1 << 20  # in the pipe, so that neither process waits for the other at every stretch


def _can_share(things: Sequence[object], least: int) -> bool:
    # On a Mac a copy of a process that has used system libraries may stop dead.
    forks = hasattr(os, "fork") and sys.platform != "darwin"
    return forks and len(things) >= least and (os.cpu_count() or 1) > 1


def in_order(
    things: Sequence[T], make: Callable[[T], R], together: Callable[[T], object] | None = None
) -> Iterator[R]:
    """Yield what ``make`` returns of each thing, in their order.

    What it raises is raised here, from whichever process. The results of the second process are
    pickled. A second process that ends before its work is done leaves the rest to this one.
    together: of a thing what it has in common with those beside it that one process is to make, up
    to MOST_TOGETHER of them; None: nothing.
    """
    stretches = list(_stretches(things, together or (lambda _: None)))
    gc.freeze()
    try:
        if _can_share(things, LEAST):
            yield from _by_two(stretches, stretches[1::2], make)
        else:
            for stretch in stretches:
                yield from _made(stretch, make)
    finally:
        gc.unfreeze()


def _stretches(things: Sequence[T], together: Callable[[T], object]) -> Iterator[Sequence[T]]:
    """Part things into stretches; those that belong together into as few as may be."""
    for common, group in groupby(things, together):
        own = list(group)
        most = STRETCH if common is None else MOST_TOGETHER
        yield from (own[at : at + most] for at in range(0, len(own), most))


def here_and_there(here: Sequence[T], there: Sequence[T], make: Callable[[T], R]) -> Iterator[R]:
    """Yield what ``make`` returns of some things, then of others, which a second process makes
    meanwhile; each thing takes long, so that a few are worth it. All else is as in ``in_order``.
    """
    gc.freeze()
    try:
        if _can_share(there, LEAST_OF_FEW):
            yield from _by_two([here, there], [there], make)
        else:
            yield from _made([*here, *there], make)
    finally:
        gc.unfreeze()


def _made(stretch: Sequence[T], make: Callable[[T], R]) -> Iterator[R]:
    """Make a stretch, and let go of what was left over: what stood before it is not looked at."""
    yield from map(make, stretch)
    gc.collect(0)


def _by_two(
    stretches: Sequence[Sequence[T]], there: Sequence[Sequence[T]], make: Callable[[T], R]
) -> Iterator[R]:
    """Make stretches in order. there: every second one, which the second process makes."""
    helper, results = _begin(there, make)
    try:
        for place, stretch in enumerate(stretches):
            made = _next(results) if place % 2 else None
            yield from _made(stretch, make) if made is None else made
    finally:
        results.close()
        with suppress(OSError):
            os.kill(helper, signal.SIGKILL)
        with suppress(OSError):
            os.waitpid(helper, 0)


def _begin(stretches: Sequence[Sequence[T]], make: Callable[[T], R]) -> tuple[int, IO[bytes]]:
    """Begin a second process on some stretches; return its number and where its results come."""
    reads, writes = os.pipe()
    with suppress(OSError, TypeError):
        fcntl(writes, _SET_PIPE_SIZE, _ROOM)
    with warnings.catch_warnings():
        # The other threads of this process only show what is at work; the copy does without.
        warnings.simplefilter("ignore", DeprecationWarning)
        helper = os.fork()
    if helper:
        os.close(writes)
        return helper, os.fdopen(reads, "rb")
    try:
        signal.signal(signal.SIGINT, signal.SIG_IGN)  # it ends when nobody reads any more
        os.close(reads)
        with os.fdopen(writes, "wb") as out:
            _work(stretches, make, out)
    finally:
        os._exit(0)


def _work(stretches: Sequence[Sequence[T]], make: Callable[[T], R], out: IO[bytes]) -> None:
    for stretch in stretches:
        try:
            done: list[R] | BaseException = list(_made(stretch, make))
        except ReadElsewhereError:
            return  # the first process can
        except Exception as error:
            done = error
        pickle.dump(done, out, pickle.HIGHEST_PROTOCOL)
        out.flush()


def _next(results: IO[bytes]) -> list[Any] | None:
    """Read the results of the next stretch; None: there are no more. Raises what it raised."""
    try:
        made = pickle.load(results)
    except (EOFError, OSError, pickle.UnpicklingError):
        return None
    if isinstance(made, BaseException):
        raise made
    found: list[Any] = made
    return found
