"""The credits as pictures: the roll and the cards."""

from __future__ import annotations

import shutil
import struct
import tempfile
import unicodedata
import zlib
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from credits.billing.credits import Credits
from credits.billing.roll import Card, LineKind, RollLine, cards, roll_lines
from credits.billing.setting import RollSetting, texts_of, too_tall, too_wide
from credits.errors import CreditsError, Finding, ProblemsFound, WrongCall
from credits.formats.deliver.delivery import texts_needed
from credits.formats.deliver.fonts import SANS
from credits.formats.deliver.pdf import Typesetter
from credits.names import direction

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


PICTURES_AT_ONCE = 16


class NothingToRoll(CreditsError):
    """No section rolls, or none is a card."""


@dataclass(frozen=True, slots=True)
class Measured:
    """The lines of the credits as they will be set, and what does not fit."""

    typesetter: Typesetter
    setting: RollSetting
    lines: tuple[RollLine, ...]
    cards: tuple[Card, ...]
    problems: tuple[Finding, ...]


def measured_lines(credits: Credits, setting: RollSetting, folders: Sequence[Path]) -> Measured:
    """Measure every line with the font that it is set in. Raises LettersMissing.

    ``folders``: where fonts are.
    """
    lines, still = roll_lines(credits), cards(credits)
    typesetter = Typesetter.for_texts(folders, texts_needed(credits), SANS)
    everything = [*lines, *(line for card in still for line in card.lines)]
    widths = typesetter.widths(list(texts_of(everything)), setting.size)
    problems = list(too_wide(lines, widths, setting))
    for card in still:
        problems += too_wide(card.lines, widths, setting, "card")
    problems += too_tall(still, setting)
    return Measured(typesetter, setting, lines, still, tuple(problems))


def _set(line: RollLine, top: int, setting: RollSetting) -> Iterator[dict[str, object]]:
    for piece, place in zip(line.pieces, setting.places(line), strict=True):
        if piece.text:
            yield {
                "text": piece.text,
                "direction": direction(piece.text),
                "heading": line.kind is LineKind.HEADING,
                "left": place.left,
                "width": place.width,
                "align": place.align.value,
                "baseline": top + setting.baseline,
            }


def _stretch(measured: Measured, first: int, count: int) -> list[dict[str, object]]:
    """What a picture of ``count`` lines shows: these, and what reaches in from above and below."""
    setting = measured.setting
    shown: list[dict[str, object]] = []
    for at in range(max(0, first - 1), min(len(measured.lines), first + count + 1)):
        shown += _set(measured.lines[at], (at - first) * setting.pitch, setting)
    return shown


def _pictures(measured: Measured, height: int, shown: list[object]) -> tuple[bytes, ...]:
    setting = measured.setting
    data = {
        "width": setting.raster.width,
        "height": height,
        "size": setting.size,
        "pictures": shown,
    }
    return measured.typesetter.pictures("roll.typ", data)


def _roll_pictures(measured: Measured) -> Iterator[bytes]:
    setting = measured.setting
    count = max(1, setting.raster.height // setting.pitch)
    firsts = range(0, len(measured.lines), count)
    whole = [first for first in firsts if first + count <= len(measured.lines)]
    for at in range(0, len(whole), PICTURES_AT_ONCE):
        shown: list[object] = [
            _stretch(measured, n, count) for n in whole[at : at + PICTURES_AT_ONCE]
        ]
        yield from _pictures(measured, count * setting.pitch, shown)
    rest = len(measured.lines) % count
    if rest:
        first = len(measured.lines) - rest
        yield from _pictures(measured, rest * setting.pitch, [_stretch(measured, first, rest)])


def roll_png(measured: Measured) -> bytes:
    """The whole roll as one PNG: as wide as the picture, ``lines * pitch`` pixels high.

    That is the text alone. To roll it, its upper edge begins at the lower edge of the picture and
    its lower edge ends at the upper edge of the picture: it travels its own height and that of the
    picture (rule 3.10). White text, everything else transparent, within the title-safe width.
    Raises NothingToRoll without a line, ProblemsFound where lines do not fit.
    """
    if not measured.lines:
        hint = "Log work or engagements, or let the plan have a section that is no card."
        raise NothingToRoll(Finding("there is no line that rolls", hint))
    if measured.problems:
        raise ProblemsFound(*measured.problems)
    setting = measured.setting
    height = len(measured.lines) * setting.pitch
    return joined(_roll_pictures(measured), setting.raster.width, height)


def _card(card: Card, setting: RollSetting) -> list[dict[str, object]]:
    top = (setting.raster.height - len(card.lines) * setting.pitch) // 2
    shown: list[dict[str, object]] = []
    for at, line in enumerate(card.lines):
        shown += _set(line, top + at * setting.pitch, setting)
    return shown


def card_pngs(measured: Measured) -> tuple[bytes, ...]:
    """A PNG in the size of the picture for each card, in their order.

    Raises NothingToRoll without a card, ProblemsFound where one does not fit.
    """
    if not measured.cards:
        hint = 'Give a section of the plan layout = "card".'
        raise NothingToRoll(Finding("the plan sets no section on a card", hint))
    if measured.problems:
        raise ProblemsFound(*measured.problems)
    pictures: list[bytes] = []
    for at in range(0, len(measured.cards), PICTURES_AT_ONCE):
        some = measured.cards[at : at + PICTURES_AT_ONCE]
        shown: list[object] = [_card(card, measured.setting) for card in some]
        pictures += _pictures(measured, measured.setting.raster.height, shown)
    return tuple(pictures)


LONGEST_NAME = 40


def card_name(number: int, heading: str) -> str:
    """``01-directed-by.png``: the place in the credits, and the heading as far as ASCII goes."""
    plain = unicodedata.normalize("NFKD", heading).encode("ascii", "ignore").decode().lower()
    words = "".join(sign if sign.isalnum() else " " for sign in plain).split()
    return f"{'-'.join([f'{number:02}', *words])[:LONGEST_NAME].rstrip('-')}.png"


def write_cards(measured: Measured, folder: Path) -> tuple[tuple[Path, Card], ...]:
    """Write a PNG for each card into a folder that is made for them.

    Raises WrongCall where something is there already: nothing is written over, and no old card
    stays among new ones.
    """
    if folder.is_dir() and not any(folder.iterdir()):
        folder.rmdir()
    if folder.exists() or folder.is_symlink():
        hint = "Name a new folder, or take this one away first."
        raise WrongCall(Finding("is there already", hint, None, "--cards", str(folder)))
    if not folder.parent.is_dir():
        hint = "Make it first, or name another place."
        finding = Finding("is no folder to write to", hint, None, "--cards", str(folder.parent))
        raise WrongCall(finding)
    pictures = card_pngs(measured)
    beside = Path(tempfile.mkdtemp(prefix=".credits-cards-", dir=folder.parent))
    try:
        written = []
        for number, (card, picture) in enumerate(zip(measured.cards, pictures, strict=True), 1):
            name = card_name(number, card.heading)
            (beside / name).write_bytes(picture)
            written.append((folder / name, card))
        beside.chmod(0o755)
        beside.rename(folder)
    finally:
        shutil.rmtree(beside, ignore_errors=True)
    return tuple(written)
