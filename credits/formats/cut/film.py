"""From what is seen of a timeline to the clips of the cut: which shot, which of its frames."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import replace

from credits.errors import Finding, Place, ProblemsFound
from credits.formats.cut.clips import CutAsked, CutRead, ShotMeant
from credits.formats.cut.timeline import ClipPiece, Part, Played, Seen, pieces, played
from credits.model.facts import CutClip
from credits.units.film_time import timecode
from credits.units.frames import HIGHEST_FRAME


class FilmReader:
    """Makes the clips of a cut; findings gather while it reads."""

    def __init__(self, file: str, asked: CutAsked) -> None:
        self._file = file
        self._asked = asked
        self._known: dict[int, ShotMeant] = {}
        self._problems: list[Finding] = []
        self._notes: list[Finding] = []

    def read(self, part: Part, notes: tuple[Finding, ...]) -> CutRead:
        """The clips of the whole film. Clips that name no shot take film time and are told about.

        Raises ProblemsFound when frames cannot be frames of a shot.
        """
        if part.length > HIGHEST_FRAME:
            what = f"is {part.length} frames long"
            raise ProblemsFound(Finding(what, "", Place(self._file)))
        film = pieces(part, lambda _: True)
        below = self._hidden(part, film)
        clips: list[CutClip] = []
        told: set[int] = set()
        for piece in film:
            clip = piece.clip
            meant = self._meant(clip)
            first_time = clip.number not in told
            told.add(clip.number)
            if not meant.known and first_time and not clip.black:
                self._not_understood(piece, meant, below)
            if not (meant.known or meant.said):
                continue
            stretches = list(self._stretches(piece))
            if self._possible(piece, meant, stretches, tell=first_time):
                at = piece.at + 1
                for s in stretches:
                    clips.append(
                        CutClip(
                            order=len(clips) + 1,
                            film_first=at,
                            shown=s.shown,
                            shot=meant.shot,
                            take=meant.take,
                            source_first=s.first,
                            source_last=s.last,
                            speed=s.speed,
                        )
                    )
                    at += s.shown
        if self._problems:
            raise ProblemsFound(*self._problems)
        return CutRead(tuple(clips), part.length, (*self._notes, *notes))

    def _meant(self, clip: Seen) -> ShotMeant:
        if clip.number not in self._known:
            meant = self._asked.shots.of_clip(clip.said, clip.names, clip.take)
            self._known[clip.number] = meant
        return self._known[clip.number]

    def _hidden(self, part: Part, film: list[ClipPiece]) -> list[ClipPiece]:
        """The film as it were without the clips that name no shot; empty when all name one."""
        if all(self._meant(piece.clip).known for piece in film):
            return []
        return pieces(part, lambda clip: self._meant(clip).known)

    def _stretches(self, piece: ClipPiece) -> Iterator[Played]:
        """The piece in shot frames, at one speed each."""
        clip = piece.clip
        base = clip.media_first if clip.media_first is not None else self._asked.first_frame
        moved = 1 - base
        steps = piece.steps
        if isinstance(steps, range) and (steps.start * clip.speed).denominator == 1:
            ends = sorted((clip.frame(steps[0]) + moved, clip.frame(steps[-1]) + moved))
            yield Played(len(steps), ends[0], ends[1], clip.speed)
            return
        yield from (
            replace(s, first=s.first + moved, last=s.last + moved)
            for s in played([clip.frame(step) for step in steps], clip.speed)
        )

    def _finding(self, clip: Seen, what: str, hint: str) -> Finding:
        return Finding(what, hint, Place(self._file, clip.row), "clip", clip.shown_name)

    def _where(self, piece: ClipPiece) -> str:
        return f"at {timecode(piece.at, self._asked.rate)} of the film"

    def _not_understood(self, piece: ClipPiece, meant: ShotMeant, below: list[ClipPiece]) -> None:
        what = f"{self._where(piece)}, {len(piece.steps)} frames: names no shot of the log"
        hint = f"Is it {meant.like}?" if meant.like else "A title or a slug may stay as it is."
        if meant.several:
            what = f"{self._where(piece)}: names several shots ({', '.join(meant.several)})"
            hint = "Say which one is meant with --shot-pattern."
        hidden: dict[str, int] = {}
        for under in below[bisect_right(below, piece.at, key=lambda p: p.stop) :]:
            common = min(under.stop, piece.stop) - max(under.at, piece.at)
            if common <= 0:
                break
            shot = self._meant(under.clip).shot
            hidden[shot] = hidden.get(shot, 0) + common
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
        if first < 1 or last > HIGHEST_FRAME:
            if meant.known and tell:
                hint = self._number_meant(piece, first)
                self._problems.append(self._finding(clip, what, hint))
            return False
        length = self._asked.shots.length(meant.shot)
        if length is not None and last > length and tell:
            hint = "Is the shot's length right"
            hint += "?" if clip.media_first is not None else ", or --first-frame?"
            what = f"{what}, which has {length}"
            self._notes.append(self._finding(clip, what, hint))
        return True

    def _number_meant(self, piece: ClipPiece, first: int) -> str:
        clip = piece.clip
        if clip.media_first is not None:
            return f"The first frame of its media is {clip.media_first}; correct that, or the clip."
        lowest = first + self._asked.first_frame - 1
        return (
            f"Its first frame is {lowest} in the file: say with --first-frame which number frame 1 "
            "of a shot has there."
        )
