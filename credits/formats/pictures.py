"""Pictures made safe to show: scaled down, and bare of everything that is no picture."""

from __future__ import annotations

import stat
from collections.abc import Iterable, Iterator
from contextlib import suppress
from pathlib import Path

from credits import apart
from credits.apart import MEGABYTES, SECONDS, EndedApartError, Ending
from credits.formats.drawings import UnreadablePictureError, bare_drawing
from credits.formats.photographs import Photograph, UnreadablePhotographError, made, packed

# Twice the size at which a page shows a portrait, for screens with fine pixels.
LARGEST = (960, 1152)
LARGEST_FILE = 100_000_000  # bytes
AT_ONCE, MOST_AT_ONCE = 8, 40_000_000
"""So many photographs are made in one process, of so many bytes together."""
KEPT = 2_000
READER = "credits.formats.photographs"

_ENDED: dict[Ending, str] = {
    "not begun": "the system began no other process to read it",
    "too long": f"it takes more than {SECONDS} seconds to read",
    "too large": f"it takes more than {MEGABYTES} MB of memory to read",
    "stopped": "the system, or somebody, stopped the reading",
    "crashed": "it is damaged",
}
_MADE: dict[Photograph, bytes | UnreadablePhotographError] = {}
"""Photographs that were made, so that the sites of all editions make each once."""


def read_picture(path: Path, ending: str, largest: tuple[int, int] = LARGEST) -> bytes:
    """Read a picture and make it safe to show, as ``picture_bytes`` does.

    Only an ordinary file is read: a pipe or a device may never end. Raises OSError,
    UnreadablePictureError.
    """
    return picture_bytes(_content(path), ending, largest)


def picture_bytes(content: bytes, ending: str, largest: tuple[int, int] = LARGEST) -> bytes:
    """Return the picture scaled down and bare of all else; ``ending``: .svg, .png or .jpg.

    The same bytes make the same bytes. Raises UnreadablePictureError.
    """
    if ending == ".svg":
        return bare_drawing(content)
    photograph = content, ending, largest
    if photograph not in _MADE:
        _make([photograph])
    found = _MADE[photograph]
    if isinstance(found, UnreadablePhotographError):
        raise UnreadablePictureError(str(found))
    return found


def make_ready(pictures: Iterable[tuple[Path, str]], largest: tuple[int, int] = LARGEST) -> None:
    """Make several photographs, each with its ending, in fewer processes than one after the other.

    What is wrong with one is said when it is read.
    """
    some: list[Photograph] = []
    for path, ending in pictures:
        with suppress(OSError, UnreadablePictureError):
            photograph = _content(path), ending, largest
            if ending == ".svg" or photograph in _MADE:
                continue
            some.append(photograph)
            if len(some) == AT_ONCE or sum(len(own) for own, *_ in some) > MOST_AT_ONCE:
                _make(some)
                some = []
    _make(some)


def _content(path: Path) -> bytes:
    about = path.stat()
    if not stat.S_ISREG(about.st_mode):
        raise UnreadablePictureError("it is no ordinary file")
    if about.st_size > LARGEST_FILE:
        raise UnreadablePictureError(f"it has more than {LARGEST_FILE // 1_000_000} MB")
    return path.read_bytes()


def _make(some: list[Photograph]) -> None:
    """Make photographs in one process; where that ends, each in one of its own."""
    while len(_MADE) + len(some) > KEPT and _MADE:
        del _MADE[next(iter(_MADE))]
    if some:
        _MADE.update(zip(some, _made_of(some), strict=True))


def _made_of(some: list[Photograph]) -> Iterator[bytes | UnreadablePhotographError]:
    try:
        yield from [*made(apart.read_apart(READER, given=packed(some)))]
    except EndedApartError as error:
        if len(some) == 1:
            yield UnreadablePhotographError(_ENDED[error.how])
        else:
            for one in some:
                yield from _made_of([one])


ENDINGS = {".svg": ".svg", ".png": ".png", ".jpg": ".jpg", ".jpeg": ".jpg"}
