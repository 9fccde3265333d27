"""One file, written whole: readers see the old one or the new one, never a half."""

from __future__ import annotations

import os
from pathlib import Path

from credits.errors import CreditsError, Finding


def write_whole(path: Path, content: bytes) -> None:
    """Write the file beside its place and put it there in one step.

    Raises CreditsError where the path is a folder or no ordinary file, its folder is not there, or
    the file cannot be written; what was there before is then as it was.
    """
    path = Path(os.path.realpath(path))  # a link keeps pointing at what is written
    if path.is_dir():
        hint = "Name a file in it."
        raise CreditsError(Finding("is a folder, not a file", hint, value=str(path)))
    if path.exists() and not path.is_file():
        hint = "Name a file, or - for standard output."
        raise CreditsError(Finding("is no ordinary file", hint, value=str(path)))
    if not path.parent.is_dir():
        hint = "Make it first, or name another one."
        raise CreditsError(Finding("is no folder to write to", hint, value=str(path.parent)))
    new = path.with_name(f".credits-{os.getpid()}.new")
    try:
        with new.open("xb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        if path.exists():
            new.chmod(path.stat().st_mode)
        new.replace(path)
    except OSError as error:
        new.unlink(missing_ok=True)
        what = f"could not be written ({error.strerror or error})"
        hint = "What was there is as it was. Free some room, or name another file."
        raise CreditsError(Finding(what, hint, value=str(path))) from error
    except BaseException:
        new.unlink(missing_ok=True)
        raise
