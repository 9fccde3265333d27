"""The list of all checks, and what they find.

The cost of a check follows the entries, never the frames and never pairs of entries.
"""

from __future__ import annotations

from collections.abc import Sequence

from credits.checks.frames import (
    AmendedTwice,
    CutShotUnknown,
    CutTakeNotAccepted,
    FramesBeyondShot,
    FramesUnclaimed,
    NobodyVoices,
    OmittedShotWorked,
    ReplacementGap,
)
from credits.checks.people import (
    DayTooLong,
    LeftOut,
    NamesAlike,
    NameUnconfirmed,
    NoEngagement,
    OutsideEngagement,
    SortNameMissing,
)
from credits.checks.places import (
    PartInTwoPlaces,
    PartOnTwoPuppets,
    PersonInTwoPlaces,
    PuppetAfterRetirement,
    PuppetInTwoPlaces,
    PuppetUnknown,
)
from credits.checks.rule import Check, Known

CHECKS: tuple[type[Check], ...] = (
    PuppetInTwoPlaces,
    PersonInTwoPlaces,
    PartOnTwoPuppets,
    PartInTwoPlaces,
    PuppetAfterRetirement,
    FramesBeyondShot,
    FramesUnclaimed,
    CutShotUnknown,
    CutTakeNotAccepted,
    PuppetUnknown,
    NobodyVoices,
    OutsideEngagement,
    NoEngagement,
    NamesAlike,
    NameUnconfirmed,
    SortNameMissing,
    DayTooLong,
    ReplacementGap,
    OmittedShotWorked,
    AmendedTwice,
    LeftOut,
)

# Those that can be asked about one entry from the entries around it: without the cut, the credits
# and the face sheets of the whole production.
CHECKS_AROUND_AN_ENTRY: tuple[type[Check], ...] = (
    PuppetInTwoPlaces,
    PersonInTwoPlaces,
    PuppetAfterRetirement,
    FramesBeyondShot,
    PuppetUnknown,
    OutsideEngagement,
    NoEngagement,
    DayTooLong,
    OmittedShotWorked,
    AmendedTwice,
)


def find_checks(known: Known, checks: Sequence[type[Check]] = CHECKS) -> tuple[Check, ...]:
    """Find everything that the checks ask, in their order, then in that of their subjects."""
    return tuple(
        found for check in checks for found in sorted(check.find(known), key=lambda c: c.place)
    )
