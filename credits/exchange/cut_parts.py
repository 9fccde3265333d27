"""What the readers of a cut are asked, and what they answer."""

from __future__ import annotations

from dataclasses import dataclass

from credits.errors import Finding
from credits.exchange.cut_shots import CutShots
from credits.model.facts import CutClip
from credits.units.film_time import FrameRate


@dataclass(frozen=True, slots=True)
class CutAsked:
    """``first_frame``: the number of a shot's frame 1 in the file. ``rate``: the production's."""

    shots: CutShots
    first_frame: int
    rate: FrameRate


@dataclass(frozen=True, slots=True)
class CutRead:
    """The clips in film order, the film's length in frames, and what is to be told about them."""

    clips: tuple[CutClip, ...]
    length: int
    not_understood: tuple[Finding, ...] = ()
