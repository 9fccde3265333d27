"""The rolling preview: the lines as they run, and how long, at speeds that do not judder."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from credits.compute.credits import Credits
from credits.compute.roll import WISHED_SECONDS_A_LINE, Raster, Roll, proposals, wished_length
from credits.compute.roll_lines import LineKind, cards
from credits.compute.roll_lines import RollLine as RolledLine
from credits.compute.roll_lines import roll_lines as rolled_lines
from credits.editions import Everyone
from credits.names import direction
from credits.units.film_time import FrameRate, clock, seconds, seconds_text
from credits.units.rounding import decimal_text

RASTER = Raster(1920, 1080)
PITCH = 60


@dataclass(frozen=True, slots=True)
class RollName:
    """A name of the roll and how it is written."""

    text: Everyone[str]
    direction: Everyone[str]


@dataclass(frozen=True, slots=True)
class RollLine:
    """One line of the roll: a heading, or a role and a name, or up to three names; or nothing."""

    heading: Everyone[str] = ""
    role: Everyone[str] = ""
    names: Everyone[tuple[RollName, ...]] = ()
    columns: Everyone[int] = 1


@dataclass(frozen=True, slots=True)
class SpeedRow:
    """A whole speed: the length of the roll, how long a line stays, and what to think of it."""

    speed: Everyone[str]
    length: Everyone[str]
    frames: Everyone[str]
    stays: Everyone[str]
    remark: Everyone[str]


@dataclass(frozen=True, slots=True)
class RollView:
    """The preview. ``seconds`` is how long it runs, ``pitch`` a line's height in per cent of the
    picture's, both ready to be written into a style."""

    lines: Everyone[tuple[RollLine, ...]]
    count: Everyone[str]
    speed: Everyone[str]
    length: Everyone[str]
    stays: Everyone[str]
    seconds: Everyone[str]
    pitch: Everyone[str]
    raster: Everyone[str]
    speeds: Everyone[tuple[SpeedRow, ...]]
    cards: Everyone[str]


def _line(line: RolledLine) -> RollLine:
    texts = tuple(RollName(piece.text, direction(piece.text)) for piece in line.pieces)
    if line.kind is LineKind.HEADING:
        return RollLine(heading=texts[0].text)
    if line.kind is LineKind.ROLE:
        return RollLine(role=texts[0].text, names=texts[1:], columns=0)
    return RollLine(names=texts, columns=line.columns)


def roll_lines(credits: Credits) -> tuple[RollLine, ...]:
    """The lines in the order in which they run, as in the printed roll. ``columns`` 0: role and
    name."""
    return tuple(_line(line) for line in rolled_lines(credits))


def _cards(credits: Credits) -> str:
    """The cards that stand still and for how long each is to be held; empty without any."""
    return ", ".join(
        f"{card.heading or 'a card'} ({decimal_text(card.seconds, 1)} s)" for card in cards(credits)
    )


def _remark(roll: Roll, chosen: Roll) -> str:
    if roll.too_fast:
        return "too fast to read"
    return "as in the preview" if roll is chosen else ""


def roll_view(credits: Credits, rate: FrameRate) -> RollView | None:
    """The roll in a 1920 x 1080 picture (rule 3.10); None where nothing prints.

    The preview runs at the proposed speed whose lines stay nearest to the wished time.
    """
    lines = roll_lines(credits)
    if not lines:
        return None
    wished = wished_length(len(lines), PITCH, RASTER)
    rolls = proposals(len(lines), PITCH, RASTER, rate, wished)
    chosen = min(
        rolls,
        key=lambda roll: (abs(seconds(roll.line_frames, rate) - WISHED_SECONDS_A_LINE), roll.speed),
    )
    speeds = tuple(
        SpeedRow(
            f"{roll.speed}",
            clock(roll.frames, rate),
            f"{roll.frames:,}",
            seconds_text(roll.line_frames, rate),
            _remark(roll, chosen),
        )
        for roll in rolls
    )
    return RollView(
        lines,
        f"{len(lines):,}",
        f"{chosen.speed} px a frame",
        clock(chosen.frames, rate),
        f"{seconds_text(chosen.line_frames, rate)} s",
        decimal_text(seconds(chosen.frames, rate), 3),
        decimal_text(Fraction(100 * PITCH, RASTER.height), 5),
        f"{RASTER.width} × {RASTER.height}",
        speeds,
        _cards(credits),
    )
