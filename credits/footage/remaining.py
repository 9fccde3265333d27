"""What is still to shoot: the frames that the film wants, and how far each of them is.

The film wants the frames that the cut uses; before there is a cut, all frames of every shot that
was not omitted. A frame of a take counts once, however often the cut shows it. Cost follows the
entries of the shots that lack something, never frames.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Container, Hashable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import TypeVar

from credits.footage.cut import CutUse, KeptFrames
from credits.model.facts import Decision, EntryNumber, ShotStatus
from credits.model.ledger import Ledger
from credits.units.frames import NO_FRAMES, Frames, union

K = TypeVar("K", bound=Hashable)
TakeKey = tuple[str, int]
"""A shot and the number of a take."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WantedFrames:
    """WantedFrames frames, and how far they are; each frame is in one of the five.

    accepted: kept in an accepted take. open: kept in a take that is not decided. again: kept in a
    take that is marked a retake, so to be shot again. unshot: nobody has animated them.
    unlogged: those of the last two kinds where the shot is marked finished, so not to be shot.
    """

    accepted: int = 0
    open: int = 0
    again: int = 0
    unshot: int = 0
    unlogged: int = 0

    @property
    def frames(self) -> int:
        """Return how many frames are wanted."""
        return self.accepted + self.open + self.again + self.unshot + self.unlogged

    @property
    def to_shoot(self) -> int:
        """Return how many frames are still to shoot: those never shot, and retakes."""
        return self.again + self.unshot


NOTHING_WANTED = WantedFrames()


def wanted_together(parts: Iterable[WantedFrames]) -> WantedFrames:
    """Return the sum of wanted frames of different takes."""
    own = tuple(parts)
    return WantedFrames(
        accepted=sum(part.accepted for part in own),
        open=sum(part.open for part in own),
        again=sum(part.again for part in own),
        unshot=sum(part.unshot for part in own),
        unlogged=sum(part.unlogged for part in own),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class ShotRemaining:
    """The wanted frames of one shot.

    characters: those that the log names in the shot, by animation, other work on it or its face
    sheet, in the order of their table. stage: where the shot was worked on last; None: on none yet.
    Both are looked up only of a shot with frames to shoot.
    """

    shot: str
    sequence: str
    wanted: WantedFrames
    characters: tuple[str, ...] = ()
    stage: str | None = None


def wanted_frames(
    ledger: Ledger, use: CutUse | None, takes: Mapping[str, int]
) -> dict[TakeKey, Frames]:
    """Return which frames of which takes the film wants, in the order of the shots.

    takes: the take that each shot means; a shot with nothing to show means its first.
    """
    if use is not None:
        by_shot: dict[str, list[TakeKey]] = defaultdict(list)
        for key in use.used:
            by_shot[key[0]].append(key)
        return {key: use.used[key] for shot in ledger.shots for key in sorted(by_shot[shot])}
    return {
        (code, takes.get(code, 1)): shot.frames
        for code, shot in ledger.shots.items()
        if shot.status is not ShotStatus.OMITTED
    }


def _of_take(frames: Frames, kept: Frames, decision: Decision, is_finished: bool) -> WantedFrames:
    """Part the wanted frames of a take by how far they are."""
    shot = frames.shared_with(kept)
    unshot = frames.count - shot
    if decision is Decision.ACCEPTED:
        found = WantedFrames(accepted=shot, unshot=unshot)
    elif decision is Decision.RETAKE:
        found = WantedFrames(again=shot, unshot=unshot)
    else:
        found = WantedFrames(open=shot, unshot=unshot)
    if not is_finished:
        return found
    return WantedFrames(accepted=found.accepted, open=found.open, unlogged=found.to_shoot)


def kept_by_take(wanted: Container[TakeKey], kept: Iterable[KeptFrames]) -> dict[TakeKey, Frames]:
    """Return the frames of each wanted take in which any character is kept."""
    claimed: dict[TakeKey, list[Frames]] = defaultdict(list)
    for shot, take, _, frames in kept:
        if (shot, take) in wanted:
            claimed[shot, take].append(frames)
    return {key: union(sets) for key, sets in claimed.items()}


def wanted_by_shot(
    ledger: Ledger, wanted: Mapping[TakeKey, Frames], kept: Mapping[TakeKey, Frames]
) -> dict[str, WantedFrames]:
    """Return how far the wanted frames of each shot are, shots in the order of their table."""
    parts: dict[str, list[WantedFrames]] = defaultdict(list)
    for (code, take), frames in wanted.items():
        decision = ledger.take(code, take).decision
        is_finished = ledger.shots[code].status is ShotStatus.DONE
        kept_frames = kept.get((code, take), NO_FRAMES)
        parts[code].append(_of_take(frames, kept_frames, decision, is_finished))
    return {code: wanted_together(own) for code, own in parts.items()}


def _of_shot(ledger: Ledger, shot: str) -> tuple[tuple[str, ...], str | None]:
    """Return the characters of a shot and the stage of its latest work; undated is earliest."""
    named = {one.character for one in ledger.replacements_by_shot.get(shot, ())}
    latest: tuple[tuple[date, EntryNumber], str] | None = None
    for entry in ledger.entries_by_shot.get(shot, ()):
        if entry.character is not None:
            named.add(entry.character)
        if entry.stage is not None:
            when = (entry.day or date.min, entry.first)
            latest = max(latest or (when, entry.stage), (when, entry.stage))
    characters = tuple(code for code in ledger.characters if code in named)
    return characters, latest[1] if latest is not None else None


def shots_remaining(
    ledger: Ledger, wanted: Mapping[TakeKey, Frames], kept: Iterable[KeptFrames]
) -> tuple[ShotRemaining, ...]:
    """Return how far the wanted frames of each shot are, shots in the order of their table.

    wanted: as ``wanted_frames``. kept: the frames of every character in these takes; others are
    passed over.
    """
    found = []
    for code, together in wanted_by_shot(ledger, wanted, kept_by_take(wanted, kept)).items():
        characters, stage = _of_shot(ledger, code) if together.to_shoot else ((), None)
        sequence = ledger.shots[code].sequence
        found.append(
            ShotRemaining(
                shot=code, sequence=sequence, wanted=together, characters=characters, stage=stage
            )
        )
    return tuple(found)


@dataclass(frozen=True, slots=True)
class ToShoot:
    """Frames that are still to shoot, and in how many shots."""

    frames: int
    shots: int


def to_shoot_by(
    shots: Iterable[ShotRemaining], keys: Callable[[ShotRemaining], Iterable[K]]
) -> dict[K, ToShoot]:
    """Sum what is still to shoot by the keys of each shot, in order of first appearance.

    A frame counts once with each key of its shot, so where shots have several the sums are more
    than the whole.
    """
    frames: dict[K, int] = defaultdict(int)
    counts: dict[K, int] = defaultdict(int)
    for shot in shots:
        if shot.wanted.to_shoot:
            for key in keys(shot):
                frames[key] += shot.wanted.to_shoot
                counts[key] += 1
    return {key: ToShoot(frames[key], counts[key]) for key in frames}


def characters_or_none(shot: ShotRemaining) -> tuple[str | None, ...]:
    """Return the characters of a shot; None alone where the log names none yet."""
    return shot.characters or (None,)
