"""Checks of frames, the cut and the log itself."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Self

from credits.checks.rule import Check, Known, Severity, days_of, numbers_of
from credits.footage.claims import claims_frames
from credits.footage.cut import chosen_takes
from credits.model import words
from credits.model.facts import Decision, EntryNumber, Purpose, Replacement, ShotStatus
from credits.model.ledger import Entry, Ledger
from credits.text import fold_words
from credits.units.frames import NO_FRAMES, Frames, Range, common_runs, union


@dataclass(frozen=True, slots=True, kw_only=True)
class _OfTake(Check):
    """What is asked about one take of a shot."""

    about = "shot take"
    scope = "shot"

    shot: str
    take: int


@dataclass(frozen=True, slots=True, kw_only=True)
class FramesBeyondShot(_OfTake):
    """Frames above the shot's length are claimed.

    inside: the frames of the first entry that are not.
    """

    length: int
    beyond: Frames
    inside: Frames

    @classmethod
    def find(cls, known: Known) -> Iterator[Self]:
        ledger = known.ledger
        for shot in ledger.shots.values():
            found: dict[int, list[Entry]] = defaultdict(list)
            for entry in ledger.entries_by_shot.get(shot.code, ()):
                beyond = entry.frames and entry.frames.last > shot.length
                if beyond and claims_frames(ledger, entry):
                    found[entry.take or 1].append(entry)
            for take, own in found.items():
                claimed = union(entry.frames or NO_FRAMES for entry in own)
                yield cls(
                    shot=shot.code,
                    take=take,
                    entries=numbers_of(own),
                    length=shot.length,
                    beyond=claimed.from_frame(shot.length + 1),
                    inside=(own[0].frames or NO_FRAMES) & shot.frames,
                )

    def in_words(self) -> tuple[str, str]:
        return (
            f"{words.begin(words.frames(self.beyond))} of {words.take(self.shot, self.take)} "
            f"{'is' if self.beyond.count == 1 else 'are'} claimed ({words.numbers(self.entries)}), "
            f"and the shot has {words.counted(self.length, 'frame', grouped=False)}.",
            "Correct the shot's length in the shots table and load it again; or shorten the range: "
            f"credits amend {self.entries[0]} --frames {self.inside.text or 'RANGE'}",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class FramesUnclaimed(_OfTake):
    """The cut uses frames in which nobody animated anything."""

    missing: Frames

    @classmethod
    def find(cls, known: Known) -> Iterator[Self]:
        for (shot, take), used in known.use.used.items() if known.use else ():
            own = known.runs.get((shot, take))
            missing = used - (own.claimed if own is not None else NO_FRAMES)
            if missing:
                yield cls(shot=shot, take=take, missing=missing)

    def in_words(self) -> tuple[str, str]:
        verb = "has" if self.missing.count == 1 else "have"
        place = words.typed(f"{self.shot}/{self.take}")
        frames = self.missing.text if len(self.missing.ranges) <= words.MOST_RANGES else "FRAMES"
        return (
            f"The cut uses {words.frames(self.missing)} of {words.take(self.shot, self.take)}, "
            f"which {verb} no animator.",
            "Where no character is in the picture there is nothing to add; else ask who animated, "
            f"then: credits log animation PERSON CHARACTER {place} {frames}",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class ShotUnfinished(Check):
    """A shot is finished, and nobody animated some of its frames.

    Once there is a cut it says which frames are needed. take: the one that the shot means.
    """

    about = "shot"
    scope = "shot"

    shot: str
    take: int
    missing: Frames

    @classmethod
    def find(cls, known: Known) -> Iterator[Self]:
        ledger = known.ledger
        if ledger.cut is not None:
            return
        takes = chosen_takes(ledger, known.runs)
        for shot in ledger.shots.values():
            if shot.status is not ShotStatus.DONE:
                continue
            take = takes.get(shot.code, 1)
            own = known.runs.get((shot.code, take))
            missing = shot.frames - (own.claimed if own is not None else NO_FRAMES)
            if missing:
                yield cls(shot=shot.code, take=take, missing=missing)

    def in_words(self) -> tuple[str, str]:
        verb = "has" if self.missing.count == 1 else "have"
        place = words.typed(f"{self.shot}/{self.take}")
        frames = self.missing.text if len(self.missing.ranges) <= words.MOST_RANGES else "FRAMES"
        return (
            f"Shot {self.shot} is finished, and {words.frames(self.missing)} of take {self.take} "
            f"{verb} no animator.",
            "Where no character is in the picture there is nothing to add; else ask who animated, "
            f"then: credits log animation PERSON CHARACTER {place} {frames}",
        )


def _shown_by_character(shown: tuple[Replacement, ...], take: int) -> dict[str, Frames]:
    frames: dict[str, list[Frames]] = defaultdict(list)
    for replacement in shown:
        if replacement.take in (None, take):
            frames[replacement.character].append(replacement.frames)
    return {character: union(own) for character, own in frames.items()}


@dataclass(frozen=True, slots=True, kw_only=True)
class ReplacementGap(_OfTake):
    """A face sheet shows nothing in some frames between its first and its last.

    Only kept frames count. A replacement that names no take is in every take that has claims. All
    parts of the character count together: a frame with an eyelid and no mouth is not a gap.
    """

    about = "shot take character"

    character: words.Named
    first: int
    last: int
    gap: Frames

    @classmethod
    def find(cls, known: Known) -> Iterator[Self]:
        for (shot, take), own in known.runs.items():
            replacements = known.ledger.replacements_by_shot.get(shot, ())
            for character, shown in _shown_by_character(replacements, take).items():
                if not shown:
                    continue
                gap = (own.kept_of(character) & Frames.span(shown.first, shown.last)) - shown
                if gap:
                    yield cls(
                        shot=shot,
                        take=take,
                        character=words.character(known.ledger, character),
                        first=shown.first,
                        last=shown.last,
                        gap=gap,
                    )

    def in_words(self) -> tuple[str, str]:
        return (
            f"The face sheet of {self.character} in {words.take(self.shot, self.take)} runs from "
            f"frame {self.first} to {self.last} and shows nothing in {words.frames(self.gap)}.",
            "Ask which replacement was on, add it to the replacements table for these frames, and "
            "load the table again.",
        )


def _of_one_kind(
    ledger: Ledger, shown: Iterable[Replacement]
) -> dict[tuple[str, str], list[Replacement]]:
    """Replacements by their character and the kind of their part."""
    found: dict[tuple[str, str], list[Replacement]] = defaultdict(list)
    for each in shown:
        found[each.character, fold_words(ledger.parts[each.part].kind)].append(each)
    return found


def _seen_together(own: Sequence[Replacement]) -> Iterator[tuple[Range, tuple[str, ...]]]:
    """Frames in which more than one of the parts is seen in one take, with these parts."""
    numbered = {each.take for each in own if each.take is not None}
    takes: set[int | None] = {*numbered} or {None}
    for first, stop, members in common_runs(each.frames for each in own):
        here = [own[member] for member in members]
        for take in takes if len(here) > 1 else ():
            parts = {each.part for each in here if each.take in (None, take)}
            if len(parts) > 1:
                yield (first, stop), tuple(sorted(parts))


@dataclass(frozen=True, slots=True, kw_only=True)
class TwoFaces(Check):
    """A face sheet shows two parts of one kind of one character in one frame.

    kind_of_part: as it is spelled there. parts: those that are ever seen together.
    """

    about = "shot character"
    scope = "shot"

    shot: str
    character: words.Named
    kind_of_part: str
    parts: tuple[str, ...]
    frames: Frames

    @classmethod
    def find(cls, known: Known) -> Iterator[Self]:
        ledger = known.ledger
        for shot, shown in ledger.replacements_by_shot.items():
            for (character, _), own in _of_one_kind(ledger, shown).items():
                found = list(_seen_together(own)) if len(own) > 1 else []
                if found:
                    yield cls(
                        shot=shot,
                        character=words.character(ledger, character),
                        kind_of_part=ledger.parts[own[0].part].kind,
                        parts=tuple(sorted({part for _, parts in found for part in parts})),
                        frames=Frames.of(*(frames for frames, _ in found)),
                    )

    def in_words(self) -> tuple[str, str]:
        verb = "is" if self.frames.count == 1 else "are"
        return (
            f"In {words.frames(self.frames)} of shot {self.shot} {verb} "
            f"{words.counted(len(self.parts), 'part')} of the kind "
            f"{words.in_sentence(self.kind_of_part)} on {self.character} "
            f"({words.some_of(self.parts)}).",
            "Ask which one was on; correct the frames of the other in the replacements table and "
            "load it again.",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class CutShotUnknown(Check):
    """The cut names a shot that the log does not have.

    A clip without a name is no shot. version: that of the cut. first: the film frame of the first.
    """

    of_days = False
    about = "shot"
    severity: Severity = Severity.WRONG

    shot: str
    version: int
    times: int
    first: int

    @classmethod
    def find(cls, known: Known) -> Iterator[Self]:
        cut = known.ledger.cut
        if cut is None:
            return
        named: dict[str, list[int]] = defaultdict(list)
        for clip in cut.clips:
            if clip.shot and clip.shot not in known.ledger.shots:
                named[clip.shot].append(clip.film_first)
        for shot, places in named.items():
            yield cls(shot=shot, version=cut.version, times=len(places), first=min(places))

    def in_words(self) -> tuple[str, str]:
        return (
            f"The cut (version {self.version}) uses shot {self.shot} "
            f"{words.counted(self.times, 'time', grouped=False)}, first at film frame "
            f"{self.first}, and the log has no such shot.",
            "Add it to the shots table and load it; or, if the editors call a known shot by this "
            "name, import the cut again: credits cut FILE --shot-pattern REGEX",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class CutTakeNotAccepted(_OfTake):
    """The cut uses a take that is not accepted.

    accepted: the takes of the shot that are.
    """

    used: Frames
    purpose: Purpose
    decision: Decision
    accepted: tuple[int, ...]

    @classmethod
    def find(cls, known: Known) -> Iterator[Self]:
        ledger = known.ledger
        for (shot, number), used in known.use.used.items() if known.use else ():
            take = ledger.take(shot, number)
            if not used or take.decision is Decision.ACCEPTED:
                continue
            accepted = (t for t in ledger.takes_of.get(shot, ()) if t.decision is Decision.ACCEPTED)
            yield cls(
                shot=shot,
                take=number,
                used=used,
                purpose=take.purpose,
                decision=take.decision,
                accepted=tuple(each.number for each in accepted),
            )

    def in_words(self) -> tuple[str, str]:
        purpose = "" if self.purpose is Purpose.SHOOT else f" a {self.purpose} and"
        decision = "still open" if self.decision is Decision.OPEN else "to be shot again"
        accepted = words.some_of(map(str, self.accepted))
        instead = f"; accepted is take {accepted}" if accepted else ""
        return (
            f"The cut uses {words.frames(self.used)} of {words.take(self.shot, self.take)}, which "
            f"is{purpose} {decision}{instead}.",
            "Ask which take was accepted; set its decision to accepted in the takes table and load "
            "it again, or ask the editors for the accepted take.",
        )


VOICE = "voice"
"""The craft whose entries alone are looked at by character."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NobodyVoices(Check):
    """A character is in the cut, is not marked silent, and has no voice."""

    of_days = False
    about = "character"
    scope = "character"

    character: words.Named

    @classmethod
    def find(cls, known: Known) -> Iterator[Self]:
        ledger = known.ledger
        for code in ledger.characters.keys() & known.compiled.order_of_appearance:
            own = ledger.entries_by_character.get(code, ())
            if not ledger.characters[code].silent and all(e.craft != VOICE for e in own):
                yield cls(character=words.character(ledger, code))

    def in_words(self) -> tuple[str, str]:
        return (
            f"{self.character} is in the cut, and nobody voices this character.",
            "Set silent to yes in the characters table and load it again; or ask who it is, then: "
            f"credits log voice PERSON {words.typed(self.character.code)}",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class OmittedShotWorked(Check):
    """Entries are on a shot that is omitted."""

    about = "shot"
    scope = "shot"

    shot: str
    days: tuple[date, ...]

    @classmethod
    def find(cls, known: Known) -> Iterator[Self]:
        for shot in known.ledger.shots.values():
            own = known.ledger.entries_by_shot.get(shot.code, ())
            if own and shot.status is ShotStatus.OMITTED:
                yield cls(shot=shot.code, entries=numbers_of(own), days=days_of(own))

    def in_words(self) -> tuple[str, str]:
        when = f" {words.days(self.days)}" if self.days else ""
        return (
            f"Shot {self.shot} is omitted, and has {words.entry_count(self.entries)}{when} "
            f"({words.numbers(self.entries)}).",
            "Ask whether the shot is in the film again, and correct its status in the shots "
            f"table; or, if another shot was meant: credits amend {self.entries[-1]} --shot SHOT",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class AmendedTwice(Check):
    """Two corrections of one entry do not know of each other.

    holds: the one that counts.
    """

    about = "entry=line"

    line: EntryNumber
    holds: EntryNumber

    @classmethod
    def find(cls, known: Known) -> Iterator[Self]:
        for fork in known.ledger.forks:
            yield cls(line=fork.line, entries=fork.corrections, holds=fork.holds)

    def in_words(self) -> tuple[str, str]:
        return (
            f"{self.line} was corrected by {words.numbers(self.entries)}, which do not know of "
            f"each other; {self.holds} counts.",
            f"Ask which one is right; if it is not {self.holds}, write it down once more: "
            f"credits amend {self.holds}",
        )
