"""The list of all checks."""

from __future__ import annotations

from credits.checks import contracts, entries, frames, names, own_lines, people, places
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
    contracts.GuaranteeMissing,
    contracts.GuaranteeInOtherWords,
    contracts.GuaranteeAgainstWish,
    contracts.GuaranteedTwice,
    contracts.BillingNumberTwice,
    contracts.HeadingsAlike,
    names.NamesAlike,
    names.NameUnconfirmed,
    names.AnswerInTheFuture,
    names.SortNameMissing,
    own_lines.NameSpaced,
    own_lines.LineUnconfirmed,
    own_lines.LineSpaced,
    own_lines.LineAlike,
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
