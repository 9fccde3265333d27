"""The show reel of a person: what the cut shows of their work, as timeline and edit list."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from credits.formats.cut.edl_out import cut_to_edl
from credits.formats.cut.otio import cut_to_otio
from credits.formats.cut.reel import Reel, Work, reel_of
from credits.hands.hands import together
from credits.site.source import PageSource
from credits.units.film_time import timecode
from credits.units.frames import Frames

Shown = tuple[str, int | None, Frames]
"""A shot, a take (None: every take), and frames in it."""


def _work(shown: Iterable[Shown]) -> Work:
    found: dict[tuple[str, int | None], list[Frames]] = defaultdict(list)
    for shot, take, frames in shown:
        found[shot, take].append(frames)
    return {at: together(own) for at, own in found.items()}


class ReelFiles:
    """The files of the reel of one person, whose work in shots is known."""

    def __init__(self, source: PageSource, person: str, shown: Iterable[Shown]) -> None:
        use = source.results.use
        if use is None:
            raise ValueError("there is no cut")
        self._source = source
        name = source.ledger.people[person].credit_name
        self._name = f"{source.ledger.production.title}, cut version {use.cut.version}: {name}"
        self._reel: Reel = reel_of(use, _work(shown), self._name)

    def otio(self) -> bytes:
        """Return the reel as an OpenTimelineIO timeline."""
        return cut_to_otio(self._reel.cut, self._source.ledger, self._name, 0).encode()

    def edl(self) -> bytes:
        """Return the reel as an edit list; a comment says where the film has each clip."""
        rate = self._source.ledger.production.rate
        places = zip(self._reel.cut.clips, self._reel.film_firsts, strict=True)
        notes = [
            f"TAKE {clip.take}, IN THE FILM AT {timecode(first - 1, rate)}"
            for clip, first in places
        ]
        return cut_to_edl(self._reel.cut, rate, self._name, notes).encode("utf-8", "replace")
