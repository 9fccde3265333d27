"""The credits as pictures: the roll and the cards."""

from __future__ import annotations

import io
import struct
import tempfile
import unicodedata
import zlib
from collections.abc import Iterable, Iterator, Sequence
from itertools import islice
from pathlib import Path
from typing import NamedTuple

from PIL.PngImagePlugin import PngImageFile, putchunk

from credits.billing import roll
from credits.billing.credits import Credits
from credits.errors import CreditsError, Finding, ProblemsFound, WrongCall
from credits.formats.deliver.fonts import SANS, texts_needed
from credits.formats.deliver.pdf import Typesetter
from credits.formats.deliver.plain import SIGNATURES
from credits.names import direction
from credits.written import note, unbroken

PICTURES_AT_ONCE = 16
LONGEST_NAME = 40
UNFILTERED = b"\0"  # how a row of a PNG begins whose bytes are those of its pixels


def joined(pictures: Iterable[bytes], width: int, height: int) -> bytes:
    """Join PNGs of four bytes a pixel below each other, never unpacked whole. Raises ValueError."""
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
    setting: roll.RollSetting
    lines: tuple[roll.RollLine, ...]
    cards: tuple[roll.Card, ...]
    problems: tuple[Finding, ...]


def measured_lines(
    credits: Credits, setting: roll.RollSetting, folders: Sequence[Path]
) -> Measured:
    """Measure every line with the font that it is set in. Raises LettersMissingError."""
    lines, still = roll.roll_lines(credits), roll.cards(credits)
    typesetter = Typesetter.for_texts(folders, texts_needed(credits), SANS)
    everything = [*lines, *(line for card in still for line in card.lines)]
    widths = typesetter.widths(list(roll.texts_of(everything)), setting.size)
    problems = list(roll.too_wide(lines, widths, setting))
    for card in still:
        problems += roll.too_wide(card.lines, widths, setting, "card")
    problems += roll.too_tall(still, setting)
    return Measured(typesetter, setting, lines, still, tuple(problems))


def _set(lines: Sequence[roll.RollLine], top: int, setting: roll.RollSetting) -> Shown:
    return [
        {
            "text": piece.text,
            "direction": direction(piece.text),
            "heading": line.kind is roll.LineKind.HEADING,
            "left": place.left,
            "width": place.width,
            "align": place.align,
            "baseline": top + at * setting.pitch + setting.baseline,
        }
        for at, line in enumerate(lines)
        for piece, place in zip(line.pieces, setting.places(line), strict=True)
        if piece.text
    ]


def _pictures(measured: Measured, height: int, shown: Iterable[Shown]) -> Iterator[bytes]:
    waiting = iter(shown)
    size = {"width": measured.setting.width, "height": height, "size": measured.setting.size}
    while some := list(islice(waiting, PICTURES_AT_ONCE)):
        yield from measured.typesetter.pictures("roll.typ", {**size, "pictures": some})


def _roll_pictures(measured: Measured) -> Iterator[bytes]:
    """Parts of the roll; each shows its lines, and what reaches in from above and below."""
    setting, lines = measured.setting, measured.lines
    pitch = setting.pitch
    count = max(1, setting.height // pitch)

    def stretch(first: int, count: int) -> Shown:
        begin = max(0, first - 1)
        return _set(lines[begin : first + count + 1], (begin - first) * pitch, setting)

    whole = (stretch(first, count) for first in range(0, len(lines) - count + 1, count))
    yield from _pictures(measured, count * pitch, whole)
    if rest := len(lines) % count:
        yield from _pictures(measured, rest * pitch, [stretch(len(lines) - rest, rest)])


def roll_png(measured: Measured) -> bytes:
    """Return the whole roll as one PNG: as wide as the picture, ``lines * pitch`` pixels high.

    White text, everything else transparent. To roll, it travels its own height and the picture's.
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


def card_pngs(measured: Measured) -> tuple[bytes, ...]:
    """Return a PNG in the size of the picture for each card. Raises as ``roll_png`` does."""
    if not measured.cards:
        hint = 'Give a section of the plan layout = "card".'
        raise NothingToRollError(Finding("the plan sets no section on a card", hint))
    if measured.problems:
        raise ProblemsFound(*measured.problems)
    height, pitch = measured.setting.height, measured.setting.pitch
    shown = (
        _set(card.lines, (height - len(card.lines) * pitch) // 2, measured.setting)
        for card in measured.cards
    )
    return tuple(_pictures(measured, height, shown))


def card_name(number: int, heading: str) -> str:
    """Return ``01-directed-by.png``: the place, and the heading as far as ASCII goes."""
    plain = unicodedata.normalize("NFKD", heading).encode("ascii", "ignore").decode().lower()
    words = "".join(sign if sign.isalnum() else " " for sign in plain).split()
    return f"{'-'.join([f'{number:02}', *words])[:LONGEST_NAME].rstrip('-')}.png"


def write_cards(measured: Measured, folder: Path) -> tuple[tuple[Path, roll.Card], ...]:
    """Write a PNG for each card into a new folder. Raises WrongCall where something is there."""
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
    names = [card_name(at, card.heading) for at, card in enumerate(measured.cards, 1)]
    with tempfile.TemporaryDirectory(
        prefix=".credits-cards-", dir=folder.parent, ignore_cleanup_errors=True
    ) as beside:
        for name, picture in zip(names, pictures, strict=True):
            Path(beside, name).write_bytes(picture)
        Path(beside).chmod(0o755)
        with unbroken():
            Path(beside).rename(folder)
            note(folder)
    return tuple((folder / name, card) for name, card in zip(names, measured.cards, strict=True))
