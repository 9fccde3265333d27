"""The file of a log: which one is meant, how it is opened, read and copied, by the driver alone.

Whoever asks a question, or half types a word, waits for no table class: what is SQLite's and needs
none stands here, and what SQLite says, in words.
"""

from __future__ import annotations

import filecmp
import json
import os
import re
import shutil
import sqlite3
import stat
from collections.abc import Iterable, Iterator, Mapping
from contextlib import closing, contextmanager
from itertools import count
from pathlib import Path

from credits.errors import CreditsError, Finding, LogUnusable, NoProduction, Place, WrongCall
from credits.files import SETTINGS
from credits.store.engines.address import address_in
from credits.store.engines.driver import Cursor as Cursor
from credits.store.engines.driver import Driver as Driver
from credits.store.engines.driver import begin as begin
from credits.store.engines.driver import snapshot as snapshot
from credits.store.engines.sqlite import table_names
from credits.unfinished import sync_folder, unfinished
from credits.written import note, unbroken

LOG_NAME, LOG_SUFFIX = "production.db", ".db"
BUSY_MILLISECONDS = 30_000
OPENING_MILLISECONDS = 5000
"""How long to wait for a program that lets nobody even read; ours never do."""
BACKUPS = "backups"
"""The folder of a production's copies."""
VARIABLE = "CREDITS_PRODUCTION"
_BACKUP = "Put back a copy made with `credits backup`: credits restore FILE"
_HINT = (
    f"Go into a production's folder, or name it with --production DIR or {VARIABLE}, "
    "or make one with `credits start`."
)


def find_production(folder: Path | None, environ: Mapping[str, str], cwd: Path) -> Path:
    """Find the production's folder. Raises NoProduction that says what to do.

    It is ``folder``, else CREDITS_PRODUCTION, else ``cwd`` or the nearest parent that holds a log.
    """
    if folder is not None:
        return _named(cwd / folder, "--production")
    if environ.get(VARIABLE):
        return _named(cwd / environ[VARIABLE], VARIABLE)
    _require_entry(cwd)
    for candidate in (cwd, *cwd.parents):
        if os.path.isfile(candidate / LOG_NAME):  # noqa: PTH113 - False where one may not look
            return candidate
        if address_in(candidate) is not None:
            return candidate
    if os.path.lexists(cwd / SETTINGS) and not os.path.lexists(cwd / LOG_NAME):
        raise _log_gone(cwd)
    raise NoProduction(
        Finding("is in no production: neither it nor a folder above it holds production.db", _HINT,
                value=str(cwd))
    )  # fmt: skip


def _named(folder: Path, by: str) -> Path:
    if folder.name == LOG_NAME and not folder.is_dir():
        folder = folder.parent
    if os.path.exists(folder / LOG_NAME):  # noqa: PTH110 - False where one may not look
        return folder
    if address_in(folder) is not None:
        return folder
    _require_entry(folder)
    if os.path.lexists(folder / SETTINGS):
        raise _log_gone(folder)
    what = "holds no production.db" if folder.is_dir() else "is not a folder"
    raise NoProduction(Finding(what, _HINT, column=by, value=str(folder)))


def _require_entry(folder: Path) -> None:
    """Raise LogUnusable where one may not even see whether a log is there."""
    try:
        (folder / LOG_NAME).stat()
    except PermissionError:
        hint = "Ask for permission to enter the folder."
        raise LogUnusable(Finding("may not be opened by you", hint, value=str(folder))) from None
    except OSError:
        return


def _log_gone(folder: Path) -> NoProduction:
    """Return the error of a production that has its settings still, and its log no more."""
    what = f"holds {SETTINGS}, and its log {LOG_NAME} is gone"
    hint = _with_a_copy(f"{_BACKUP} --production DIR", folder)
    return NoProduction(Finding(what, hint, value=str(folder)))


def how_to_put_back(folder: Path) -> str:
    """Say how a copy is put back into a folder; where one lies in it, which."""
    return _with_a_copy(_BACKUP, folder)


def _with_a_copy(hint: str, folder: Path) -> str:
    """Name the newest copy that lies in a production's folder, where one is asked for."""
    if "FILE" not in hint:
        return hint
    try:
        copies = [*(folder / BACKUPS).glob(f"*{LOG_SUFFIX}"), *folder.glob(f"{LOG_NAME}.before-*")]
        whole = [copy for copy in copies if not copy.name.endswith(("-wal", "-shm"))]
        newest = max(whole, key=lambda copy: copy.stat().st_mtime, default=None)
    except OSError:
        return hint
    return hint if newest is None else hint.replace("FILE", str(newest.relative_to(folder)))


def _connected(path: Path, mode: str, busy_milliseconds: int, *pragmas: str) -> sqlite3.Connection:
    address = f"{path.absolute().as_uri()}?mode={mode}"
    opening = min(busy_milliseconds, OPENING_MILLISECONDS) / 1000
    # Who reads lazily may let go of it in another thread than its own, which closes it then.
    connection = sqlite3.connect(
        address, uri=True, isolation_level=None, timeout=opening, check_same_thread=False
    )
    try:
        # The first one reads the first page: whether the file can be opened at all shows here.
        for pragma in ("schema_version", *pragmas):
            connection.execute(f"PRAGMA {pragma}").fetchone()
        _require_whole(path, connection)
        connection.execute(f"PRAGMA busy_timeout={busy_milliseconds}")
    except BaseException:
        connection.close()
        raise
    return connection


def _require_whole(path: Path, connection: Driver) -> None:
    """Raise DatabaseError where the end of a log is lost: the engine would read it as nothing.

    The file itself is not opened, or the engine's own locks on it would be gone. It is as long as
    was said, where nothing is left beside it that is still to be brought into it.
    """
    size, pages = (
        connection.execute(f"PRAGMA {name}").fetchone()[0] for name in ("page_size", "page_count")
    )
    beside = (path.with_name(path.name + end) for end in ("-wal", "-journal"))
    is_left = any(each.exists() and each.stat().st_size for each in beside)
    length = path.stat().st_size
    if length % size or (length < pages * size and not is_left):
        raise sqlite3.DatabaseError("database disk image is malformed")


def opened(path: Path, busy_milliseconds: int = BUSY_MILLISECONDS) -> sqlite3.Connection:
    """Open a log; for reading alone in a folder that may not be written.

    SQLite cannot keep its WAL there. Where no WAL is left over the file is whole, and nobody can be
    writing it: it is read as it is. Raises what the driver raises.
    """
    try:
        return _connected(path, "rw", busy_milliseconds, "foreign_keys=ON", "synchronous=FULL")
    except sqlite3.OperationalError as error:
        # So SQLite says that it cannot keep its WAL beside the log; also where the disk is full.
        kept_out = ("unable to open", "readonly", "disk I/O error")
        if not any(words in str(error) for words in kept_out) or not path.is_file():
            raise
        left_over = path.with_name(path.name + "-wal")
        as_it_is = "" if left_over.exists() and left_over.stat().st_size else "&immutable=1"
        return _connected(path, f"ro{as_it_is}", busy_milliseconds, "query_only=ON")


def log_in(folder: Path, hint: str = "Name the folder of a production.") -> Path:
    """Find the log of the production in ``folder``. Raises NoProduction, with the hint."""
    path = folder / LOG_NAME
    if not path.exists():
        raise NoProduction(Finding("holds no production.db", hint, value=str(folder)))
    return path


def is_shared(folder: Path) -> bool:
    """Tell whether other users of the machine may read the log, and so what is made of it.

    One on a server is nobody's here but this user's.
    """
    log = folder / LOG_NAME
    return log.exists() and bool(log.stat().st_mode & (stat.S_IRGRP | stat.S_IROTH))


def copy_log(
    path: Path, target: Path, *, numbered: bool = False, same_as: Iterable[Path] = ()
) -> Path:
    """Copy the log to a file that does not exist yet; it appears there whole or not at all.

    numbered: where the name is taken, the copy gets a number behind it; else WrongCall is raised.
    same_as: earlier copies; where one of them is the same to the byte, it stands for the new one.
    Returns the copy.

    Others may write the log meanwhile. The copy is a single file (no WAL beside it), so that it can
    be read from any medium.
    """
    with in_words(target), unfinished(target, mode=0o600) as new:
        copy_into(path, new, target)
        for earlier in same_as:
            if earlier.is_file() and filecmp.cmp(new, earlier, shallow=False):
                return earlier
        for name in _numbered(target) if numbered else (target,):
            with unbroken():
                if _took_name(new, name):
                    note(name)
                    sync_folder(name.parent)
                    return name
    raise already_there(target)


def copy_into(path: Path, new: Path, target: Path) -> None:
    """Copy the log into an empty file. target: what that is to become, as errors name it."""
    with in_words(path), closing(opened(path)) as source:
        if not {"log", "entries"} <= (there := table_names(source)):
            what = "is a database, but not a log" if there else "is empty: it is not a log"
            hint = how_to_put_back(path.parent)
            raise LogUnusable(Finding(what, hint, Place(path.name), None, str(path)))
        with in_words(target), closing(sqlite3.connect(new)) as copy:
            source.backup(copy)
            copy.execute("PRAGMA journal_mode=DELETE")
            sound = copy.execute("PRAGMA quick_check(1)").fetchone()[0]
        with in_words(target):  # whoever may not read the log may not read its copy
            shutil.copymode(path, new)
        if sound != "ok":
            raise LogUnusable(
                Finding(f"is damaged ({sound})", "Put back an older copy.", Place(path.name))
            )


def _numbered(target: Path) -> Iterator[Path]:
    """Yield a name, and then the same with a number: ``copy.db``, ``copy-2.db``, ..."""
    yield target
    end = target.suffix if target.suffix == LOG_SUFFIX else ""
    stem = target.name.removesuffix(end)
    yield from (target.with_name(f"{stem}-{number}{end}") for number in count(2))


def _took_name(new: Path, target: Path) -> bool:
    """Give a finished file its name; False where something has it. Raises OSError."""
    try:
        target.hardlink_to(new)
    except FileExistsError:
        return False
    except OSError:  # a medium without hard links
        if os.path.lexists(target):
            return False
        new.rename(target)
    return True


def already_there(target: Path) -> WrongCall:
    """Return the error of a copy to a file that is there."""
    hint = "Name a file that is not there yet, or a folder."
    return WrongCall(Finding("is there already; nothing was copied", hint, value=str(target)))


# --- what SQLite says, in words

_FULL = ("cannot be written: the disk is full", "Make room and try again.")
# A pattern of SQLite's message -> what is wrong, what would be right. The first that fits is said.
_WORDS: tuple[tuple[str, str, str], ...] = (
    ("file is not a database", "is not a log", f"Name the right folder. {_BACKUP}"),
    ("malformed|could not decode", "is damaged", _BACKUP),
    ("disk i/o error", "cannot be read or written: the disk reports an error", _BACKUP),
    ("locked|busy", "is being written by another program", "Try again when that program is done."),
    (
        "readonly",
        "may be read, but not written",
        "Ask for permission to write the file and its folder, or copy the folder elsewhere.",
    ),
    ("disk is full|no space left", *_FULL),
    (
        "unable to open",
        "cannot be opened",
        "See that it is a file that you may read, in a folder that you may read.",
    ),
    ("no such (table|column)", "is a database, but not a log", "Name the folder of a production."),
    (
        "permission denied",
        "may not be opened by you",
        "Ask for permission to read and write the file and its folder.",
    ),
    ("append-only", "only grows: a line of the log is never changed or removed", ""),
)


_NOT_SHARED = (
    "may be read here, but not written: on this disk programs cannot share a log",
    "Copy the folder to a disk of this machine, as network drives often are none.",
)


_OF_THE_DISK = ("readonly", "disk i/o error", "unable to open")
_ROOM = 256_000  # bytes that a writer needs at least, with what the engine keeps beside the log


def _is_full(path: Path) -> bool:
    try:
        return shutil.disk_usage(path.parent).free < _ROOM
    except OSError:
        return False


def _may_write(path: Path) -> bool:
    as_now = os.access in os.supports_effective_ids
    may = (os.access(each, os.W_OK, effective_ids=as_now) for each in (path, path.parent))
    return all(may)


@contextmanager
def in_words(path: Path) -> Iterator[None]:
    """Raise LogUnusable for what SQLite or the disk raises inside; our own errors as they are."""
    try:
        yield
    except CreditsError:
        raise
    except (json.JSONDecodeError, UnicodeDecodeError) as error:
        # What the engine wrote, and something else has altered.
        what = f"is damaged: a row of it is not as it was written ({error})"
        hint = _with_a_copy(f"See what fits no more: credits verify. {_BACKUP}", path.parent)
        raise LogUnusable(Finding(what, hint, Place(path.name), None, str(path.parent))) from error
    except (sqlite3.Error, OSError) as error:
        said = (isinstance(error, OSError) and error.strerror) or str(error)
        for part, what, hint in _WORDS:
            if re.search(part, said.lower()):
                if part in _OF_THE_DISK and _is_full(path):
                    what, hint = _FULL
                elif part == "readonly" and _may_write(path):
                    what, hint = _NOT_SHARED
                hint = _with_a_copy(hint, path.parent)
                finding = Finding(what, hint, Place(path.name), None, str(path.parent))
                raise LogUnusable(finding) from error
        raise LogUnusable(Finding(f"cannot be used ({said})", "", Place(path.name))) from error
