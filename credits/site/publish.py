"""A finished folder takes the place of the old one in one step.

The new folder is built beside the old, under a name of its own. A file whose bytes did not change
is the old file itself (a hard link), so it is neither written again nor seen as newer. A build that
fails or is killed leaves the old folder as it was; the next build removes what it left beside.
"""

from __future__ import annotations

import ctypes
import glob
import os
import secrets
import shutil
import stat
import sys
from collections.abc import Iterable, Iterator
from contextlib import ExitStack, suppress
from dataclasses import dataclass
from itertools import chain
from pathlib import Path
from typing import NamedTuple

from credits.errors import CreditsError, Finding, WrongCall
from credits.files import Over, require_folder, write_whole
from credits.unfinished import locked, sync_folder
from credits.written import note, unbroken

MARK = ".credits-site"
KEPT = (".git", "CNAME")
"""What a folder may hold beside the pages, at its top: what publishes it, and its name there."""
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
    elif _swap(new, old):
        _keep_own(new, old)
        shutil.rmtree(new, ignore_errors=True)
    else:
        aside = new.with_suffix(".old")
        old.rename(aside)
        try:
            new.rename(old)
        except BaseException:
            aside.rename(old)
            raise
        _keep_own(aside, old)
        shutil.rmtree(aside, ignore_errors=True)


def _keep_own(gone: Path, folder: Path) -> None:
    """Carry what is not ours over from a folder that is to be removed."""
    for name in KEPT:
        if os.path.lexists(gone / name) and not os.path.lexists(folder / name):
            (gone / name).rename(folder / name)


class OldFile(NamedTuple):
    """A file of the folder that stays as it is, by its size and its time as they are known."""

    size: int
    time: int

    @classmethod
    def at(cls, path: Path | str) -> OldFile | None:
        """Return what a file looks like now; None: there is none."""
        try:
            seen = Path(path).stat()
        except OSError:
            return None
        return cls(seen.st_size, seen.st_mtime_ns)


File = bytes | OldFile
"""What a file holds, or that it stays."""


class SiteMovedError(CreditsError):
    """A file that was to stay is another now: somebody else has written the folder meanwhile."""


def _clear_unfinished(folder: Path) -> None:
    """Remove what killed builds of this folder left beside it; a build at work holds its own.

    A folder that was moved aside, and nothing put into its place, goes back there.
    """
    beside = f".{glob.escape(folder.name)}.{'[0-9a-f]' * 8}"
    for aside in folder.parent.glob(f"{beside}.old"):
        if not os.path.lexists(folder):
            with suppress(OSError):
                aside.rename(folder)
    for left in folder.parent.glob(f"{beside}.*"):
        if left.suffix in (".new", ".old") and left.is_dir():
            with suppress(OSError), locked(left, wait=False) as free:
                if free:
                    if folder.is_dir():  # it was killed before it could
                        _keep_own(left, folder)
                    shutil.rmtree(left, ignore_errors=True)


def _link(target: str, before: str) -> None:
    try:
        os.link(before, target)
    except OSError:
        shutil.copy2(before, target)


def _put(target: str, before: str, content: File) -> bool:
    """Write a file, or link the old one where it holds the same bytes. True: written.

    Raises SiteMovedError where the old one is not what it was known to be.
    """
    if isinstance(content, OldFile):
        with suppress(OSError):
            _link(target, before)
        if OldFile.at(target) != content:
            what = "was changed by somebody else while the site was built"
            raise SiteMovedError(Finding(what, "Build the site again.", value=before))
        return False
    new = Path(target)
    with suppress(OSError):
        if Path(before).stat().st_size == len(content):
            # Another build may exchange the folder at any moment: what was linked is looked at.
            _link(target, before)
            if new.read_bytes() == content:
                return False
    new.unlink(missing_ok=True)  # never written through a link: it is the old site's file
    new.write_bytes(content)
    return True


def _refuse_foreign(folder: Path) -> None:
    require_folder(folder)
    there = {path.name for path in folder.iterdir()} if folder.is_dir() else set()
    if not there.issubset(KEPT) and MARK not in there:
        raise WrongCall(
            Finding(
                "holds files that are not a site of this program; building would remove them",
                "Name an empty or new folder with --out.",
                value=str(folder),
            )
        )


def files_in(folder: Path) -> Iterator[os.DirEntry[str]]:
    """Yield the files of a folder and of those in it, in any order; none where there is none.

    What such a folder may hold beside is left out.
    """
    folders = [os.fspath(folder)]
    for each in folders:
        with suppress(OSError), os.scandir(each) as entries:
            for entry in entries:
                if entry.name in KEPT and each == os.fspath(folder):
                    continue
                if entry.is_dir(follow_symlinks=False):
                    folders.append(entry.path)
                elif entry.is_file():
                    yield entry


def files_there(folder: Path) -> int:
    """Count the files of a site that was built before; 0 for none."""
    return sum(1 for _ in files_in(folder)) if (folder / MARK).exists() else 0


def exchange(folder: Path, path: str, content: bytes) -> bool:
    """Put another content into a file of a site, in one step, before the rest is published.

    Tells whether it was written: a file that is not there, or says the same, is left alone.
    Raises what ``write_whole`` raises.
    """
    with locked(folder.parent):
        target = folder / path
        if not (folder / MARK).exists() or not target.is_file() or target.read_bytes() == content:
            return False
        write_whole(target, content, Over.ANYTHING)
        return True


def publish(folder: Path, files: Iterable[tuple[str, File]], *, shared: bool = True) -> Published:
    """Make a folder hold exactly these files, in one step, and what else it may hold (``KEPT``).

    files: each with its path from the root of the folder; they are written as they come, and an
    old one stays. shared: whether other users of the machine may look into a new folder, as far as
    the mask of this one allows; one that is there stays as open as it is.
    Two builds of one folder do not disturb each other: the one that ends last stands.
    Raises WrongCall where the folder holds something else, SiteMovedError where an old file is
    another, CreditsError where it cannot be written.
    """
    named = folder
    if folder.is_symlink():  # it keeps pointing at the site
        folder = Path(os.path.realpath(folder))
    _refuse_foreign(folder)
    written = 0
    new: Path | None = None
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        with ExitStack() as held:
            with locked(folder.parent):
                _clear_unfinished(folder)
                new = folder.parent / f".{folder.name}.{secrets.token_hex(4)}.new"
                new.mkdir()
                mode = stat.S_IMODE(new.stat().st_mode) if shared else 0o700
                new.chmod(0o700)
                held.enter_context(locked(new))
            kept: set[str] = set()
            parts: set[str] = set()
            end: tuple[tuple[str, File], ...] = ((MARK, b""),)
            for path, content in chain(files, end):
                part = path.rpartition("/")[0]
                if part not in parts:
                    (new / part).mkdir(parents=True, exist_ok=True)
                    parts.add(part)
                kept.add(path)
                written += _put(f"{new}/{path}", f"{folder}/{path}", content)
            with locked(folder.parent):
                _refuse_foreign(folder)
                new.chmod(stat.S_IMODE(folder.stat().st_mode) if folder.exists() else mode)
                start = len(os.fspath(folder)) + 1
                before = (file.path[start:].replace(os.sep, "/") for file in files_in(folder))
                removed = sum(path not in kept for path in before)
                with unbroken():
                    _take_place(new, folder)
                    note(named)
                sync_folder(folder.parent)
    except OSError as error:
        what = f"the site could not be written ({error.strerror or error})"
        hint = "The site that was there is as it was. Free some room or name another folder."
        raise CreditsError(Finding(what, hint, value=str(named))) from error
    finally:
        if new is not None:
            shutil.rmtree(new, ignore_errors=True)
    pages = sum(path.endswith(".html") for path in kept)
    return Published(pages, written, len(kept) - written, removed)
