"""Rows of entries: read, checked, and matched with the log."""

from __future__ import annotations

import re
from collections import defaultdict, deque
from collections.abc import Collection, Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple, TypeVar

from credits.formats.tables.columns import TABLES, CodeBooks
from credits.formats.tables.lists import Checked, Rows, Wrong, backwards
from credits.model.facts import EntryNumber, Kind, Work
from credits.model.log import LogLine, NewLine, TableCount, Verb
from credits.model.replay import current_lines, records_of

_COLUMNS = TABLES["entries"].columns


class SheetEntry(NamedTuple):
    """One row of an entries sheet: what it says, its own key, who logged it, where it stands."""

    work: Work
    ref: str | None
    logged_by: str | None
    rows: Rows
    at: int

    @property
    def source(self) -> str:
        """The file and row, as the log keeps it."""
        return str(self.rows.sheet.place(self.at))


def entry_rows(sheets: Sequence[Rows], books: CodeBooks, checked: Checked) -> list[SheetEntry]:
    """Read all entries of the sheets that hold no problem; problems go to the sheets' findings."""
    out: list[SheetEntry] = []
    for rows in sheets:
        fields = [column.field for column in _COLUMNS[1:-1]]
        can_conclude = all(rows.has(column.name) for column in _COLUMNS if column.required)
        for index, (ref, *values, logged_by) in enumerate(rows.by_row(books)):
            bad = rows.bad_in(index)
            work = Work(**dict(zip(fields, values, strict=True)))
            wrong = list(_wrong(work, checked))
            for column, value, what, hint in wrong:
                if _NEEDS[column].isdisjoint(bad):
                    rows.problem(index, column, value, what, hint)
            if not wrong and not bad and can_conclude:
                out.append(SheetEntry(work, ref, logged_by, rows, index))
    return out


# The cells that a finding about a column is concluded from: all of them must have been read.
_NEEDS = {
    "character": {"craft", "character", "puppet", "part"},
    "puppet": {"character", "puppet"},
    "part": {"character", "puppet", "part"},
    "sequence": {"sequence", "shot"},
    "take": {"shot", "take"},
    "frames": {"shot", "frames"},
    "finished_on": {"started_on", "finished_on"},
}


def _wrong(work: Work, checked: Checked) -> Iterator[Wrong]:
    """Everything that cannot be in an entry. Frames above the shot's length are for the checks."""
    yield from _wrong_target(work, checked)
    if work.shot is None:
        what = "the entry names no shot"
        if work.take is not None:
            yield "take", work.take, what, "Name the shot of the take."
        if work.frames is not None:
            yield "frames", work.frames.text, what, "Name the shot they are in."
    elif work.sequence is not None:
        known = checked["shots"].get(work.shot)
        if known and known.sequence != work.sequence:
            what = f"shot {work.shot} is in sequence {known.sequence}"
            yield "sequence", work.sequence, what, f"Write {known.sequence}, or leave it empty."
    yield from backwards(work)


def _wrong_target(work: Work, checked: Checked) -> Iterator[Wrong]:
    character = work.character
    if character is None and work.puppet is None and work.part is None:
        what = "the entry names no character, puppet or part"
        yield "character", None, what, "Name what was worked on."
        return
    puppet = checked["puppets"].get(work.puppet) if work.puppet else None
    part = checked["parts"].get(work.part) if work.part else None
    if puppet and character and puppet.character != character:
        what = f"is a puppet of {puppet.character}, not of {character}"
        yield "puppet", work.puppet, what, "Correct the puppet or the character."
    whose = character or (puppet.character if puppet else None)
    if part and part.character and whose and part.character != whose:
        what = f"is a part of {part.character}, not of {whose}"
        yield "part", work.part, what, "Correct the part, or the character or puppet."
    if character is None and work.puppet is None and part and part.character is None:
        craft = checked["crafts"].get(work.craft)
        if craft and craft.kind is Kind.PERFORMANCE:
            what = f"part {part.code} belongs to no character, so whose performance is not said"
            yield "character", None, what, "Name the character."


T = TypeVar("T", bound=Hashable)


def most_pairs(wanted: Sequence[T], offered: Sequence[Collection[T]]) -> frozenset[int]:
    """Return the positions of ``wanted`` that can be paired, each with its own one of ``offered``.

    An offer can be paired with any one of the things in it. The number of pairs is the greatest
    possible: augmenting paths (Berge's theorem), searched breadth first.
    """
    offers: dict[T, list[int]] = defaultdict(list)
    for position, things in enumerate(offered):
        for thing in things:
            offers[thing].append(position)
    taker_of: dict[int, int] = {}
    offer_of: dict[int, int] = {}
    hopeless: set[T] = set()
    for asking, thing in enumerate(wanted):
        came_from: dict[int, int] = {}
        queue, tried, free = deque([asking]), set[T](), None
        while queue and free is None:
            at = queue.popleft()
            if wanted[at] in hopeless or wanted[at] in tried:
                continue
            tried.add(wanted[at])
            ways = [offer for offer in offers[wanted[at]] if offer not in came_from]
            came_from.update(dict.fromkeys(ways, at))
            free = next((offer for offer in ways if offer not in taker_of), None)
            queue.extend(taker_of[offer] for offer in ways if offer in taker_of)
        if free is None:
            # What no path leads from now, no path will lead from later: pairs only move about.
            hopeless.add(thing)
        while free is not None:  # the last on the path takes it, and frees one for the one before
            at = came_from[free]
            freed = offer_of.get(at)
            taker_of[free], offer_of[at] = at, free
            free = freed
    return frozenset(offer_of)


_ENTRIES_KEY = re.compile(r"=([A-Z]+-[0-9]+)/[0-9a-f]+")


def entry_of_key(ref: str) -> EntryNumber | None:
    """Find the entry that a row of a day sheet shows by its key ``=A-17/7f3a``; else None."""
    match = _ENTRIES_KEY.fullmatch(ref)
    return EntryNumber.parse(match[1]) if match else None


@dataclass(slots=True)
class Chain:
    """An entry of the log with its corrections, and the line that counts (None when voided)."""

    lines: list[LogLine]
    counts: LogLine | None = None

    def last_loaded(self, ref: str) -> Work | None:
        """What the sheet said under this key when it was last loaded."""
        loaded = (line.work for line in reversed(self.lines) if line.ref == ref and line.source)
        return next(loaded, None)

    def ever_said(self) -> set[Work]:
        """Every content the entry ever had."""
        return {line.work for line in self.lines if line.work is not None}


def chains_of(lines: Sequence[LogLine]) -> list[Chain]:
    """Return every entry ever recorded, by number, with its amendments as they were written."""
    chains = {line.number: Chain([line]) for line in lines if line.verb is Verb.RECORD}
    records = records_of(lines)
    for line in lines:
        chain = chains.get(records.get(line.number, line.number))
        if line.verb is Verb.AMEND and chain is not None:
            chain.lines.append(line)
    for record, holds in current_lines(lines)[0]:
        chains[record.number].counts = holds
    for chain in chains.values():
        if len(chain.lines) > 2:
            chain.lines.sort(key=lambda line: (line.logged_at, line.number))
    return list(chains.values())


def plan_entries(
    rows: Sequence[SheetEntry], lines: Sequence[LogLine]
) -> tuple[list[NewLine], TableCount]:
    """Plan the lines that a load of these rows appends, in the order of the rows."""
    if not rows:
        return [], TableCount()
    with_ref: dict[str, list[Chain]] = defaultdict(list)
    without: list[Chain] = []
    shown: dict[EntryNumber | None, set[str]] = defaultdict(set)
    for row in rows:
        if row.ref is not None:
            shown[entry_of_key(row.ref)].add(row.ref)
    for chain in chains_of(lines):
        refs = {line.ref for line in chain.lines if line.ref is not None}
        for ref in refs | shown.get(chain.lines[0].number, set()):
            with_ref[ref].append(chain)
        # The key by which a day sheet shows an entry is not the key of a row that it came from.
        if all(entry_of_key(ref) for ref in refs):
            without.append(chain)
    found = {**_by_ref(rows, with_ref), **_by_content(rows, without)}
    new = sum(line.verb is Verb.RECORD for line in found.values())
    count = TableCount(new, len(found) - new, len(rows) - len(found))
    return [found[at] for at in sorted(found)], count


def _line(verb: Verb, row: SheetEntry, corrects: EntryNumber | None = None) -> NewLine:
    said = {"ref": row.ref, "logged_by": row.logged_by, "source": row.source}
    return NewLine(verb=verb, work=row.work, corrects=corrects, **said)


def _by_ref(rows: Sequence[SheetEntry], known: Mapping[str, list[Chain]]) -> dict[int, NewLine]:
    """Plan the rows with a ``ref``: the lines by the row's position."""
    found: dict[int, NewLine] = {}
    first: dict[str, SheetEntry] = {}
    for at, row in enumerate(rows):
        if row.ref is None:
            continue
        earlier = first.setdefault(row.ref, row)
        if earlier is row:
            if line := _line_for_ref(row, row.ref, known.get(row.ref, ())):
                found[at] = line
        elif earlier.work != row.work:
            what = f"{earlier.source} has the same ref with another content"
            row.rows.problem(row.at, "ref", row.ref, what, "Give each row its own ref.")
    return found


def _line_for_ref(row: SheetEntry, ref: str, chains: Iterable[Chain]) -> NewLine | None:
    counting = {chain.counts.number: chain for chain in chains if chain.counts is not None}
    if not counting:
        voided_already = any(row.work in chain.ever_said() for chain in chains)
        return None if voided_already else _line(Verb.RECORD, row)
    if any(
        row.work in (chain.last_loaded(ref), chain.counts and chain.counts.work)
        for chain in counting.values()
    ):
        return None
    if len(counting) > 1:
        numbers = ", ".join(map(str, counting))
        what = f"this ref belongs to several entries ({numbers}), and the row is like none of them"
        row.rows.problem(row.at, "ref", ref, what, "Amend the right one by its number.")
        return None
    return _line(Verb.AMEND, row, next(iter(counting)))


def _by_content(rows: Sequence[SheetEntry], chains: Sequence[Chain]) -> dict[int, NewLine]:
    """Plan the rows without a ``ref``: pair as many as can be with what the log has."""
    waiting: dict[Work | None, int] = defaultdict(int)
    amended: list[set[Work]] = []
    for chain in chains:
        if len(chain.lines) == 1:
            # An entry that only ever said one thing can be paired with that content alone.
            waiting[chain.lines[0].work] += 1
        else:
            amended.append(chain.ever_said())
    left: list[int] = []
    for at, row in enumerate(rows):
        if row.ref is None and waiting[row.work]:
            waiting[row.work] -= 1
        elif row.ref is None:
            left.append(at)
    paired = most_pairs([rows[at].work for at in left], amended) if amended else frozenset()
    return {at: _line(Verb.RECORD, rows[at]) for i, at in enumerate(left) if i not in paired}
