"""How the values of the log are kept in a database, as types of SQLAlchemy.

A database of any engine keeps texts and whole numbers: a day and a moment as ISO 8601, yes or no as
1 or 0, frames and fractions as people write them. None is NULL in every column.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import UTC, date, datetime
from fractions import Fraction
from functools import lru_cache, partial
from typing import Any

from sqlalchemy import Dialect, Integer, Text, TypeDecorator
from sqlalchemy.types import TypeEngine

from credits.model.facts import EntryNumber, Subjects
from credits.units.frames import Frames

Codec = Callable[[Any], Any]


class Kept(TypeDecorator[Any]):
    """A value that a column keeps as a text, or as a whole number.

    write: makes what is kept. read: makes the value again; raises ValueError, TypeError or
    CreditsError where no program of ours wrote what is kept. Equal values are read once: a log of
    100,000 entries has a few hundred days.
    """

    impl: TypeEngine[Any] | type[TypeEngine[Any]] = Text
    cache_ok = True

    def __init__(self, write: Codec, read: Codec, impl: type[TypeEngine[Any]] = Text) -> None:
        super().__init__()
        self.impl = impl()
        self.write = write
        self.read = lru_cache(maxsize=65536)(lambda kept: None if kept is None else read(kept))

    def bind_processor(self, dialect: Dialect) -> Codec:  # noqa: ARG002
        """Write a value that goes to the database."""
        write = self.write
        return lambda value: None if value is None else write(value)

    def result_processor(self, dialect: Dialect, coltype: object) -> Codec:  # noqa: ARG002
        """Read a value that comes from the database."""
        return self.read


def _subjects(text: str) -> Subjects:
    found = tuple((kind, code) for kind, code in json.loads(text))
    if not all(isinstance(part, str) for pair in found for part in pair):
        raise ValueError(f"subjects {text}")
    return found


KEPT_DAY = Kept(date.isoformat, date.fromisoformat)  # 2026-03-02
KEPT_MOMENT = Kept(  # in UTC, whatever its time zone is: 2026-03-02T18:05:09.000000+00:00
    lambda moment: moment.astimezone(UTC).isoformat(timespec="microseconds"),
    lambda text: datetime.fromisoformat(text).astimezone(UTC),
)
KEPT_FRACTION = Kept(str, Fraction)  # 1/2
KEPT_FRAMES = Kept(lambda frames: frames.text, Frames.parse)  # 1-20,25-48
KEPT_NUMBER = Kept(str, EntryNumber.parse)
KEPT_SUBJECTS = Kept(  # [["puppet","wick-1"],["stage","S1"]]
    partial(json.dumps, ensure_ascii=False, separators=(",", ":")), _subjects
)
KEPT_YES_NO = Kept(int, bool, Integer)  # 1 or 0
