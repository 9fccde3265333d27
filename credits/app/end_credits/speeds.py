"""The roll of the end credits in a picture: how fast it may run, and what does not fit."""

from __future__ import annotations

import os
from fractions import Fraction
from pathlib import Path
from typing import NamedTuple

from credits.billing.credits import Credits
from credits.billing.setting.breaking import Ruler, UsualRuler
from credits.billing.setting.roll import (
    Roll,
    RollSetting,
    does_not_fit,
    parse_length,
    smallest,
    too_small,
)
from credits.billing.setting.rows import Card, RowSetter
from credits.billing.setting.running_time import Proposal, card_frames, proposals
from credits.errors import CreditsError, Finding, WrongCall
from credits.formats.deliver.fonts import SANS, LettersMissingError, font_folders, texts_needed
from credits.formats.deliver.logos import Logos, read_logos
from credits.formats.deliver.typesetting import FontRuler, Typesetter
from credits.units.film_time import FrameRate
from credits.units.rounding import decimal_text


class Speeds(NamedTuple):
    """The roll of compiled credits in a picture: its speeds, its cards, what does not fit.

    ``standing``: the frames of all cards. ``proposals``: heights of line and speeds for a wished
    length, where no height is given. ``remarks``: what is set otherwise than asked for.
    ``unmeasured``: why the widths could not be measured, where they could not.
    """

    setting: RollSetting
    rate: FrameRate
    lines: int
    rolls: tuple[Roll, ...]
    cards: tuple[Card, ...]
    standing: int
    proposals: tuple[Proposal, ...]
    problems: tuple[Finding, ...]
    remarks: tuple[Finding, ...]
    unmeasured: tuple[Finding, ...]


def speeds_of(
    credits: Credits,
    rate: FrameRate,
    raster: str | None,
    pitch: int | None,
    length: str | None,
    folder: Path,
) -> Speeds:
    """Work out the speeds. folder: of the production, in which its pictures are.

    Raises WrongCall for a picture, pitch or length that is none, or a length that cards alone take.
    """
    setting = RollSetting.parse(raster, pitch)
    asked = None if length is None else parse_length(length)
    ruler, logos, unmeasured = _at_hand(credits, folder)

    def setter_in(setting: RollSetting) -> RowSetter:
        return RowSetter(setting=setting, ruler=ruler, proportions=logos.proportions)

    made = setter_in(setting).set(credits)
    lines, cards = made.lines, made.cards
    standing = card_frames(cards, rate)
    wished = setting.wished_length(lines)
    if asked is not None:
        wished = asked - Fraction(standing) / rate.per_second
        if wished <= 0:
            alone = decimal_text(Fraction(standing) / rate.per_second, 1)
            hint = "Write a longer one, or set fewer sections on cards."
            what = f"is no longer than the cards alone, which stand {alone} s"
            raise WrongCall(Finding(what, hint, column="--length", value=length))
    found: tuple[Proposal, ...] = ()
    if asked is not None and pitch is None and lines:
        found = proposals(
            setting, lambda own: setter_in(own).set(credits).lines, rate, asked, standing
        )
    small = too_small(setting, smallest(made))
    problems: tuple[Finding, ...] = () if small is None else (small,)
    remarks: tuple[Finding, ...] = ()
    if not unmeasured:
        problems, remarks = (*problems, *does_not_fit(made, setting)), made.remarks
    return Speeds(
        setting=setting,
        rate=rate,
        lines=lines,
        rolls=setting.proposals(lines, rate, wished) if lines else (),
        cards=cards,
        standing=standing,
        proposals=found,
        problems=problems,
        remarks=remarks,
        unmeasured=unmeasured,
    )


def _at_hand(credits: Credits, folder: Path) -> tuple[Ruler, Logos, tuple[Finding, ...]]:
    """What texts are measured by and the pictures; and why something is not at hand."""
    unmeasured: tuple[Finding, ...] = ()
    logos, ruler = Logos(), UsualRuler()
    try:
        logos = read_logos(folder, credits)
    except CreditsError as error:
        unmeasured = error.findings
    try:
        folders = font_folders(os.environ)
        return (
            FontRuler(Typesetter.for_texts(folders, texts_needed(credits), SANS)),
            logos,
            unmeasured,
        )
    except LettersMissingError as error:
        return ruler, logos, (*unmeasured, *error.findings)
