"""TOML within limits: what is too long, or nested too deep, is refused before it is read.

The reader of TOML takes a time that grows with the square of the parts of a dotted key, and ends
with the interpreter's own error where lists are nested without end.
"""

from __future__ import annotations

import errno
import re
import stat
import tomllib
from pathlib import Path
from typing import Any

LONGEST_FILE = 500_000  # bytes
MOST_PARTS = 50
_PART = r"(?:[A-Za-z0-9_-]++|\"[^\"\n]*+\"|'[^'\n]*+')[ \t]*+\.[ \t]*+"
_PARTS = re.compile(f"(?<![A-Za-z0-9_-])(?:{_PART}){{{MOST_PARTS}}}")


def toml_bytes(path: Path) -> bytes:
    """Read a file of TOML. Raises OSError, also for one that is no ordinary file, or too large."""
    about = path.stat()
    if not stat.S_ISREG(about.st_mode):  # a pipe or a device may never end
        raise OSError(errno.EINVAL, "it is no ordinary file")
    if about.st_size > LONGEST_FILE:
        raise OSError(errno.EFBIG, f"it has more than {LONGEST_FILE // 1000} kB")
    return path.read_bytes()


def parse_toml(text: str) -> dict[str, Any]:
    """Parse TOML. Raises tomllib.TOMLDecodeError."""
    if too_long := _PARTS.search(text):
        line = text.count("\n", 0, too_long.start()) + 1
        what = f"a key has more than {MOST_PARTS} parts (at line {line}, column 1)"
        raise tomllib.TOMLDecodeError(what)
    try:
        return tomllib.loads(text)
    except RecursionError as error:
        raise tomllib.TOMLDecodeError("it is nested too deep") from error
    except tomllib.TOMLDecodeError:
        raise
    except ValueError as error:
        raise tomllib.TOMLDecodeError("a number has too many digits") from error
