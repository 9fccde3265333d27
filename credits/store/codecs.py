"""How the values of the log are kept in a database, as types of SQLAlchemy.

A database of any engine keeps texts and whole numbers: a day and a moment as ISO 8601, yes or no as
1 or 0, frames and fractions as people write them. None is NULL in every column.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import UTC, date, datetime
from enum import StrEnum
from fractions import Fraction
from functools import lru_cache
from typing import Any

from sqlalchemy import Dialect, Integer, Text, TypeDecorator
from sqlalchemy.types import TypeEngine

from credits.model.facts import EntryNumber, Subjects
from credits.units.frames import Frames

Codec = Callable[[Any], Any]


def _cached(read: Codec) -> Codec:
    """Read equal values once: a log of 100,000 entries has a few hundred days."""

    def read_or_none(value: Any) -> Any:
        return None if value is None else read(value)

    return lru_cache(maxsize=65536)(read_or_none)


class Kept(TypeDecorator[Any]):
    """A value that a column keeps as a text.

    ``write`` makes the text; ``read`` makes the value again, and raises ValueError, TypeError or
    CreditsError where no program of ours wrote the text.
    """

    impl: type[TypeEngine[Any]] = Text
    cache_ok = True
    write: Codec
    read: Codec

    def bind_processor(self, dialect: Dialect) -> Codec:  # noqa: ARG002
        """Write a value that goes to the database."""
        write = self.write
        return lambda value: None if value is None else write(value)

    def result_processor(self, dialect: Dialect, coltype: object) -> Codec:  # noqa: ARG002
        """Read a value that comes from the database."""
        return self.read


class KeptDay(Kept):
    """A day: ``2026-03-02``."""

    cache_ok = True
    write = staticmethod(date.isoformat)
    read = staticmethod(_cached(date.fromisoformat))


class KeptMoment(Kept):
    """A moment: UTC with microseconds, ``2026-03-02T18:05:09.000000+00:00``."""

    cache_ok = True

    @staticmethod
    def write(moment: datetime) -> str:
        """Write the moment in UTC, whatever its time zone is."""
        return moment.astimezone(UTC).isoformat(timespec="microseconds")

    read = staticmethod(_cached(lambda text: datetime.fromisoformat(text).astimezone(UTC)))


class KeptFraction(Kept):
    """A fraction: ``1/2``."""

    cache_ok = True
    write = staticmethod(str)
    read = staticmethod(_cached(Fraction))


class KeptFrames(Kept):
    """Frames: ``1-20,25-48``. Equal texts share one set."""

    cache_ok = True
    write = staticmethod(lambda frames: frames.text)
    read = staticmethod(_cached(Frames.parse))


class KeptNumber(Kept):
    """The number of an entry: ``A-17``."""

    cache_ok = True
    write = staticmethod(str)
    read = staticmethod(_cached(EntryNumber.parse))


class KeptSubjects(Kept):
    """The subjects of a check: ``[["puppet","wick-1"],["stage","S1"]]``."""

    cache_ok = True

    @staticmethod
    def write(subjects: Subjects) -> str:
        """Write the pairs as a JSON list of lists."""
        pairs = [list(pair) for pair in subjects]
        return json.dumps(pairs, ensure_ascii=False, separators=(",", ":"))

    @staticmethod
    def _pairs(text: str) -> Subjects:
        found = tuple((kind, code) for kind, code in json.loads(text))
        if not all(isinstance(part, str) for pair in found for part in pair):
            raise ValueError(f"subjects {text}")
        return found

    read = staticmethod(_cached(_pairs))


class KeptWord(Kept):
    """One of the words of an enumeration."""

    cache_ok = True

    def __init__(self, words: type[StrEnum]) -> None:
        super().__init__()
        self.words = words
        self.write = str
        self.read = _cached(words)


class KeptYesNo(Kept):
    """Yes or no: 1 or 0."""

    impl = Integer
    cache_ok = True
    write = staticmethod(int)
    read = staticmethod(_cached(bool))
