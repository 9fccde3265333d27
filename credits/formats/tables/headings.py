"""Departments' own words: names of files and sheets, headings and lengths, made the production's.

What they mean is written once, under ``[sheets]`` of production.toml::

    "Crew list*" = "people"          a file or a sheet of this name holds this table
    date = "finished_on"             a column of this heading is this column
    hours = "minutes in hours"       its bare numbers are hours
    "shoe size" = "left out"         what is not to be loaded
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from fnmatch import fnmatchcase

from credits.errors import Finding, Place, ProblemsFound
from credits.formats.tables.cells import Cell
from credits.formats.tables.columns import LENGTHS, TABLES, SheetTable
from credits.formats.tables.csv_files import TITLE_ROWS, plain_header
from credits.model.facts import DAY_MINUTES, Production
from credits.text import fold_code, nearest, quoted_toml, stripped
from credits.units.spoken import spoken_minutes

LEFT_OUT = "left out"
IN_HOURS = "in hours"
EXPLAINS = "## "
"""A row below the header whose first cell begins so explains the columns, and is no row of data."""

_SETTINGS, _SECTION = "production.toml", "[sheets]"
_LEAST_KNOWN = 2
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_BARE_NUMBER = re.compile(r"[0-9]+(?:[.,][0-9]+)?")
_HOURS = frozenset({"h", "hr", "hrs", "hour", "hours", "std", "stunden", "heures", "horas"})

# What headings mean, the likeliest first: the columns that a table has are offered.
_MEANINGS = {
    heading: meant.split()
    for headings, meant in (
        ("name full_name person_name credit credited_as", "credit_name person"),
        ("surname last_name family_name", "sort_name"),
        ("mail e_mail mail_address", "email"),
        ("h hr hrs hour hours std stunden heures horas", "minutes_in_hours minutes"),
        ("time duration length_of_work worked min mins", "minutes"),
        ("waiting wait waited idle", "wait_minutes"),
        ("date day when worked_on datum", "finished_on from_on decided_on name_confirmed_on"),
        ("start starts from begin since first_day start_date", "started_on starts_on from_on"),
        ("end ends until till to last_day end_date", "finished_on ends_on to_on"),
        ("animator artist worker crew who by made_by maker done_by sculptor painter", "person"),
        ("job title position job_name function", "job_title craft"),
        ("role", "job_title character"),
        ("dept team division", "department"),
        ("task activity work what kind_of_work", "craft kind"),
        ("scene", "shot sequence"),
        ("seq", "sequence"),
        ("shot_code shot_name shot_no setup", "shot"),
        ("char figure", "character"),
        ("model doll copy_no", "puppet copy"),
        ("face head mouth piece", "part"),
        ("frame range frame_range fr", "frames"),
        ("length frame_count duration_in_frames", "frames"),
        ("set unit_name", "stage unit"),
        ("type category", "kind purpose"),
        ("state", "status decision"),
        ("desc action", "description"),
        ("ep", "episode"),
        ("notes comment comments remark remarks memo", "note description"),
        ("id no number nr key", "ref"),
    )
    for heading in headings.split()
}


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetWords:
    """What a production's departments call things. ``tables``: patterns of names, in their order.

    ``columns``: by heading in its plain form the columns that may be meant, of different tables.
    """

    tables: tuple[tuple[str, str], ...] = ()
    columns: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    day_minutes: int = DAY_MINUTES

    def table_of(self, name: str) -> str | None:
        """Return the table that a file or sheet of this name, without ending, is said to hold."""
        folded = fold_code(stripped(name))
        return next((table for like, table in self.tables if fnmatchcase(folded, like)), None)

    def column_of(self, heading: str, table: SheetTable) -> str | None:
        """Return what a heading means in a table; None where nothing is known of it.

        A length whose cells are in hours is ``minutes in hours``.
        """
        for meant in self.columns.get(heading, ()):
            if meant == LEFT_OUT or meant.removesuffix(f" {IN_HOURS}") in table.column_names:
                return meant
        return heading if heading in table.column_names else None

    def known(self, table: SheetTable) -> Collection[str]:
        """Return every heading that is known to mean a column of the table."""
        return {*table.column_names, *(h for h in self.columns if self.column_of(h, table))}


def words_of(production: Production) -> SheetWords:
    """Read the words of ``[sheets]``. Raises ProblemsFound with everything that is wrong there."""
    tables: list[tuple[str, str]] = []
    columns: dict[str, list[str]] = {}
    problems: list[Finding] = []
    every = {name for table in TABLES.values() for name in table.column_names}
    for key, said in production.sheet_words:
        meant = " ".join(fold_code(said).split())
        column, unit = plain_header(meant.removesuffix(IN_HOURS)).strip("_"), ""
        if meant.endswith(IN_HOURS):
            unit = f" {IN_HOURS}"
        if meant in TABLES:
            tables.append((fold_code(stripped(key)), meant))
        elif meant == LEFT_OUT:
            tables.append((fold_code(stripped(key)), meant))
            columns.setdefault(plain_header(key), []).append(meant)
        elif unit and column not in LENGTHS:
            problems.append(_wrong(key, said, f"only {' and '.join(LENGTHS)} are lengths of time"))
        elif column in LENGTHS and not unit and plain_header(key) in _HOURS:
            hint = f"Write {toml_line(key, f'{column} {IN_HOURS}')}."
            problems.append(_wrong(key, said, "hours are not minutes", hint))
        elif column in every:
            columns.setdefault(plain_header(key), []).append(column + unit)
        else:
            near = nearest(said, [*TABLES, *sorted(every)], most=1)
            hint = f"Write {toml_line(key, near[0])}. " if near else ""
            hint += f'Tables are {", ".join(TABLES)}; what is not to be loaded is "{LEFT_OUT}".'
            problems.append(_wrong(key, said, "is neither a table nor a column of one", hint))
    if problems:
        raise ProblemsFound(*problems)
    found = {heading: tuple(meant) for heading, meant in columns.items()}
    return SheetWords(tables=tuple(tables), columns=found, day_minutes=production.day_minutes)


def _wrong(key: str, said: str, what: str, hint: str = "") -> Finding:
    return Finding(what, hint, Place(_SETTINGS), f"{_SECTION} {key}", said)


def toml_line(key: str, meant: str) -> str:
    """Write a line of ``[sheets]``."""
    return f"{key if _BARE_KEY.fullmatch(key) else quoted_toml(key)} = {quoted_toml(meant)}"


# --- The header of a sheet


def header_rows(
    rows: Sequence[Sequence[Cell]], table: SheetTable, words: SheetWords
) -> tuple[int, ...]:
    """Find the header among the first rows: where several are as good as another, all of them.

    The one that holds the most known headings, at least two or the table's own code. Without any
    it is the first with two headings whose meaning can be guessed, or else the first with a cell.
    """
    known = words.known(table)
    own = table.columns[0].name if table.coded else ""
    filled = [at for at, row in enumerate(rows[:TITLE_ROWS]) if any(row)]
    for guessing in (False, True):
        worth: dict[int, int] = {}
        for at in filled:
            plain = {plain_header(cell) for cell in rows[at] if cell}
            found = {h for h in plain if h in known or (guessing and h in _MEANINGS)}
            says_own = any(words.column_of(heading, table) == own for heading in found)
            if len(found) >= _LEAST_KNOWN or says_own:
                worth[at] = len(found)
        if worth:
            best = [at for at in worth if worth[at] == max(worth.values())]
            return tuple(best[:1] if guessing else best)
    return tuple([at for at, row in enumerate(rows) if any(row)][:1])


def likely_table(rows: Sequence[Sequence[Cell]]) -> str | None:
    """Return the one table whose columns a sheet has most of, at least two.

    A heading whose meaning can be guessed is half a column.
    """
    found: dict[str, float] = {}
    for row in rows[:TITLE_ROWS]:
        plain = {plain_header(cell) for cell in row if cell}
        for name, table in TABLES.items():
            if name == "confirmations":  # it goes out under its own name
                continue
            columns = set(table.column_names)
            guessed = (h for h in plain - columns if columns & set(_MEANINGS.get(h, ())))
            worth = len(plain & columns) + len(list(guessed)) / 2
            found[name] = max(found.get(name, 0), worth)
    most = max(found.values(), default=0)
    best = [name for name, worth in found.items() if worth == most]
    return best[0] if most >= _LEAST_KNOWN and len(best) == 1 else None


def unknown_heading(
    heading: str, table: SheetTable, taken: Iterable[str], holds_data: bool
) -> tuple[list[str], str]:
    """Return the columns that an unknown heading may mean, and what to do about it."""
    taken = set(taken)
    free = [name for name in table.column_names if name not in taken]
    meant = [m for m in _MEANINGS.get(heading, ()) if m.removesuffix("_in_hours") in free]
    if not meant:
        meant = nearest(heading, free, most=1)
    settings = f"under {_SECTION} in {_SETTINGS}"
    if meant and meant[0].endswith("_in_hours"):
        column = meant[0].removesuffix("_in_hours")
        return [column], f"Write {settings}: {toml_line(heading, f'{column} {IN_HOURS}')}."
    if meant:
        hint = f"Rename it {' or '.join(meant)}, or write {settings}: "
        hint += f"{' or '.join(toml_line(heading, each) for each in meant)}."
    elif holds_data:
        hint = f"Write {settings} which column it is, or that nothing of it is to be loaded: "
        hint += f"{toml_line(heading, LEFT_OUT)}."
    else:
        hint = "Take it out."
    return meant, f"{hint} The columns of {table.name} are {', '.join(table.column_names)}."


# --- Lengths of work


def minutes_meant(cell: Cell, in_hours: bool, day_minutes: int) -> Cell:
    """Return a length of work as whole minutes; as it is where it is none, or minutes already.

    in_hours: whether a bare number is hours. day_minutes: the length of a working day.
    """
    if isinstance(cell, date) or not cell:
        return cell
    if _BARE_NUMBER.fullmatch(cell):
        if not in_hours:
            return cell
        minutes = float(cell.replace(",", ".")) * 60
        # Hours that a workbook subtracted are off by its rounding.
        return str(round(minutes)) if abs(minutes - round(minutes)) < 1e-6 else f"{cell} h"
    length = spoken_minutes(cell, day_minutes)
    return cell if length is None else str(length)
