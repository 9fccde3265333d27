"""What is written beside its place first, under a name of our own, and what killed programs left.

A file or folder that is still being made is called ``.NAME.<8 hexadecimal digits>.unfinished`` and
is held by whoever makes it: the system lets it go when the process ends, however it ends. So
whoever makes the next one in a folder knows what was left there, and takes it away.
"""

from __future__ import annotations

import os
import re
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

flock: Callable[[int, int], None] | None
try:
    from fcntl import flock
except ImportError:  # a system that has other locks
    flock = None

_ALONE = 2  # LOCK_EX of flock(2)
_AT_ONCE = 4  # LOCK_NB
_SHOWN = 40  # letters of the name, which may be as long as a name can be
_BESIDE = ("-journal", "-wal", "-shm")
"""What a database has beside its file while it is written."""
_OURS = re.compile(rf"(\..+\.[0-9a-f]{{8}}\.unfinished)(?:{'|'.join(_BESIDE)})?", re.DOTALL)


def is_unfinished(name: str) -> bool:
    """Tell whether a file or folder of this name is still being made, or was left so."""
    return _OURS.fullmatch(name) is not None


@contextmanager
def locked(path: Path, wait: bool = True) -> Iterator[bool]:
    """Hold a file or folder for this process alone; the system lets go when the process ends.

    Yields False where another process holds it and wait is False. Systems without such locks
    always yield True. Raises OSError.
    """
    if flock is None:
        yield True
        return
    handle, held = os.open(path, os.O_RDONLY), False
    try:
        with suppress(BlockingIOError):
            flock(handle, _ALONE | (0 if wait else _AT_ONCE))
            held = True
        yield held
    finally:
        os.close(handle)


@contextmanager
def unfinished(target: Path, *, folder: bool = False, mode: int = 0o666) -> Iterator[Path]:
    """Make an empty file beside a target, or a folder; at the end it is taken away if it is there
    still, with what a database keeps beside it. What killed programs left is taken away before.

    mode: what the user's mask leaves of it is allowed. Raises OSError.
    """
    clear_unfinished(target.parent)
    path, handle = _begun(target, folder, mode)
    try:
        yield path
    finally:
        _remove(path)
        if handle is not None:
            os.close(handle)


def clear_unfinished(folder: Path) -> None:
    """Take away what killed programs of ours left unfinished in a folder."""
    if flock is None:  # nobody can tell what is left from what is being made
        return
    left = set()
    with suppress(OSError), os.scandir(folder) as entries:
        for entry in entries:
            if found := _OURS.fullmatch(entry.name):
                left.add(folder / found[1])
    for path in left:
        with suppress(OSError):
            if not path.exists():
                _remove(path)
                continue
            with locked(path, wait=False) as free:
                if free:
                    _remove(path)


def sync_folder(folder: Path) -> None:
    """Have the names in a folder outlast a power cut, where the system can."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _begun(target: Path, folder: bool, mode: int) -> tuple[Path, int | None]:
    """Make the file or the folder; return it with what holds it, None where nothing can."""
    while True:
        path = target.with_name(f".{target.name[:_SHOWN]}.{os.urandom(4).hex()}.unfinished")
        if folder:
            path.mkdir(mode)
        else:
            os.close(os.open(path, os.O_RDWR | os.O_CREAT | os.O_EXCL, mode))
        if flock is None:  # nothing holds it: an open file could not be renamed there
            return path, None
        try:
            handle = os.open(path, os.O_RDONLY)
        except FileNotFoundError:
            continue
        with suppress(OSError):  # a network drive may have no such locks
            flock(handle, _ALONE)
        # Between its making and its lock another process may have taken it for left over.
        if path.exists():
            return path, handle
        os.close(handle)


def _remove(path: Path) -> None:
    for each in (path, *(path.with_name(path.name + end) for end in _BESIDE)):
        if each.is_dir() and not each.is_symlink():
            shutil.rmtree(each, ignore_errors=True)
        else:
            with suppress(OSError):
                each.unlink()
