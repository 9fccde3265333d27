"""A whole production folder in one file, and opened elsewhere: nothing missing, nothing besides.

The file is a ZIP. Its first entry lists every file with its size, its SHA-256 and who may read it.
What can be made again is left out: the figures, the sites, backups. What comes from elsewhere is
not trusted: it is unpacked beside its place, compared, verified, and only then put there.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import shutil
import stat
import zipfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path, PurePosixPath
from typing import IO, Any, NamedTuple

from credits.errors import CreditsError, Finding, LogUnusable, Place, ProblemsFound, WrongCall
from credits.files import FIGURES, LOG, require_file, require_folder
from credits.site.publish import MARK
from credits.store.file import BACKUPS, already_there, copy_log
from credits.store.place import log_of
from credits.store.seals.verify import verify
from credits.store.settings import read_settings
from credits.text import fold_code
from credits.unfinished import is_unfinished, unfinished
from credits.written import note, unbroken

CONTENTS = "credits-folder.json"
"""The first entry: what the file holds."""
FORMAT = 1
LONGEST_CONTENTS = 64 * 1024 * 1024
MOST_FILES = 200_000
LARGEST_UNLIKELY = 100 * 1024 * 1024
MOST_TIMES = 200
"""A file above LARGEST_UNLIKELY that unpacks to more than so many times its size is a trap."""
_AT_ONCE = 1024 * 1024
OWN, OWN_FOLDER = 0o600, 0o700  # while it is made, nobody else looks into it
# Names that some system cannot hold, or takes for something else than a file in this folder.
_NO_NAME = re.compile(r'[\x00-\x1f\x7f\\:*?"<>|\ud800-\udfff]|[. ]$|^$|^\.\.?$')
_NO_FILE = re.compile(r"(?:con|prn|aux|nul|com\d|lpt\d)(?:\..*)?", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class PackedFile:
    """A file of the folder: its path within it, size, SHA-256, and the rights to it."""

    path: str
    size: int
    sha256: str
    mode: int


class Moved(NamedTuple):
    """What was packed or opened. left_out: paths of the folder that were not packed."""

    path: Path
    files: int
    left_out: tuple[str, ...] = ()


# --- packing


def pack_folder(folder: Path, target: Path | None, now: datetime) -> Moved:
    """Put everything that a production folder needs elsewhere into one new file.

    target: the file, or a folder that gets one; None: the folder's own backups. Others may write
    the log meanwhile. Raises WrongCall where something is there, CreditsError where what was packed
    is not what lies in the folder.
    """
    log = log_of(folder)
    if not isinstance(log, Path):
        hint = "Carry it into a folder, and pack that: credits copy FROM TO"
        raise WrongCall(Finding("has its log on a server", hint, value=str(folder)))
    code = read_settings(folder).code
    if target is None:
        target = folder / BACKUPS
        require_folder(target)
        target.mkdir(exist_ok=True)
    if target.is_dir():
        target = target / f"{code}-{now:%Y%m%d-%H%M%S}.zip"
    if target.exists():
        raise already_there(target)
    require_file(target)
    with (
        _own_errors(target),
        unfinished(target, mode=OWN) as made,
        unfinished(target, folder=True, mode=OWN_FOLDER) as scratch,
    ):
        copy = copy_log(log, scratch / LOG)
        found, folders, left_out = _files_of(folder, {target, made, scratch})
        files = {LOG: copy, **found}
        packed = [_packed(name, path) for name, path in files.items()]
        _write(made, packed, files, folders)
        _compare(made, packed)
        made.chmod(stat.S_IMODE(log.stat().st_mode) & 0o666)
        if target.exists():
            raise already_there(target)
        with unbroken():
            made.rename(target)
            note(target)
    return Moved(target, len(packed), tuple(left_out))


@contextmanager
def _own_errors(path: Path) -> Iterator[None]:
    """Say in words what the disk refuses."""
    try:
        yield
    except (OSError, zipfile.BadZipFile, zipfile.LargeZipFile) as error:
        said = getattr(error, "strerror", None) or str(error)
        hint = "What was there is as it was. Free some room, or name another place."
        raise CreditsError(Finding(f"could not be done ({said})", hint, value=str(path))) from error


def _files_of(folder: Path, others: set[Path]) -> tuple[dict[str, Path], dict[str, int], list[str]]:
    """Return every file of the folder that is to go along, by its path, the rights to the folders
    that it has, and what is left out.

    others: what this command itself lays there. Raises OSError where something may not be read.
    """
    found: dict[str, Path] = {}
    rights: dict[str, int] = {}
    left_out: list[str] = []

    def refused(error: OSError) -> None:
        raise error

    for at, folders, names in os.walk(folder, onerror=refused):
        here = Path(at)
        rights[here.relative_to(folder).as_posix()] = _rights_to(here)
        for name in sorted(folders):
            path = here / name
            inner = path.relative_to(folder).as_posix()
            if path in others or _is_made_again(path):
                folders.remove(name)
            elif path.is_symlink() or _bad_name(inner) is not None:
                folders.remove(name)
                left_out.append(inner)
        folders.sort()
        for name in sorted(names):
            path = here / name
            inner = path.relative_to(folder).as_posix()
            made = is_unfinished(name) or _is_of_the_engine(inner) or _is_packed_here(path)
            if path in others or made:
                continue
            is_file = path.is_file() and not path.is_symlink()
            if is_file and _bad_name(inner) is None:
                found[inner] = path
            else:
                left_out.append(inner)
    return found, rights, left_out


def _rights_to(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode) & 0o777


def _is_packed_here(path: Path) -> bool:
    """Tell whether a file is a folder that was packed before: it would be packed in each other."""
    if path.suffix.lower() != ".zip" or not path.is_file():
        return False
    try:
        with zipfile.ZipFile(path) as archive:
            return archive.namelist()[:1] == [CONTENTS]
    except (zipfile.BadZipFile, NotImplementedError):
        return False


def _is_made_again(folder: Path) -> bool:
    """Tell whether a folder holds only what the commands make: sites, backups, things half done."""
    made = folder.name == BACKUPS or is_unfinished(folder.name)
    return made or (folder / MARK).exists() or any(folder.glob(f"*/{MARK}"))


def _is_of_the_engine(inner: str) -> bool:
    """Tell whether a file is the log, which goes along as a copy, or lies beside it or is made of
    it."""
    name = fold_code(inner)
    return name.startswith((LOG, FIGURES, CONTENTS, f".{LOG}.", ".credits-"))


def _packed(name: str, path: Path) -> PackedFile:
    digest, size = hashlib.sha256(), 0
    with path.open("rb") as file:
        while part := file.read(_AT_ONCE):
            digest.update(part)
            size += len(part)
    return PackedFile(name, size, digest.hexdigest(), _rights_to(path))


def _write(
    target: Path, packed: list[PackedFile], files: Mapping[str, Path], folders: Mapping[str, int]
) -> None:
    contents = {
        "format": FORMAT,
        "folders": folders,
        "files": [[each.path, each.size, each.sha256, each.mode] for each in packed],
    }
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as made:
        made.writestr(CONTENTS, json.dumps(contents, ensure_ascii=False))
        for each in packed:
            made.write(files[each.path], each.path)


# --- reading what may come from anybody


def _refused(what: str, file: Path, value: str | None = None) -> ProblemsFound:
    hint = "Nothing was written. Ask for another copy: credits backup --whole"
    return ProblemsFound(Finding(what, hint, Place(file.name), None, value))


def _bad_name(path: str) -> str | None:
    """Say what is wrong with the path of a file; None: it lies in the folder, on every system."""
    pieces = path.split("/")
    if path.startswith("/") or any(_NO_NAME.search(piece) for piece in pieces):
        return "is no name of a file in this folder"
    if any(_NO_FILE.fullmatch(piece) for piece in pieces):
        return "is no name that every system has for a file"
    return None


def _contents(archive: zipfile.ZipFile, file: Path) -> tuple[list[PackedFile], dict[str, int]]:
    """Read what a packed folder holds; nothing that it says is believed unseen."""
    entries = archive.infolist()
    if not entries or entries[0].filename != CONTENTS:
        raise _refused("is not a folder packed with `credits backup --whole`", file)
    if len(entries) > MOST_FILES or entries[0].file_size > LONGEST_CONTENTS:
        raise _refused("holds more files than a production has", file)
    try:
        said = json.loads(archive.read(entries[0]).decode("utf-8"))
        if said["format"] != FORMAT:
            raise _refused("was packed by a newer program", file, str(said["format"]))
        files = [PackedFile(str(p), int(s), str(d), int(m)) for p, s, d, m in said["files"]]
        folders = {str(path): int(mode) for path, mode in said["folders"].items()}
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        raise _refused("does not say what it holds", file) from error
    if len(folders) > MOST_FILES or any(_bad_name(path) for path in folders if path != "."):
        raise _refused("names folders that are none of this folder's", file)
    _look_at(archive, files, file)
    return files, folders


def _look_at(archive: zipfile.ZipFile, files: list[PackedFile], file: Path) -> None:
    """Refuse what is no plain file of the list, under its own name, of its own size."""
    listed = {each.path: each for each in files}
    folded = {fold_code(each.path) for each in files}
    entries = archive.infolist()[1:]
    names = [entry.filename for entry in entries]
    if len(folded) != len(files) or sorted(names) != sorted(listed):
        raise _refused("does not hold what it says it holds", file)
    for path in names:
        wrong = _bad_name(path)
        if wrong is None and path != LOG and _is_of_the_engine(path):
            wrong = "is a file that the log's engine or the program makes for itself"
        if wrong is not None:
            raise _refused(wrong, file, path)
    for entry in entries:
        kind = stat.S_IFMT(entry.external_attr >> 16)
        if kind not in (0, stat.S_IFREG) or entry.is_dir() or entry.flag_bits & 1:
            raise _refused("is no plain file", file, entry.filename)
        if entry.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
            raise _refused("is packed in a way that this program does not read", file)
        size = entry.file_size
        is_trap = size > LARGEST_UNLIKELY and size > MOST_TIMES * max(1, entry.compress_size)
        if size != listed[entry.filename].size or is_trap:
            raise _refused("is not of the size that it says", file, entry.filename)
    if LOG not in listed:
        raise _refused("holds no log", file)


def _copied(source: IO[bytes], size: int, target: IO[bytes] | None) -> str:
    """Copy at most so many bytes and one; return their SHA-256."""
    digest, left = hashlib.sha256(), size + 1
    while left and (part := source.read(min(left, _AT_ONCE))):
        digest.update(part)
        left -= len(part)
        if target is not None:
            target.write(part)
    return digest.hexdigest() if left == 1 else ""


def _compare(packed: Path, files: list[PackedFile]) -> None:
    """Read everything again. Raises CreditsError where it is not what was packed."""
    with zipfile.ZipFile(packed) as archive:
        for each in files:
            with archive.open(each.path) as source:
                if _copied(source, each.size, None) != each.sha256:
                    what = "changed while it was packed"
                    hint = "Nothing was written. Try again when nobody writes it."
                    raise CreditsError(Finding(what, hint, value=each.path))


# --- opening


def is_packed_folder(file: Path) -> bool:
    """Tell whether a file is a ZIP, and so no copy of a log."""
    return file.is_file() and zipfile.is_zipfile(file)


def open_folder(file: Path, target: Path) -> Moved:
    """Open a packed folder in a new place. Never writes over anything.

    Raises WrongCall where something is there already, ProblemsFound where the file is not what
    `pack_folder` makes, LogUnusable where its log is not sound; then nothing is left behind.
    """
    if not file.is_file():
        what, hint = "is no file", "Name a file made with `credits backup --whole`."
        raise WrongCall(Finding(what, hint, value=str(file)))
    require_folder(target)
    if os.path.lexists(target) and (not target.is_dir() or any(target.iterdir())):
        hint = "Name a folder that is not there yet."
        raise WrongCall(Finding("holds something already", hint, value=str(target)))
    if not target.absolute().parent.is_dir():
        hint = "Make it first, or name another one."
        raise WrongCall(Finding("is no folder to write to", hint, value=str(target.parent)))
    target = target.absolute()
    beside = target.parent
    with _own_errors(file), unfinished(target, folder=True, mode=OWN_FOLDER) as scratch:
        made = scratch / "folder"
        made.mkdir()
        with _archive(file) as archive:
            files, folders = _contents(archive, file)
            needed, free = sum(each.size for each in files), shutil.disk_usage(beside).free
            if needed > free:
                raise _refused("does not fit on this disk", file, f"{needed} bytes")
            for inner in folders:
                (made / inner).mkdir(parents=True, exist_ok=True)
            for each in files:
                _unpack(archive, each, made, file)
        _look_sound(made, file)
        _give_rights(made, files, folders)
        if target.is_dir():
            target.rmdir()  # which refuses where somebody has laid something there meanwhile
        with unbroken():
            made.rename(target)
            note(target)
    return Moved(target, len(files))


@contextmanager
def _archive(file: Path) -> Iterator[zipfile.ZipFile]:
    try:
        with zipfile.ZipFile(file) as archive:
            yield archive
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError) as error:
        raise _refused(f"is damaged ({error})", file) from error


def _unpack(archive: zipfile.ZipFile, packed: PackedFile, made: Path, file: Path) -> None:
    path = made / packed.path
    path.parent.mkdir(parents=True, exist_ok=True)
    with archive.open(packed.path) as source, path.open("xb") as target:
        if _copied(source, packed.size, target) != packed.sha256:
            raise _refused("is not what was packed: it is damaged or was altered", file, path.name)
        target.flush()
        os.fsync(target.fileno())


def _look_sound(made: Path, file: Path) -> None:
    try:
        found = [one for one in verify(made) if not one.what.startswith("is of an older version")]
    except CreditsError as error:
        found = list(error.findings)
    if found:
        what = f"holds a production that is not sound: {found[0].what}"
        raise LogUnusable(Finding(what, "Ask for another copy.", Place(file.name)))


def _give_rights(made: Path, files: list[PackedFile], folders: Mapping[str, Any]) -> None:
    """Let those read and write who might; whoever opens it always may."""
    for each in files:
        (made / each.path).chmod(each.mode & 0o777 | stat.S_IRUSR | stat.S_IWUSR)
    every = {str(p) for each in files for p in PurePosixPath(each.path).parents} | {*folders}
    for path in sorted(every, reverse=True):
        (made / path).chmod(folders.get(path, 0o700) & 0o777 | stat.S_IRWXU)
