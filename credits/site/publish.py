"""A finished folder takes the place of the old one in one step.

The new folder is built beside the old. A file whose bytes did not change is the old file itself (a
hard link), so it is neither written again nor seen as newer. A build that fails or is killed leaves
the old folder as it was; what it left beside is removed by the next build.
"""

from __future__ import annotations

import ctypes
import os
import shutil
import sys
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from credits.errors import CreditsError, Finding, WrongCall
from credits.files import require_folder

MARK = ".credits-site"
_AT_FDCWD = -100
_RENAME_EXCHANGE = 2
_RENAME_SWAP_MAC = 2


@dataclass(frozen=True, slots=True)
class Published:
    """How many files were written, kept as they were and taken away; how many are pages."""

    pages: int
    written: int
    unchanged: int
    removed: int


def _swap(a: Path, b: Path) -> bool:
    """Exchange two folders in one step, where the system can."""
    try:
        libc = ctypes.CDLL(None, use_errno=True)
        if sys.platform.startswith("linux"):
            done = libc.renameat2(
                _AT_FDCWD, os.fsencode(a), _AT_FDCWD, os.fsencode(b), _RENAME_EXCHANGE
            )
        elif sys.platform == "darwin":
            done = libc.renamex_np(os.fsencode(a), os.fsencode(b), _RENAME_SWAP_MAC)
        else:
            return False
    except (OSError, AttributeError, TypeError):
        return False
    return bool(done == 0)


def _take_place(new: Path, old: Path) -> None:
    if not old.exists():
        new.rename(old)
        return
    if _swap(new, old):
        shutil.rmtree(new)
        return
    aside = old.with_name(f".{old.name}.old")
    shutil.rmtree(aside, ignore_errors=True)
    old.rename(aside)
    new.rename(old)
    shutil.rmtree(aside, ignore_errors=True)


def _put(target: Path, before: Path, content: bytes) -> bool:
    """Write a file, or link the old one where it holds the same bytes. True: written."""
    try:
        if before.stat().st_size == len(content) and before.read_bytes() == content:
            try:
                os.link(before, target)
            except OSError:
                shutil.copy2(before, target)
            return False
    except OSError:
        pass
    target.write_bytes(content)
    return True


def _refuse_foreign(folder: Path) -> None:
    require_folder(folder)
    if folder.is_dir() and any(folder.iterdir()) and not (folder / MARK).exists():
        raise WrongCall(
            Finding(
                "holds files that are not a site of this program; building would remove them",
                "Name an empty or new folder with --out.",
                value=str(folder),
            )
        )


def publish(folder: Path, files: Iterable[tuple[str, bytes]]) -> Published:
    """Make ``folder`` hold exactly these files (path from its root, bytes), in one step.

    Raises WrongCall where the folder holds something else, CreditsError where it cannot be written.
    """
    _refuse_foreign(folder)
    new = folder.with_name(f".{folder.name}.new")
    pages = written = unchanged = 0
    before = {p for p in folder.rglob("*") if p.is_file()} if folder.is_dir() else set()
    try:
        shutil.rmtree(new, ignore_errors=True)
        new.mkdir(parents=True)
        made: set[Path] = {new}
        kept: set[Path] = set()
        for path, content in (*files, (MARK, b"")):
            target = new / path
            if target.parent not in made:
                target.parent.mkdir(parents=True, exist_ok=True)
                made.add(target.parent)
            kept.add(folder / path)
            pages += path.endswith(".html")
            if _put(target, folder / path, content):
                written += 1
            else:
                unchanged += 1
        _take_place(new, folder)
    except OSError as error:
        shutil.rmtree(new, ignore_errors=True)
        what = f"the site could not be written ({error.strerror or error})"
        hint = "The site that was there is as it was. Free some room or name another folder."
        raise CreditsError(Finding(what, hint, value=str(folder))) from error
    except BaseException:
        shutil.rmtree(new, ignore_errors=True)
        raise
    return Published(pages, written, unchanged, len(before - kept))
