"""Speeds of the roll, for the command roll where they are asked for."""

from __future__ import annotations

from pathlib import Path

import typer

from credits.app.production import open_snapshot
from credits.app.speeds import Speeds, speeds_of
from credits.cli import printing
from credits.figures.renewal import Depth
from credits.units.film_time import clock, seconds, seconds_text
from credits.units.rounding import decimal_text


def propose(
    folder: Path, raster: str | None, pitch: int | None, length: str | None, as_json: bool
) -> None:
    """Print the speeds that suit a picture, a height of line and a length of the roll.

    Raises WrongCall for one that is none; exits with 1 where something does not fit.
    """
    snapshot = open_snapshot(folder, Depth.FOOTAGE)
    rate = snapshot.ledger.production.rate
    found = speeds_of(snapshot.credits, rate, raster, pitch, length)
    if as_json:
        printing.say_json({"roll": _speeds_json(found)})
    else:
        _say_speeds(found)
    if found.problems:
        raise typer.Exit(1)


def _speeds_json(found: Speeds) -> dict[str, object]:
    rate = found.rate
    return {
        "raster": found.setting.raster,
        **printing.fields_json(
            found.setting, "pitch title_safe text_size=size least_capitals=least_text"
        ),
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
        "problems": list(map(printing.finding_json, (*found.problems, *found.unmeasured))),
    }


def _say_speeds(found: Speeds) -> None:
    """Print the speeds as a table; cards, and lines that do not fit, beside it."""
    setting, rate = found.setting, found.rate
    printing.remark(
        f"{found.lines:,} lines of {setting.pitch} px in a picture of {setting.raster},"
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
        printing.warn(f"Card '{card.heading}': hold {decimal_text(card.seconds, 1)} s.")
    printing.problems((*found.problems, *found.unmeasured))
