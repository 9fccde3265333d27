"""From what is seen of a timeline to the clips of the cut: which shot, which of its frames."""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from collections.abc import Iterable

from credits.errors import Finding, Place, ProblemsFound
from credits.formats.cut.clips import CutAsked, CutReading, ShotMeant
from credits.formats.cut.timeline import ClipPiece, Part, Played, Seen, pieces, played
from credits.model.facts import CutClip
from credits.units.film_time import timecode
from credits.units.frames import HIGHEST_FRAME


class FilmReader:
    """Makes the clips of a cut; findings gather while it reads."""

    def __init__(self, file: str, asked: CutAsked) -> None:
        self._file = file
        self._asked = asked
        self._shots: dict[Seen, ShotMeant] = {}
        self._problems: list[Finding] = []
        self._notes: list[Finding] = []

    def read(self, part: Part, notes: Iterable[Finding]) -> CutReading:
        """The clips of the whole film. Clips that name no shot take film time and are told about.

        Raises ProblemsFound when frames cannot be frames of a shot.
        """
        if part.length > HIGHEST_FRAME:
            what = f"is {part.length} frames long"
            raise ProblemsFound(Finding(what, "", Place(self._file)))
        film = pieces(part, lambda _: True)
        below: list[ClipPiece] = []  # the film as it were without the clips that name no shot
        if not all(self._meant(piece.clip).known for piece in film):
            below = pieces(part, lambda clip: self._meant(clip).known)
        clips: list[CutClip] = []
        told: set[Seen] = set()
        for piece in film:
            meant, tell = self._meant(piece.clip), piece.clip not in told
            told.add(piece.clip)
            if tell and not meant.known and not piece.clip.black:
                self._not_understood(piece, meant, below)
            if not (meant.known or meant.said):
                continue
            stretches = self._stretches(piece)
            if self._possible(piece, meant, stretches, tell):
                at = piece.at + 1
                for shown, first, last, speed in stretches:
                    order = len(clips) + 1
                    clips.append(
                        CutClip(
                            order=order,
                            film_first=at,
                            shown=shown,
                            shot=meant.shot,
                            take=meant.take,
                            source_first=first,
                            source_last=last,
                            speed=speed,
                        )
                    )
                    at += shown
        if self._problems:
            raise ProblemsFound(*self._problems)
        return CutReading.of(self._file, clips, part.length, [*self._notes, *notes])

    def _meant(self, clip: Seen) -> ShotMeant:
        if clip not in self._shots:
            self._shots[clip] = self._asked.shots.of_clip(clip.said, clip.names, clip.take)
        return self._shots[clip]

    def _stretches(self, piece: ClipPiece) -> list[Played]:
        """The piece in shot frames, at one speed each."""
        clip, steps = piece.clip, piece.steps
        base = clip.media_first if clip.media_first is not None else self._asked.first_frame
        if isinstance(steps, range) and (steps.start * clip.speed).denominator == 1:
            first, last = sorted(clip.frame(step) + 1 - base for step in (steps[0], steps[-1]))
            return [Played(len(steps), first, last, clip.speed)]
        return played([clip.frame(step) + 1 - base for step in steps], clip.speed)

    def _finding(self, clip: Seen, what: str, hint: str) -> Finding:
        name = clip.name or next(iter(clip.names), "")  # what people know it by, else its reel
        return Finding(what, hint, Place(self._file, clip.row), "clip", name)

    def _where(self, piece: ClipPiece) -> str:
        return f"at {timecode(piece.at, self._asked.rate)} of the film"

    def _not_understood(self, piece: ClipPiece, meant: ShotMeant, below: list[ClipPiece]) -> None:
        what = f"{self._where(piece)}, {len(piece.steps)} frames: names no shot of the log"
        hint = meant.hint
        if meant.several:
            what = f"{self._where(piece)}: names several shots ({', '.join(meant.several)})"
            hint = "Say which one is meant with --shot-pattern."
        hidden: Counter[str] = Counter()
        for under in below[bisect_right(below, piece.at, key=lambda p: p.stop) :]:
            common = min(under.stop, piece.stop) - max(under.at, piece.at)
            if common <= 0:
                break
            hidden[self._meant(under.clip).shot] += common
        if hidden:
            shots = ", ".join(f"{n} frames of {shot}" for shot, n in hidden.items())
            hint = f"It lies over {shots}; if they are seen, switch it off in the timeline."
        self._notes.append(self._finding(piece.clip, what, hint))

    def _possible(
        self, piece: ClipPiece, meant: ShotMeant, stretches: list[Played], tell: bool
    ) -> bool:
        """Whether these can be frames of the shot; what is beyond its length is only told."""
        clip = piece.clip
        first = min(s.first for s in stretches)
        last = max(s.last for s in stretches)
        what = f"{self._where(piece)}: shows frames {first} to {last} of shot {meant.shot}"
        possible = first >= 1 and last <= HIGHEST_FRAME
        if not possible and meant.known and tell:
            hint = self._number_meant(clip, first)
            self._problems.append(self._finding(clip, what, hint))
        length = self._asked.shots.lengths.get(meant.shot)
        if possible and length is not None and last > length and tell:
            hint = "Is the shot's length right"
            hint += "?" if clip.media_first is not None else ", or --first-frame?"
            self._notes.append(self._finding(clip, f"{what}, which has {length}", hint))
        return possible

    def _number_meant(self, clip: Seen, first: int) -> str:
        if clip.media_first is not None:
            return f"The first frame of its media is {clip.media_first}; correct that, or the clip."
        lowest = first + self._asked.first_frame - 1
        return (
            f"Its first frame is {lowest} in the file: say with --first-frame which number frame 1 "
            "of a shot has there."
        )
