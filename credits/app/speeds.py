"""The roll of the end credits in a picture: how fast it may run, and what does not fit."""

from __future__ import annotations

import os
from typing import NamedTuple

from credits.billing import roll
from credits.billing.credits import Credits
from credits.billing.roll import RollSetting, too_small
from credits.errors import CreditsError, Finding
from credits.formats.deliver.fonts import font_folders
from credits.formats.deliver.png import measured_lines
from credits.units.film_time import FrameRate


class Speeds(NamedTuple):
    """The roll of compiled credits in a picture: its speeds, its cards, what does not fit.

    ``unmeasured``: why the widths could not be measured, where they could not.
    """

    setting: RollSetting
    rate: FrameRate
    lines: int
    rolls: tuple[roll.Roll, ...]
    cards: tuple[roll.Card, ...]
    problems: tuple[Finding, ...]
    unmeasured: tuple[Finding, ...]


def speeds_of(
    credits: Credits, rate: FrameRate, raster: str | None, pitch: int | None, length: str | None
) -> Speeds:
    """Work out the speeds. Raises WrongCall for a picture, pitch or length that is none."""
    setting = RollSetting.parse(raster, pitch)
    lines = len(roll.roll_lines(credits))
    wished = setting.wished_length(lines) if length is None else roll.parse_length(length)
    rolls = setting.proposals(lines, rate, wished) if lines else ()
    small = too_small(setting)
    problems: tuple[Finding, ...] = () if small is None else (small,)
    unmeasured: tuple[Finding, ...] = ()
    try:
        problems += measured_lines(credits, setting, font_folders(os.environ)).problems
    except CreditsError as error:
        unmeasured = error.findings
    return Speeds(setting, rate, lines, rolls, roll.cards(credits), problems, unmeasured)
