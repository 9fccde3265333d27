"""The roll as one picture, and the cards as one picture each: white text, nothing behind it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from credits.compute.credit_lines import Credits
from credits.compute.roll_lines import Card, LineKind, RollLine, cards, roll_lines
from credits.compute.roll_room import Setting, texts_of, too_tall, too_wide
from credits.errors import CreditsError, Finding, ProblemsFound
from credits.exchange.delivery import texts_needed
from credits.exchange.fonts import SANS
from credits.exchange.png_join import joined
from credits.exchange.typeset import Typesetter
from credits.names import direction

PICTURES_AT_ONCE = 16


class NothingToRoll(CreditsError):
    """No section rolls, or none is a card."""


@dataclass(frozen=True, slots=True)
class Measured:
    """The lines of the credits as they will be set, and what does not fit."""

    typesetter: Typesetter
    setting: Setting
    lines: tuple[RollLine, ...]
    cards: tuple[Card, ...]
    problems: tuple[Finding, ...]


def measured_lines(credits: Credits, setting: Setting, folders: Sequence[Path]) -> Measured:
    """Measure every line with the font that it is set in. Raises LettersMissing.

    ``folders``: where fonts are.
    """
    lines, still = roll_lines(credits), cards(credits)
    typesetter = Typesetter.for_texts(folders, texts_needed(credits), SANS)
    everything = [*lines, *(line for card in still for line in card.lines)]
    widths = typesetter.widths(list(texts_of(everything)), setting.size)
    wide = list(too_wide(lines, widths, setting))
    for card in still:
        wide += too_wide(card.lines, widths, setting, card.heading)
    problems = (*(one.finding for one in wide), *too_tall(still, setting))
    return Measured(typesetter, setting, lines, still, problems)


def _set(line: RollLine, top: int, setting: Setting) -> Iterator[dict[str, object]]:
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


def _card(card: Card, setting: Setting) -> list[dict[str, object]]:
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
