"""The credits as pictures: the roll and the cards."""

from __future__ import annotations

import io
import shutil
import struct
import tempfile
import unicodedata
import zlib
from collections.abc import Iterable, Iterator, Sequence
from itertools import islice
from pathlib import Path
from typing import NamedTuple

from PIL.PngImagePlugin import PngImageFile, putchunk

from credits.billing.credits import Credits
from credits.billing.roll import (
    Card,
    LineKind,
    RollLine,
    RollSetting,
    cards,
    roll_lines,
    texts_of,
    too_tall,
    too_wide,
)
from credits.errors import CreditsError, Finding, ProblemsFound, WrongCall
from credits.formats.deliver.fonts import SANS
from credits.formats.deliver.pdf import Typesetter
from credits.formats.deliver.plain import SIGNATURES, texts_needed
from credits.names import direction

PICTURES_AT_ONCE = 16
LONGEST_NAME = 40
UNFILTERED = b"\0"  # how a row of a PNG begins whose bytes are those of its pixels


def joined(pictures: Iterable[bytes], width: int, height: int) -> bytes:
    """Join PNGs of four bytes a pixel below each other to one, which is never unpacked as a whole.

    Raises ValueError where one is not so wide, or all together are not so high, as is said.
    """
    out = io.BytesIO()
    out.write(SIGNATURES[".png"])
    putchunk(out, b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 6, 0, 0, 0))
    packer, done = zlib.compressobj(), 0
    for picture in pictures:
        own = PngImageFile(io.BytesIO(picture))
        if own.mode != "RGBA":
            raise ValueError(f"a picture has not four bytes a pixel but is {own.mode}")
        if own.width != width:
            raise ValueError(f"a picture is {own.width} px wide, not {width}")
        pixels, length = own.tobytes(), width * len(own.mode)
        for at in range(0, len(pixels), length):
            if packed := packer.compress(UNFILTERED + pixels[at : at + length]):
                putchunk(out, b"IDAT", packed)
        done += own.height
    if done != height:
        raise ValueError(f"the pictures are {done} px high together, not {height}")
    putchunk(out, b"IDAT", packer.flush())
    putchunk(out, b"IEND")
    return out.getvalue()


class NothingToRollError(CreditsError):
    """No section rolls, or none is a card."""


# The texts of a picture as the template takes them.
Shown = list[dict[str, object]]


class Measured(NamedTuple):
    """The lines of the credits as they will be set, and what does not fit."""

    typesetter: Typesetter
    setting: RollSetting
    lines: tuple[RollLine, ...]
    cards: tuple[Card, ...]
    problems: tuple[Finding, ...]


def measured_lines(credits: Credits, setting: RollSetting, folders: Sequence[Path]) -> Measured:
    """Measure every line with the font that it is set in. Raises LettersMissingError.

    folders: where fonts are.
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
                "align": place.align,
                "baseline": top + setting.baseline,
            }


def _pictures(measured: Measured, height: int, shown: Iterable[Shown]) -> Iterator[bytes]:
    waiting = iter(shown)
    size = {"width": measured.setting.width, "height": height, "size": measured.setting.size}
    while some := list(islice(waiting, PICTURES_AT_ONCE)):
        yield from measured.typesetter.pictures("roll.typ", {**size, "pictures": some})


def _stretch(measured: Measured, first: int, count: int) -> Shown:
    """What a picture of ``count`` lines shows: these, and what reaches in from above and below."""
    setting, lines = measured.setting, measured.lines
    return [
        text
        for at in range(max(0, first - 1), min(len(lines), first + count + 1))
        for text in _set(lines[at], (at - first) * setting.pitch, setting)
    ]


def _roll_pictures(measured: Measured) -> Iterator[bytes]:
    pitch, lines = measured.setting.pitch, len(measured.lines)
    count = max(1, measured.setting.height // pitch)
    whole = (_stretch(measured, first, count) for first in range(0, lines - count + 1, count))
    yield from _pictures(measured, count * pitch, whole)
    if rest := lines % count:
        yield from _pictures(measured, rest * pitch, [_stretch(measured, lines - rest, rest)])


def roll_png(measured: Measured) -> bytes:
    """Return the whole roll as one PNG: as wide as the picture, ``lines * pitch`` pixels high.

    That is the text alone. To roll it, its upper edge begins at the lower edge of the picture and
    its lower edge ends at the upper edge of the picture: it travels its own height and that of the
    picture. White text, everything else transparent, within the title-safe width.
    Raises NothingToRollError without a line, ProblemsFound where lines do not fit.
    """
    if not measured.lines:
        hint = "Log work or engagements, or let the plan have a section that is no card."
        raise NothingToRollError(Finding("there is no line that rolls", hint))
    if measured.problems:
        raise ProblemsFound(*measured.problems)
    setting = measured.setting
    height = len(measured.lines) * setting.pitch
    return joined(_roll_pictures(measured), setting.width, height)


def _card(card: Card, setting: RollSetting) -> Shown:
    top = (setting.height - len(card.lines) * setting.pitch) // 2
    return [
        text
        for at, line in enumerate(card.lines)
        for text in _set(line, top + at * setting.pitch, setting)
    ]


def card_pngs(measured: Measured) -> tuple[bytes, ...]:
    """Return a PNG in the size of the picture for each card, in their order.

    Raises NothingToRollError without a card, ProblemsFound where one does not fit.
    """
    if not measured.cards:
        hint = 'Give a section of the plan layout = "card".'
        raise NothingToRollError(Finding("the plan sets no section on a card", hint))
    if measured.problems:
        raise ProblemsFound(*measured.problems)
    shown = (_card(card, measured.setting) for card in measured.cards)
    return tuple(_pictures(measured, measured.setting.height, shown))


def card_name(number: int, heading: str) -> str:
    """Return ``01-directed-by.png``: the place, and the heading as far as ASCII goes."""
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
        names = [card_name(at, card.heading) for at, card in enumerate(measured.cards, 1)]
        for name, picture in zip(names, pictures, strict=True):
            (beside / name).write_bytes(picture)
        beside.chmod(0o755)
        beside.rename(folder)
    finally:
        shutil.rmtree(beside, ignore_errors=True)
    return tuple((folder / name, card) for name, card in zip(names, measured.cards, strict=True))
