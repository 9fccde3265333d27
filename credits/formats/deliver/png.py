"""The credits as pictures: the roll and the cards."""

from __future__ import annotations

import io
import struct
import unicodedata
import zlib
from collections.abc import Iterable, Iterator, Sequence
from itertools import accumulate, islice
from pathlib import Path
from typing import NamedTuple

from PIL.PngImagePlugin import PngImageFile, putchunk

from credits.billing.credits import Credits
from credits.billing.setting.breaking import Ruler
from credits.billing.setting.roll import RollSetting, does_not_fit, smallest, too_small
from credits.billing.setting.rows import Card, RowSetter, SetCredits, SetRow
from credits.errors import CreditsError, Finding, ProblemsFound, WrongCall
from credits.files import require_folder
from credits.formats.deliver.fonts import SANS, texts_needed
from credits.formats.deliver.logos import Logos
from credits.formats.deliver.plain import SIGNATURES
from credits.formats.deliver.typesetting import FontRuler, Typesetter, row_data
from credits.unfinished import unfinished
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
    """The credits as they will be set, what does not fit, and what is set otherwise than asked."""

    typesetter: Typesetter
    setting: RollSetting
    made: SetCredits
    logos: Logos
    problems: tuple[Finding, ...]

    @property
    def rows(self) -> tuple[SetRow, ...]:
        """The rows of the roll."""
        return self.made.roll

    @property
    def lines(self) -> int:
        """How many lines the roll has."""
        return self.made.lines

    @property
    def cards(self) -> tuple[Card, ...]:
        """The cards, in their order."""
        return self.made.cards

    @property
    def remarks(self) -> tuple[Finding, ...]:
        """What is set otherwise than asked for, and letters that are small."""
        small = too_small(self.setting, smallest(self.made))
        return (*self.made.remarks, *((small,) if small is not None else ()))


def measured_lines(
    credits: Credits, setting: RollSetting, folders: Sequence[Path], logos: Logos | None = None
) -> Measured:
    """Set every row by the font that it is set in. Raises LettersMissingError."""
    typesetter = Typesetter.for_texts(folders, texts_needed(credits), SANS)
    return set_in(credits, setting, typesetter, FontRuler(typesetter), logos or Logos())


def set_in(
    credits: Credits, setting: RollSetting, typesetter: Typesetter, ruler: Ruler, logos: Logos
) -> Measured:
    """Set every row in a picture, and find what does not fit."""
    setter = RowSetter(setting=setting, ruler=ruler, proportions=logos.proportions)
    made = setter.set(credits)
    return Measured(typesetter, setting, made, logos, does_not_fit(made, setting))


def _set(rows: Iterable[tuple[int, SetRow]], measured: Measured) -> Shown:
    """The pieces of rows. rows: each with its upper edge in the picture, in pixels."""
    return [
        piece for top, row in rows for piece in row_data(row, top, measured.setting, measured.logos)
    ]


def _pictures(measured: Measured, height: int, shown: Iterable[Shown]) -> Iterator[bytes]:
    waiting = iter(shown)
    size = {"width": measured.setting.width, "height": height}
    while some := list(islice(waiting, PICTURES_AT_ONCE)):
        data = {**size, "pictures": some}
        yield from measured.typesetter.pictures("roll.typ", data, measured.logos)


def _from_above(rows: Sequence[SetRow], pitch: int) -> list[tuple[int, SetRow]]:
    """The rows with their upper edges, in pixels."""
    edges = accumulate((row.high * pitch for row in rows), initial=0)
    return list(zip(edges, rows, strict=False))


def _roll_pictures(measured: Measured) -> Iterator[bytes]:
    """Parts of the roll; each shows its lines, and what reaches in from above and below."""
    pitch, lines = measured.setting.pitch, measured.lines
    count = max(1, measured.setting.height // pitch)
    placed = _from_above(measured.rows, pitch)

    def stretch(first: int, count: int) -> Shown:
        upper, lower = (first - 1) * pitch, (first + count + 1) * pitch
        own = (
            (top - first * pitch, row)
            for top, row in placed
            if top < lower and top + row.high * pitch > upper
        )
        return _set(own, measured)

    whole = (stretch(first, count) for first in range(0, lines - count + 1, count))
    yield from _pictures(measured, count * pitch, whole)
    if rest := lines % count:
        yield from _pictures(measured, rest * pitch, [stretch(lines - rest, rest)])


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
    return joined(_roll_pictures(measured), setting.width, measured.lines * setting.pitch)


def card_pngs(measured: Measured) -> tuple[bytes, ...]:
    """Return a PNG in the size of the picture for each card. Raises as ``roll_png`` does."""
    if not measured.cards:
        hint = 'Give a section of the plan layout = "card".'
        raise NothingToRollError(Finding("the plan sets no section on a card", hint))
    if measured.problems:
        raise ProblemsFound(*measured.problems)
    height, pitch = measured.setting.height, measured.setting.pitch

    def shown(card: Card) -> Shown:
        above = (height - card.lines * pitch) // 2
        return _set(((above + top, row) for top, row in _from_above(card.rows, pitch)), measured)

    return tuple(_pictures(measured, height, map(shown, measured.cards)))


def card_name(number: int, heading: str) -> str:
    """Return ``01-directed-by.png``: the place, and the heading as far as ASCII goes."""
    plain = unicodedata.normalize("NFKD", heading).encode("ascii", "ignore").decode().lower()
    words = "".join(sign if sign.isalnum() else " " for sign in plain).split()
    return f"{'-'.join([f'{number:02}', *words])[:LONGEST_NAME].rstrip('-')}.png"


def write_cards(measured: Measured, folder: Path) -> tuple[tuple[Path, Card], ...]:
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
    require_folder(folder, "--cards")
    pictures = card_pngs(measured)
    names = [card_name(card.number, card.heading) for card in measured.cards]
    with unfinished(folder, folder=True, mode=0o777) as beside:
        for name, picture in zip(names, pictures, strict=True):
            (beside / name).write_bytes(picture)
        with unbroken():
            beside.rename(folder)
            note(folder)
    return tuple((folder / name, card) for name, card in zip(names, measured.cards, strict=True))
