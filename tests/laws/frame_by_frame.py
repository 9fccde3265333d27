"""The rules again, read frame by frame: a slow second reading to compare the computation with.

Written from the rules alone with dictionaries and fractions. It takes the log as written and uses
nothing of the product but the shape of what is written there. Every frame of every entry is looked
at by itself. Undated is ``NEVER``, earlier than every day.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from math import floor

from credits.model.facts import Craft, Decision, Kind, Purpose, Take, Work
from credits.model.log import LogLine, Verb, WrittenLog

NEVER = date.min
Measured = dict[str, Fraction]


@dataclass
class Said:
    """One entry that counts, with what it implies."""

    line: LogLine
    craft: Craft
    person: str
    character: str | None
    puppet: str | None
    part: str | None
    sequence: str | None
    shot: str | None
    take: int | None
    frames: frozenset[int]
    day: date
    share: Fraction


@dataclass
class Day:
    """Who claimed a character in one frame on one day, and what they named."""

    shares: dict[str, Fraction] = field(default_factory=dict)
    crafts: set[tuple[str, str]] = field(default_factory=set)
    puppets: set[str] = field(default_factory=set)

    def portions(self) -> dict[str, Fraction]:
        total = sum(self.shares.values(), Fraction(0))
        return {person: share / total for person, share in self.shares.items()}


def same_person(log: WrittenLog, code: str) -> str:
    """The code at the end of ``same_as``; in a circle, its first code."""
    points = {person.code: person.same_as for person in log.people}
    walked: list[str] = []
    while code not in walked:
        walked.append(code)
        following = points.get(code)
        if following is None:
            return code
        code = following
    return min(walked[walked.index(code) :])


def work_that_counts(log: WrittenLog, line: LogLine) -> LogLine | None:
    """The line that says this one now, or None when it is void."""
    corrections = [other for other in log.lines if other.corrects == line.number]
    if any(other.verb is Verb.VOID for other in corrections):
        return None
    if not corrections:
        return line
    known = [(other, work_that_counts(log, other)) for other in corrections]
    standing = [(other, says) for other, says in known if says is not None]
    if not standing:
        return None
    return max(standing, key=lambda pair: (pair[0].logged_at, pair[0].number))[1]


def character_of(log: WrittenLog, work: Work) -> str | None:
    """The character that the work names, or else implies by the puppet, or else by the part."""
    if work.character:
        return work.character
    for puppet in log.puppets:
        if puppet.code == work.puppet:
            return puppet.character
    return next((part.character for part in log.parts if part.code == work.part), None)


def entry_of(log: WrittenLog, line: LogLine) -> Said:
    """The entry with everything it implies filled in."""
    work = line.work
    assert work is not None
    craft = next(craft for craft in log.crafts if craft.code == work.craft)
    character, puppet, take = character_of(log, work), work.puppet, work.take
    copies = [other.code for other in log.puppets if other.character == character]
    if puppet is None and craft.kind is Kind.PERFORMANCE and len(copies) == 1:
        puppet = copies[0]
    frames: set[int] = set()
    if work.shot is not None:
        length = next(shot.length for shot in log.shots if shot.code == work.shot)
        if work.frames is None:
            frames = set(range(1, length + 1))
        else:
            frames = {frame for first, stop in work.frames.ranges for frame in range(first, stop)}
        if craft.footage and take is None:
            take = 1
    return Said(
        line=line,
        craft=craft,
        person=same_person(log, work.person),
        character=character,
        puppet=puppet,
        part=work.part,
        sequence=work.sequence,
        shot=work.shot,
        take=take,
        frames=frozenset(frames),
        day=work.finished_on or work.started_on or NEVER,
        share=work.share or Fraction(1),
    )


def entries_that_count(log: WrittenLog) -> list[Said]:
    """The current view of the log."""
    lines = (work_that_counts(log, line) for line in log.lines if line.verb is Verb.RECORD)
    return [entry_of(log, line) for line in lines if line is not None]


class FrameByFrame:
    """A production, every frame of it."""

    def __init__(self, log: WrittenLog) -> None:
        self.log = log
        self.entries = entries_that_count(log)
        # (shot, take) -> frame -> character -> day -> who
        self.claimed: dict[tuple[str, int], dict[int, dict[str, dict[date, Day]]]] = {}
        for entry in self.entries:
            self._claim(entry)
        self.film = dict(self._film())
        self.shown = Counter(self.film.values())

    def take(self, shot: str, number: int) -> Take:
        known = {(take.shot, take.number): take for take in self.log.takes}
        return known.get((shot, number), Take(shot=shot, number=number))

    def _claim(self, entry: Said) -> None:
        if not entry.craft.footage or entry.character is None:
            return
        if entry.shot is None or entry.take is None:
            return
        if self.take(entry.shot, entry.take).purpose is not Purpose.SHOOT:
            return
        frames = self.claimed.setdefault((entry.shot, entry.take), {})
        for frame in entry.frames:
            days = frames.setdefault(frame, {}).setdefault(entry.character, {})
            day = days.setdefault(entry.day, Day())
            known = day.shares.get(entry.person, entry.share)
            day.shares[entry.person] = max(known, entry.share)
            day.crafts.add((entry.person, entry.craft.code))
            if entry.puppet is not None:
                day.puppets.add(entry.puppet)

    # -- the cut ---------------------------------------------------------------------------------

    def chosen_take(self, shot: str) -> int | None:
        """The take that the cut means where it names none."""
        accepted = [
            (take.decided_on or NEVER, take.number)
            for take in self.log.takes
            if take.shot == shot
            and take.purpose is Purpose.SHOOT
            and take.decision is Decision.ACCEPTED
        ]
        if accepted:
            return sorted(accepted)[-1][1]
        return max((take for at, take in self.claimed if at == shot), default=None)

    def _film(self) -> Iterator[tuple[int, tuple[str, int, int]]]:
        """Film frame -> the shot, take and frame that it shows."""
        shots = {shot.code for shot in self.log.shots}
        for clip in self.log.cut.clips if self.log.cut is not None else ():
            take = clip.take or self.chosen_take(clip.shot)
            if clip.shot not in shots or take is None:
                continue
            for step in range(clip.shown):
                moved = floor(abs(clip.speed) * step)
                frame = clip.source_last - moved if clip.speed < 0 else clip.source_first + moved
                yield clip.film_first + step, (clip.shot, take, frame)

    # -- footage ---------------------------------------------------------------------------------

    def footage(self) -> dict[tuple[str, str, int, str, date], tuple[Measured, Measured]]:
        """By person, shot, take, character and day: character footage and shot footage."""
        found: dict[tuple[str, str, int, str, date], tuple[Measured, Measured]] = defaultdict(
            lambda: (defaultdict(Fraction), defaultdict(Fraction))
        )
        for (shot, take), frames in self.claimed.items():
            accepted = self.take(shot, take).decision is Decision.ACCEPTED
            for frame, characters in frames.items():
                times = self.shown[shot, take, frame]
                counts = {"kept": 1, "accepted": int(accepted), "cut": min(times, 1)}
                counts["screen"] = times
                for character, days in characters.items():
                    for day, who in days.items():
                        that_day = sum(day in other for other in characters.values())
                        for person, portion in who.portions().items():
                            own, by_shot = found[person, shot, take, character, day]
                            own["shot"] += portion
                            by_shot["shot"] += portion / that_day
                            if day != max(days):
                                continue
                            for measure, times_counted in counts.items():
                                own[measure] += portion * times_counted
                                by_shot[measure] += portion * times_counted / len(characters)
        return dict(found)

    def appearance(self) -> list[tuple[str, int]]:
        """Characters with the first film frame in which they have a kept claim, in that order."""
        first: dict[str, int] = {}
        for at, (shot, take, frame) in sorted(self.film.items()):
            for character in self.claimed.get((shot, take), {}).get(frame, {}):
                first.setdefault(character, at)
        return sorted(first.items(), key=lambda item: (item[1], item[0]))
