"""Pictures made safe to show: scaled down, and bare of everything that is no picture."""

from __future__ import annotations

import stat
import struct
import warnings
from functools import lru_cache
from io import BytesIO
from pathlib import Path

from PIL import Image, ImageOps

from credits.formats.drawings import UnreadablePictureError, bare_drawing

# Twice the size at which a page shows a portrait, for screens with fine pixels.
LARGEST = (960, 1152)
LARGEST_FILE = 100_000_000  # bytes
MOST_PIXELS = 50_000_000
MOST_SCANS = 200
"""Of a progressive JPEG; a usual one has about ten. Each is decoded over the whole picture."""
_SCAN = b"\xff\xda"  # ITU-T T.81, table B.1: start of scan


def read_picture(path: Path, ending: str, largest: tuple[int, int] = LARGEST) -> bytes:
    """Read a picture and make it safe to show, as ``picture_bytes`` does.

    Only an ordinary file is read: a pipe or a device may never end. Raises OSError,
    UnreadablePictureError.
    """
    about = path.stat()
    if not stat.S_ISREG(about.st_mode):
        raise UnreadablePictureError("it is no ordinary file")
    if about.st_size > LARGEST_FILE:
        raise UnreadablePictureError(f"it has more than {LARGEST_FILE // 1_000_000} MB")
    return picture_bytes(path.read_bytes(), ending, largest)


@lru_cache(maxsize=2_000)
def picture_bytes(content: bytes, ending: str, largest: tuple[int, int] = LARGEST) -> bytes:
    """Return the picture scaled down and bare of all else; ``ending``: .svg, .png or .jpg.

    The same bytes make the same bytes. Raises UnreadablePictureError.
    """
    return bare_drawing(content) if ending == ".svg" else _photograph(content, ending, largest)


def _photograph(content: bytes, ending: str, largest: tuple[int, int]) -> bytes:
    if ending == ".jpg" and content.count(_SCAN) > MOST_SCANS:
        raise UnreadablePictureError(f"it has more than {MOST_SCANS} scans")
    try:
        with (
            warnings.catch_warnings(action="error", category=Image.DecompressionBombWarning),
            Image.open(BytesIO(content), formats=("PNG", "JPEG")) as opened,
        ):
            opened.draft(None, (2 * largest[0], 2 * largest[1]))  # a JPEG is decoded smaller
            if opened.width * opened.height > MOST_PIXELS:
                raise UnreadablePictureError(f"it has more than {MOST_PIXELS:,} pixels")
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
    except UnreadablePictureError:
        raise
    except (*_MISREAD, Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        raise UnreadablePictureError(str(error)) from error
    return out.getvalue()


# What is raised for a damaged picture, the notes of the camera within it among them.
_MISREAD = (
    OSError, ValueError, SyntaxError, LookupError, TypeError, ArithmeticError, struct.error,
    EOFError,
)  # fmt: skip
ENDINGS = {".svg": ".svg", ".png": ".png", ".jpg": ".jpg", ".jpeg": ".jpg"}
