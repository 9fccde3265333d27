"""Checks of the log itself: entries on omitted shots, and corrections unaware of each other."""

from __future__ import annotations

from collections.abc import Iterator

from credits.compute import check_words as words
from credits.compute.check_rule import Case, Known
from credits.model.facts import ShotStatus


def omitted_shots_worked(known: Known) -> Iterator[Case]:
    """Entries on a shot whose status is omitted, by shot."""
    for shot in known.ledger.shots.values():
        own = known.ledger.entries_by_shot.get(shot.code, ())
        if shot.status is not ShotStatus.OMITTED or not own:
            continue
        entries = tuple(entry.number for entry in own)
        dates = [entry.day for entry in own if entry.day is not None]
        when = f" {words.days(dates)}" if dates else ""
        yield Case(
            (("shot", shot.code),),
            f"Shot {shot.code} is omitted, and has "
            f"{words.counted(len(own), 'entry', 'entries')}{when} ({words.numbers(entries)}).",
            "Ask whether the shot is in the film again, and correct its status in the shots "
            f"table; or, if another shot was meant: credits amend {entries[-1]} --shot SHOT",
            entries,
        )


def amended_twice(known: Known) -> Iterator[Case]:
    """Two corrections of one entry that do not know of each other, and the one that counts."""
    for fork in known.ledger.forks:
        yield Case(
            (("entry", str(fork.line)),),
            f"{fork.line} was corrected by {words.numbers(fork.corrections)}, which do not know "
            f"of each other; {fork.holds} counts.",
            f"Ask which one is right; if it is not {fork.holds}, write it down once more: "
            f"credits amend {fork.holds}",
            fork.corrections,
        )
