"""Pictures one below the other, joined into one PNG of any height without holding its pixels.

A PNG holds its rows filtered and packed (ISO/IEC 15948). The rows of each picture are unpacked and
packed again as they are. Only the first row of a picture is filtered against a row that is now
another one: it alone is unfiltered.
"""

from __future__ import annotations

import struct
import zlib
from collections.abc import Iterable, Iterator

SIGNATURE = b"\x89PNG\r\n\x1a\n"
BYTES_A_PIXEL = 4  # red, green, blue and alpha, eight bits each: what is joined here
_RGBA = struct.pack(">BBBBB", 8, 6, 0, 0, 0)
_PACKED_AT_ONCE = 1 << 20


def _chunks(png: bytes) -> Iterator[tuple[bytes, bytes]]:
    at = len(SIGNATURE)
    while at < len(png):
        (length,) = struct.unpack_from(">I", png, at)
        yield png[at + 4 : at + 8], png[at + 8 : at + 8 + length]
        at += 12 + length


def rows_of(png: bytes) -> tuple[int, int, bytearray]:
    """Width, height and the filtered rows of a PNG. ValueError for one that is not 8-bit RGBA."""
    if not png.startswith(SIGNATURE):
        raise ValueError("not a PNG")
    header, packed = b"", []
    for kind, content in _chunks(png):
        if kind == b"IHDR":
            header = content
        elif kind == b"IDAT":
            packed.append(content)
    width, height = struct.unpack_from(">II", header)
    if header[8:] != _RGBA:
        raise ValueError("a PNG with other than four bytes a pixel, or interlaced")
    return width, height, bytearray(zlib.decompress(b"".join(packed)))


def _unfilter_first(rows: bytearray, length: int) -> None:
    """Write the first row, which is filtered against a row of zeros, as it is: filter none."""
    kind = rows[0]
    for at in range(1 + BYTES_A_PIXEL, length + 1):
        left = rows[at - BYTES_A_PIXEL]
        if kind in (1, 4):  # Sub; Paeth of nothing above is the pixel to the left
            rows[at] = (rows[at] + left) & 0xFF
        elif kind == 3:  # Average of left and nothing
            rows[at] = (rows[at] + left // 2) & 0xFF
    rows[0] = 0


def _chunk(kind: bytes, content: bytes) -> bytes:
    check = zlib.crc32(content, zlib.crc32(kind))
    return struct.pack(">I", len(content)) + kind + content + struct.pack(">I", check)


def joined(pictures: Iterable[bytes], width: int, height: int) -> bytes:
    """One PNG of all pictures, each as wide and all together as high as is said.

    Raises ValueError where they are not.
    """
    out = [SIGNATURE, _chunk(b"IHDR", struct.pack(">II", width, height) + _RGBA)]
    packer = zlib.compressobj(6)
    length, done = width * BYTES_A_PIXEL, 0
    held = bytearray()
    for picture in pictures:
        own_width, own_height, rows = rows_of(picture)
        if own_width != width:
            raise ValueError(f"a picture is {own_width} px wide, not {width}")
        _unfilter_first(rows, length)
        held += packer.compress(rows)
        done += own_height
        if len(held) >= _PACKED_AT_ONCE:
            out.append(_chunk(b"IDAT", bytes(held)))
            held.clear()
    if done != height:
        raise ValueError(f"the pictures are {done} px high together, not {height}")
    held += packer.flush()
    out += [_chunk(b"IDAT", bytes(held)), _chunk(b"IEND", b"")]
    return b"".join(out)
