"""Checks of frames, the cut and the log itself."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from credits.checks.rule import Case, Known, Subject
from credits.footage.claims import TakeRuns, claims_frames
from credits.model import words
from credits.model.facts import Decision, Purpose, Replacement, Shot, ShotStatus
from credits.model.ledger import Entry, Ledger
from credits.units.frames import NO_FRAMES, Frames, union


def _of_take(shot: str, take: int) -> tuple[Subject, ...]:
    return ("shot", shot), ("take", str(take))


def _beyond(shot: Shot, take: int, found: list[Entry]) -> Case:
    entries = tuple(entry.number for entry in found)
    beyond = union(entry.frames or NO_FRAMES for entry in found).from_frame(shot.length + 1)
    inside = (found[0].frames or NO_FRAMES) & shot.frames
    return Case(
        _of_take(shot.code, take),
        f"{words.begin(words.frames(beyond))} of {words.take(shot.code, take)} "
        f"{'is' if beyond.count == 1 else 'are'} claimed ({words.numbers(entries)}), and the shot "
        f"has {words.counted(shot.length, 'frame')}.",
        "Correct the shot's length in the shots table and load it again; or shorten the range: "
        f"credits amend {entries[0]} --frames {inside.text or 'RANGE'}",
        entries,
    )


def frames_beyond_shot(known: Known) -> Iterator[Case]:
    """Claimed frames above the shot's length, by shot and take."""
    ledger = known.ledger
    for shot in ledger.shots.values():
        found: dict[int, list[Entry]] = defaultdict(list)
        for entry in ledger.entries_by_shot.get(shot.code, ()):
            if entry.frames and entry.frames.last > shot.length and claims_frames(ledger, entry):
                found[entry.take or 1].append(entry)
        for take, own in found.items():
            yield _beyond(shot, take, own)


def frames_unclaimed(known: Known) -> Iterator[Case]:
    """Frames that the cut uses and in which no character has a kept claim, by shot and take."""
    if known.use is None:
        return
    for (shot, take), used in known.use.used.items():
        own = known.runs.get((shot, take))
        missing = used - (own.claimed if own is not None else NO_FRAMES)
        if not missing:
            continue
        verb = "has" if missing.count == 1 else "have"
        yield Case(
            _of_take(shot, take),
            f"The cut uses {words.frames(missing)} of {words.take(shot, take)}, which {verb} no "
            "animator.",
            "Where no character is in the picture there is nothing to add; else ask who animated, "
            f"then: credits log animation PERSON CHARACTER {words.typed(f'{shot}/{take}')} "
            f"{missing.text if len(missing.ranges) <= words.MOST_RANGES else 'FRAMES'}",
        )


def _shown_by_character(shown: tuple[Replacement, ...], take: int) -> dict[str, Frames]:
    frames: dict[str, list[Frames]] = defaultdict(list)
    for replacement in shown:
        if replacement.take in (None, take):
            frames[replacement.character].append(replacement.frames)
    return {character: union(own) for character, own in frames.items()}


def _gap(known: Known, own: TakeRuns, character: str, shown: Frames) -> Case | None:
    between = Frames.span(shown.first, shown.last)
    gap = (own.kept_of(character) & between) - shown
    if not gap:
        return None
    return Case(
        (*_of_take(own.shot, own.take), ("character", character)),
        f"The face sheet of {words.character(known.ledger, character)} in "
        f"{words.take(own.shot, own.take)} runs from frame {shown.first} to {shown.last} and "
        f"shows nothing in {words.frames(gap)}.",
        "Ask which replacement was on, add it to the replacements table for these frames, and "
        "load the table again.",
    )


def replacement_gaps(known: Known) -> Iterator[Case]:
    """Kept frames between a character's first and last replacement in a take that show none.

    A replacement that names no take is in every take that has claims. All parts of the character
    count together: a frame with an eyelid and no mouth is not a gap.
    """
    for (shot, take), own in known.runs.items():
        replacements = known.ledger.replacements_by_shot.get(shot)
        if not replacements:
            continue
        for character, shown in _shown_by_character(replacements, take).items():
            case = _gap(known, own, character, shown) if shown else None
            if case is not None:
                yield case


def cut_shots_unknown(known: Known) -> Iterator[Case]:
    """Shots that the cut names and the log does not have, each once. No name is no shot."""
    cut = known.ledger.cut
    if cut is None:
        return
    named: dict[str, list[int]] = {}
    for clip in cut.clips:
        if clip.shot and clip.shot not in known.ledger.shots:
            named.setdefault(clip.shot, []).append(clip.film_first)
    for shot, places in named.items():
        yield Case(
            (("shot", shot),),
            f"The cut (version {cut.version}) uses shot {shot} "
            f"{words.counted(len(places), 'time')}, first at film frame {min(places)}, and the "
            "log has no such shot.",
            "Add it to the shots table and load it; or, if the editors call a known shot by this "
            "name, bring the cut in again: credits cut FILE --shot-pattern REGEX",
        )


def _accepted(ledger: Ledger, shot: str) -> list[str]:
    return [
        str(take.number)
        for take in ledger.takes_of.get(shot, ())
        if take.decision is Decision.ACCEPTED
    ]


def _not_accepted(ledger: Ledger, shot: str, number: int, used: Frames) -> Case:
    take = ledger.take(shot, number)
    purpose = "" if take.purpose is Purpose.SHOOT else f" a {take.purpose} and"
    accepted = _accepted(ledger, shot)
    instead = f"; accepted is take {words.listed(accepted)}" if accepted else ""
    decision = {Decision.OPEN: "still open", Decision.RETAKE: "to be shot again"}
    return Case(
        (("shot", shot), ("take", str(number))),
        f"The cut uses {words.frames(used)} of {words.take(shot, number)}, which is{purpose} "
        f"{decision[take.decision]}{instead}.",
        "Ask which take was accepted; set its decision to accepted in the takes table and load "
        "it again, or ask the editors for the accepted take.",
    )


def cut_takes_not_accepted(known: Known) -> Iterator[Case]:
    """Takes that the cut uses and whose decision is not accepted."""
    if known.use is None:
        return
    for (shot, number), used in known.use.used.items():
        if used and known.ledger.take(shot, number).decision is not Decision.ACCEPTED:
            yield _not_accepted(known.ledger, shot, number, used)


def nobody_voices(known: Known) -> Iterator[Case]:
    """Characters that appear in the cut without a voice entry and are not marked silent."""
    ledger = known.ledger
    for code in known.credits.order_of_appearance:
        own = ledger.entries_by_character.get(code, ())
        if ledger.characters[code].silent or any(entry.craft == "voice" for entry in own):
            continue
        yield Case(
            (("character", code),),
            f"{words.character(ledger, code)} is in the cut, and nobody voices this character.",
            "Set silent to yes in the characters table and load it again; or ask who it is, then: "
            f"credits log voice PERSON {words.typed(code)}",
        )


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
