"""Read what may end a process in a process of its own, within bounds of time and memory.

A library of compiled code can be ended by a damaged file: by a stack that overflows, by an abort,
by memory that there is not. Whatever becomes of it there, this process goes on and can say so.

The other process is a new one, not a copy: a copy is not safe where threads run, as at the desk,
nor on every system. It imports what its reader imports and nothing else (no site, no settings of
the user's), so it is ready in a few hundredths of a second.
"""

from __future__ import annotations

import signal
import sys
from pathlib import Path
from subprocess import DEVNULL, PIPE, Popen, TimeoutExpired
from typing import Literal

SECONDS, MEGABYTES = 10, 500
"""Of the processor's time; of memory (where the system can bound it)."""
CLOSE_OTHERS = "Close other programs and try again."
PATIENCE = 3
"""So many times as long by the clock: other programs may have the processor, too."""

_NO_ROOM = 75  # of no meaning to Python or to the system
_NO_ROOM_SAID = b"memory allocation of"  # by libraries in Rust, which abort
_FROM_OUTSIDE = (signal.SIGTERM, getattr(signal, "SIGKILL", None), getattr(signal, "SIGHUP", None))
_BEGIN = f"""
import sys
from importlib import import_module
places, reader, seconds, room, is_given, *words = sys.argv[1:]
sys.path += places.split("\\n")
try:
    import resource
except ImportError:
    pass
else:
    for kind, most in (("CPU", int(seconds)), ("AS", int(room)), ("CORE", 0)):
        kind = getattr(resource, "RLIMIT_" + kind)
        hard = resource.getrlimit(kind)[1]
        if hard == resource.RLIM_INFINITY or most <= hard:
            try:
                resource.setrlimit(kind, (most, hard))
            except (OSError, ValueError):
                pass
given = [sys.stdin.buffer.read()] if is_given else []
try:
    for written in import_module(reader).main(*words, *given):
        sys.stdout.buffer.write(written)
    sys.stdout.flush()
except MemoryError:
    sys.exit({_NO_ROOM})
"""

Ending = Literal["not begun", "too long", "too large", "stopped", "crashed"]


class EndedApartError(Exception):
    """What was read apart was not read to its end.

    ``too long`` and ``too large``: more than it may take. ``stopped``: the system, or somebody, has
    ended it. ``crashed``: it has ended itself.
    """

    def __init__(self, how: Ending) -> None:
        super().__init__(how)
        self.how: Ending = how


def read_apart(reader: str, *words: str, given: bytes | None = None) -> bytes:
    """Return all bytes that ``main(*words)`` of a module yields in another process.

    given: bytes that it gets behind the words. Raises EndedApartError where it does not come to its
    end.
    """
    places = "\n".join((str(Path(__file__).parent.parent), *filter(_is_whole, sys.path)))
    bounds = (str(SECONDS), str(MEGABYTES * 1_000_000), "given" if given is not None else "")
    call = [sys.executable, "-I", "-S", "-c", _BEGIN, places, reader, *bounds, *words]
    try:
        begun = Popen(call, stdin=DEVNULL if given is None else PIPE, stdout=PIPE, stderr=PIPE)
    except (OSError, ValueError):
        raise EndedApartError("not begun") from None
    with begun:
        try:
            written, said = begun.communicate(given, timeout=SECONDS * PATIENCE)
        except TimeoutExpired:
            raise EndedApartError("too long") from None
        finally:
            begun.kill()  # of one that has ended nothing comes
    if begun.returncode != 0:
        raise EndedApartError(_how(-begun.returncode, said))
    return written


def _is_whole(place: str) -> bool:
    return "\n" not in place and Path(place).is_absolute()


def _how(by: int, said: bytes) -> Ending:
    """How it ended: by which signal (below 0: it exited by itself), and what it said."""
    if by == getattr(signal, "SIGXCPU", None):
        return "too long"
    if by == -_NO_ROOM or _NO_ROOM_SAID in said:
        return "too large"
    return "stopped" if by in _FROM_OUTSIDE else "crashed"
