"""What was taken again: which shots, how often, how many frames, and why, as far as it was noted.

Two things are told apart. Frames that were photographed again: a later day of the same take claims
them, so they are shot and not kept. Takes that were marked retakes: the shot is to be taken again.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from credits.footage.footage import WEEK, Cell, Footage, total_of
from credits.model.facts import Decision, EntryNumber, Purpose, Take
from credits.model.ledger import Entry, Ledger
from credits.units.film_time import iso_week
from credits.units.frames import NO_FRAMES
from credits.units.rounding import Exact, exact_sum


@dataclass(frozen=True, slots=True, kw_only=True)
class Again:
    """What was taken again, in frames of shot footage, exactly.

    takes: takes that were photographed; retakes: takes that were marked retakes. again: frames that
    were photographed again in the same take; of_retakes: frames kept in takes marked retakes.
    """

    takes: int = 0
    retakes: int = 0
    shot: Exact = 0
    kept: Exact = 0
    of_retakes: Exact = 0

    @property
    def again(self) -> Exact:
        """Return how many frames were photographed again."""
        return self.shot - self.kept

    @property
    def reshot_share(self) -> Fraction | None:
        """Return the share of what was shot and not kept; None where nothing was shot."""
        return Fraction(self.again) / self.shot if self.shot else None


def again_together(parts: Iterable[Again]) -> Again:
    """Return the sum of what was taken again in different shots."""
    own = tuple(parts)
    return Again(
        takes=sum(part.takes for part in own),
        retakes=sum(part.retakes for part in own),
        shot=exact_sum(part.shot for part in own),
        kept=exact_sum(part.kept for part in own),
        of_retakes=exact_sum(part.of_retakes for part in own),
    )


def shots_taken(ledger: Ledger, cells: Iterable[Cell]) -> dict[str, Again]:
    """Return of every shot in some footage what was taken again, in the order of the shots.

    cells: of everybody, or of one person alone, whose takes and frames are then meant. Takes that
    are in the table and that nobody in the footage animated are not counted.
    """
    by_shot: dict[str, dict[int, list[Cell]]] = defaultdict(lambda: defaultdict(list))
    for cell in cells:
        by_shot[cell.shot][cell.take].append(cell)
    found = {}
    for shot in ledger.shots:
        takes = by_shot.get(shot)
        if takes is None:
            continue
        totals = {take: total_of(own).by_shot for take, own in takes.items()}
        retakes = [t for t in takes if ledger.take(shot, t).decision is Decision.RETAKE]
        found[shot] = Again(
            takes=len(takes),
            retakes=len(retakes),
            shot=exact_sum(own.shot for own in totals.values()),
            kept=exact_sum(own.kept for own in totals.values()),
            of_retakes=exact_sum(totals[take].kept for take in retakes),
        )
    return found


def taken_again(shots: Mapping[str, Again]) -> dict[str, Again]:
    """Return those of the shots of which anything was taken again."""
    return {shot: own for shot, own in shots.items() if own.again or own.retakes or own.takes > 1}


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekAgain:
    """A week (None: undated): what was shot in it, and how much of that was photographed again.

    retakes: takes that were marked retakes in the week.
    """

    week: str | None
    shot: Exact
    kept: Exact
    retakes: int

    @property
    def again(self) -> Exact:
        """Return how many frames of the week were photographed again, in it or later."""
        return self.shot - self.kept

    @property
    def reshot_share(self) -> Fraction | None:
        """Return the share of what was shot and not kept; None where nothing was shot."""
        return Fraction(self.again) / self.shot if self.shot else None


def weeks_taken(ledger: Ledger, footage: Footage) -> tuple[WeekAgain, ...]:
    """Return what was taken again by week, undated first."""
    parts = footage.summed_by(WEEK).by(lambda cell: iso_week(cell.day) if cell.day else "")
    decided: dict[str, int] = defaultdict(int)
    for take in ledger.takes.values():
        if take.purpose is Purpose.SHOOT and take.decision is Decision.RETAKE:
            decided[iso_week(take.decided_on) if take.decided_on else ""] += 1
    found = []
    for week in sorted({*parts, *decided}):
        frames = parts[week].by_shot if week in parts else None
        found.append(
            WeekAgain(
                week=week or None,
                shot=frames.shot if frames is not None else 0,
                kept=frames.kept if frames is not None else 0,
                retakes=decided.get(week, 0),
            )
        )
    return tuple(found)


@dataclass(frozen=True, slots=True)
class NotedReason:
    """What an entry notes that takes something again, or that was to be taken again."""

    entry: EntryNumber
    said: str
    private: bool


def reasons_noted(ledger: Ledger, shot: str) -> tuple[NotedReason, ...]:
    """Return the notes of the animation of a shot that may say why something was taken again.

    Those are the notes of entries on takes that were marked retakes, on takes after the first, and
    on frames of a character that an earlier day of the same take claims; in the order of the log.
    """
    entries = [
        entry
        for entry in ledger.entries_by_shot.get(shot, ())
        if ledger.is_footage(entry) and ledger.purpose(entry) is Purpose.SHOOT
    ]
    first = min((entry.take for entry in entries if entry.take is not None), default=None)
    found: list[NotedReason] = []
    for entry in sorted(entries, key=lambda entry: (entry.day or date.min, entry.number)):
        note = " ".join((entry.work.note or "").split())
        if note and (_is_of_retake(ledger, entry, first) or _shoots_again(entry, entries)):
            found.append(NotedReason(entry.number, note, entry.work.private))
    return tuple(found)


def _shoots_again(entry: Entry, others: Iterable[Entry]) -> bool:
    """Tell whether an earlier day claims any of the frames in the same take of the character."""
    day, frames = entry.day or date.min, entry.frames or NO_FRAMES
    return any(
        (other.take, other.character) == (entry.take, entry.character)
        and (other.day or date.min) < day
        and frames.shared_with(other.frames or NO_FRAMES)
        for other in others
    )


def _is_of_retake(ledger: Ledger, entry: Entry, first: int | None) -> bool:
    if entry.shot is None or entry.take is None:
        return False
    take: Take = ledger.take(entry.shot, entry.take)
    return take.decision is Decision.RETAKE or entry.take != first
