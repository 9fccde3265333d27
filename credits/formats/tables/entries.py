"""Rows of entries: read, checked, and matched with the log."""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Collection, Hashable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Generic, TypeVar, cast

from credits.formats.tables.codes import CodeBooks
from credits.formats.tables.columns import TABLES
from credits.formats.tables.lists import Checked, Rows, Wrong
from credits.model.facts import EntryNumber, Kind, Work
from credits.model.log import LogLine, NewLine, TableCount, Verb
from credits.model.replay import current_lines, records_of

_COLUMNS = TABLES["entries"].columns
_REF, *_WORK, _LOGGED_BY = _COLUMNS


@dataclass(frozen=True, slots=True)
class SheetEntry:
    """One row of an entries sheet: what it says, its own key, who logged it, where it stands."""

    work: Work
    ref: str | None
    logged_by: str | None
    rows: Rows
    index: int

    @property
    def source(self) -> str:
        """The file and row, as the log keeps it."""
        return str(self.rows.sheet.place(self.index))


def entry_rows(sheets: Sequence[Rows], books: CodeBooks, checked: Checked) -> list[SheetEntry]:
    """All entries of the sheets that hold no problem; the problems go to the sheets' findings."""
    out: list[SheetEntry] = []
    check = EntryCheck(checked)
    for rows in sheets:
        refs = rows.column(_REF, books)
        logged_by = rows.column(_LOGGED_BY, books)
        said = zip(*(rows.column(column, books) for column in _WORK), strict=True)
        can_conclude = all(rows.has(column.name) for column in _COLUMNS if column.required)
        # The columns stand in the order of Work's fields, and each holds what its field holds.
        for index, values in enumerate(said):
            bad = rows.bad_in(index)
            work = Work(*values)
            wrong = check.wrong(work)
            if wrong:
                for column, value, what, hint in wrong:
                    if _NEEDS[column].isdisjoint(bad):
                        rows.problem(index, column, value, what, hint)
            elif not bad and can_conclude:
                ref, hand = cast("str | None", refs[index]), cast("str | None", logged_by[index])
                out.append(SheetEntry(work, ref, hand, rows, index))
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


class EntryCheck:
    """What cannot be in an entry (3.2). Frames above the shot's length are no problem here: that is
    the question frames-beyond-shot, which the check asks for as long as the shot is so short."""

    def __init__(self, checked: Checked) -> None:
        self._checked = checked
        self._targets: dict[tuple[str, str | None, str | None, str | None], tuple[Wrong, ...]] = {}
        self._sequences: dict[tuple[str | None, str | None], tuple[Wrong, ...]] = {}

    def wrong(self, work: Work) -> tuple[Wrong, ...]:
        """Everything that is wrong with the work as a whole, cell by cell."""
        target = (work.craft, work.character, work.puppet, work.part)
        found = self._targets.get(target)
        if found is None:
            found = self._targets[target] = tuple(self._target(*target))
        if work.shot is None:
            if work.take is not None or work.frames is not None:
                found += tuple(_without_shot(work))
        elif work.sequence is not None:
            pair = (work.sequence, work.shot)
            wrong = self._sequences.get(pair)
            if wrong is None:
                wrong = self._sequences[pair] = tuple(self._sequence(*pair))
            found += wrong
        begun, done = work.started_on, work.finished_on
        if begun is not None and done is not None and done < begun:
            what = f"lies before started_on ({begun})"
            found += (("finished_on", done, what, "Correct one of the two dates."),)
        return found

    def _target(
        self, craft: str, character: str | None, puppet: str | None, part: str | None
    ) -> Iterator[Wrong]:
        if character is None and puppet is None and part is None:
            what = "the entry names no character, puppet or part"
            yield "character", None, what, "Name what was worked on."
            return
        copy = self._checked.puppets.get(puppet) if puppet else None
        piece = self._checked.parts.get(part) if part else None
        if copy and character and copy.character != character:
            what = f"is a puppet of {copy.character}, not of {character}"
            yield "puppet", puppet, what, "Correct the puppet or the character."
        whose = character or (copy.character if copy else None)
        if piece and piece.character and whose and piece.character != whose:
            what = f"is a part of {piece.character}, not of {whose}"
            yield "part", part, what, "Correct the part, or the character or puppet."
        kind = self._checked.crafts[craft].kind if craft in self._checked.crafts else None
        lone = character is None and puppet is None and piece is not None
        if lone and piece and piece.character is None and kind is Kind.PERFORMANCE:
            what = f"part {part} belongs to no character, so this says nothing of whose performance"
            yield "character", None, what, "Name the character."

    def _sequence(self, sequence: str, shot: str) -> Iterator[Wrong]:
        known = self._checked.shots.get(shot)
        if known and known.sequence != sequence:
            what = f"shot {shot} is in sequence {known.sequence}"
            yield "sequence", sequence, what, f"Write {known.sequence}, or leave it empty."


def _without_shot(work: Work) -> Iterator[Wrong]:
    if work.take is not None:
        yield "take", work.take, "the entry names no shot", "Name the shot of the take."
    if work.frames is not None:
        yield "frames", work.frames.text, "the entry names no shot", "Name the shot they are in."


T = TypeVar("T", bound=Hashable)


def most_pairs(wanted: Sequence[T], offered: Sequence[Collection[T]]) -> frozenset[int]:
    """The positions of ``wanted`` that can be paired, each with its own one of ``offered``.

    An offer can be paired with any one of the things in it. The number of pairs is the greatest
    possible: augmenting paths (Berge's theorem), searched breadth first.
    """
    offers: dict[T, list[int]] = defaultdict(list)
    for position, things in enumerate(offered):
        for thing in things:
            offers[thing].append(position)
    pairs = _Pairs(wanted, offers)
    hopeless: set[T] = set()
    for asking, thing in enumerate(wanted):
        # What no path leads from now, no path will lead from later: pairs only move about.
        if thing not in hopeless and not pairs.find_for(asking):
            hopeless.add(thing)
    return frozenset(pairs.offer_of)


class _Pairs(Generic[T]):
    """The pairs found so far, seen from both sides."""

    def __init__(self, wanted: Sequence[T], offers: dict[T, list[int]]) -> None:
        self._wanted = wanted
        self._offers = offers
        self._taker_of: dict[int, int] = {}
        self.offer_of: dict[int, int] = {}

    def find_for(self, asking: int) -> bool:
        """Find an offer for one more, if need be by moving others to another of theirs."""
        came_from: dict[int, int] = {}
        queue = deque([asking])
        tried: set[T] = set()
        while queue:
            at = queue.popleft()
            if self._wanted[at] in tried:
                continue
            tried.add(self._wanted[at])
            for offer in self._offers.get(self._wanted[at], ()):
                if offer in came_from:
                    continue
                came_from[offer] = at
                if offer not in self._taker_of:
                    self._move(offer, came_from)
                    return True
                queue.append(self._taker_of[offer])
        return False

    def _move(self, offer: int, came_from: dict[int, int]) -> None:
        """Give the free offer to the last on the path, the one that frees to the one before it."""
        free: int | None = offer
        while free is not None:
            at = came_from[free]
            freed = self.offer_of.get(at)
            self._taker_of[free] = at
            self.offer_of[at] = free
            free = freed


@dataclass(slots=True)
class Chain:
    """An entry of the log with its corrections: all it ever said, and the line that counts (None
    when it is voided)."""

    record: LogLine
    lines: list[LogLine] = field(default_factory=list)
    counts: LogLine | None = None

    def last_loaded(self, ref: str) -> Work | None:
        """What the sheet said under this key when it was last loaded."""
        for line in reversed(self.lines):
            if line.ref == ref and line.source is not None:
                return line.work
        return None

    def ever_said(self) -> set[Work]:
        """Every content the entry ever had."""
        return {line.work for line in self.lines if line.work is not None}


def chains_of(lines: Sequence[LogLine]) -> list[Chain]:
    """Return every entry ever recorded, by number, with its amendments as they were written."""
    chains = {line.number: Chain(line, [line]) for line in lines if line.verb is Verb.RECORD}
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


@dataclass(slots=True)
class EntryPlan:
    """The lines to append, and how many rows were new, changed and already there."""

    lines: list[NewLine] = field(default_factory=list)
    count: TableCount = field(default_factory=TableCount)


def plan_entries(rows: Sequence[SheetEntry], lines: Sequence[LogLine]) -> EntryPlan:
    """The lines that a load of these rows appends, in the order of the rows."""
    chains = chains_of(lines)
    with_ref: dict[str, list[Chain]] = defaultdict(list)
    without: list[Chain] = []
    for chain in chains:
        refs = {line.ref for line in chain.lines if line.ref is not None}
        for ref in refs:
            with_ref[ref].append(chain)
        if not refs:
            without.append(chain)
    found: dict[int, NewLine] = {}
    changed = _by_ref(rows, with_ref, found)
    _by_content(rows, without, found)
    new = sum(line.verb is Verb.RECORD for line in found.values())
    plan = EntryPlan([found[at] for at in sorted(found)])
    plan.count = TableCount(new, changed, len(rows) - new - changed)
    return plan


def _line(verb: Verb, row: SheetEntry, corrects: EntryNumber | None = None) -> NewLine:
    return NewLine(verb, row.work, corrects, row.logged_by, None, row.ref, row.source)


def _by_ref(
    rows: Sequence[SheetEntry], known: dict[str, list[Chain]], found: dict[int, NewLine]
) -> int:
    """Plan the rows with a ``ref``; returns how many are amendments."""
    changed = 0
    first: dict[str, SheetEntry] = {}
    for at, row in enumerate(rows):
        if row.ref is None:
            continue
        earlier = first.setdefault(row.ref, row)
        if earlier is not row:
            if earlier.work != row.work:
                what = f"{earlier.source} has the same ref with another content"
                row.rows.problem(row.index, "ref", row.ref, what, "Give each row its own ref.")
            continue
        line = _line_for_ref(row, known.get(row.ref, ()))
        if line is not None:
            found[at] = line
            changed += line.verb is Verb.AMEND
    return changed


def _line_for_ref(row: SheetEntry, chains: Iterable[Chain]) -> NewLine | None:
    ref, work = row.ref, row.work
    assert ref is not None
    counting = [chain for chain in chains if chain.counts is not None]
    if not counting:
        voided_already = any(work in chain.ever_said() for chain in chains)
        return None if voided_already else _line(Verb.RECORD, row)
    if any(chain.counts and chain.counts.work == work for chain in counting):
        return None
    if any(chain.last_loaded(ref) == work for chain in counting):
        return None
    if len(counting) > 1:
        numbers = ", ".join(str(chain.counts.number) for chain in counting if chain.counts)
        what = f"this ref belongs to several entries ({numbers}), and the row is like none of them"
        row.rows.problem(row.index, "ref", ref, what, "Amend the right one by its number.")
        return None
    holds = counting[0].counts
    assert holds is not None
    return _line(Verb.AMEND, row, holds.number)


def _by_content(
    rows: Sequence[SheetEntry], chains: Sequence[Chain], found: dict[int, NewLine]
) -> None:
    """Plan the rows without a ``ref``: pair as many as can be with what the log has."""
    waiting: dict[Work, int] = defaultdict(int)
    amended: list[set[Work]] = []
    for chain in chains:
        if len(chain.lines) == 1:
            # An entry that only ever said one thing can be paired with that content alone.
            waiting[chain.record.work] += 1  # type: ignore[index]
        else:
            amended.append(chain.ever_said())
    left: list[int] = []
    for at, row in enumerate(rows):
        if row.ref is None:
            if waiting.get(row.work):
                waiting[row.work] -= 1
            else:
                left.append(at)
    paired = most_pairs([rows[at].work for at in left], amended) if amended else frozenset()
    for position, at in enumerate(left):
        if position not in paired:
            found[at] = _line(Verb.RECORD, rows[at])
