"""How long the credits roll: whole speeds for a picture, a line pitch and a wished length."""

from __future__ import annotations

import os
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

import typer

from credits.cli import printing
from credits.cli.deliverables import PITCH, RASTER
from credits.errors import CreditsError, Finding

if TYPE_CHECKING:
    from credits.compute.credits import Credits
    from credits.compute.roll import Roll
    from credits.compute.roll_lines import Card
    from credits.compute.roll_room import Setting
    from credits.units.film_time import FrameRate

RasterOption = Annotated[
    str | None,
    typer.Option("--raster", metavar="WxH", help=f"Propose speeds for this picture; {RASTER}."),
]
PitchOption = Annotated[
    int | None,
    typer.Option("--pitch", metavar="PX", help=f"Propose speeds for lines so high; {PITCH}."),
]
LengthOption = Annotated[
    str | None,
    typer.Option("--length", metavar="M:SS", help="Propose speeds around this length."),
]


@dataclass(frozen=True, slots=True)
class Speeds:
    """The roll of compiled credits in a picture: its speeds, its cards, what does not fit.

    ``unmeasured``: why the widths could not be measured, where they could not.
    """

    setting: Setting
    rate: FrameRate
    lines: int
    rolls: tuple[Roll, ...]
    cards: tuple[Card, ...]
    small: Finding | None
    problems: tuple[Finding, ...]
    unmeasured: tuple[Finding, ...]


def speeds(
    compiled: Credits,
    rate: FrameRate,
    raster: str | None,
    pitch: int | None,
    length: str | None,
) -> Speeds:
    """Work out the speeds. Raises WrongCall for a picture, pitch or length that is none."""
    from credits.compute.roll import Raster, parse_length, proposals, wished_length
    from credits.compute.roll_lines import cards, roll_lines
    from credits.compute.roll_room import Setting, too_small
    from credits.exchange.credits_png import measured_lines
    from credits.exchange.fonts import font_folders

    setting = Setting(Raster.parse(raster or RASTER), PITCH if pitch is None else pitch)
    lines = len(roll_lines(compiled))
    wished = (
        wished_length(lines, setting.pitch, setting.raster)
        if length is None
        else parse_length(length)
    )
    rolls = proposals(lines, setting.pitch, setting.raster, rate, wished) if lines else ()
    problems: tuple[Finding, ...] = ()
    unmeasured: tuple[Finding, ...] = ()
    try:
        problems = measured_lines(compiled, setting, font_folders(os.environ)).problems
    except CreditsError as error:
        unmeasured = error.findings
    return Speeds(
        setting, rate, lines, rolls, cards(compiled), too_small(setting), problems, unmeasured
    )


def speeds_json(found: Speeds) -> dict[str, object]:
    """The speeds as JSON."""
    from credits.units.film_time import seconds

    setting, rate = found.setting, found.rate
    return {
        "raster": setting.raster.text,
        "pitch": setting.pitch,
        "title_safe": list(setting.raster.title_safe),
        "text_size": setting.size,
        "least_capitals": setting.raster.least_text,
        "lines": found.lines,
        "speeds": [
            {
                "pixels_a_frame": roll.speed,
                "frames": roll.frames,
                "seconds": round(float(seconds(roll.frames, rate)), 3),
                "line_frames": str(roll.line_frames),
                "line_seconds": round(float(seconds(roll.line_frames, rate)), 3),
                "too_fast": roll.too_fast,
            }
            for roll in found.rolls
        ],
        "cards": [{"heading": card.heading, "seconds": str(card.seconds)} for card in found.cards],
        "problems": [
            printing.finding_json(finding)
            for finding in (*_small(found), *found.problems, *found.unmeasured)
        ],
    }


def _small(found: Speeds) -> tuple[Finding, ...]:
    return () if found.small is None else (found.small,)


def say_speeds(found: Speeds) -> None:
    """The speeds as a table; cards, and lines that do not fit, beside it."""
    from credits.units.film_time import clock, seconds_text
    from credits.units.rounding import decimal_text

    setting, rate = found.setting, found.rate
    printing.remark(
        f"{found.lines:,} lines of {setting.pitch} px in a picture of {setting.raster.text},"
        f" at {rate.text} frames a second."
    )
    if not found.rolls:
        printing.remark("Nothing rolls.")
    rows = [
        (
            roll.speed,
            clock(roll.frames, rate),
            roll.frames,
            seconds_text(roll.line_frames, rate),
            "too fast to read" if roll.too_fast else "",
        )
        for roll in found.rolls
    ]
    printing.table(("px a frame", "length", "frames", "a line stays (s)", "remark"), rows)
    for card in found.cards:
        printing.remark(f"Card '{card.heading}': hold {decimal_text(card.seconds, 1)} s.")
    printing.problems((*_small(found), *found.problems, *found.unmeasured))
