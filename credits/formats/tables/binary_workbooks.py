"""The binary workbooks of older programs (.xls): cells that show an error.

A formula that was never computed cannot be told there from one whose result is the empty text.

Compound File Binary Format ([MS-CFB] 2 and 3.2) around the records of BIFF8 ([MS-XLS] 2.4).
"""

from __future__ import annotations

from collections.abc import Iterator
from struct import iter_unpack, unpack_from

_SIGNATURE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_END_OF_CHAIN = 0xFFFFFFFA  # and above: no sector
_BOUND_SHEET, _FILE_PASS, _FORMULA, _BOOL_ERR, _BOF, _EOF = 0x85, 0x2F, 0x06, 0x205, 0x809, 0x0A
_ERRORS = {
    0x00: "#NULL!", 0x07: "#DIV/0!", 0x0F: "#VALUE!", 0x17: "#REF!", 0x1D: "#NAME?",
    0x24: "#NUM!", 0x2A: "#N/A",
}  # fmt: skip


def error_cells(data: bytes) -> Iterator[tuple[str, list[tuple[int, str, str]]]]:
    """Find the cells of each sheet that show an error: row, letters of the column, the error.

    Raises ValueError, LookupError or struct.error for a file that is damaged.
    """
    stream = _workbook_stream(data)
    about = list(_records(stream, 0))
    if any(kind == _FILE_PASS for kind, _ in about):
        return  # what follows is locked by a password
    sheets = [
        (unpack_from("<I", body)[0], _sheet_name(body))
        for kind, body in about
        if kind == _BOUND_SHEET
    ]
    for begins, name in sheets:
        found: list[tuple[int, str, str]] = []
        for kind, body in _records(stream, begins):
            if kind == _BOOL_ERR and body[7]:
                found.append((*_cell_of(body), _ERRORS.get(body[6], "an error")))
            elif kind == _FORMULA and body[12:14] == b"\xff\xff" and body[6] == 2:
                found.append((*_cell_of(body), _ERRORS.get(body[8], "an error")))
        yield name, found


def _cell_of(body: bytes) -> tuple[int, str]:
    row, column = unpack_from("<HH", body)
    letters = chr(ord("A") + column % 26)
    return row + 1, letters if column < 26 else chr(ord("A") + column // 26 - 1) + letters


def _sheet_name(body: bytes) -> str:
    """The name of a BoundSheet8 record: a count, a flag for two-byte letters, the letters."""
    count, wide = body[6], body[7] & 1
    return body[8 : 8 + count * (1 + wide)].decode("utf-16-le" if wide else "latin-1")


def _records(stream: bytes, at: int) -> Iterator[tuple[int, bytes]]:
    """The records of one substream: from its BOF to its EOF, substreams within it passed over."""
    depth = 0
    while at + 4 <= len(stream):
        kind, size = unpack_from("<HH", stream, at)
        depth += (kind == _BOF) - (kind == _EOF)
        if depth == 1 or (depth == 0 and kind == _EOF):
            yield kind, stream[at + 4 : at + 4 + size]
        if depth <= 0:
            return
        at += 4 + size


def _workbook_stream(data: bytes) -> bytes:
    """Unpack the stream that holds the workbook."""
    if not data.startswith(_SIGNATURE):
        raise ValueError("no compound file")
    size = 1 << unpack_from("<H", data, 30)[0]
    (first_directory,) = unpack_from("<I", data, 48)
    smallest, first_mini, _, difat_at = unpack_from("<IIII", data, 56)
    tables = list(unpack_from("<109I", data, 76))
    seen = set[int]()
    while difat_at < _END_OF_CHAIN and difat_at not in seen:
        seen.add(difat_at)
        *more, difat_at = unpack_from(f"<{size // 4}I", data, size * (difat_at + 1))
        tables += more
    fat = [
        entry
        for table in tables
        if table < _END_OF_CHAIN
        for (entry,) in iter_unpack("<I", data[size * (table + 1) : size * (table + 2)])
    ]
    sector = {at: slice(size * (at + 1), size * (at + 2)) for at in range(len(fat))}

    def chain(at: int, of: list[int]) -> Iterator[int]:
        for _ in range(len(of)):
            if at >= _END_OF_CHAIN:
                return
            yield at
            at = of[at]

    def large(first: int) -> bytes:
        return b"".join(data[sector[at]] for at in chain(first, fat))

    entries = large(first_directory)
    found: dict[str, tuple[int, int]] = {}
    for at in range(0, len(entries), 128):
        length = unpack_from("<H", entries, at + 64)[0]
        name = entries[at : at + max(length - 2, 0)].decode("utf-16-le", "replace")
        found.setdefault(name, unpack_from("<II", entries, at + 116))
    first, length = found["Workbook"] if "Workbook" in found else found["Book"]
    if length >= smallest:
        return large(first)[:length]
    of_minis = [entry for (entry,) in iter_unpack("<I", large(first_mini))]
    minis = large(found["Root Entry"][0])
    return b"".join(minis[64 * at : 64 * (at + 1)] for at in chain(first, of_minis))[:length]
