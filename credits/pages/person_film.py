"""Where frames of shots are seen in the film. Made once for a site: many people share the same
shots, so each question is answered once."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from credits.pages.source import PageSource
from credits.units.film_time import clock
from credits.units.frames import Frames, Range


class FilmPlaces:
    """The places of frames in the current cut; without a cut, nothing is anywhere."""

    def __init__(self, source: PageSource) -> None:
        self._use = source.results.use
        self._rate = source.ledger.production.rate
        self._takes: dict[str, list[int]] = defaultdict(list)
        for shot, take in self._use.used if self._use is not None else ():
            self._takes[shot].append(take)
        self._known: dict[tuple[str, int | None, tuple[Range, ...]], tuple[Range, ...]] = {}
        self._clocks: dict[int, str] = {}

    def spans(self, shot: str, take: int | None, frames: Frames) -> tuple[Range, ...]:
        """Half-open film frames, from 1, in film order; take None: of whichever take is used."""
        key = (shot, take, frames.ranges)
        known = self._known.get(key)
        if known is None:
            known = self._known[key] = tuple(sorted(self._spans(shot, take, frames)))
        return known

    def _spans(self, shot: str, take: int | None, frames: Frames) -> Iterable[Range]:
        if self._use is not None:
            for one in [take] if take is not None else self._takes.get(shot, ()):
                yield from self._use.film_spans(shot, one, frames)

    def clock(self, frame: int) -> str:
        """The running time of the film before a film frame, from 1: ``0:42``."""
        known = self._clocks.get(frame)
        if known is None:
            known = self._clocks[frame] = clock(frame - 1, self._rate)
        return known
