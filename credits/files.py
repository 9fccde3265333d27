"""One file, written whole: readers see the old one or the new one, never a half.

And where the product's own files lie: in an installed wheel or in a checkout.

A target that cannot be used is a wrong call; a disk that refuses while it is written to is not.
"""

from __future__ import annotations

import os
import re
from collections.abc import Callable
from contextlib import suppress
from enum import Enum, auto
from pathlib import Path
from typing import Literal

from credits.errors import CreditsError, Finding, WrongCall
from credits.unfinished import sync_folder, unfinished
from credits.written import note, unbroken

Progress = Callable[[str, int, int], None]
"""Called before every file: its name, how many are done, how many there are."""


def require_file(path: Path, option: str | None = None) -> None:
    """Raise WrongCall where no file can be written: a folder, no ordinary file, no folder for it.

    option: the option that named the path, as the finding shows it.
    """
    if path.is_dir():
        hint = "Name a file in it."
        raise WrongCall(Finding("is a folder, not a file", hint, None, option, str(path)))
    if path.exists() and not path.is_file():
        hint = "Name a file, or - for standard output."
        raise WrongCall(Finding("is no ordinary file", hint, None, option, str(path)))
    if not path.parent.is_dir():
        hint = "Make it first, or name another one."
        raise WrongCall(Finding("is no folder to write to", hint, None, option, str(path.parent)))
    _refuse_kept_name(path, _BESIDE_LOG, option)


def require_folder(path: Path, option: str | None = None) -> None:
    """Raise WrongCall where there is no folder and none can be made: a file is in the way."""
    there = next(each for each in (path, *path.absolute().parents) if os.path.lexists(each))
    if not there.is_dir():
        finding = Finding("is a file, not a folder", "Name a folder.", None, option, str(there))
        raise WrongCall(finding)
    for each in (path, *path.absolute().parents):
        _refuse_kept_name(each, _KEPT_NAMES, option)


LOG, FIGURES, SETTINGS, PLAN = "production.db", "figures.db", "production.toml", "credit-plan.toml"
PICTURES = "pictures"
# A file or a folder of such a name is taken for what the database left there itself.
_BESIDE_LOG = frozenset(
    f"{name}{end}" for name in (LOG, FIGURES) for end in ("", "-wal", "-shm", "-journal")
)
_KEPT_NAMES = _BESIDE_LOG | {SETTINGS, PLAN}


def _refuse_kept_name(path: Path, names: frozenset[str], option: str | None) -> None:
    """Raise WrongCall for a name that a production keeps for one of its own files."""
    if path.name.casefold() in names and (path.parent / LOG).exists():
        what, hint = "is the name of a file of the production itself", "Take another name."
        raise WrongCall(Finding(what, hint, None, option, str(path)))


_HAS_SECTION = re.compile(rb"^\s*\[\[\s*section\s*\]\]", re.MULTILINE)
_STREAMS = re.compile(r"/dev/(std(in|out|err)|fd/.*)|/proc/.*")
_DATABASE = b"SQLite format 3\0"
_BEGINNING = 10  # bytes: the head of a table, of a document, of a workbook


def is_database(path: Path) -> bool:
    """Tell whether a file begins as every database does. Raises OSError."""
    with path.open("rb") as file:
        return file.read(len(_DATABASE)) == _DATABASE


class Over(Enum):
    """Over what a file may be written: what is like it, any but a production's own files, its
    settings, or a plan."""

    ITS_LIKE = auto()
    ANYTHING = auto()
    SETTINGS = auto()
    PLANS = auto()


def _is_own(path: Path, over: Over) -> bool:
    """Whether it is a file of a production's that is written by its own commands alone."""
    name = path.name.casefold()
    if name.startswith((LOG, FIGURES)):
        return True
    with suppress(OSError):
        if is_database(path):  # a log of any name, or a hard link to one
            return True
    in_production = (path.parent / LOG).exists()
    writers = {SETTINGS: Over.SETTINGS, PLAN: Over.PLANS}
    if in_production and writers.get(name, over) is not over:
        return True
    is_picture = path.parent.name == PICTURES and (path.parent.parent / LOG).exists()
    return is_picture and path.exists()


def _is_another(path: Path, content: bytes, over: Over) -> bool:
    """Whether something is there that begins otherwise: a table of somebody's, another's notes."""
    try:
        with path.open("rb") as file:
            begins = file.read(_BEGINNING)
    except OSError:
        return False  # nothing is there; or nothing can be read, and then nothing be written
    if not begins:
        return False
    if over is Over.PLANS:
        return begins != content[:_BEGINNING] and not _is_plan(path)
    return begins != content[:_BEGINNING]


def _is_plan(path: Path) -> bool:
    """Whether it is the plan of a production, or reads as one."""
    if path.name.casefold() == PLAN:
        return True
    with suppress(OSError):
        return _HAS_SECTION.search(path.read_bytes()) is not None
    return False


def write_whole(path: Path, content: bytes, over: Over = Over.ITS_LIKE) -> None:
    """Write the file beside its place and put it there in one step.

    over: what else may stand there: whatever is like it, as what was written before, or
    anything. A production's log, figures, settings and pictures never are written over, nor its
    plan but by a plan. Raises WrongCall where no file can be written there, CreditsError where the
    disk refuses; what was there before is then as it was.
    """
    if _STREAMS.fullmatch(str(path.absolute())):  # a file that they lead to is not written over
        hint = "Name a file, or - for standard output."
        raise WrongCall(Finding("is no ordinary file", hint, value=str(path)))
    named, path = path, Path(os.path.realpath(path))  # a link keeps pointing at what is written
    require_file(path)
    if _is_own(path, over):
        hint = "Name another file: this one is never written over."
        raise WrongCall(Finding("is a file of the production itself", hint, value=str(named)))
    if over in (Over.ITS_LIKE, Over.PLANS) and _is_another(path, content, over):
        hint = "Name another file, or take this one away first."
        raise WrongCall(Finding("holds something else", hint, value=str(named)))
    try:
        with unfinished(path) as new:
            if path.exists():  # who may not read the old one may not read it while it is written
                new.chmod(path.stat().st_mode)
            with new.open("wb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
            with unbroken():
                new.replace(path)
                note(path)
            sync_folder(path.parent)
    except OSError as error:
        what = f"could not be written ({error.strerror or error})"
        hint = "What was there is as it was. Free some room, or name another file."
        raise CreditsError(Finding(what, hint, value=str(path))) from error


_PACKAGE = Path(__file__).resolve().parent
_PACKED = _PACKAGE / "_data"


def shipped(name: Literal["site_templates", "db", "examples"]) -> Path:
    """Find a folder that comes with the product: page templates, migrations, example tables."""
    packed = _PACKED / name
    return packed if packed.is_dir() else _PACKAGE.parent / name
