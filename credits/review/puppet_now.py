"""Where a puppet is now, what it wears, and what it waits for, by the log."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from credits.model.facts import Fitting
from credits.model.ledger import Entry, Ledger
from credits.review.hospital import is_open


@dataclass(frozen=True, slots=True, kw_only=True)
class PuppetNow:
    """The state of a puppet on a day.

    last: the last dated work with it in a shot. worn: the fittings of that day, by kind of part.
    repaired: the last repair that was finished. waits_for: the repairs that are open, by number.
    in_hospital: whether one of them was begun and no shot had it since.
    """

    last: Entry | None
    worn: tuple[Fitting, ...]
    repaired: Entry | None
    waits_for: tuple[Entry, ...]
    in_hospital: bool


def _latest(entries: Iterable[Entry]) -> Entry | None:
    dated = [entry for entry in entries if entry.day is not None]
    return max(dated, key=lambda entry: (entry.day, entry.number), default=None)


def puppet_now(
    ledger: Ledger,
    entries: Iterable[Entry],
    fittings: Iterable[Fitting],
    repairs: Iterable[Entry],
    today: date,
) -> PuppetNow:
    """Return the state of a puppet.

    entries: all that name it. repairs: also those of what it wore. today: the day whose fittings
    are told: the last of the log, or that on which it was retired.
    """
    every = tuple(repairs)
    last = _latest(entry for entry in entries if entry.shot and ledger.is_footage(entry))
    waits_for = tuple(sorted(filter(is_open, every), key=lambda entry: entry.number))
    seen = last.day if last is not None and last.day is not None else date.min
    begun = [entry.work.started_on for entry in waits_for if entry.work.started_on is not None]
    worn = [fitting for fitting in fittings if fitting.holds_on(today)]
    return PuppetNow(
        last=last,
        worn=tuple(sorted(worn, key=lambda f: (ledger.parts[f.part].kind, f.from_on, f.part))),
        repaired=_latest(entry for entry in every if not is_open(entry)),
        waits_for=waits_for,
        in_hospital=any(day >= seen for day in begun),
    )
