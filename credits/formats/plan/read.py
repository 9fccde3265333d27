"""The credit plan as a file, read."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import Any, TypeVar

from credits.billing import plan, thresholds
from credits.errors import Finding, Place, ProblemsFound
from credits.formats.plan import write
from credits.formats.tables.cells import Unreadable
from credits.model.ledger import Ledger
from credits.text import fold_words, nearest

W = TypeVar("W", bound=StrEnum)
CODES_ALONE = (
    "crafts", "departments", "characters", "job_titles", "people", "cast", "by_hand",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class SectionReader:
    """Reads one section; ``problems`` gets what is wrong with it. ``place``: from 1."""

    table: Mapping[str, Any]
    place: int
    lines: write.TomlLines
    books: Mapping[str, write.Book]
    footage_crafts: frozenset[str]
    problems: list[Finding]

    def add(self, key: str, what: str, hint: str = "", value: str | None = None) -> None:
        """Add a problem at a key; ``value``: the text in its array that is meant."""
        line = self.lines.of(key, self.place, value)
        shown = value
        if value is None and not isinstance(given := self.table.get(key), list | dict | None):
            shown = str(given).lower() if isinstance(given, bool) else str(given)
        self.problems.append(Finding(what, hint, Place(write.FILE_NAME, line=line), key, shown))

    def read(self, targets: Collection[str]) -> plan.PlannedSection:
        """Read the section, as far as it can be read. targets: where others send people to."""
        self._check_keys()
        heading = self._text("heading")
        text = self._text("text", lines=True)
        guaranteed, every_guaranteed = self._codes_or("guaranteed", True)
        performances, every_performance = self._codes_or("performances", write.ALL)
        codes = {key: self._codes(key) for key in CODES_ALONE}
        section = plan.PlannedSection(
            **codes,
            heading=heading,
            guaranteed=guaranteed,
            role=self._role(),
            order=self._order(codes["by_hand"], every_guaranteed or bool(guaranteed)),
            performances=performances,
            every_performance=every_performance,
            every_guaranteed=every_guaranteed,
            text=text,
            at_least=self._threshold((*codes["crafts"], *codes["cast"])),
            below=self._below(heading),
            layout=self._word("layout", plan.Layout),
            columns=self._columns(),
            once=self._word("once", plan.Once),
        )
        self._check_heading(section)
        self._check_layout(section)
        if self.table.keys().isdisjoint(write.WHO_KEYS) and fold_words(heading) not in targets:
            hint = (
                f"Say who: {', '.join(write.WHO_KEYS)}. Or name this heading in another section's"
            )
            self.add("heading", "nobody can stand here", f"{hint} `below`.")
        return section

    def _check_keys(self) -> None:
        for key in self.table:
            if key not in write.SECTION_KEYS:
                every = f"There are {', '.join(write.SECTION_KEYS)}."
                hint = write.meant(key, write.SECTION_KEYS).rstrip() or every
                self.add(key, "is no word of a section", hint)
        for key, (what, allowed) in write.ALONE.items():
            if key in self.table:
                for other in self.table:
                    if other in write.SECTION_KEYS and other not in (key, *allowed):
                        hint = f"With {key} go {', '.join(allowed)} only."
                        self.add(other, f"does not go with {key}: this is {what}", hint)
                return

    def _text(self, key: str, lines: bool = False) -> str:
        value = self.table.get(key, "")
        if not isinstance(value, str) or (key in self.table and not value.strip()):
            self.add(key, "is not a text", f'Write {key} = "..." in quotes.')
            return ""
        if not lines and len(value.splitlines()) > 1:
            self.add(key, "is more than one line", "Write it on one line.")
        return value

    def _check_heading(self, section: plan.PlannedSection) -> None:
        free = section.every_guaranteed or section.performances or section.every_performance
        if not section.heading and "heading" not in self.table and not free and not section.text:
            self.add("heading", "a section needs a heading", 'Write heading = "Animators".')
        if section.every_guaranteed and section.heading:
            hint = "Leave the heading off, or write guaranteed = [...] with the headings meant."
            self.add("heading", "stands for itself: each guaranteed heading is a section", hint)

    def _check_layout(self, section: plan.PlannedSection) -> None:
        layout, shown = section.layout, section.role is not plan.RoleShown.NOTHING
        if layout is plan.Layout.TEXT and not section.text:
            self.add("layout", "there is no text here", 'Write text = """...""".')
        if section.text and layout not in (None, plan.Layout.TEXT, plan.Layout.CARD):
            self.add("layout", "is not for fixed text", 'Write "text" or "card".')
        if section.cast and layout is plan.Layout.NAMES:
            self.add("layout", "a cast list has characters", 'Write "character and names".')
        if layout is plan.Layout.NAMES and shown and "role" in self.table:
            hint = 'Write layout = "role and name", or take role away.'
            self.add("layout", "names alone have no role beside them", hint)

    def _list_of(self, key: str) -> list[str]:
        """The texts of an array; one text alone counts as an array of one."""
        value = self.table.get(key, [])
        if isinstance(value, str):
            value = [value]
        if not isinstance(value, list) or not all(isinstance(each, str) for each in value):
            self.add(key, "is not a list of texts", f'Write {key} = ["...", "..."].')
            return []
        if key in self.table and not value:
            self.add(key, "names nothing", "Take the line away, or write what is meant.")
        return value

    def _codes(self, key: str) -> tuple[str, ...]:
        book = self.books[key]
        out: dict[str, None] = {}
        for word in self._list_of(key):
            folded = fold_words(word)
            if folded in book.held:
                out[book.held[folded]] = None
                continue
            like = nearest(folded, book.held)
            hint = f"Write {book.spelled[like[0]]}, or {book.add}." if like else f"{book.add}."
            self.add(key, f"there is no such {book.one}", hint[:1].upper() + hint[1:], word)
        return tuple(out)

    def _codes_or(self, key: str, every: object) -> tuple[tuple[str, ...], bool]:
        """The codes; or all of them, where the value is ``every``."""
        value = self.table.get(key)
        if value == every and type(value) is type(every):
            return (), True
        if isinstance(value, bool):
            self.add(key, "means nothing", f"Write {key} = true, or take the line away.")
            return (), False
        return self._codes(key), False

    def _word(self, key: str, kind: type[W]) -> W | None:
        if key not in self.table:
            return None
        value = self.table[key]
        known = [each.value for each in kind]
        if isinstance(value, str) and value in known:
            return kind(value)
        like = nearest(str(value), known)
        hint = f"Did you mean '{like[0]}'? " if like else ""
        self.add(key, f"is no {key}", f"{hint}Write one of: {', '.join(known)}.")
        return None

    def _role(self) -> plan.RoleShown:
        role = self._word("role", plan.RoleShown)
        if role is not None:
            return role
        layout = self.table.get("layout")
        if layout == plan.Layout.CHARACTER_AND_NAMES:
            return plan.RoleShown.CHARACTERS
        if layout == plan.Layout.ROLE_AND_NAME:
            work = "crafts" in self.table or "characters" in self.table
            return plan.RoleShown.CRAFT if work else plan.RoleShown.JOB_TITLE
        return plan.RoleShown.NOTHING

    def _order(self, by_hand: tuple[str, ...], guaranteed: bool) -> plan.Order:
        order = self._word("order", plan.Order)
        if by_hand and order not in (None, plan.Order.BY_HAND):
            self.add("order", "is not the order by_hand gives", "Take one of the two away.")
        if order is plan.Order.BY_HAND and "by_hand" not in self.table:
            hint = 'Write by_hand = ["ana", "ben"] with the people in their order.'
            self.add("order", "does not say in which order", hint)
        if by_hand:
            return plan.Order.BY_HAND
        if order is None and "cast" in self.table:
            return plan.Order.APPEARANCE
        return order or (plan.Order.CONTRACT if guaranteed else plan.Order.NAME)

    def _threshold(self, crafts: tuple[str, ...]) -> thresholds.Threshold | None:
        if "at_least" not in self.table:
            if "below" in self.table:
                hint = 'Write at_least = "20 seconds on screen" beside it.'
                self.add("below", "nobody is below: the section asks for nothing", hint)
            return None
        value = self.table["at_least"]
        try:
            found = write.read_threshold(value if isinstance(value, str) else "")
        except Unreadable as wrong:
            self.add("at_least", wrong.what, wrong.hint)
            return None
        by_engagement = "departments" in self.table or "job_titles" in self.table
        none = crafts and not by_engagement and self.footage_crafts.isdisjoint(crafts)
        if none and found.unit in thresholds.FOOTAGE_UNITS:
            hint = "Count entries or days, or name a craft with footage, such as animation."
            self.add("at_least", "nobody reaches that: these crafts make no footage", hint)
        return found

    def _below(self, heading: str) -> str | None:
        below = self._text("below")
        if not below or fold_words(below) == write.HELD:
            return None
        if fold_words(below) == fold_words(heading):
            hint = f'Write another heading, or "{write.HELD}".'
            self.add("below", "is this section itself", hint)
        return below

    def _columns(self) -> int:
        if "columns" not in self.table:
            return 0
        value = self.table["columns"]
        if type(value) is not int or not 1 <= value <= plan.MOST_COLUMNS:
            self.add("columns", "is no number of columns", f"Write 1 to {plan.MOST_COLUMNS}.")
            return 0
        layout = self.table.get("layout", plan.Layout.NAMES.value)
        if value > 1 and layout != plan.Layout.NAMES:
            self.add("columns", f"'{layout}' stands in one column", 'Only "names" has columns.')
        return value


_AT = re.compile(r"\(at line (\d+), column \d+\)")
HINT = 'Write [[section]] in double brackets, and below it lines such as heading = "Animators".'


def read_plan_file(path: Path, ledger: Ledger) -> plan.CreditPlan:
    """The plan in a file. Raises ProblemsFound with everything that is wrong with it."""
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except OSError as error:
        what = f"cannot be read ({error.strerror})"
        hint = "See that it is a file that you may read."
        raise ProblemsFound(Finding(what, hint, Place(path.name))) from error
    except UnicodeDecodeError as error:
        finding = Finding("is not UTF-8 text", "Save it as UTF-8.", Place(path.name))
        raise ProblemsFound(finding) from error
    return read_plan_text(text, ledger)


def read_plan_text(text: str, ledger: Ledger) -> plan.CreditPlan:
    """The plan that a text writes. Raises ProblemsFound with every problem, in order of lines."""
    text = text.replace("\r\n", "\n")
    table = _parsed(text)
    lines = write.TomlLines(text)
    problems: list[Finding] = []

    def add(key: str, what: str, hint: str, value: str | None = None) -> None:
        problems.append(Finding(what, hint, Place(write.FILE_NAME, line=lines.of(key)), key, value))

    for key in table:
        if key not in write.PLAN_KEYS:
            hint = f"{write.meant(key, write.PLAN_KEYS)}There are {', '.join(write.PLAN_KEYS)}."
            add(key, "is no word of a plan", hint)
    name = table.get("name", write.FILE_NAME)
    if not isinstance(name, str) or not name.strip() or len(name.splitlines()) > 1:
        add("name", "is not a name", 'Write name = "First plan".', str(name))
    once = table.get("once", plan.Once.SECTION.value)
    if once not in [each.value for each in plan.Once]:
        add("once", "is not how often somebody is named", 'Write "section" or "all".', str(once))
    tables = table.get(write.SECTION, [])
    if not isinstance(tables, list) or not all(isinstance(each, dict) for each in tables):
        add(write.SECTION, "is not a list of sections", HINT)
        tables = []
    elif not tables and not problems:
        problems.append(Finding("the plan has no section", HINT, Place(write.FILE_NAME)))
    targets = {fold_words(t["below"]) for t in tables if isinstance(t.get("below"), str)}
    books = write.books_of(ledger)
    footage = frozenset(craft.code for craft in ledger.crafts.values() if craft.footage)
    readers = [
        SectionReader(table, place, lines, books, footage, problems)
        for place, table in enumerate(tables, 1)
    ]
    sections = [reader.read(targets) for reader in readers]
    _check_ways(sections, readers)
    if problems:
        problems.sort(key=lambda finding: (finding.place and finding.place.line) or 0)
        raise ProblemsFound(*problems)
    return plan.CreditPlan(name, tuple(sections), plan.Once(once))


def _parsed(text: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        found = _AT.search(str(error))
        last = len(text.rstrip().split("\n"))
        line = int(found[1]) if found else last
        shown = text.split("\n")[min(line, last) - 1].strip() or None
        what = f"is not TOML ({_AT.sub('', str(error)).strip()})"
        hint = 'Texts stand in quotes, lists in brackets: crafts = ["animation"].'
        place = Place(write.FILE_NAME, line=line)
        raise ProblemsFound(Finding(what, hint, place, value=shown)) from error


def _check_ways(sections: list[plan.PlannedSection], readers: list[SectionReader]) -> None:
    """Where people go who are below a threshold: to a section that can take them, in no circle."""
    called = plan.called_so(sections)
    closed = {fold_words(s.heading) for s in sections if not s.takes_people and s.heading}
    below = {
        place: fold_words(section.below)
        for place, section in enumerate(sections)
        if section.at_least is not None and section.below is not None
    }
    for place, key in below.items():
        if key in closed and key not in called:
            what = "is a section of fixed text or of performances: nobody can be sent there"
            readers[place].add("below", what, 'Name another heading, or write "held".')
        seen = {place}
        at = called.get(key)
        while at is not None and at not in seen:
            seen.add(at)
            at = called.get(below[at]) if at in below else None
        if at == place and len(seen) > 1:
            what = "leads back to this section"
            readers[place].add("below", what, 'Let one of the headings say below = "held".')
