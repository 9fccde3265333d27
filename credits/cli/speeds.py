"""Speeds of the roll, for the command roll where they are asked for."""

from __future__ import annotations

from pathlib import Path

import typer

from credits.app.end_credits.speeds import Speeds, speeds_of
from credits.app.production import open_snapshot
from credits.cli.terminal import printing
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
    found = speeds_of(snapshot.credits, rate, raster, pitch, length, folder)
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
        "proposals": [
            {
                "pitch": one.pitch,
                "pixels_a_frame": one.roll.speed,
                "lines": one.lines,
                "roll_frames": one.roll.frames,
                "frames": one.frames,
                "seconds": round(float(seconds(one.frames, rate)), 3),
                "line_seconds": round(float(seconds(one.roll.line_frames, rate)), 3),
                "too_fast": one.roll.too_fast,
            }
            for one in found.proposals
        ],
        "cards_seconds": round(float(seconds(found.standing, rate)), 3),
        "cards": [
            {
                "number": card.number,
                "heading": card.heading,
                "seconds": str(card.seconds),
                "after_line": card.after,
            }
            for card in found.cards
        ],
        "problems": list(map(printing.finding_json, (*found.problems, *found.unmeasured))),
        "remarks": list(map(printing.finding_json, found.remarks)),
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
    if found.proposals:
        _say_proposals(found)
    else:
        rows = [
            (
                roll.speed,
                clock(roll.frames, rate),
                roll.frames,
                seconds_text(roll.line_frames, rate),
                TOO_FAST if roll.too_fast else "",
            )
            for roll in found.rolls
        ]
        printing.table(("px a frame", "length", "frames", "a line stays (s)", "remark"), rows)
    for card in found.cards:
        where = f"behind line {card.after:,} of the roll" if card.after else "before the roll"
        held = decimal_text(card.seconds, 1)
        printing.warn(f"Card '{card.heading}': hold {held} s. It is card {card.number}, {where}.")
    if found.cards:
        together = seconds_text(found.standing, rate)
        printing.remark(f"Cards stand {together} s together; a length asked for includes them.")
    for remark in found.remarks:
        printing.warn(str(remark))
    printing.problems((*found.problems, *found.unmeasured))


TOO_FAST = "too fast to read"
PROPOSED = (
    "line height", "px a frame", "length", "frames", "the roll alone", "a line stays (s)", "remark",
)  # fmt: skip


def _say_proposals(found: Speeds) -> None:
    """Print heights of line and speeds for a wished length, the nearest first."""
    rate = found.rate
    rows = [
        (
            one.pitch,
            one.roll.speed,
            clock(one.frames, rate),
            one.frames,
            clock(one.roll.frames, rate),
            seconds_text(one.roll.line_frames, rate),
            TOO_FAST if one.roll.too_fast else "",
        )
        for one in found.proposals
    ]
    printing.table(PROPOSED, rows)
