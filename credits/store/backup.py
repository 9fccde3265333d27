"""Consistent copies of a log, also while others write it."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import closing
from datetime import datetime
from pathlib import Path

from credits.errors import Finding, LogUnusable, NoProduction, Place, WrongCall
from credits.files import require_file
from credits.store.sqlite import LOG_NAME, connect, copy_whole, in_words


def copy_log(path: Path, target: Path) -> Path:
    """Copy the log to a file that does not exist yet; it appears there whole or not at all."""
    unfinished = target.with_name(target.name + ".unfinished")
    try:
        with in_words(path), closing(connect(path)) as source:
            with in_words(target):
                sound = copy_whole(source, unfinished)
            if sound != "ok":
                raise LogUnusable(
                    Finding(f"is damaged ({sound})", "Put back an older copy.", Place(path.name))
                )
        with in_words(target):
            if target.exists():
                raise _already_there(target)
            unfinished.rename(target)
    finally:
        with in_words(target):
            unfinished.unlink(missing_ok=True)
    return target


def back_up(folder: Path, target: Path, now: Callable[[], datetime] = datetime.now) -> Path:
    """Copy a production's log; returns the path of the copy.

    ``target`` is a folder, which gets ``production-<YYYYMMDD-HHMMSS>.db`` by the local clock, or
    the name of a new file in a folder that exists. Never writes over a file: WrongCall.
    """
    path = folder / LOG_NAME
    if not path.exists():
        raise NoProduction(
            Finding("holds no production.db", "Name the folder of a production.", value=str(folder))
        )
    if target.is_dir():
        target = target / f"production-{now():%Y%m%d-%H%M%S}.db"
    if target.exists():
        raise _already_there(target)
    require_file(target)
    return copy_log(path, target)


def _already_there(target: Path) -> WrongCall:
    hint = "Name a file that is not there yet, or a folder."
    return WrongCall(Finding("is there already; nothing was copied", hint, value=str(target)))
