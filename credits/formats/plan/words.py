"""The words of a credit plan file, and where they stand in it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from credits.billing.plan import Layout, PlannedSection, RoleShown, guaranteed_headings
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
HOW_KEYS = ("heading", "at_least", "below", "order", "by_hand", "role", "layout", "columns", "once")
SECTION_KEYS = (*HOW_KEYS[:1], *WHO_KEYS, *HOW_KEYS[1:])


# Keys that one section cannot have together with others: what it is, and what else it may have.
ALONE: Mapping[str, tuple[str, tuple[str, ...]]] = {
    "text": ("fixed text", ("heading", "text", "layout")),
    "performances": ("a performance block", ("heading", "performances", "layout", "once", "order")),
    "cast": (
        "a cast list",
        (
            "heading",
            "cast",
            "characters",
            "at_least",
            "below",
            "order",
            "by_hand",
            "layout",
            "once",
        ),
    ),
}


@dataclass(frozen=True, slots=True)
class Book:
    """What may be named. ``one``: what it is; ``known``: as it is compared, and how the plan holds
    it; ``spelled``: how people write it; ``add``: what to do about one that is missing."""

    one: str
    known: Mapping[str, str]
    spelled: Mapping[str, str]
    add: str

    def get(self, word: str) -> str | None:
        """What the plan holds for a word; None when it is not known."""
        return self.known.get(fold_words(word))


def _codes(one: str, codes: Iterable[str], add: str) -> Book:
    known = {fold_words(code): code for code in codes}
    return Book(one, known, known, add)


def _texts(one: str, texts: Iterable[str], add: str) -> Book:
    spelled = {fold_words(text): text for text in texts if text.strip()}
    return Book(one, {key: key for key in spelled}, spelled, add)


def books_of(ledger: Ledger) -> dict[str, Book]:
    """What each key of a section may name in this production."""
    jobs = [job for own in ledger.engagements.values() for job in own]
    crafts = _codes("craft", ledger.crafts, "add it to the crafts table")
    characters = _codes("character", ledger.characters, "add it to the characters table")
    people = _codes("person", ledger.people, "add them to the people table")
    crew_list = "see the engagements table"
    return {
        "crafts": crafts,
        "cast": crafts,
        "characters": characters,
        "performances": characters,
        "people": people,
        "by_hand": people,
        "departments": _texts("department", (job.department for job in jobs), crew_list),
        "job_titles": _texts("job title", (job.job_title for job in jobs), crew_list),
        "guaranteed": _texts(
            "guaranteed heading", (spelled for _, spelled in guaranteed_headings(ledger)), crew_list
        ),
    }


def layout_problems(
    section: PlannedSection, role_is_written: bool
) -> Iterator[tuple[str, str, str]]:
    """What in a section does not fit its layout: the key, what is wrong, what would be right."""
    layout = section.layout
    if layout is None:
        return
    if layout is Layout.TEXT and not section.text:
        yield "layout", "there is no text here", 'Write text = """...""".'
    if section.text and layout not in (Layout.TEXT, Layout.CARD):
        yield "layout", "is not for fixed text", 'Write "text" or "card".'
    if section.cast and layout is Layout.NAMES:
        yield "layout", "a cast list has characters", 'Write "character and names".'
    shown = section.role is not RoleShown.NOTHING
    if layout is Layout.NAMES and shown and role_is_written:
        hint = 'Write layout = "role and name", or take role away.'
        yield "layout", "names alone have no role beside them", hint


NUMBER = r"(\d+(?:\.\d+)?|\d+/\d+)"
_WRITTEN = re.compile(rf"(?:at least )?{NUMBER} ?([a-z%][a-z ']*)")
_UNITS = {
    **{unit.value: unit for unit in ThresholdUnit},
    **{one: unit for unit, one in ONE_OF.items()},
    "percent": ThresholdUnit.PERCENT,
    "per cent": ThresholdUnit.PERCENT,
}
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
    f"Write a number with {', '.join(e for e in EXAMPLES[:2])}, ... "
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
    """The threshold that a text writes. Raises NoThreshold."""
    written = _WRITTEN.fullmatch(" ".join(text.replace("’", "'").lower().split()))
    if written is None:
        raise NoThreshold("is not a threshold")
    try:
        least = Fraction(written[1])
    except ZeroDivisionError:
        raise NoThreshold("is not a threshold") from None
    if least <= 0:
        raise NoThreshold("everybody reaches that: a threshold is more than 0")
    words = written[2].strip()
    by_character = words.startswith("character ")
    words = words.removeprefix("character ")
    unit = next((u for u in sorted(_UNITS, key=len, reverse=True) if _begins(words, u)), None)
    if unit is None:
        raise _unknown_unit(words)
    return _threshold(least, _UNITS[unit], words[len(unit) :].strip(), by_character)


def _begins(words: str, unit: str) -> bool:
    return words == unit or words.startswith(f"{unit} ") or (unit == "%" and words[:1] == "%")


def _unknown_unit(words: str) -> NoThreshold:

    like = nearest(words.split()[0], _UNITS)
    hint = f"Did you mean {like[0]}? " if like else ""
    return NoThreshold(f"'{words}' is nothing that is counted", f"{hint}{HINT}")


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


_HEADING = re.compile(r"""\s*\[\[\s*(?:"([^"]*)"|'([^']*)'|([\w-]+))\s*\]\]""")
_TABLE = re.compile(r"\s*\[")
_KEY = re.compile(r"""\s*(?:"([^"]*)"|'([^']*)'|([\w-]+))\s*=""")
# A string with its quotes, or a comment: brackets in them open and close nothing.
_QUOTED = re.compile(r""""(?:\\.|[^"\\])*"|'[^']*'|#.*""")
_LONG = ('"""', "'''")


@dataclass(slots=True)
class _TomlTable:
    """A table's heading line, and the first and last line of each of its keys."""

    line: int
    keys: dict[str, tuple[int, int]] = field(default_factory=dict)


class TomlLines:
    """The lines of a file's keys. Tables of ``[[name]]`` are counted from 0, by name."""

    def __init__(self, text: str) -> None:
        self._text = text.split("\n")
        self._root = _TomlTable(1)
        self._tables: dict[str, list[_TomlTable]] = {}
        self._scan()

    def _scan(self) -> None:
        table: _TomlTable | None = self._root
        at = 0
        while at < len(self._text):
            line = self._text[at]
            heading = _HEADING.match(line)
            key = _KEY.match(line)
            if heading:
                table = _TomlTable(at + 1)
                self._tables.setdefault(_name(heading), []).append(table)
            elif _TABLE.match(line):
                table = None
            elif key:
                last = self._end(at, line[key.end() :])
                if table is not None:
                    table.keys.setdefault(_name(key), (at + 1, last + 1))
                at = last
            at += 1

    def _end(self, at: int, rest: str) -> int:
        """The index of the line on which the value that begins with ``rest`` ends."""
        mark = next((mark for mark in _LONG if rest.lstrip().startswith(mark)), None)
        if mark is not None:
            after = rest.lstrip()[3:]
            while mark not in after:
                at += 1
                if at >= len(self._text):
                    return len(self._text) - 1
                after = self._text[at]
            return at
        depth = _depth(rest)
        while depth > 0 and at + 1 < len(self._text):
            at += 1
            depth += _depth(self._text[at])
        return at

    def of_key(self, key: str, table: tuple[str, int] | None = None) -> int | None:
        """The line of a key: at the top of the file, or in the n-th table of a name."""
        found = self._find(table)
        if found is None:
            return None
        span = found.keys.get(key)
        return span[0] if span else (found.line if table else None)

    def of_value(self, value: str, key: str, table: tuple[str, int] | None = None) -> int | None:
        """The line of one text in the array of a key; the key's where it cannot be seen."""
        found = self._find(table)
        span = found.keys.get(key) if found else None
        if span is None:
            return self.of_key(key, table)
        for line in range(span[0], span[1] + 1):
            text = self._text[line - 1]
            if any(f"{quote}{value}{quote}" in text for quote in "\"'"):
                return line
        return span[0]

    def _find(self, table: tuple[str, int] | None) -> _TomlTable | None:
        if table is None:
            return self._root
        tables = self._tables.get(table[0], [])
        return tables[table[1]] if table[1] < len(tables) else None


def _name(match: re.Match[str]) -> str:
    return next((group for group in match.groups() if group is not None), "")


def _depth(text: str) -> int:
    bare = _QUOTED.sub("", text)
    return bare.count("[") + bare.count("{") - bare.count("]") - bare.count("}")
