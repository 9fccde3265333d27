"""Photographs made safe to show, in a process of their own.

What decodes them is compiled. ``main`` is called apart (``credits.apart``), so this module imports
little. Several are made in one process, since to begin one takes longer than a picture.
"""

from __future__ import annotations

import json
import struct
import warnings
from collections.abc import Iterator, Sequence
from io import BytesIO

from PIL import Image, ImageOps, UnidentifiedImageError

MOST_PIXELS = 50_000_000
MOST_SCANS = 200
"""Of a progressive JPEG; a usual one has about ten. Each is decoded over the whole picture."""
_SCAN = b"\xff\xda"  # ITU-T T.81, table B.1: start of scan
_LENGTH = struct.Struct("<?q")

Photograph = tuple[bytes, str, tuple[int, int]]
"""A file's bytes, its ending (.png or .jpg), and the width and height it may have at most."""


class UnreadablePhotographError(Exception):
    """Bytes that are no picture of their kind, in words."""


def packed(photographs: Sequence[Photograph]) -> bytes:
    """Return photographs as ``main`` takes them."""
    about = json.dumps([(ending, largest, len(own)) for own, ending, largest in photographs])
    return b"\n".join((about.encode(), b"".join([own for own, *_ in photographs])))


def main(photographs: bytes) -> Iterator[bytes]:
    """Yield each photograph made safe, or why it is none, as ``made`` takes them apart."""
    about, _, contents = photographs.partition(b"\n")
    at = 0
    for ending, (width, height), length in json.loads(about):
        content, at = contents[at : at + length], at + length
        try:
            found, is_made = safe(content, ending, (width, height)), True
        except UnreadablePhotographError as error:
            found, is_made = str(error).encode("utf-8", "replace"), False
        yield _LENGTH.pack(is_made, len(found))
        yield found


def made(written: bytes) -> Iterator[bytes | UnreadablePhotographError]:
    """Yield what ``main`` wrote of each photograph."""
    at = 0
    while at < len(written):
        is_made, length = _LENGTH.unpack_from(written, at)
        at += _LENGTH.size
        found, at = written[at : at + length], at + length
        yield found if is_made else UnreadablePhotographError(found.decode())


def safe(content: bytes, ending: str, largest: tuple[int, int]) -> bytes:
    """Return a photograph scaled down and bare of all that is no picture.

    Raises UnreadablePhotographError.
    """
    if ending == ".jpg" and content.count(_SCAN) > MOST_SCANS:
        raise UnreadablePhotographError(f"it has more than {MOST_SCANS} scans")
    try:
        with (
            warnings.catch_warnings(action="error", category=Image.DecompressionBombWarning),
            Image.open(BytesIO(content), formats=("PNG", "JPEG")) as opened,
        ):
            opened.draft(None, (2 * largest[0], 2 * largest[1]))  # a JPEG is decoded smaller
            if opened.width * opened.height > MOST_PIXELS:
                raise UnreadablePhotographError(f"it has more than {MOST_PIXELS:,} pixels")
            upright = ImageOps.exif_transpose(opened)
            clear = ending != ".jpg" and upright.mode in ("RGBA", "LA", "PA", "La", "RGBa")
            mode = "RGBA" if clear else "RGB"
            picture = upright.convert(mode) if upright.mode != "P" else upright.convert("RGBA")
            picture.thumbnail(largest, Image.Resampling.LANCZOS)
            bare = Image.new(picture.mode, picture.size)
            bare.paste(picture)
            out = BytesIO()
            if ending == ".jpg":
                bare.convert("RGB").save(out, "JPEG", quality=86, optimize=True, progressive=True)
            else:
                bare.save(out, "PNG", optimize=True)
    except UnreadablePhotographError:
        raise
    except UnidentifiedImageError:
        raise UnreadablePhotographError("it is neither a PNG nor a JPEG") from None
    except (*_MISREAD, Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        raise UnreadablePhotographError(str(error)) from error
    return out.getvalue()


# What is raised for a damaged picture, the notes of the camera within it among them.
_MISREAD = (
    OSError, ValueError, SyntaxError, LookupError, TypeError, ArithmeticError, struct.error,
    EOFError,
)  # fmt: skip
