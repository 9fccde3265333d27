"""Marks: a thing has another mark as soon as anything that its page may be made of is another.

A mark is a digest of which lines of the log say, now, what was done on the thing and on whatever
is seen with it. A line never changes, so its place in the log stands for all it says; what tables,
the cut, the plan and the program say is the same for all marks of a site. A mark that changes too
often costs time; one that changed too seldom would leave a page wrong.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import date
from functools import cached_property
from hashlib import blake2b
from operator import add

from credits.figures.snapshot import Snapshot
from credits.hands.hands import Via, target_of
from credits.model.facts import Kind
from credits.model.ledger import performs
from credits.store.kept import FiguresFile
from credits.units.film_time import week_days

Group = tuple[str, str]
"""Entries by what they have in common: a word for it, and the code."""
_NAMED = ("craft", "person", "character", "puppet", "part", "shot")
_SEEN_IN = ("person", "character", "puppet")
_BUILT = ("part", "puppet", "character")
Sum = tuple[int, ...]
"""How many entries, and sums of their places: other entries, or other lines that say them, have
others."""


class Marks:
    """The marks of everything that has a page."""

    def __init__(self, results: Snapshot, file: FiguresFile) -> None:
        self._results = results
        self._file = file
        self._ledger = results.ledger
        self._of: dict[str, Callable[[str], Iterable[Group]]] = {
            "shot": self._shot,
            "person": self._person,
            "character": self._character,
            "replacements": self._replacements,
            "puppet": self._puppet,
            "week": self._week,
            "sequence": self._sequence,
            "craft": lambda code: [("craft", code)],
        }

    def of(self, kind: str, code: str, *also: object) -> str:
        """Return the mark of a thing: a shot, a sequence, a person, a character, its replacements,
        a puppet, a week or a craft.

        also: what else its page is made of, beside the entries of the log.
        """
        sums = self._sums
        groups = sorted(set(self._of[kind](code)))
        said: list[object] = [(group, sums.get(group, 0)) for group in groups]
        if kind == "person":
            said.append((self._frames.get(code), self._results.ways.mark(code)))
        digest = blake2b(digest_size=16)
        digest.update(repr((kind, code, said, also)).encode("utf-8", "replace"))
        return digest.hexdigest()

    # -- the entries of each group, as one number -------------------------------------------------

    @cached_property
    def _sums(self) -> dict[Group, Sum]:
        """The entries of each group, as numbers."""
        sums: defaultdict[Group, Sum] = defaultdict(lambda: (0, 0, 0, 0))
        for name in (*_NAMED, "day"):
            for code, *own in self._file.entry_sums((name,)):
                sums[name, code] = tuple(own)
        crafts = self._ledger.crafts.values()
        built = [craft.code for craft in crafts if craft.kind is Kind.BUILD]
        for *named, in_all, records, lines, both in self._file.entry_sums(_BUILT, built):
            target = target_of(*named)
            if target is not None:
                before = sums[_made(*target)]
                numbers = (in_all, records, lines, both)
                sums[_made(*target)] = tuple(map(add, before, numbers))
        roles = [craft.code for craft in crafts if performs(craft)]
        for character, *own in self._file.entry_sums(("character",), roles, wide=True):
            sums["role", character] = tuple(own)
        return sums

    @cached_property
    def _shots(self) -> Mapping[Group, set[str]]:
        """The shots that entries name together with a day, a person, a character, a puppet. Who
        animated is not asked here."""
        shots: defaultdict[Group, set[str]] = defaultdict(set)
        footage = [craft.code for craft in self._ledger.crafts.values() if craft.footage]
        for name in ("day", *_SEEN_IN):
            for code, shot in self._file.in_shots(name, footage if name == "person" else ()):
                shots[name, code].add(shot)
        return shots

    @cached_property
    def _within(self) -> Mapping[str, set[Group]]:
        """What entries name together with each shot."""
        within: defaultdict[str, set[Group]] = defaultdict(set)
        for group, shots in self._shots.items():
            for shot in shots:
                within[shot].add(group)
        return within

    @cached_property
    def _frames(self) -> dict[str, int]:
        """The footage of each person, and the frames that they animated, as one number."""
        frames: defaultdict[str, int] = defaultdict(int)
        for cell in self._results.footage.cells:
            frames[cell.person] += _number(repr((*cell,)))
        for person, every in self._results.animated.items():
            for own in every:
                frames[person] += _number(repr((*own,)))
        return frames

    def _filmed(self, group: Group) -> Iterable[Group]:
        """Return the shots that entries of a group name: what is kept of it depends on all that
        was done there."""
        return [("shot", shot) for shot in self._shots.get(group, ())]

    # -- what each page is made of ----------------------------------------------------------------

    def _shot(self, code: str) -> Iterator[Group]:
        """A shot: what was done there, and what was made of and played by whatever is seen."""
        yield "shot", code
        shown = self._ledger.replacements_by_shot.get(code, ())
        seen = self._within.get(code, set())
        characters = {name for kind, name in seen if kind == "character"}
        for character in characters.union(one.character for one in shown):
            yield "role", character
            yield _made(Via.CHARACTER, character)
        for puppet in (name for kind, name in seen if kind == "puppet"):
            yield _made(Via.PUPPET, puppet)
            for fitting in self._ledger.fittings_of_puppet.get(puppet, ()):
                yield _made(Via.PART, fitting.part)
        for one in shown:
            yield _made(Via.PART, one.part)

    def _sequence(self, code: str) -> Iterator[Group]:
        """A sequence: all that its shots are made of."""
        for shot in self._ledger.shots_of.get(code, ()):
            yield from self._shot(shot)

    def _person(self, code: str) -> Iterator[Group]:
        """A person: their work, and the shots that they performed in otherwise than frame by frame.
        Which frames they animated, and where else their work is seen, is asked for itself."""
        yield "person", code
        yield from self._filmed(("person", code))

    def _character(self, code: str) -> Iterator[Group]:
        """A character: the work on it, on its copies and parts, and its shots."""
        ledger = self._ledger
        yield "character", code
        yield from (("puppet", puppet) for puppet in ledger.puppets_of.get(code, ()))
        yield from (("part", part.code) for part in ledger.parts.values() if part.character == code)
        yield from self._filmed(("character", code))

    def _replacements(self, code: str) -> Iterator[Group]:
        """The replacements of a character: who made them, and the shots that show them."""
        for one in self._ledger.replacements:
            if one.character == code:
                yield "part", one.part
                yield "shot", one.shot

    def _puppet(self, code: str) -> Iterator[Group]:
        """A puppet: the work on it, on its parts and on every copy, and its shots."""
        yield "puppet", code
        yield _made(Via.CHARACTER, self._ledger.puppets[code].character)
        for fitting in self._ledger.fittings_of_puppet.get(code, ()):
            yield "part", fitting.part
        yield from self._filmed(("puppet", code))

    def _week(self, code: str) -> Iterator[Group]:
        """A week: the work of its days, and the shots in which it is kept."""
        for day in map(date.isoformat, week_days(code)):
            yield "day", day
            yield from self._filmed(("day", day))


def _number(said: str) -> int:
    """Return a number that stands for what is said; the sum of some stands for them all."""
    digest = blake2b(said.encode("utf-8", "replace"), digest_size=8)
    return int.from_bytes(digest.digest(), "big")


def _made(via: Via, code: str) -> Group:
    return f"made {via}", code
