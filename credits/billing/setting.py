"""Where the lines of the roll stand in the picture, and which of them have no room.

Everything is in whole pixels. Widths of texts are measured elsewhere, with the font that is used.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import count

from credits.billing.roll import Card, LineKind, Raster, RollLine
from credits.errors import Finding, WrongCall

LEAST_PITCH = 8


def capitals(pitch: int) -> int:
    """Return the height of capitals: five sevenths of the size, as in Noto (714 of 1,000)."""
    return pitch * 3 // 5 * 5 // 7


class Align(StrEnum):
    """Where in its room a text stands."""

    LEFT = "left"
    CENTRE = "centre"
    RIGHT = "right"


@dataclass(frozen=True, slots=True)
class TextPlace:
    """The room of one text: its left edge and width in the picture, where it stands in it."""

    left: int
    width: int
    align: Align


@dataclass(frozen=True, slots=True)
class RollSetting:
    """A picture and a line pitch, and everything that follows from them.

    Capitals stand in the middle of the pitch. Raises WrongCall for a pitch that is none.
    """

    raster: Raster
    pitch: int

    def __post_init__(self) -> None:
        if not LEAST_PITCH <= self.pitch <= self.raster.height:
            hint = f"Write {LEAST_PITCH} to {self.raster.height} pixels, such as 60."
            what = "is not the height of a line in this picture"
            raise WrongCall(Finding(what, hint, column="--pitch", value=str(self.pitch)))

    @property
    def size(self) -> int:
        """The size of the letters: three fifths of the pitch."""
        return self.pitch * 3 // 5

    @property
    def capitals(self) -> int:
        """The height of capital letters."""
        return capitals(self.pitch)

    @property
    def baseline(self) -> int:
        """How far below the upper edge of a line its letters stand."""
        return (self.pitch + self.capitals) // 2

    @property
    def gap(self) -> int:
        """The gutter between role and name, and the space between columns."""
        return self.raster.width // 48

    @property
    def left(self) -> int:
        """The left edge of the title-safe area."""
        return (self.raster.width - self.raster.title_safe[0] + 1) // 2

    def places(self, line: RollLine) -> tuple[TextPlace, ...]:
        """The room of each text of a line."""
        safe = self.raster.title_safe[0]
        if line.kind is LineKind.ROLE:
            half = (safe - self.gap) // 2
            right = self.left + half + self.gap
            return TextPlace(self.left, half, Align.RIGHT), TextPlace(right, half, Align.LEFT)
        width = (safe - (line.columns - 1) * self.gap) // line.columns
        return tuple(
            TextPlace(self.left + column * (width + self.gap), width, Align.CENTRE)
            for column in range(len(line.pieces))
        )


def texts_of(lines: Sequence[RollLine]) -> Iterator[tuple[LineKind, str]]:
    """Every text that is to be measured, once, with the kind of line that it stands in."""
    seen = dict.fromkeys((line.kind, piece.text) for line in lines for piece in line.pieces)
    return (key for key in seen if key[1])


def too_wide(
    lines: Sequence[RollLine],
    widths: Mapping[tuple[LineKind, str], int],
    setting: RollSetting,
    of: str = "roll",
) -> Iterator[Finding]:
    """Find the texts that do not fit into the title-safe width, in their order.

    widths: the measured width of each text, in pixels; what is not in it is not looked at.
    of: what the lines are of, the roll or a card.
    """
    hint = "Set the section in fewer columns, shorten the role, or lower --pitch."
    for number, line in enumerate(lines, 1):
        for piece, place in zip(line.pieces, setting.places(line), strict=True):
            width = widths.get((line.kind, piece.text), 0)
            if width > place.width:
                who = f" (person {piece.person})" if piece.person else ""
                room = f"line {number} of the {of} has room for {place.width}"
                yield Finding(f"is {width} px wide{who}; {room}", hint, value=piece.text)


def too_tall(cards: Sequence[Card], setting: RollSetting) -> Iterator[Finding]:
    """Find the cards that have more lines than the title-safe height holds."""
    most = setting.raster.title_safe[1] // setting.pitch
    hint = "Part the section in two, roll it, or lower --pitch."
    for card in cards:
        lines = len(card.lines)
        if lines > most:
            what = f"the card has {lines} lines; the title-safe height holds {most}"
            yield Finding(what, hint, value=card.heading)


def too_small(setting: RollSetting) -> Finding | None:
    """What is to be said when the letters are too small to read, else None."""
    least = setting.raster.least_text
    if setting.capitals >= least:
        return None
    pitch = next(pitch for pitch in count(setting.pitch) if capitals(pitch) >= least)
    what = f"gives capitals of {setting.capitals} px; {setting.raster.text} asks for {least}"
    hint = f"Take --pitch {pitch} or more."
    return Finding(what, hint, column="--pitch", value=str(setting.pitch))
