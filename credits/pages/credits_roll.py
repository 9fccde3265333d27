"""The rolling preview: the lines as they run, and how long, at speeds that do not judder."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from textwrap import wrap

from credits.compute.credit_plan import Layout
from credits.compute.credits import Credits, Line, Section
from credits.compute.roll import Raster, Roll, proposals
from credits.film_time import FrameRate, clock, seconds, seconds_text
from credits.names import direction
from credits.pages.edition import Everyone
from credits.rounding import decimal_text

RASTER = Raster(1920, 1080)
PITCH = 60
# The length that is looked for is the one at which a line can be read without haste: it stays this
# long on the screen (common practice; the proposals show what lies on either side).
WISHED_SECONDS_A_LINE = 15
NO_ROLE_ALONE = 4
NO_ROLE_IN_TWO = 12
TEXT_WIDTH = 64
WITH_ROLES = frozenset({Layout.ROLE_AND_NAME, Layout.CHARACTER_AND_NAMES})


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


def _columns(names: int) -> int:
    if names <= NO_ROLE_ALONE:
        return 1
    return 2 if names <= NO_ROLE_IN_TWO else 3


def _name(line: Line) -> RollName:
    return RollName(line.name, direction(line.name))


def _text_lines(text: str) -> Iterator[RollLine]:
    """A fixed text, broken into lines; emphasis is not set in the preview."""
    for paragraph in text.replace("*", "").splitlines():
        if not paragraph.strip():
            yield RollLine()
        for piece in wrap(paragraph, TEXT_WIDTH):
            yield RollLine(names=(RollName(piece, direction(piece)),))


def _role_lines(lines: Sequence[Line]) -> Iterator[RollLine]:
    before = None
    for line in lines:
        role = line.role or ""
        yield RollLine(role="" if role == before else role, names=(_name(line),), columns=0)
        before = role


def _section_lines(section: Section) -> Iterator[RollLine]:
    yield from _text_lines(section.text)
    if section.layout in WITH_ROLES:
        yield from _role_lines(section.lines)
        return
    columns = min(section.columns, _columns(len(section.lines)))
    depth = -(-len(section.lines) // columns)
    for at in range(depth):
        names = tuple(_name(line) for line in section.lines[at::depth])
        yield RollLine(names=names, columns=columns)


def roll_lines(credits: Credits) -> tuple[RollLine, ...]:
    """The lines in the order in which they run, a blank line between two sections.

    Names without a role stand in up to three columns and read down. ``columns`` 0: role and name.
    """
    lines: list[RollLine] = []
    for section in credits.sections:
        if lines:
            lines.append(RollLine())
        if section.heading:
            lines.append(RollLine(heading=section.heading))
        lines.extend(_section_lines(section))
    return tuple(lines)


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
    travel = len(lines) * PITCH + RASTER.height
    wished = Fraction(travel * WISHED_SECONDS_A_LINE, RASTER.height + PITCH)
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
    )
