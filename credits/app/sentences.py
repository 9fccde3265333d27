"""An entry in sentences: what it says, what it changes, and what the checks ask about it."""

from __future__ import annotations

from datetime import date
from fractions import Fraction

from credits.checks.around import CHECKS_AROUND_AN_ENTRY
from credits.checks.rule import Check, Known, find_checks
from credits.footage.claims import claim_runs
from credits.footage.footage import footage
from credits.hands.hands import Hands, shots_in_question
from credits.model.facts import BUILT_IN_CRAFTS, Craft, Purpose, Work
from credits.model.ledger import Entry, Ledger
from credits.model.log import LogLine, Verb, WrittenLog
from credits.model.replay import Implied, entries_with, replay
from credits.model.words import counted
from credits.units.film_time import day_text
from credits.units.rounding import Exact, largest_remainder

DID = {
    "voice": "voiced",
    "singing": "sang",
    "track-reading": "read the track of",
    "lip-sync": "did the lip sync of",
    "animation": "animated",
    "animation-assist": "helped to animate",
    "rigging": "rigged",
    "design": "designed",
    "maquette": "sculpted a maquette of",
    "sculpt": "sculpted",
    "armature": "made the armature of",
    "mould": "made a mould of",
    "casting": "cast",
    "faces": "made faces of",
    "fabrication": "fabricated",
    "costume": "made the costume of",
    "hair": "made the hair of",
    "paint": "painted",
    "repair": "mended",
}


def _did(craft: Craft) -> str:
    renamed = all(craft.name != known.name for known in BUILT_IN_CRAFTS if known.code == craft.code)
    return f"did {craft.name} on" if renamed or craft.code not in DID else DID[craft.code]


def thing(work: Work, ledger: Ledger) -> str:
    """Say what was worked on: ``Wick``, ``Wick (wick-1)``, ``face kit wick-face-3 of Wick``."""
    puppet = ledger.puppets.get(work.puppet or "")
    part = ledger.parts.get(work.part or "")
    code = work.character or (puppet and puppet.character) or (part and part.character)
    character = ledger.characters.get(code or "")
    whose = character.name if character else code
    if part is not None:
        on = f" of {puppet.code}" if puppet else f" of {whose}" if whose else ""
        return f"{part.kind} {part.code}{on}"
    if puppet is not None:
        return f"{whose} ({puppet.code})"
    return whose or "nothing named"


def place(work: Work) -> str:
    """Say where: `` in 010-020 take 2, frames 1-30``; empty where no shot or sequence is named."""
    if work.shot is None:
        return f" in sequence {work.sequence}" if work.sequence else ""
    take = f" take {work.take}" if work.take is not None else ""
    frames = ""
    if work.frames is not None:
        frames = f", frame{'' if work.frames.count == 1 else 's'} {work.frames.text}"
    return f" in {work.shot}{take}{frames}"


def when(work: Work, today: date | None = None) -> str:
    """Say when: ``2 March 2026``, ``today, 2 March 2026``, ``begun 1 March 2026``."""
    if work.started_on and work.finished_on and work.started_on != work.finished_on:
        return f"{day_text(work.started_on)} to {day_text(work.finished_on)}"
    if work.finished_on is None and work.started_on is not None:
        return f"begun {day_text(work.started_on)}"
    lead = "today, " if today is not None and work.day == today else ""
    return lead + day_text(work.day)


def _rest(work: Work) -> list[str]:
    said = {
        f"stage {work.stage}": work.stage,
        f"share {work.share}": work.share not in (None, Fraction(1)),
        f"poses on {work.poses_on}": work.poses_on,
        counted(work.minutes or 0, "minute"): work.minutes is not None,
        f"waited {counted(work.wait_minutes or 0, 'minute')}": work.wait_minutes,
        "private": work.private,
    }
    return [text for text, is_said in said.items() if is_said]


def sentence(work: Work, ledger: Ledger, today: date | None = None) -> str:
    """Say the whole entry: ``Ana animated Wick in 010-020, frames 1-30, …``; no full stop."""
    person = ledger.people.get(work.person)
    who = person.credit_name if person else work.person
    craft = ledger.crafts.get(work.craft)
    did = _did(craft) if craft else f"did {work.craft} on"
    said = f"{who} {did} {thing(work, ledger)}{place(work)}"
    return ", ".join([said, when(work, today), *_rest(work)])


def written_line(line: LogLine, ledger: Ledger) -> str:
    """Say a line of the log as it was written: what it did, when, by whom, and why."""
    by = f" by {line.logged_by}" if line.logged_by else ""
    stamp = f"logged {line.logged_at:%Y-%m-%d %H:%M} UTC{by}"
    if line.verb is Verb.VOID:
        said = f"voids {line.corrects}"
    else:
        corrects = f"amends {line.corrects}: " if line.corrects else ""
        said = corrects + (sentence(line.work, ledger) if line.work else "nothing")
    why = f" Why: {line.why}." if line.why else ""
    ref = f", ref {line.ref}" if line.ref else ""
    source = f", from {line.source}" if line.source else ""
    note = f" Note: {line.work.note}" if line.work and line.work.note else ""
    return f"{line.number}: {said} ({stamp}{ref}{source}).{why}{note}"


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
    nobodys = f" Nobody's yet: {left.text}." if left and len(left.ranges) <= 4 else ""
    return f"{', '.join([lead, *said])}.{nobodys}"


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
        return work is not None and (
            implied.persons.get(work.person) == entry.person
            or (entry.shot is not None and work.shot == entry.shot)
            or (entry.puppet is not None and work.puppet == entry.puppet)
            or (work.day == entry.day and implied.character(work) == entry.character)
        )

    ledger = replay(entries_with(written, near))
    found = find_checks(Known(ledger=ledger, runs=claim_runs(ledger)), CHECKS_AROUND_AN_ENTRY)
    return tuple(check for check in found if entry.number in check.entries)
