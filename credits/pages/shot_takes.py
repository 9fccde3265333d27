"""The takes of shots: which of them count, and what was decided of each."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from credits.compute.results import Results
from credits.editions import Everyone
from credits.model.facts import Take
from credits.model.ledger import Ledger
from credits.pages.words import day_text, listed


@dataclass(frozen=True, slots=True)
class TakeRow:
    """A take in the table of takes."""

    take: Everyone[str]
    purpose: Everyone[str]
    decision: Everyone[str]
    decided_on: Everyone[str]
    sort: Everyone[str]
    claimed: Everyone[str]
    counts: Everyone[str]


def shots_in_order(ledger: Ledger) -> tuple[str, ...]:
    """All shots, by sequence, as the tables have them."""
    return tuple(shot for code in ledger.sequences for shot in ledger.shots_of.get(code, ()))


class TakesOfShots:
    """For each shot: the takes that count, and the takes that have claims. Made once for a site.

    The takes that count are those the cut uses, in its order; without a use in the cut, the one
    that the shot means (rule 3.4).
    """

    def __init__(self, results: Results) -> None:
        self._results = results
        self._used: dict[str, list[int]] = defaultdict(list)
        for shot, take in results.use.clips_of if results.use else ():
            self._used[shot].append(take)
        self._claimed: dict[str, list[int]] = defaultdict(list)
        for shot, take in results.runs:
            self._claimed[shot].append(take)

    def that_count(self, shot: str) -> tuple[int, ...]:
        """The takes that count; none where there is nothing to show."""
        used = self._used.get(shot)
        if used:
            return tuple(used)
        meant = self._results.takes.get(shot)
        return () if meant is None else (meant,)

    def with_claims(self, shot: str) -> tuple[int, ...]:
        """The takes in which frames are claimed, those that count first."""
        claimed = self._claimed.get(shot, [])
        first = [take for take in self.that_count(shot) if take in claimed]
        return (*first, *(take for take in claimed if take not in first))

    def rows(self, shot: str) -> tuple[TakeRow, ...]:
        """The table of takes, by number: those entered, those worked on, those the cut names."""
        ledger = self._results.ledger
        counting = self.that_count(shot)
        numbers = {take.number for take in ledger.takes_of.get(shot, ())}
        numbers |= {e.take for e in ledger.entries_by_shot.get(shot, ()) if e.take is not None}
        rows = []
        for number in sorted({*numbers, *counting}):
            take = ledger.take(shot, number)
            runs = self._results.runs.get((shot, number))
            rows.append(
                TakeRow(
                    str(number),
                    take.purpose.value,
                    take.decision.value,
                    day_text(take.decided_on) if take.decided_on else "",
                    take.decided_on.isoformat() if take.decided_on else "",
                    runs.claimed.text if runs else "",
                    self._counts(number in counting, number in self._used.get(shot, ())),
                )
            )
        return tuple(rows)

    @staticmethod
    def _counts(counts: bool, used: bool) -> str:
        return "in the cut" if used else "counts" if counts else ""


def decision_text(take: Take) -> str:
    """``accepted 6 March 2026``, ``open``."""
    words = take.decision.value
    return f"{words} {day_text(take.decided_on)}" if take.decided_on else words


def takes_text(ledger: Ledger, shot: str, takes: tuple[int, ...]) -> str:
    """``2, accepted``: the takes that count, in a table of shots."""
    return listed([f"{n}, {ledger.take(shot, n).decision.value}" for n in takes])
