"""Clips of a cut: what a reader gives, which shot each means, where each stands in the film."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import NamedTuple
from urllib.parse import unquote

from credits.errors import Finding, Place, ProblemsFound
from credits.formats.cut.timeline import ClipPiece, Part, Played, Seen, frame_at, pieces, played
from credits.formats.tables.cells import HIGHEST_NUMBER, Unreadable
from credits.formats.tables.cells import name as name_of
from credits.formats.tables.columns import Codes
from credits.model.facts import Cut, CutClip
from credits.model.log import WrittenLog
from credits.text import fold_code, nearest
from credits.units.film_time import timecode
from credits.units.frames import HIGHEST_FRAME

LONGEST_SEARCHED = 400
MOST_COMPARED = 1_500_000
"""Codes that words of names are compared with, to find one that is like them."""
MOST_TRIED = 6
"""Places in a name at which a code like it is looked for."""
MOST_ONE_BY_ONE = 100_000
"""Frames of clips at another speed that begin between two: they are gone through one by one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ShotMeant:
    """The shot as the log spells it, or as the cut writes it when the log does not have it.

    ``said``: the cut says that this is a shot (by its key or the pattern), it is not only a name
    that was looked through. ``several``: shots that the name holds, when it holds more than one.
    """

    shot: str
    take: int | None
    known: bool
    like: str | None = None
    said: bool = True
    several: tuple[str, ...] = ()

    @property
    def hint(self) -> str:
        """What may be done about a shot that the log does not have."""
        if self.several:
            return f"Is it {' or '.join(self.several)}?"
        return f"Is it {self.like}?" if self.like else "A title or a slug may stay as it is."

    def clip(self, order: int, at: int, stretch: Played) -> CutClip:
        """Return the clip that shows the stretch of this shot from film frame ``at`` on."""
        own = stretch._asdict()
        return CutClip(order=order, film_first=at, shot=self.shot, take=self.take, **own)


def lowest_frame(clip: CutClip) -> int:
    """Return the lowest frame of the shot that a clip shows, where it runs backwards too."""
    if clip.speed < 0:
        return clip.source_last - frame_at(0, clip.shown, clip.speed, 0)
    return clip.source_first


class CutShots:
    """Finds shots in what a cut calls them. ``lengths``: how many frames each shot has.

    pattern: a regular expression with a group ``shot`` and perhaps a group ``take``; raises
    ProblemsFound when it is none. first_frame: the number of a shot's frame 1 in the file; None:
    the first frame that the clip's media has, or 1 where the file does not say it.
    """

    def __init__(
        self, written: WrittenLog, pattern: str | None = None, first_frame: int | None = None
    ) -> None:
        self.first_frame = first_frame
        self.rate = written.production.rate
        self.lengths = {shot.code: shot.length for shot in written.shots}
        self._codes = Codes("shots", self.lengths)
        self._alike: dict[str, tuple[str, ...]] = {}
        for code in self.lengths:
            alike = separated_alike(code)
            self._alike[alike] = (*self._alike.get(alike, ()), code)
        self._likest_of: dict[str, str | None] = {}
        self._compared = 0
        self._most_words = max((len(_WORD.findall(code)) for code in self.lengths), default=0)
        self._pattern = _compiled(pattern) if pattern is not None else None

    def named(self, text: str, take: int | None = None) -> ShotMeant:
        """Find the shot of a text that is a shot code, or that the pattern finds one in."""
        return self._by_pattern((text,), take) or self._whole(text, take)

    def of_clip(
        self,
        said: str | None,
        names: Sequence[str],
        take: int | None,
        files: Sequence[str] = (),
    ) -> ShotMeant:
        """Find the shot of a clip, by the first of these that gives one.

        The pattern in the names; ``said`` by the clip's key ``shot``; a name that is a code as a
        whole; the one code between separators in the first name; the same of ``files``, the names
        of its media. Where no code is spelled so, ``-``, ``_``, ``.`` and spaces are equal.
        """
        if meant := self._by_pattern((*names, *files), take):
            return meant
        if said and (meant := self._stated(said, take)):
            return meant
        text = next(iter((*names, *files)), "")
        found = self._found(names, names[:1]) or self._found(files, files)
        if len(found) == 1:
            return ShotMeant(shot=found[0], take=take, known=True)
        like = self._like(text) if text and not found else None
        return ShotMeant(shot=text, take=take, known=False, like=like, said=False, several=found)

    def _found(self, wholes: Sequence[str], searched: Sequence[str]) -> tuple[str, ...]:
        """The shots of the first text that is a code, or of the first in which codes stand."""
        whole = next(filter(None, map(self._known, wholes)), ())
        return whole or next(filter(None, map(self._inside, searched)), ())

    def _known(self, text: str) -> tuple[str, ...]:
        """The shot that is spelled so, else those that are but for separators."""
        if (spelled := self._codes.get(text)) is not None:
            return (spelled,)
        return self._alike.get(separated_alike(text), ())

    def _like(self, text: str) -> str | None:
        """The code most like a name, or like words of it that stand together."""
        text = text[:LONGEST_SEARCHED]
        words = [match.span() for match in _WORD.finditer(text)]
        together = zip(words, words[max(self._most_words, 1) - 1 :], strict=False)
        inner = (text[first[0] : last[1]] for first, last in together)
        return next(filter(None, map(self._likest, (text, *islice(inner, MOST_TRIED)))), None)

    def _likest(self, text: str) -> str | None:
        if text not in self._likest_of and self._compared < MOST_COMPARED:
            self._compared += len(self.lengths)
            self._likest_of[text] = next(iter(nearest(text, self.lengths, most=1)), None)
        return self._likest_of.get(text)

    def _by_pattern(self, texts: Sequence[str], take: int | None) -> ShotMeant | None:
        if self._pattern is None:
            return None
        for text in texts:
            if match := self._pattern.search(text):
                number = match.groupdict().get("take")
                if take is None and number:
                    take = take_number(number)
                if meant := self._stated(match["shot"] or text, take):
                    return meant
        return None

    def _stated(self, text: str, take: int | None) -> ShotMeant | None:
        """The shot that a text states; None when no shot can be called so."""
        try:
            stated = name_of(text).strip()
        except Unreadable:
            return None
        return self._whole(stated, take) if stated else None

    def _whole(self, text: str, take: int | None) -> ShotMeant:
        found = self._known(text)
        if len(found) == 1:
            return ShotMeant(shot=found[0], take=take, known=True)
        like = None if found else self._like(text)
        return ShotMeant(shot=text, take=take, known=False, like=like, several=found)

    def _inside(self, text: str) -> tuple[str, ...]:
        """The codes between separators in a text; one that is part of a longer one is left out.

        One that is spelled so goes before those that are but for separators.
        """
        text = text[:LONGEST_SEARCHED]
        words = [match.span() for match in _WORD.finditer(text)]
        found: dict[str, str] = {}
        spelled: dict[str, str] = {}
        reached = 0
        for at, (first, _) in enumerate(words):
            for _, stop in reversed(words[at : at + self._most_words]):
                if stop <= reached:
                    break
                if shots := self._known(text[first:stop]):
                    found.update((fold_code(shot), shot) for shot in shots)
                    if fold_code(text[first:stop]) == fold_code(shots[0]):
                        spelled[fold_code(shots[0])] = shots[0]
                    reached = stop
                    break
        return tuple((spelled or found).values())


# A word is what separators part: spaces, _, -, ., brackets and whatever else is no letter or digit.
_WORD = re.compile(r"[^\W_]+")


_ENDING = re.compile(r"\.[^\W\d_]\w{0,7}$")  # of a file: 010.020 has none
_SEPARATORS = re.compile(r"[-_. ]+")


def separated_alike(code: str) -> str:
    """Fold a code so that ``-``, ``_``, ``.`` and spaces in it are equal."""
    return _SEPARATORS.sub("-", fold_code(code.strip()))


def media_name(address: str) -> str:
    """Return the name of a media file, without folders and ending, from its path or URL."""
    path = unquote(address) if "://" in address else address
    last = re.split(r"[/\\]", path.rstrip("/\\"))[-1]
    return _ENDING.sub("", last) or last


def take_number(value: object) -> int | None:
    """Read a take's number from what a cut says, or None when that is none."""
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    if isinstance(value, str) and len(value) < 12 and value.isascii() and value.strip().isdigit():
        value = int(value)
    usable = isinstance(value, int) and not isinstance(value, bool)
    return value if usable and 1 <= value <= HIGHEST_NUMBER else None  # type: ignore[operator, return-value]


def names_in(texts: Sequence[object]) -> tuple[str, ...]:
    """Return the texts that can name something: not empty, each once, in their order."""
    given = (text.strip() for text in texts if isinstance(text, str))
    return tuple(dict.fromkeys(filter(None, given)))


def _compiled(pattern: str) -> re.Pattern[str]:
    try:
        compiled = re.compile(pattern)
    except re.error as error:
        hint = "Correct it, for instance '(?P<shot>[0-9]+-[0-9]+)'."
        what = f"is not a regular expression ({error})"
        raise ProblemsFound(Finding(what, hint, None, "--shot-pattern", pattern)) from None
    if "shot" not in compiled.groupindex:
        hint = "Name the group that is the shot: (?P<shot>...)."
        raise ProblemsFound(Finding("has no group shot", hint, None, "--shot-pattern", pattern))
    return compiled


class CutReading(NamedTuple):
    """The cut as read, version 0 until it is written.

    ``not_understood``: what a person should look at, such as clips that name no shot. One
    whose file says that it is a shot stays in the cut under that name; any other is a gap in it.
    """

    cut: Cut
    not_understood: tuple[Finding, ...]

    @classmethod
    def of(
        cls, file: str, clips: Iterable[CutClip], length: int, notes: Iterable[Finding] = ()
    ) -> CutReading:
        """Return the reading of clips in film order."""
        return cls(Cut(version=0, source=file, length=length, clips=tuple(clips)), tuple(notes))


class FilmReader:
    """Makes the clips of a cut; findings gather while it reads."""

    def __init__(self, file: str, shots: CutShots) -> None:
        self._file = file
        self._shots = shots
        self._found: dict[Seen, ShotMeant] = {}
        self._one_by_one = 0
        self._handles: set[tuple[str, int | None, int]] = set()
        self._problems: list[Finding] = []
        self._notes: list[Finding] = []

    def read(self, part: Part, notes: Iterable[Finding]) -> CutReading:
        """Read the whole film; what names no shot is told. Raises ProblemsFound."""
        if part.length > HIGHEST_FRAME:
            raise ProblemsFound(Finding(f"is {part.length} frames long", "", Place(self._file)))
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
                for stretch in stretches:
                    clips.append(meant.clip(len(clips) + 1, at, stretch))
                    at += stretch.shown
        if self._problems:
            raise ProblemsFound(*self._problems)
        return CutReading.of(self._file, clips, part.length, [*self._notes, *notes])

    def _meant(self, clip: Seen) -> ShotMeant:
        if clip not in self._found:
            self._found[clip] = self._shots.of_clip(clip.said, clip.names, clip.take, clip.files)
        return self._found[clip]

    def _base(self, clip: Seen) -> int:
        """The number of the shot's frame 1 in the file."""
        if self._shots.first_frame is not None:
            return self._shots.first_frame
        return clip.media_first if clip.media_first is not None else 1

    def _by_media(self, clip: Seen) -> bool:
        return self._shots.first_frame is None and clip.media_first is not None

    def _stretches(self, piece: ClipPiece) -> list[Played]:
        """The piece in shot frames, at one speed each."""
        clip, steps = piece.clip, piece.steps
        base = self._base(clip)
        if isinstance(steps, range) and (steps.start * clip.speed).denominator == 1:
            first, last = sorted(clip.frame(step) + 1 - base for step in (steps[0], steps[-1]))
            return [Played(len(steps), first, last, clip.speed)]
        self._one_by_one += len(steps)
        if self._one_by_one > MOST_ONE_BY_ONE:
            what = f"more than {MOST_ONE_BY_ONE:,} frames are of clips that begin between two"
            hint = "Are the speeds right?"
            raise ProblemsFound(Finding(what, hint, Place(self._file)))
        return played([clip.frame(step) + 1 - base for step in steps], clip.speed)

    def _finding(self, clip: Seen, what: str, hint: str) -> Finding:
        # What people know it by, else its reel or media.
        name = clip.name or next(iter((*clip.names, *clip.files)), "")
        return Finding(what, hint, Place(self._file, clip.row), "clip", name)

    def _where(self, piece: ClipPiece) -> str:
        return f"at {timecode(piece.at, self._shots.rate)} of the film"

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
            hint += f" It lies over {shots}; if they are seen, switch it off in the timeline."
        self._notes.append(self._finding(piece.clip, what, hint))

    def _possible(
        self, piece: ClipPiece, meant: ShotMeant, stretches: list[Played], tell: bool
    ) -> bool:
        """Whether these can be frames of the shot; what is beyond its length is only told."""
        clip = piece.clip
        first = min(s.source_first for s in stretches)
        last = max(s.source_last for s in stretches)
        what = f"{self._where(piece)}: shows frames {first} to {last} of shot {meant.shot}"
        possible = first >= 1 and last <= HIGHEST_FRAME
        if not possible and meant.known and tell:
            hint = self._number_meant(clip, first)
            self._problems.append(self._finding(clip, what, hint))
        length = self._shots.lengths.get(meant.shot)
        if possible and length is not None and last > length and tell:
            hint = "Is the shot's length right"
            hint += "?" if self._by_media(clip) else ", or --first-frame?"
            self._notes.append(self._finding(clip, f"{what}, which has {length}", hint))
        if possible and tell:
            self._about_media(piece, meant.shot, length)
        return possible

    def _about_media(self, piece: ClipPiece, shot: str, length: int | None) -> None:
        """Tell of media that is longer than the shot, once, and of a clip that leaves its media."""
        clip = piece.clip
        if clip.media_first is None or not clip.media_length:
            return
        media_last = clip.media_first + clip.media_length - 1
        has = f"{clip.media_first} to {media_last}"
        own = (shot, clip.media_first, clip.media_length)
        longer = length is not None and clip.media_length > length
        if longer and self._by_media(clip) and own not in self._handles:
            self._handles.add(own)
            what = (
                f"its media has {clip.media_length} frames ({has}), shot {shot} has {length}: "
                f"{clip.media_first} was taken for frame 1 of the shot"
            )
            hint = "With handles it is another: say with --first-frame which number frame 1 has."
            self._notes.append(self._finding(clip, what, hint))
        if self._by_media(clip) and clip.media_length == length:
            return  # that it leaves the shot is told
        ends = sorted((clip.frame(0), clip.frame(clip.length - 1)))
        if ends[0] < clip.media_first or ends[1] > media_last:
            seen = f"{self._where(piece)}: shows frames {ends[0]} to {ends[1]} of its media"
            hint = "Correct the clip, or the range of its media."
            self._notes.append(self._finding(clip, f"{seen}, which has {has}", hint))

    def _number_meant(self, clip: Seen, first: int) -> str:
        if self._by_media(clip):
            return f"The first frame of its media is {clip.media_first}; correct that, or the clip."
        lowest = first + self._base(clip) - 1
        return (
            f"Its first frame is {lowest} in the file: say with --first-frame which number frame 1 "
            "of a shot has there."
        )
