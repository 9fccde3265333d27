"""Propose speeds at which the end credits roll through a picture."""

from __future__ import annotations

import os
from dataclasses import dataclass

from credits.billing.credits import Credits
from credits.billing.roll import (
    Card,
    Raster,
    Roll,
    cards,
    parse_length,
    proposals,
    roll_lines,
    wished_length,
)
from credits.billing.setting import RollSetting, too_small
from credits.errors import CreditsError, Finding
from credits.formats.deliver.fonts import font_folders
from credits.formats.deliver.png import measured_lines
from credits.units.film_time import FrameRate

PITCH, RASTER = 60, "1920x1080"


@dataclass(frozen=True, slots=True, kw_only=True)
class Speeds:
    """The roll of compiled credits in a picture: its speeds, its cards, what does not fit.

    ``unmeasured``: why the widths could not be measured, where they could not.
    """

    setting: RollSetting
    rate: FrameRate
    lines: int
    rolls: tuple[Roll, ...]
    cards: tuple[Card, ...]
    small: Finding | None
    problems: tuple[Finding, ...]
    unmeasured: tuple[Finding, ...]


def speeds_of(
    credits: Credits,
    rate: FrameRate,
    raster: str | None,
    pitch: int | None,
    length: str | None,
) -> Speeds:
    """Work out the speeds. Raises WrongCall for a picture, pitch or length that is none."""
    setting = RollSetting(Raster.parse(raster or RASTER), PITCH if pitch is None else pitch)
    lines = len(roll_lines(credits))
    wished = (
        wished_length(lines, setting.pitch, setting.raster)
        if length is None
        else parse_length(length)
    )
    rolls = proposals(lines, setting.pitch, setting.raster, rate, wished) if lines else ()
    problems: tuple[Finding, ...] = ()
    unmeasured: tuple[Finding, ...] = ()
    try:
        problems = measured_lines(credits, setting, font_folders(os.environ)).problems
    except CreditsError as error:
        unmeasured = error.findings
    return Speeds(
        setting=setting,
        rate=rate,
        lines=lines,
        rolls=rolls,
        cards=cards(credits),
        small=too_small(setting),
        problems=problems,
        unmeasured=unmeasured,
    )
