"""The list of all checks."""

from __future__ import annotations

from credits.checks import frames, names, people, places
from credits.checks.rule import Check

CHECKS: tuple[type[Check], ...] = (
    places.PuppetInTwoPlaces,
    places.PersonInTwoPlaces,
    places.PartOnTwoPuppets,
    places.PartInTwoPlaces,
    places.PuppetAfterRetirement,
    frames.FramesBeyondShot,
    frames.FramesUnclaimed,
    frames.CutShotUnknown,
    frames.CutTakeNotAccepted,
    places.PuppetUnknown,
    frames.NobodyVoices,
    people.OutsideEngagement,
    people.NoEngagement,
    names.NamesAlike,
    names.NameUnconfirmed,
    names.SortNameMissing,
    people.DayTooLong,
    frames.ReplacementGap,
    frames.OmittedShotWorked,
    frames.AmendedTwice,
    names.LeftOut,
)
