"""An entry in a sentence."""

from __future__ import annotations

from datetime import date
from fractions import Fraction

from credits.model.facts import BUILT_IN_CRAFTS, Craft, Work
from credits.model.ledger import Ledger
from credits.model.log import LogLine, Verb
from credits.model.words import counted
from credits.units.film_time import day_text

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
    said = []
    if work.stage:
        said.append(f"stage {work.stage}")
    if work.share not in (None, Fraction(1)):
        said.append(f"share {work.share}")
    if work.poses_on:
        said.append(f"poses on {work.poses_on}")
    if work.minutes is not None:
        said.append(counted(work.minutes, "minute"))
    if work.wait_minutes:
        said.append(f"waited {counted(work.wait_minutes, 'minute')}")
    if work.private:
        said.append("private")
    return said


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
