"""Write a credit plan, commented, for a producer to change; its keys and values in words."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from fractions import Fraction
from typing import Any, NamedTuple

from credits import files
from credits.billing.credits import Credits
from credits.billing.plan import (
    FOOTAGE_UNITS,
    ONE_OF,
    CreditPlan,
    Layout,
    Once,
    Order,
    PlannedSection,
    RoleShown,
    Threshold,
    ThresholdUnit,
    guaranteed_headings,
)
from credits.footage.footage import MEASURE_WORDS
from credits.formats.plan import FILE_NAME as FILE_NAME
from credits.formats.tables.cells import Unreadable
from credits.model.ledger import Ledger
from credits.text import fold_words, nearest, quoted_toml

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


def _book(one: str, add: str, texts: Iterable[str], as_compared: bool = False) -> Book:
    spelled: dict[str, str] = {}
    for text in filter(str.strip, texts):
        spelled.setdefault(fold_words(text), text)
    return Book(one, add, spelled, {text: text for text in spelled} if as_compared else spelled)


def books_of(ledger: Ledger) -> dict[str, Book]:
    """Return what each key of a section may name in this production."""
    jobs = [job for own in ledger.engagements.values() for job in own]
    crafts = _book("craft", "add it to the crafts table", ledger.crafts)
    characters = _book("character", "add it to the characters table", ledger.characters)
    people = _book("person", "add them to the people table", ledger.people)
    see = "see the engagements table"
    headings = (spelled for _, spelled in guaranteed_headings(ledger))
    return {
        "crafts": crafts,
        "characters": characters,
        "departments": _book("department", see, (job.department for job in jobs), True),
        "job_titles": _book("job title", see, (job.job_title for job in jobs), True),
        "people": people,
        "cast": crafts,
        "performances": characters,
        "guaranteed": _book("guaranteed heading", see, headings, True),
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


def read_threshold(text: str) -> Threshold:
    """Read the threshold that a text writes. Raises Unreadable."""
    written = _WRITTEN.fullmatch(" ".join(text.replace("’", "'").lower().split()))
    if written is None:
        raise Unreadable("is not a threshold", HINT)
    least = Fraction(written[1])
    if least <= 0:
        raise Unreadable("everybody reaches that: a threshold is more than 0", HINT)
    words = written[2].strip()
    counted = _COUNTED.fullmatch(words)
    if counted is None:
        words = words.removeprefix("character ")
        hint = f"{meant(words.split()[0], _UNITS)}{HINT}"
        raise Unreadable(f"'{words}' is nothing that is counted", hint)
    return _threshold(least, _UNITS[counted[2]], counted[3].strip(), bool(counted[1]))


def _threshold(least: Fraction, unit: ThresholdUnit, rest: str, by_character: bool) -> Threshold:
    if unit is ThresholdUnit.PERCENT:
        if rest != _SCREEN_TIME or by_character:
            raise Unreadable("does not say of what", f"Write {least} % {_SCREEN_TIME}.")
        if least > 100:
            raise Unreadable("nobody reaches that: there are 100 per cent", HINT)
        return Threshold(least=least, unit=unit)
    if unit not in FOOTAGE_UNITS:
        if rest or by_character:
            raise Unreadable(f"'{rest or 'character'}' does not belong to {unit}", HINT)
        return Threshold(least=least, unit=unit)
    measure = MEASURES.get(rest)
    if measure is None:
        which = f"'{rest}' is no measure" if rest else "does not say by which measure"
        raise Unreadable(which, f"The measures are {', '.join(MEASURES)}.")
    return Threshold(least=least, unit=unit, measure=measure, by_character=by_character)


_END = re.compile(r"[]}]|\"{3}|'{3}")  # in the last line of a value over several lines


class TomlLines:
    """Finds the lines, from 1, of the keys of a plan: TOML with line feeds at the ends of lines."""

    def __init__(self, text: str) -> None:
        self._text = text.split("\n")
        spans: dict[str, range] = {}
        self._spans = [spans]  # the keys at the top, then those of each section
        first = 0
        for last, line in enumerate(self._text, 1):
            if last > first + 1 and not _END.search(line):
                continue
            try:
                said = tomllib.loads("\n".join(self._text[first:last]))
            except tomllib.TOMLDecodeError:  # it goes on in the next line
                continue
            lines = range(first + 1, last + 1)
            if self._text[first].lstrip().startswith("["):
                spans = {"": lines}
                if isinstance(said.get(SECTION), list):
                    self._spans.append(spans)
            else:
                spans.update({key: lines for key in said if key not in spans})
            first = last

    def of(self, key: str, section: int = 0, value: str | None = None) -> int | None:
        """Return the line of a key; where the section does not have it, that of its heading.

        section: counted from 1; 0: the top of the file. value: the text in its array that is meant.
        """
        spans = self._spans[section] if section < len(self._spans) else {}
        lines = spans.get(key, spans.get("", range(0)))
        texts = () if value is None else (f'"{value}"', f"'{value}'")
        found = (n for n in lines if any(text in self._text[n - 1] for text in texts))
        return next(found, next(iter(lines), None))


LINE_LENGTH = 96


def first_plan(plan: CreditPlan, ledger: Ledger, credits: Credits) -> str:
    """Write a plan with remarks, among them how many people stand where in its ``credits``."""
    counts = {
        fold_words(section.heading): len({line.person for line in section.lines})
        for section in credits.sections
    }
    template = files.shipped("site_templates") / "print" / "credit-plan.toml"
    return template.read_text("utf-8").replace("{plan}", plan_text(plan, ledger, counts))


def plan_text(plan: CreditPlan, ledger: Ledger, counts: dict[str, int] | None = None) -> str:
    """Write the plan as TOML that reads back as the same plan. ``counts``: people by heading."""
    books = books_of(ledger)
    parts = [f"name = {quoted_toml(plan.name)}\n"]
    if counts is not None:
        parts.append(
            '# How often somebody is named: once in a "section", or once in "all", under the\n'
            "# first heading that takes them.\n"
        )
    parts.append(f"once = {quoted_toml(plan.once)}\n")
    for section in plan.sections:
        remark = "" if counts is None else _remark(section, counts)
        parts.append(f"\n{remark}[[section]]\n{''.join(_keys(section, plan.once, books))}")
    return "".join(parts)


def _remark(section: PlannedSection, counts: dict[str, int]) -> str:
    if section.every_guaranteed:
        return "# Every heading that a contract guarantees, by billing number.\n"
    people = counts.get(fold_words(section.heading), 0)
    if not people:
        return "# Nobody yet.\n"
    return f"# {people} {'person' if people == 1 else 'people'} when this plan was written.\n"


def _keys(section: PlannedSection, once: Once, books: Mapping[str, Book]) -> Iterator[str]:
    """The keys of a section that are not as they would be without a word."""
    least, every = section.at_least, section.every_performance
    order = Order.NAME if section.order is Order.BY_HAND else section.order
    shows_role = section.role is not RoleShown.NOTHING
    said: dict[str, object] = {"heading": section.heading}
    for key in (key for key in books if key in WHO_KEYS):
        said[key] = [books[key].spelled.get(held, held) for held in getattr(section, key)]
    said |= {
        "performances": ALL if every else said["performances"],
        "guaranteed": section.every_guaranteed or said["guaranteed"],
        "text": section.text,
        "at_least": least and least.words.removeprefix("at least "),
        "below": least and (section.below or HELD),
        "by_hand": section.by_hand,
        "order": not section.by_hand and not section.text and order,
        "role": shows_role and not (section.cast or section.performances or every) and section.role,
        "layout": section.layout,
        "columns": section.layout in (None, Layout.NAMES) and section.columns,
        "once": section.once != once and section.once,
    }
    for key, value in said.items():
        if value:
            yield f"{key} = {_value(key, value)}\n"


def _value(key: str, value: Any) -> str:
    """A value as TOML has it; a text over several lines is read back as it was."""
    if isinstance(value, bool | int):
        return str(value).lower()
    if not isinstance(value, str):
        return _array(key, value)
    if not value.isprintable() and value.replace("\n", "").isprintable():
        inside = "\n".join(quoted_toml(line)[1:-1] for line in value.split("\n"))
        return f'"""\n{inside}"""'
    return quoted_toml(value)


def _array(key: str, texts: Iterable[str]) -> str:
    """A list of texts: on one line where it fits, else a line for each."""
    every = [quoted_toml(text) for text in texts]
    line = f"[{', '.join(every)}]"
    if len(key) + len(line) + 3 <= LINE_LENGTH:
        return line
    return "[\n" + "".join(f"    {text},\n" for text in every) + "]"
