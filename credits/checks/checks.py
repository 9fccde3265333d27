"""All checks (rule 3.11): questions the log cannot answer yet, and what cannot be right.

Every check is a plain function from what is known to the cases it finds, in the list ``CHECKS``.
Its cost follows the entries, never the frames and never pairs of entries.
"""

from __future__ import annotations

from collections.abc import Mapping

from credits.billing.credits import Credits
from credits.checks.frames import (
    amended_twice,
    cut_shots_unknown,
    cut_takes_not_accepted,
    frames_beyond_shot,
    frames_unclaimed,
    nobody_voices,
    omitted_shots_worked,
    replacement_gaps,
)
from credits.checks.people import (
    days_too_long,
    left_out,
    names_alike,
    names_unconfirmed,
    no_engagement,
    outside_engagement,
    sort_names_missing,
)
from credits.checks.places import (
    parts_in_two_places,
    parts_on_two_puppets,
    people_in_two_places,
    puppets_in_two_places,
    puppets_out_of_service,
    puppets_unknown,
)
from credits.checks.rule import Check, CheckRule, Known, Severity
from credits.footage.claims import TakeRuns
from credits.footage.cut import CutUse
from credits.model.ledger import Ledger

_WRONG, _QUESTION = Severity.WRONG, Severity.QUESTION

CHECKS: tuple[CheckRule, ...] = (
    CheckRule(
        "puppet-in-two-places",
        _QUESTION,
        "One puppet has entries on two stages on one date.",
        puppets_in_two_places,
    ),
    CheckRule(
        "person-in-two-places",
        _QUESTION,
        "One person has entries on two stages on one date.",
        people_in_two_places,
    ),
    CheckRule(
        "part-on-two-puppets",
        _WRONG,
        "One part is fitted to two puppets at the same time.",
        parts_on_two_puppets,
    ),
    CheckRule(
        "part-in-two-places",
        _QUESTION,
        "One part is shown by replacements in frames of one date on two stages.",
        parts_in_two_places,
    ),
    CheckRule(
        "puppet-after-retirement",
        _WRONG,
        "A puppet is animated after it was retired; a question when it was not yet ready.",
        puppets_out_of_service,
    ),
    CheckRule(
        "frames-beyond-shot",
        _QUESTION,
        "Frames above the shot's length are claimed.",
        frames_beyond_shot,
    ),
    CheckRule(
        "frames-unclaimed",
        _QUESTION,
        "The cut uses frames in which nobody animated anything.",
        frames_unclaimed,
    ),
    CheckRule(
        "cut-shot-unknown",
        _WRONG,
        "The cut names a shot that the log does not have.",
        cut_shots_unknown,
    ),
    CheckRule(
        "cut-take-not-accepted",
        _QUESTION,
        "The cut uses a take that is not accepted.",
        cut_takes_not_accepted,
    ),
    CheckRule(
        "puppet-unknown",
        _QUESTION,
        "A character with several puppets is animated, and no puppet is named.",
        puppets_unknown,
    ),
    CheckRule(
        "nobody-voices",
        _QUESTION,
        "A character is in the cut, is not marked silent, and has no voice.",
        nobody_voices,
    ),
    CheckRule(
        "outside-engagement",
        _QUESTION,
        "Entries are dated outside every engagement of the person.",
        outside_engagement,
    ),
    CheckRule(
        "no-engagement",
        _QUESTION,
        "A person has entries and no engagement.",
        no_engagement,
    ),
    CheckRule(
        "names-alike",
        _QUESTION,
        "Two people have nearly the same credit name.",
        names_alike,
    ),
    CheckRule(
        "name-unconfirmed",
        _QUESTION,
        "Somebody would be credited whose name, as it is spelled now, nobody has confirmed.",
        names_unconfirmed,
    ),
    CheckRule(
        "sort-name-missing",
        _QUESTION,
        "A person whose credit name has several words has no sort name.",
        sort_names_missing,
    ),
    CheckRule(
        "day-too-long",
        _QUESTION,
        "One person has more than 16 hours on one date.",
        days_too_long,
    ),
    CheckRule(
        "replacement-gap",
        _QUESTION,
        "A face sheet shows nothing in some frames between its first and its last.",
        replacement_gaps,
    ),
    CheckRule(
        "omitted-shot-worked",
        _QUESTION,
        "Entries are on a shot that is omitted.",
        omitted_shots_worked,
    ),
    CheckRule(
        "amended-twice",
        _QUESTION,
        "Two corrections of one entry do not know of each other.",
        amended_twice,
    ),
    CheckRule(
        "left-out",
        _WRONG,
        "Somebody with an entry or an engagement is neither printed nor held.",
        left_out,
    ),
)


def all_checks(
    ledger: Ledger,
    runs: Mapping[tuple[str, int], TakeRuns],
    use: CutUse | None,
    credits: Credits,
) -> tuple[Check, ...]:
    """Everything that the checks find, in the order of ``CHECKS``, then of their subjects.

    ``runs``, ``use`` and ``credits`` are those of the same ledger; without a cut (``use`` None) the
    checks of the cut find nothing.
    """
    known = Known(ledger, runs, use, credits)
    return tuple(check for rule in CHECKS for check in rule.checks(known))
