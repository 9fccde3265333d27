"""The words of a credit plan file, and where they stand in it."""

from __future__ import annotations

import re
import tomllib
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from fractions import Fraction
from typing import Any, NamedTuple

from credits.billing.plan import guaranteed_headings
from credits.billing.threshold import FOOTAGE_UNITS, ONE_OF, Threshold, ThresholdUnit
from credits.footage.footage import MEASURE_WORDS
from credits.model.ledger import Ledger
from credits.text import fold_words, nearest

FILE_NAME = "credit-plan.toml"
SECTION = "section"
ALL = "all"
HELD = "held"

PLAN_KEYS = ("name", "once", SECTION)
WHO_KEYS = (
    "crafts", "characters", "departments", "job_titles", "people", "cast", "performances",
    "guaranteed", "text",
)  # fmt: skip
SECTION_KEYS = (
    "heading", *WHO_KEYS, "at_least", "below", "order", "by_hand", "role", "layout", "columns",
    "once",
)  # fmt: skip
# Keys that one section cannot have together with others: what it is, and what else it may have.
ALONE: Mapping[str, tuple[str, tuple[str, ...]]] = {
    "text": ("fixed text", ("heading", "layout")),
    "performances": ("a performance block", ("heading", "layout", "once", "order")),
    "cast": (
        "a cast list",
        ("heading", "characters", "at_least", "below", "order", "by_hand", "layout", "once"),
    ),
}


class Book(NamedTuple):
    """What may be named.

    one: what it is. add: what to do about one that is missing. spelled: how people write it, and
    held: how the plan holds it, both by how it is compared.
    """

    one: str
    add: str
    spelled: Mapping[str, str]
    held: Mapping[str, str]


def _codes(one: str, codes: Iterable[str], add: str) -> Book:
    known = {fold_words(code): code for code in codes}
    return Book(one, add, known, known)


def _texts(one: str, texts: Iterable[str]) -> Book:
    spelled: dict[str, str] = {}
    for text in filter(str.strip, texts):
        spelled.setdefault(fold_words(text), text)
    return Book(one, "see the engagements table", spelled, dict(zip(spelled, spelled, strict=True)))


def books_of(ledger: Ledger) -> dict[str, Book]:
    """Return what each key of a section may name in this production."""
    jobs = [job for own in ledger.engagements.values() for job in own]
    crafts = _codes("craft", ledger.crafts, "add it to the crafts table")
    characters = _codes("character", ledger.characters, "add it to the characters table")
    people = _codes("person", ledger.people, "add them to the people table")
    headings = (spelled for _, spelled in guaranteed_headings(ledger))
    return {
        "crafts": crafts,
        "characters": characters,
        "departments": _texts("department", (job.department for job in jobs)),
        "job_titles": _texts("job title", (job.job_title for job in jobs)),
        "people": people,
        "cast": crafts,
        "performances": characters,
        "guaranteed": _texts("guaranteed heading", headings),
        "by_hand": people,
    }


def meant(word: str, known: Iterable[str]) -> str:
    """Ask whether the nearest of the known words was meant; empty where none is near."""
    like = nearest(word, known)
    return f"Did you mean {like[0]}? " if like else ""


_WRITTEN = re.compile(r"(?:at least )?(\d+(?:\.\d+)?|\d+/0*[1-9]\d*) ?([a-z%][a-z ']*)")
_UNITS = {
    **{unit.value: unit for unit in ThresholdUnit},
    **{one: unit for unit, one in ONE_OF.items()},
    "percent": ThresholdUnit.PERCENT,
    "per cent": ThresholdUnit.PERCENT,
}
_COUNTED = re.compile(rf"(character )?({'|'.join(_UNITS)})(?:(?<=%)|(?= |$))(.*)")
MEASURES = {words: measure for measure, words in MEASURE_WORDS.items()}
_SCREEN_TIME = "of the character's screen time"
EXAMPLES = (
    "20 seconds on screen",
    "480 frames kept",
    "90 feet shot",
    "30 character seconds accepted",
    "10 stage days",
    "15 days",
    "2 % of the character's screen time",
    "12 entries",
)
HINT = (
    f"Write a number with {EXAMPLES[0]}, {EXAMPLES[1]}, ... "
    f"(seconds, frames or feet {', '.join(MEASURES)}), {EXAMPLES[4]}, {EXAMPLES[5]}, "
    f"{EXAMPLES[6]}, or {EXAMPLES[7]}."
)


class NoThreshold(ValueError):
    """The text is no threshold: what is wrong, and what would be right."""

    def __init__(self, what: str, hint: str = HINT) -> None:
        super().__init__(what)
        self.what = what
        self.hint = hint


def read_threshold(text: str) -> Threshold:
    """Read the threshold that a text writes. Raises NoThreshold."""
    written = _WRITTEN.fullmatch(" ".join(text.replace("’", "'").lower().split()))
    if written is None:
        raise NoThreshold("is not a threshold")
    least = Fraction(written[1])
    if least <= 0:
        raise NoThreshold("everybody reaches that: a threshold is more than 0")
    words = written[2].strip()
    counted = _COUNTED.fullmatch(words)
    if counted is None:
        words = words.removeprefix("character ")
        hint = f"{meant(words.split()[0], _UNITS)}{HINT}"
        raise NoThreshold(f"'{words}' is nothing that is counted", hint)
    return _threshold(least, _UNITS[counted[2]], counted[3].strip(), bool(counted[1]))


def _threshold(least: Fraction, unit: ThresholdUnit, rest: str, by_character: bool) -> Threshold:
    if unit is ThresholdUnit.PERCENT:
        if rest != _SCREEN_TIME or by_character:
            raise NoThreshold("does not say of what", f"Write {least} % {_SCREEN_TIME}.")
        if least > 100:
            raise NoThreshold("nobody reaches that: there are 100 per cent")
        return Threshold(least=least, unit=unit)
    if unit not in FOOTAGE_UNITS:
        if rest or by_character:
            raise NoThreshold(f"'{rest or 'character'}' does not belong to {unit}")
        return Threshold(least=least, unit=unit)
    measure = MEASURES.get(rest)
    if measure is None:
        which = f"'{rest}' is no measure" if rest else "does not say by which measure"
        raise NoThreshold(which, f"The measures are {', '.join(MEASURES)}.")
    return Threshold(least=least, unit=unit, measure=measure, by_character=by_character)


# A value over several lines ends on a line with one of these.
_END = re.compile(r"[]}]|\"{3}|'{3}")
TableName = tuple[str, int]
"""The n-th table of ``[[name]]``, counted from 0."""


def _statements(lines: Sequence[str]) -> Iterator[tuple[int, int, dict[str, Any]]]:
    """The first and the last line of each statement of a TOML text, and what it says."""
    first = 0
    for last, line in enumerate(lines):
        if last > first and not _END.search(line):
            continue
        try:
            said = tomllib.loads("\n".join(lines[first : last + 1]))
        except tomllib.TOMLDecodeError:  # it goes on in the next line
            continue
        yield first + 1, last + 1, said
        first = last + 1


class TomlLines:
    """Finds the lines of a file's keys, counted from 1.

    text: that can be read as TOML, with line feeds alone at the ends of its lines.
    """

    def __init__(self, text: str) -> None:
        self._text = text.split("\n")
        top: dict[str, tuple[int, int]] = {}
        self._spans: dict[TableName | None, dict[str, tuple[int, int]]] = {None: top}
        spans, tables = top, Counter[str]()
        for first, last, said in _statements(self._text):
            for key, value in said.items():
                if not self._text[first - 1].lstrip().startswith("["):
                    spans.setdefault(key, (first, last))
                    continue
                spans = {"": (first, last)}
                if isinstance(value, list):
                    self._spans[key, tables[key]] = spans
                    tables[key] += 1

    def of(self, key: str, table: TableName | None = None, value: str | None = None) -> int | None:
        """Return the line of a key; where the table does not have it, that of its heading.

        table: None: the top of the file. value: the text in its array that is meant.
        """
        spans = self._spans.get(table, {})
        span = spans.get(key, spans.get(""))
        if span is None:
            return None
        texts = () if value is None else (f'"{value}"', f"'{value}'")
        for number in range(span[0], span[1] + 1):
            if any(text in self._text[number - 1] for text in texts):
                return number
        return span[0]
