"""Checks of frames: beyond the shot, unclaimed, and without a replacement."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from credits.compute import check_words as words
from credits.compute.check_rule import Case, Known, Subject
from credits.footage.claims import TakeRuns, claims_frames
from credits.model.facts import Replacement, Shot
from credits.model.ledger import Entry
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
