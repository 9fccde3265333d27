"""Reading ``credit-plan.toml``: every problem at once, each with its line."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

from credits.compute.credit_plan import CreditPlan, Once, PlannedSection
from credits.compute.plan_found import goes_on
from credits.errors import Finding, Place, ProblemsFound
from credits.exchange.plan_section_in import SectionReader
from credits.exchange.plan_words import FILE_NAME, PLAN_KEYS, SECTION, books_of
from credits.exchange.toml_lines import TomlLines
from credits.model.ledger import Ledger
from credits.text import fold_words, nearest

_AT = re.compile(r"\(at line (\d+), column \d+\)")
HINT = 'Write [[section]] in double brackets, and below it lines such as heading = "Animators".'


def read_plan_file(path: Path, ledger: Ledger) -> CreditPlan:
    """The plan in a file, for the production of this ledger.

    Raises ProblemsFound with everything that is wrong with it: words that are none, crafts, people
    and characters that the production does not have, thresholds that cannot be read.
    """
    try:
        raw = path.read_bytes()
    except OSError as error:
        what = f"cannot be read ({error.strerror})"
        hint = "See that it is a file that you may read."
        raise ProblemsFound(Finding(what, hint, Place(path.name))) from error
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        finding = Finding("is not UTF-8 text", "Save it as UTF-8.", Place(path.name))
        raise ProblemsFound(finding) from error
    return read_plan_text(text, ledger)


def read_plan_text(text: str, ledger: Ledger) -> CreditPlan:
    """The plan that a text writes. Raises ProblemsFound with every problem, in order of lines."""
    table = _parsed(text)
    lines = TomlLines(text)
    problems: list[Finding] = []
    plan = _plan(table, lines, ledger, problems)
    if problems:
        problems.sort(key=lambda finding: (finding.place and finding.place.line) or 0)
        raise ProblemsFound.of(problems)
    return plan


def _parsed(text: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text.replace("\r\n", "\n"))
    except tomllib.TOMLDecodeError as error:
        found = _AT.search(str(error))
        last = len(text.rstrip().split("\n"))
        line = int(found[1]) if found else last
        shown = text.split("\n")[min(line, last) - 1].strip() or None
        what = f"is not TOML ({_AT.sub('', str(error)).strip()})"
        hint = 'Texts stand in quotes, lists in brackets: crafts = ["animation"].'
        place = Place(FILE_NAME, line=line)
        raise ProblemsFound(Finding(what, hint, place, value=shown)) from error


def _plan(
    table: dict[str, Any], lines: TomlLines, ledger: Ledger, problems: list[Finding]
) -> CreditPlan:
    def add(key: str, what: str, hint: str, value: str | None = None) -> None:
        place = Place(FILE_NAME, line=lines.of_key(key))
        problems.append(Finding(what, hint, place, key, value))

    for key in table:
        if key not in PLAN_KEYS:
            like = nearest(key, PLAN_KEYS)
            hint = f"Did you mean {like[0]}? " if like else ""
            add(key, "is no word of a plan", f"{hint}There are {', '.join(PLAN_KEYS)}.")
    name = table.get("name", FILE_NAME)
    if not isinstance(name, str) or not name.strip() or len(name.splitlines()) > 1:
        add("name", "is not a name", 'Write name = "First plan".', str(name))
    once = table.get("once", Once.SECTION.value)
    if once not in [each.value for each in Once]:
        add("once", "is not how often somebody is named", 'Write "section" or "all".', str(once))
    tables = table.get(SECTION, [])
    if not isinstance(tables, list) or not all(isinstance(each, dict) for each in tables):
        add(SECTION, "is not a list of sections", HINT)
        tables = []
    elif not tables and not problems:
        problems.append(Finding("the plan has no section", HINT, Place(FILE_NAME)))
    sections = _sections(tables, lines, ledger, problems)
    if problems:
        return CreditPlan("", ())
    return CreditPlan(name, tuple(sections), Once(once))


def _sections(
    tables: list[dict[str, Any]], lines: TomlLines, ledger: Ledger, problems: list[Finding]
) -> list[PlannedSection]:
    targets = {fold_words(t["below"]) for t in tables if isinstance(t.get("below"), str)}
    books = books_of(ledger)
    footage = frozenset(craft.code for craft in ledger.crafts.values() if craft.footage)
    readers = [
        SectionReader(table, place, lines, books, footage, problems)
        for place, table in enumerate(tables)
    ]
    sections = [reader.read(lambda heading: fold_words(heading) in targets) for reader in readers]
    _check_ways(sections, readers)
    return sections


def _check_ways(sections: list[PlannedSection], readers: list[SectionReader]) -> None:
    """Where people go who are below a threshold: to a section that can take them, in no circle."""
    called: dict[str, int] = {}
    for place, section in enumerate(sections):
        if section.takes_people:
            called.setdefault(fold_words(section.heading), place)
    closed = {fold_words(s.heading): s for s in sections if not s.takes_people and s.heading}
    for place, section in enumerate(sections):
        if section.at_least is None or not goes_on(section):
            continue
        key = fold_words(section.below)
        if key in closed and key not in called:
            what = "is a section of fixed text or of performances: nobody can be sent there"
            readers[place].add("below", what, 'Name another heading, or write "held".')
        seen = {place}
        at = called.get(key)
        while at is not None and at not in seen:
            seen.add(at)
            onward = sections[at]
            going = onward.at_least is not None and goes_on(onward)
            at = called.get(fold_words(onward.below)) if going else None
        if at == place and len(seen) > 1:
            what = "leads back to this section"
            readers[place].add("below", what, 'Let one of the headings say below = "held".')
