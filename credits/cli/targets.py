"""The TARGET words of ``credits log``: codes of characters, puppets, parts, sequences and shots.

A word is what the log knows it as. After a shot a word such as ``1-30`` is frames, and a shot may
be written with its take: ``010-020/2``.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from credits.cli.codes import fact_named, spellings, with_name
from credits.errors import Finding, ProblemsFound, WrongCall
from credits.model.written import WrittenLog
from credits.text import nearest
from credits.units.frames import Frames

if TYPE_CHECKING:
    from credits.cli.codes import Coded

KINDS = {
    "character": "characters",
    "puppet": "puppets",
    "part": "parts",
    "sequence": "sequences",
    "shot": "shots",
}

_LOOKS_LIKE_FRAMES = re.compile(r"[0-9,;–—-]+")


def _is_frames(word: str) -> bool:
    try:
        Frames.parse(word)
    except ProblemsFound:
        return False
    return True


class _Reader:
    def __init__(self, written: WrittenLog) -> None:
        from credits.exchange.codes import codes_of

        books = codes_of(written)
        self._books = {kind: books[table] for kind, table in KINDS.items()}
        self._written = written
        self.found: dict[str, str] = {}

    def _take(self, kind: str, value: str) -> None:
        if kind in self.found:
            what = f"the entry names two {kind}s: {self.found[kind]} and {value}"
            if kind == "frames":
                what = f"the entry names frames twice: {self.found[kind]} and {value}"
            raise WrongCall(Finding(what, "Log one entry for each."))
        self.found[kind] = value

    def word(self, word: str) -> None:
        """Read one word."""
        fitting = {
            kind: code for kind, book in self._books.items() if (code := book.get(word)) is not None
        }
        frames = "shot" in self.found and _is_frames(word)
        if len(fitting) + frames > 1:
            raise self._ambiguous(word, fitting, frames)
        if fitting:
            ((kind, code),) = fitting.items()
            self._take(kind, code)
        elif frames:
            self._take("frames", word)
        elif not self._shot_and_take(word):
            raise self._unknown(word)

    def _shot_and_take(self, word: str) -> bool:
        shot, slash, take = word.rpartition("/")
        code = self._books["shot"].get(shot) if slash else None
        if code is None or not (take.isascii() and take.isdigit()):
            return False
        self._take("shot", code)
        self._take("take", take)
        return True

    def _ambiguous(self, word: str, fitting: dict[str, str], frames: bool) -> WrongCall:
        kinds = [*fitting, *(["frames"] if frames else [])]
        names = [kind if kind == "frames" else f"a {kind}" for kind in kinds]
        ways = " or ".join(f"--{kind} {word}" for kind in kinds)
        return WrongCall(
            Finding(f"is {' and '.join(names)}", f"Say which is meant: {ways}.", value=word)
        )

    def _unknown(self, word: str) -> WrongCall:
        if "shot" in self.found and _LOOKS_LIKE_FRAMES.fullmatch(word):
            try:
                Frames.parse(word)
            except ProblemsFound as error:
                return WrongCall(*error.findings)
        facts: list[Coded] = [
            fact for table in KINDS.values() for fact in getattr(self._written, table)
        ]
        like = nearest(word, facts, spellings)
        hint = f"Did you mean {' or '.join(with_name(fact) for fact in like)}?"
        if not like:
            hint = "Write the code of one, or load it into its table first; see `credits find`."
        if _is_frames(word):
            hint = "Frames stand behind their shot: 010-020 1-30. " * (not like) + hint
        what = "no character, puppet, part, sequence or shot has this code"
        return WrongCall(Finding(what, hint, value=word))


def read_targets(words: Sequence[str], written: WrittenLog, given: Iterable[str]) -> dict[str, str]:
    """What the words name: columns of the entries table and their values.

    ``given``: the columns that options name already; a word for one of these is one too many.
    Raises WrongCall for a word that is unknown, stands for two things, or is one too many.
    """
    reader = _Reader(written)
    for word in words:
        reader.word(word)
    for column in given:
        if column in reader.found:
            what = f"the {column} is named by a word and by --{column}"
            raise WrongCall(Finding(what, "Name it once.", value=reader.found[column]))
    return reader.found


def craft_and_person(craft: str, person: str, written: WrittenLog) -> dict[str, str]:
    """The codes of the craft and the person as first spelled. Raises WrongCall with the nearest."""
    return {
        "craft": fact_named("crafts", craft, written.crafts).code,
        "person": fact_named("people", person, written.people).code,
    }
