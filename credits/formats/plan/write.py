"""Write a credit plan, commented, for a producer to change; its keys and values in words."""

from __future__ import annotations

import re
import tomllib
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from fractions import Fraction
from typing import Any, NamedTuple

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
from credits.model.ledger import Ledger
from credits.text import fold_words, nearest, quoted_toml

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


LINE_LENGTH = 96
BEGINNING = """\
# The credit plan: which sections the end credits have, in which order, and who stands in each.
# Lines that begin with # are remarks. This plan does what is done without one: change it as the
# production wishes, and read what comes of it with: credits roll, credits why PERSON

"""

VOCABULARY = """\

# ---------------------------------------------------------------------------------------------
# Everything that a section may say. Take the # away from the lines that you need.
#
# [[section]]
# heading = "Lead animators"
#
# Who stands here. Work, an engagement, or both:
# crafts = ["animation"]              whose work is in the log, by code of the craft
# characters = ["wick"]               ... on these characters only
# departments = ["Animation"]         who is engaged there; job_titles = ["Animator"] narrows it
# people = ["ana"]                    these people, whatever thresholds say: somebody decided it
# guaranteed = ["With"]               whom a contract guarantees this heading; guaranteed = true:
#                                     every guaranteed heading without a section of its own
#
# How much is asked for, and where those go who are below it. Exactly at it is enough.
# at_least = "20 seconds on screen"   seconds, frames or feet; shot, kept, accepted, in the cut or
#                                     on screen. They share a frame among its characters; with
#                                     "20 character seconds" a frame counts for each character
# at_least = "10 stage days"          days with work of a craft with footage
# at_least = "15 days"                days with work that this section takes
# at_least = "2 % of the character's screen time"    of the character where it is most
# at_least = "12 entries"
# below = "Additional animation"      another heading; or "held": somebody has to decide (as when
#                                     below is not written)
#
# order = "name"                      or "contract" (billing number), "appearance" (of the
#                                     characters), "footage" (on screen), "by hand" with
# by_hand = ["ana", "ben"]            first these, then the others by name
#
# layout = "names"                    names alone, with columns = 1, 2 or 3; "role and name";
#                                     "character and names"; "card": one card
# role = "job title"                  what stands beside a name: also "characters", "craft"
# once = "section"                    under once = "all" at the top of the plan: this section
#                                     names people although they stand elsewhere too
#
# A cast list, a line for each character. Who does another craft than the first has it named:
# [[section]]
# heading = "Cast"
# cast = ["voice", "singing"]
#
# A block for each character: its voice, animated by, made by:
# [[section]]
# heading = "{character}"
# performances = ["wick"]             or "all": everybody in order of appearance
#
# Fixed text, in Markdown:
# [[section]]
# heading = "With thanks to"
# text = \"\"\"
# The people of the valley.
# \"\"\"
"""


def first_plan(plan: CreditPlan, ledger: Ledger, credits: Credits) -> str:
    """Write the text of a plan with remarks, the vocabulary behind it.

    ``credits``: compiled by this plan; how many people stand where is remarked.
    """
    counts = {
        fold_words(section.heading): len({line.person for line in section.lines})
        for section in credits.sections
    }
    return BEGINNING + plan_text(plan, ledger, counts) + VOCABULARY


def plan_text(plan: CreditPlan, ledger: Ledger, counts: dict[str, int] | None = None) -> str:
    """Write the plan as TOML that reads back as the same plan. ``counts``: people by heading, to be
    remarked beside it."""
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
        parts.append(f"\n{remark}[[section]]\n{''.join(_lines(section, plan.once, books))}")
    return "".join(parts)


def _remark(section: PlannedSection, counts: dict[str, int]) -> str:
    if section.every_guaranteed:
        return "# Every heading that a contract guarantees, by billing number.\n"
    people = counts.get(fold_words(section.heading), 0)
    if not people:
        return "# Nobody yet.\n"
    return f"# {people} {'person' if people == 1 else 'people'} when this plan was written.\n"


def _lines(section: PlannedSection, once: Once, books: Mapping[str, Book]) -> Iterator[str]:
    """The keys of a section that are not as they would be without a word."""
    if section.heading:
        yield f"heading = {quoted_toml(section.heading)}\n"
    for key, book in books.items():
        texts = [book.spelled.get(held, held) for held in getattr(section, key)]
        if texts and key in WHO_KEYS:
            yield f"{key} = {_array(key, texts)}\n"
    if section.every_performance:
        yield 'performances = "all"\n'
    if section.every_guaranteed:
        yield "guaranteed = true\n"
    if section.text:
        yield f"text = {_long(section.text)}\n"
    if section.at_least is not None:
        yield f"at_least = {quoted_toml(section.at_least.words.removeprefix('at least '))}\n"
        yield f"below = {quoted_toml(section.below or HELD)}\n"
    yield from _settings(section, once)


def _settings(section: PlannedSection, once: Once) -> Iterator[str]:
    if section.by_hand:
        yield f"by_hand = {_array('by_hand', section.by_hand)}\n"
    elif not section.text:
        order = Order.NAME if section.order is Order.BY_HAND else section.order
        yield f"order = {quoted_toml(order)}\n"
    plain = not (section.cast or section.performances or section.every_performance)
    if section.role is not RoleShown.NOTHING and plain:
        yield f"role = {quoted_toml(section.role)}\n"
    if section.layout is not None:
        yield f"layout = {quoted_toml(section.layout)}\n"
    if section.columns and section.layout in (None, Layout.NAMES):
        yield f"columns = {section.columns}\n"
    if section.once not in (None, once):
        yield f"once = {quoted_toml(section.once)}\n"


def _long(text: str) -> str:
    """A text over several lines, read back as it was."""
    if not text.isprintable() and text.replace("\n", "").isprintable():
        inside = "\n".join(quoted_toml(line)[1:-1] for line in text.split("\n"))
        return f'"""\n{inside}"""'
    return quoted_toml(text)


def _array(key: str, texts: Iterable[str]) -> str:
    """A list of texts: on one line where it fits, else a line for each."""
    every = [quoted_toml(text) for text in texts]
    line = f"[{', '.join(every)}]"
    if len(key) + len(line) + 3 <= LINE_LENGTH:
        return line
    return "[\n" + "".join(f"    {text},\n" for text in every) + "]"
