"""The checks that can be asked about one entry from the entries around it.

They need neither the cut nor the credits nor the face sheets of the whole production.
"""

from __future__ import annotations

from credits.checks import entries, frames, people, places
from credits.checks.rule import Check

CHECKS_AROUND_AN_ENTRY: tuple[type[Check], ...] = (
    places.PuppetInTwoPlaces,
    places.PersonInTwoPlaces,
    places.PuppetAfterRetirement,
    frames.FramesBeyondShot,
    places.PuppetUnknown,
    people.OutsideEngagement,
    people.NoEngagement,
    people.DayTooLong,
    entries.LongerThanADay,
    entries.DayInTheFuture,
    entries.FootageWithoutShot,
    entries.TakeUnknown,
    entries.TakeMissing,
    frames.OmittedShotWorked,
    frames.AmendedTwice,
)
