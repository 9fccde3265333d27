"""The list of all checks."""

from __future__ import annotations

from credits.checks import entries, frames, names, people, places
from credits.checks.rule import Check

CHECKS: tuple[type[Check], ...] = (
    places.PuppetInTwoPlaces,
    places.PersonInTwoPlaces,
    places.PartOnTwoPuppets,
    places.PartInTwoPlaces,
    places.PuppetAfterRetirement,
    frames.FramesBeyondShot,
    frames.FramesUnclaimed,
    frames.ShotUnfinished,
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
    entries.LongerThanADay,
    entries.DayInTheFuture,
    entries.FootageWithoutShot,
    entries.TakeUnknown,
    entries.TakeMissing,
    frames.ReplacementGap,
    frames.TwoFaces,
    frames.OmittedShotWorked,
    frames.AmendedTwice,
    names.LeftOut,
)
