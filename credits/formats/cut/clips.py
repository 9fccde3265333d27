"""Clips of a cut: what a reader gives, which shot each means, where each stands in the film."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from credits.errors import Finding, ProblemsFound
from credits.formats.tables.cells import HIGHEST_NUMBER, Unreadable
from credits.formats.tables.cells import name as name_of
from credits.formats.tables.columns import Codes
from credits.model.facts import Cut, CutClip
from credits.model.log import WrittenLog
from credits.text import fold_code
from credits.units.film_time import FrameRate

LONGEST_SEARCHED = 400


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
        return f"Is it {self.like}?" if self.like else "A title or a slug may stay as it is."


class CutShots:
    """Finds shots in what a cut calls them. ``lengths``: how many frames each shot has."""

    def __init__(self, written: WrittenLog, pattern: str | None = None) -> None:
        """``pattern``: a regular expression with a group ``shot`` and perhaps a group ``take``.

        Raises ProblemsFound when it is none.
        """
        self.lengths = {shot.code: shot.length for shot in written.shots}
        self._codes = Codes("shots", self.lengths)
        self._most_words = max((len(_WORD.findall(code)) for code in self.lengths), default=0)
        self._pattern = _compiled(pattern) if pattern is not None else None

    def named(self, text: str, take: int | None = None) -> ShotMeant:
        """Find the shot of a text that is a shot code, or that the pattern finds one in."""
        return self._by_pattern((text,), take) or self._whole(text, take)

    def of_clip(self, said: str | None, names: Sequence[str], take: int | None) -> ShotMeant:
        """Find the shot of a clip, by the first of these that gives one.

        The pattern, in the names in their order; ``said``, what the clip's key ``shot`` says; a
        name that is a code as a whole; the one code that stands between separators in the first
        name.
        """
        if meant := self._by_pattern(names, take):
            return meant
        if said and (meant := self._stated(said, take)):
            return meant
        text = names[0] if names else ""
        whole = [known for each in names if (known := self._codes.get(each))]
        found = tuple(whole[:1]) or self._inside(text)
        if len(found) == 1:
            return ShotMeant(shot=found[0], take=take, known=True)
        like = self._codes.like(text) if text and not found else None
        return ShotMeant(shot=text, take=take, known=False, like=like, said=False, several=found)

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
        if known := self._codes.get(text):
            return ShotMeant(shot=known, take=take, known=True)
        return ShotMeant(shot=text, take=take, known=False, like=self._codes.like(text))

    def _inside(self, text: str) -> tuple[str, ...]:
        """The codes between separators in a text; one that is part of a longer one is left out."""
        text = text[:LONGEST_SEARCHED]
        words = [match.span() for match in _WORD.finditer(text)]
        found: dict[str, str] = {}
        reached = 0
        for at, (first, _) in enumerate(words):
            for _, stop in reversed(words[at : at + self._most_words]):
                if stop <= reached:
                    break
                if known := self._codes.get(text[first:stop]):
                    found.setdefault(fold_code(known), known)
                    reached = stop
                    break
        return tuple(found.values())


# A word is what separators part: spaces, _, -, ., brackets and whatever else is no letter or digit.
_WORD = re.compile(r"[^\W_]+")


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


class CutAsked(NamedTuple):
    """``first_frame``: the number of a shot's frame 1 in the file. ``rate``: the production's."""

    shots: CutShots
    first_frame: int
    rate: FrameRate


@dataclass(frozen=True, slots=True)
class CutReading:
    """The cut as read, or None and the problems.

    ``not_understood``: clips that name no shot of the log, and whatever else a person should look
    at. A clip whose file says that it is a shot (the column or key ``shot``, the pattern) stays in
    the cut under that name; any other is a gap in it.
    """

    cut: Cut | None
    problems: tuple[Finding, ...] = ()
    not_understood: tuple[Finding, ...] = ()

    @classmethod
    def of(
        cls, file: str, clips: Iterable[CutClip], length: int, notes: Iterable[Finding] = ()
    ) -> CutReading:
        """Return the reading of clips in film order; version 0 until they are written."""
        cut = Cut(version=0, source=file, length=length, clips=tuple(clips))
        return cls(cut, not_understood=tuple(notes))
