"""What an entry changes: the kept frames of its shot, or its reach; and what the checks ask."""

from __future__ import annotations

from credits.billing.credits import Credits
from credits.checks.checks import CHECKS_AROUND_AN_ENTRY, find_checks
from credits.checks.rule import Check, Known
from credits.footage.claims import claim_runs
from credits.footage.footage import footage
from credits.hands.hands import Hands, shots_in_question
from credits.model.facts import Purpose
from credits.model.ledger import Entry, Ledger
from credits.model.log import LogLine, WrittenLog
from credits.model.replay import Implied, entries_with, replay
from credits.model.words import counted
from credits.units.frames import Frames
from credits.units.rounding import Exact, largest_remainder

MOST_PEOPLE = 6


def _kept_frames(ledger: Ledger, entry: Entry) -> str:
    """Say ``Wick in 010-020: Ana now 24 of 48 kept frames, Ben 24. Nobody's yet: 49-60.``"""
    shot, character, take = entry.shot or "", entry.character or "", entry.take or 1
    own = claim_runs(ledger, [shot]).get((shot, take))
    if own is None:
        return ""
    kept: dict[str, Exact] = {entry.person: 0}
    for cell in footage(ledger, {(shot, take): own}, None).cells:
        if cell.character == character:
            kept[cell.person] = kept.get(cell.person, 0) + cell.totals.character.kept
    others = sorted(kept, key=lambda person: (-kept[person], person))
    people = [entry.person, *(person for person in others if person != entry.person)]
    frames = largest_remainder([kept[person] for person in people])
    said = [
        f"{ledger.people[person].credit_name} {count}"
        for person, count in zip(people, frames, strict=True)
        if person != entry.person
    ]
    if len(said) > MOST_PEOPLE:
        said = [*said[:MOST_PEOPLE], counted(len(said) - MOST_PEOPLE, "other")]
    where = f"{shot} take {take}" if take != 1 else shot
    who = ledger.people[entry.person].credit_name
    lead = f"{ledger.characters[character].name} in {where}: {who} now {frames[0]}"
    lead += f" of {counted(sum(frames), 'kept frame')}"
    left = ledger.shots[shot].frames - own.kept_of(character)
    return f"{', '.join([lead, *said])}.{_unclaimed(left)}"


def _unclaimed(left: Frames) -> str:
    return f" Nobody's yet: {left.text}." if left and len(left.ranges) <= 4 else ""


def _reached(written: WrittenLog, entry: Entry) -> str:
    """Say ``It reaches 12 shots so far.``"""
    near, implied = written, Implied(written)
    if entry.character is not None:
        near = entries_with(
            written,
            lambda line: line.work is not None and implied.character(line.work) == entry.character,
        )
    ledger = replay(near)
    runs = claim_runs(ledger, shots_in_question(ledger, entry))
    hands = Hands(ledger, runs, [entry])
    shots = {shot for shot, take in runs if hands.of_take(shot, take)}
    return f"It reaches {counted(len(shots), 'shot')} so far."


def effect(written: WrittenLog, entry: Entry) -> str:
    """Say what the entry changes: the kept frames of its shot, or how many shots it reaches."""
    if not any(craft.code == entry.craft and craft.footage for craft in written.crafts):
        return _reached(written, entry)
    if entry.shot is None:
        return "It claims no frames: it names no shot."
    ledger = replay(
        entries_with(written, lambda line: line.work is not None and line.work.shot == entry.shot)
    )
    purpose = ledger.purpose(entry)
    if purpose is not Purpose.SHOOT:
        return f"It claims no frames: take {entry.take} is a {purpose}."
    return _kept_frames(ledger, entry)


def doubts(written: WrittenLog, entry: Entry) -> tuple[Check, ...]:
    """Ask about the entry those checks that need only the entries around it."""
    implied = Implied(written)

    def near(line: LogLine) -> bool:
        work = line.work
        if work is None:
            return False
        return (
            implied.persons.get(work.person) == entry.person
            or (entry.shot is not None and work.shot == entry.shot)
            or (entry.puppet is not None and work.puppet == entry.puppet)
            or (work.day == entry.day and implied.character(work) == entry.character)
        )

    ledger = replay(entries_with(written, near))
    known = Known(ledger=ledger, runs=claim_runs(ledger), use=None, credits=Credits(plan=""))
    found = find_checks(known, CHECKS_AROUND_AN_ENTRY)
    return tuple(check for check in found if entry.number in check.entries)
