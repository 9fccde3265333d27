"""The credit plan as a file, read."""

from __future__ import annotations

import re
import tomllib
from collections import Counter
from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from credits.billing import plan, thresholds
from credits.errors import Finding, Place, ProblemsFound
from credits.formats.plan import write
from credits.formats.plan.own import read_lines, read_name_rules, read_pictures
from credits.formats.plan.places import SECTION, At, TomlLines
from credits.formats.plan.table import TableReader
from credits.formats.tables.cells import Unreadable
from credits.model.ledger import Ledger
from credits.text import fold_words, nearest
from credits.toml_text import parse_toml, toml_bytes

CODES_ALONE = (
    "crafts", "departments", "characters", "job_titles", "people", "cast", "by_hand", "except",
    "episodes", "units", "stages",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class SectionReader(TableReader):
    """Reads one section."""

    footage_crafts: frozenset[str]

    def read(self, targets: Collection[str], below_it: object) -> plan.PlannedSection:
        """Read the section, as far as it can be read.

        targets: where others send people to. below_it: the level of the section that follows.
        """
        self._check_keys()
        heading = self.text("heading")
        text = self.text("text", lines=True)
        if len(text) > plan.LONGEST_TEXT:
            hint = f"Shorten it to {plan.LONGEST_TEXT:,}, or make several sections of it."
            self.add("text", f"has {len(text):,} characters", hint, text[:40])
        guaranteed, every_guaranteed = self.codes_or("guaranteed", True)
        performances, every_performance = self.codes_or("performances", write.ALL)
        codes = {key: self.codes(key) for key in CODES_ALONE}
        level = self.whole("level", 1, *plan.LEVELS, "level of a heading")
        once = self.text("once")
        shows = self.table.keys().isdisjoint((*write.WHO_KEYS, "at_least", "order", "role"))
        section = plan.PlannedSection(
            heading=heading,
            crafts=codes["crafts"],
            departments=codes["departments"],
            characters=codes["characters"],
            job_titles=codes["job_titles"],
            people=codes["people"],
            cast=codes["cast"],
            by_hand=codes["by_hand"],
            excepted=codes["except"],
            units=codes["units"],
            episodes=codes["episodes"],
            stages=codes["stages"],
            guaranteed=guaranteed,
            role=self._role(),
            order=self._order(codes["by_hand"], every_guaranteed or bool(guaranteed)),
            performances=performances,
            every_performance=every_performance,
            every_guaranteed=every_guaranteed,
            text=text,
            at_least=self._threshold((*codes["crafts"], *codes["cast"])),
            below=self._below(heading),
            layout=self.word("layout", plan.Layout),
            columns=self._columns(),
            once=fold_words(once) if once else None,
            lines=read_lines(self),
            together=self._together(),
            heading_also=self.text("heading_also"),
            level=level,
            space=self.whole("space", 1, 0, plan.MOST_SPACE, "number of empty lines"),
            size=self.word("size", plan.Size) or plan.Size.NORMAL,
            pictures=read_pictures(self),
            sub_headings=self.flag("sub_headings"),
            alone=shows and level == 1 and below_it == plan.LEVELS[-1],
        )
        self._check_heading(section)
        if section.sub_headings and section.role is plan.RoleShown.NOTHING:
            hint = 'Write role = "job title" beside it, or role = "craft".'
            self.add("sub_headings", "there are no roles to be headings", hint)
        self._check_layout(section)
        sent = fold_words(heading) in targets
        if self.table.keys().isdisjoint(write.WHO_KEYS) and not section.alone and not sent:
            hint = (
                f"Say who: {', '.join(write.WHO_KEYS)}. Or name this heading in another section's"
            )
            self.add("heading", "nobody can stand here", f"{hint} `below`.")
        return section

    def _check_keys(self) -> None:
        self.check_keys(write.SECTION_KEYS, "a section")
        for key, (what, allowed) in write.ALONE.items():
            if key in self.table:
                for other in self.table:
                    if other in write.SECTION_KEYS and other not in (key, *allowed):
                        hint = f"With {key} go {', '.join(allowed)} only."
                        self.add(other, f"does not go with {key}: this is {what}", hint)
                return

    def _check_heading(self, section: plan.PlannedSection) -> None:
        blocks = section.performances or section.every_performance
        free = section.every_guaranteed or blocks or section.text or section.pictures
        if (
            plan.CHARACTER_MARK in section.heading
            and not blocks
            and "performances" not in self.table
        ):
            hint = 'Write performances = ["wick"] beside it, or the name itself.'
            self.add("heading", "stands for a character, and there is none here", hint)
        if not section.heading and "heading" not in self.table and not free:
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

    def _together(self) -> tuple[tuple[str, ...], ...]:
        """The people whose names stand on one line: a list of lists, or one list."""
        value = self.table.get("together", [])
        groups = value if isinstance(value, list) else [value]
        if all(isinstance(each, str) for each in groups):
            groups = [groups] if groups else []
        for group in groups:
            fits = isinstance(group, list) and all(isinstance(each, str) for each in group)
            if not fits or len(group) < 2:
                hint = 'Write together = [["ana", "ben"]].'
                self.add("together", "is not two people or more", hint)
                return ()
        self.known("together", [word for group in groups for word in group])
        held = self.books["together"].held
        return tuple(
            tuple(held[w] for w in map(fold_words, group) if w in held) for group in groups
        )

    def _role(self) -> plan.RoleShown:
        role = self.word("role", plan.RoleShown)
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
        order = self.word("order", plan.Order)
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
        below = self.text("below")
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
SECTIONS = "sections"
_CURLY = re.compile("[\u2018-\u201f]")  # quotation marks that are not straight
HINT = 'Write [[section]] in double brackets, and below it lines such as heading = "Animators".'


def read_plan_file(path: Path, ledger: Ledger) -> plan.CreditPlan:
    """The plan in a file. Raises ProblemsFound with everything that is wrong with it."""
    try:
        text = toml_bytes(path).decode("utf-8-sig")
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
    lines = TomlLines(text)
    table = _parsed(text, lines)
    problems: list[Finding] = []
    books = write.books_of(ledger)
    top = TableReader(table, At(), lines, books, problems)
    if SECTIONS in table:
        top.add(SECTIONS, "is no word of a plan", "Write [[section]], for one section, each time.")
    top_table = {key: value for key, value in table.items() if key != SECTIONS}
    TableReader(top_table, At(), lines, books, problems).check_keys(write.PLAN_KEYS, "a plan")
    name = top.text("name") or write.FILE_NAME
    once = table.get("once", plan.Once.SECTION)
    if once not in [each.value for each in plan.Once]:
        top.add("once", "is not how often somebody is named", 'Write "section" or "all".')
    tables = table.get(SECTION, [])
    if not isinstance(tables, list) or not all(isinstance(each, dict) for each in tables):
        top.add(SECTION, "is not a list of sections", HINT)
        tables = []
    elif not tables and not problems:
        problems.append(Finding("the plan has no section", HINT, Place(write.FILE_NAME)))
    targets = {fold_words(t["below"]) for t in tables if isinstance(t.get("below"), str)}
    footage = frozenset(craft.code for craft in ledger.crafts.values() if craft.footage)
    readers = [
        SectionReader(each, At(place), lines, books, problems, footage)
        for place, each in enumerate(tables, 1)
    ]
    levels = [*(each.get("level") for each in tables), None]
    sections = [reader.read(targets, levels[place]) for place, reader in enumerate(readers, 1)]
    _check_ways(sections, readers)
    _check_groups(sections, readers)
    names, roles_also = read_name_rules(top), _roles_also(top)
    joined_by = top.text("joined_by") or plan.JOINED_BY
    if problems:
        problems.sort(key=lambda finding: (finding.place and finding.place.line) or 0)
        raise ProblemsFound(*problems)
    return plan.CreditPlan(name, tuple(sections), once, names, roles_also, joined_by)


def _roles_also(top: TableReader) -> tuple[tuple[str, str], ...]:
    """The roles in the plan's second language, by the role as compared."""
    said = top.table.get("roles_also", {})
    if not isinstance(said, dict) or not all(isinstance(also, str) for also in said.values()):
        hint = 'Write [roles_also] and below it lines such as "animated by" = "animé par".'
        top.add("roles_also", "is not a list of roles", hint)
        return ()
    return tuple((fold_words(role), also) for role, also in said.items())


def _check_groups(sections: list[plan.PlannedSection], readers: list[SectionReader]) -> None:
    """A group of sections that name people once has two sections at least."""
    named = Counter(section.once for section in sections)
    usual = [each.value for each in plan.Once]
    for section, reader in zip(sections, readers, strict=True):
        once = section.once
        if once is not None and once not in usual and named[once] == 1:
            others = [*usual, *(other for other in named if other not in (None, once))]
            like = nearest(once, [other for other in others if other is not None])
            hint = f"{f'Did you mean {like[0]}? ' if like else ''}Write it in each section of the"
            reader.add("once", "no other section is of this group", f"{hint} group.", once)


def _parsed(text: str, lines: TomlLines) -> dict[str, Any]:
    try:
        return parse_toml(text)
    except tomllib.TOMLDecodeError as error:
        found = _AT.search(str(error))
        every = text.split("\n")
        last = len(text.rstrip().split("\n"))
        line = min(int(found[1]) if found else last, last)
        what = f"is not TOML ({_AT.sub('', str(error)).strip()})"
        hint = 'Texts stand in quotes, lists in brackets: crafts = ["animation"].'
        opens = lines.opens_unclosed(line)
        if opens is not None:
            line, what = opens, "opens a text or a list that is never closed"
            hint = 'A text over several lines ends with """, a list with ].'
        elif _CURLY.search(every[line - 1]):
            what = "has curly quotes, which hold no text in this file"
            hint = 'Write straight ones: heading = "Animators".'
        place = Place(write.FILE_NAME, line=line)
        raise ProblemsFound(
            Finding(what, hint, place, value=every[line - 1].strip() or None)
        ) from error


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
