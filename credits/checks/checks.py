"""The list of all checks, and what they find.

The cost of a check follows the entries, never the frames and never pairs of entries.
"""

from __future__ import annotations

from collections.abc import Sequence

from credits.checks import frames, people, places
from credits.checks.rule import Check, Known

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
    people.NamesAlike,
    people.NameUnconfirmed,
    people.SortNameMissing,
    people.DayTooLong,
    frames.ReplacementGap,
    frames.OmittedShotWorked,
    frames.AmendedTwice,
    people.LeftOut,
)

# Those that can be asked about one entry from the entries around it: without the cut, the credits
# and the face sheets of the whole production.
CHECKS_AROUND_AN_ENTRY: tuple[type[Check], ...] = (
    places.PuppetInTwoPlaces,
    places.PersonInTwoPlaces,
    places.PuppetAfterRetirement,
    frames.FramesBeyondShot,
    places.PuppetUnknown,
    people.OutsideEngagement,
    people.NoEngagement,
    people.DayTooLong,
    frames.OmittedShotWorked,
    frames.AmendedTwice,
)


def find_checks(known: Known, checks: Sequence[type[Check]] = CHECKS) -> tuple[Check, ...]:
    """Find everything that the checks ask, in their order, then in that of their subjects."""
    return tuple(
        found for check in checks for found in sorted(check.find(known), key=lambda c: c.place)
    )
