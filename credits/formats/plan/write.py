"""Write a credit plan, commented, for a producer to change; its keys and values in words."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from datetime import date
from fractions import Fraction
from typing import Any, NamedTuple

from credits import files
from credits.billing.credits import Credits
from credits.billing.plan import (
    JOINED_BY,
    CreditPlan,
    Layout,
    LinePlace,
    NamedKind,
    NameRule,
    Order,
    OwnLine,
    Picture,
    PlannedSection,
    RoleShown,
    Size,
    guaranteed_headings,
)
from credits.billing.thresholds import FOOTAGE_UNITS, ONE_OF, Threshold, ThresholdUnit
from credits.footage.footage import MEASURE_WORDS
from credits.formats.plan import FILE_NAME as FILE_NAME
from credits.formats.plan.places import SECTION
from credits.formats.tables.cells import Unreadable
from credits.model.episodes import episodes_of
from credits.model.ledger import Ledger
from credits.text import fold_words, nearest, quoted_toml

ALL = "all"
HELD = "held"

CREDITED = "credited"
PLAN_KEYS = ("name", "once", "joined_by", "roles_also", CREDITED, SECTION)
WHO_KEYS = (
    "crafts", "characters", "departments", "job_titles", "people", "cast", "performances",
    "guaranteed", "text", "lines", "pictures",
)  # fmt: skip
LOOK_KEYS = ("heading_also", "level", "space", "size")
SECTION_KEYS = (
    "heading", *WHO_KEYS, "except", "episodes", "units", "stages", "at_least", "below", "order",
    "by_hand", "role", "layout", "columns", "once", "together", "sub_headings", *LOOK_KEYS,
)  # fmt: skip
LINE_KEYS = ("name", "kind", "role", "note", "sort_as", "after", "place", "confirmed_on")
PICTURE_KEYS = ("file", "shows", "lines")
CREDITED_KEYS = (
    "person", "as", "confirmed_on", "printed", "note", "unbroken", "headings", "crafts",
    "job_titles", "characters",
)  # fmt: skip
# Keys that one section cannot have together with others: what it is, and what else it may have.
ALONE: Mapping[str, tuple[str, tuple[str, ...]]] = {
    "text": ("fixed text", ("heading", "layout", "pictures", "episodes", *LOOK_KEYS)),
    "performances": (
        "a performance block",
        (
            "heading", "crafts", "except", "episodes", "units", "stages", "at_least", "below",
            "order", "layout", "columns", "once", "together", "lines", "pictures", *LOOK_KEYS,
        ),
    ),
    "cast": (
        "a cast list",
        (
            "heading", "characters", "except", "episodes", "units", "stages", "at_least", "below",
            "order", "by_hand", "layout", "once", "together", "lines", "pictures", *LOOK_KEYS,
        ),
    ),
}  # fmt: skip


class _Bare(str):
    """A value that is written without quotes."""

    __slots__ = ()


class Book(NamedTuple):
    """What may be named.

    one: what it is. add: what to do about one that is missing. spelled: how people write it, and
    held: how the plan holds it, both by how it is compared. called: the code by the name, where
    codes are written.
    """

    one: str
    add: str
    spelled: Mapping[str, str]
    held: Mapping[str, str]
    called: Mapping[str, str] = {}


def _book(one: str, add: str, texts: Iterable[str]) -> Book:
    """A book of texts that a plan holds as they are compared."""
    spelled: dict[str, str] = {}
    for text in filter(str.strip, texts):
        spelled.setdefault(fold_words(text), text)
    return Book(one, add, spelled, {text: text for text in spelled})


def _coded(one: str, add: str, names: Mapping[str, str]) -> Book:
    """A book of codes. names: by code."""
    spelled = {fold_words(code): code for code in names}
    return Book(one, add, spelled, spelled, {fold_words(names[code]): code for code in names})


def books_of(ledger: Ledger) -> dict[str, Book]:
    """Return what each key of a section may name in this production."""
    jobs = [job for own in ledger.engagements.values() for job in own]
    names = {code: craft.name for code, craft in ledger.crafts.items()}
    crafts = _coded("craft", "add it to the crafts table", names)
    names = {code: character.name for code, character in ledger.characters.items()}
    characters = _coded("character", "add it to the characters table", names)
    names = {code: person.credit_name for code, person in ledger.people.items()}
    people = _coded("person", "add them to the people table", names)
    add = "add it to the stages table"
    units = (stage.unit for stage in ledger.stages.values() if stage.unit is not None)
    see = "see the engagements table"
    headings = (spelled for _, spelled in guaranteed_headings(ledger))
    return {
        "crafts": crafts,
        "characters": characters,
        "departments": _book("department", see, (job.department for job in jobs)),
        "job_titles": _book("job title", see, (job.job_title for job in jobs)),
        "people": people,
        "cast": crafts,
        "performances": characters,
        "guaranteed": _book("guaranteed heading", see, headings),
        "by_hand": people,
        "except": people,
        "together": people,
        "after": people,
        "person": people,
        "stages": _coded("stage", add, {code: code for code in ledger.stages}),
        "units": _book("unit", add, units),
        "episodes": _book("episode", "say it of its shots", episodes_of(ledger)),
    }


def meant(word: str, known: Iterable[str]) -> str:
    """Ask whether the nearest of the known words was meant; empty where none is near."""
    like = nearest(word, known)
    return f"Did you mean {like[0]}? " if like else ""


_WRITTEN = re.compile(
    r"(?:at least )?(\d{1,12}(?:\.\d{1,12})?|\d{1,12}/0{0,12}[1-9]\d{0,11}) ?([a-z%][a-z ']*)"
)
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


LINE_LENGTH = 96
NOT_PRINTED, _NONE = _Bare("false"), _Bare("0")


def first_plan(plan: CreditPlan, ledger: Ledger, credits: Credits) -> str:
    """Write a plan with remarks, among them how many people stand where in its ``credits``."""
    counts = {
        fold_words(section.heading): len({line.person for line in section.lines if line.person})
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
    if plan.joined_by != JOINED_BY:
        parts.append(f"joined_by = {quoted_toml(plan.joined_by)}\n")
    if plan.roles_also:
        roles = (f"{quoted_toml(role)} = {quoted_toml(also)}\n" for role, also in plan.roles_also)
        parts.append(f"\n[roles_also]\n{''.join(roles)}")
    parts += (f"\n[[{CREDITED}]]\n{_said(_credited(rule, books))}" for rule in plan.names)
    for section in plan.sections:
        remark = "" if counts is None else _remark(section, counts)
        parts.append(f"\n{remark}[[section]]\n{_said(_keys(section, plan.once, books))}")
        parts += (f"\n[[section.pictures]]\n{_said(_picture(each))}" for each in section.pictures)
        parts += (f"\n[[section.lines]]\n{_said(_line(each))}" for each in section.lines)
    return "".join(parts)


def _remark(section: PlannedSection, counts: dict[str, int]) -> str:
    if section.every_guaranteed:
        return "# Every heading that a contract guarantees, by billing number.\n"
    people = counts.get(fold_words(section.heading), 0)
    if not people:
        return "# Nobody yet.\n"
    return f"# {people} {'person' if people == 1 else 'people'} when this plan was written.\n"


def _said(values: Mapping[str, object]) -> str:
    """What is said, a line each; what is empty is not."""
    return "".join(f"{key} = {_value(key, value)}\n" for key, value in values.items() if value)


def _line(line: OwnLine) -> dict[str, object]:
    return {
        "name": line.name,
        "kind": line.named is not NamedKind.OTHER and line.named,
        "role": line.role,
        "note": line.note,
        "sort_as": line.files_under,
        "after": line.after,
        "place": line.place is not LinePlace.SORTED and line.place,
        "confirmed_on": line.confirmed_on,
    }


def _picture(picture: Picture) -> dict[str, object]:
    return {"file": picture.file, "shows": picture.shows, "lines": picture.lines}


def _credited(rule: NameRule, books: Mapping[str, Book]) -> dict[str, object]:
    titles = [books["job_titles"].spelled.get(title, title) for title in rule.job_titles]
    return {
        "person": rule.person,
        "as": rule.printed_as,
        "confirmed_on": rule.confirmed_on,
        "printed": "" if rule.printed else NOT_PRINTED,
        "note": rule.note,
        "unbroken": rule.unbroken,
        "headings": rule.headings,
        "crafts": rule.crafts,
        "job_titles": titles,
        "characters": rule.characters,
    }


def _keys(section: PlannedSection, once: str, books: Mapping[str, Book]) -> dict[str, object]:
    """The keys of a section that are not as they would be without a word."""
    least, every = section.at_least, section.every_performance
    order = Order.NAME if section.order is Order.BY_HAND else section.order
    shows_role = section.role is not RoleShown.NOTHING
    said: dict[str, object] = {"heading": section.heading}
    for key in (key for key in books if key in WHO_KEYS):
        said[key] = [books[key].spelled.get(held, held) for held in getattr(section, key)]
    units = [books["units"].spelled.get(unit, unit) for unit in section.units]
    episodes = [books["episodes"].spelled.get(each, each) for each in section.episodes]
    said |= {"except": section.excepted, "episodes": episodes}
    said |= {"units": units, "stages": section.stages}
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
        "together": section.together,
        "sub_headings": section.sub_headings,
        "heading_also": section.heading_also,
        "level": section.level != 1 and section.level,
        "space": _NONE if section.space == 0 else section.space != 1 and section.space,
        "size": section.size is not Size.NORMAL and section.size,
    }
    if section.alone:
        said = {key: said[key] for key in ("heading", "episodes", *LOOK_KEYS)}
    return said


def _value(key: str, value: Any) -> str:
    """A value as TOML has it; a text over several lines is read back as it was."""
    if isinstance(value, _Bare):
        return str(value)
    if isinstance(value, bool | int):
        return str(value).lower()
    if isinstance(value, date):
        return value.isoformat()
    if not isinstance(value, str) and value and not isinstance(value[0], str):
        return f"[{', '.join(_array('', each) for each in value)}]"
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
