"""The credits as they would be, had some of what is in the log not been written.

Of the figures of the whole log only that is computed again that the difference touches: the work
of some people, the claims of some shots.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import replace
from operator import attrgetter
from typing import Any, Protocol

from credits.billing.compile import compile_credits
from credits.billing.credits import Credits
from credits.billing.plan import CreditPlan, built_in_plan
from credits.figures.snapshot import Snapshot
from credits.footage.claims import claim_runs
from credits.footage.cut import KeptFrames, kept_frames, order_of_appearance, use_of_cut
from credits.footage.footage import Cell, Footage, footage
from credits.model.facts import Cut, CutClip, EntryNumber
from credits.model.lazy import Changed, Read
from credits.model.ledger import DoneInBrief, DoneRow, Entry, Ledger, WorkDone, done_row
from credits.model.log import LogLine, Verb, WrittenLog
from credits.model.replay import Implied, current_lines, grouped, ledger_of


class HasCode(Protocol):
    """A fact with a code."""

    @property
    def code(self) -> str: ...


Chain = Callable[[EntryNumber], tuple[LogLine, ...]]
"""Reads the entry that a line belongs to, with all its corrections."""
Seen = tuple[tuple[str, int], ...]
"""Characters, each with the first film frame in which it is seen."""


class _Turn:
    """Entries that stand otherwise: as they are, and as they would be."""

    def __init__(self) -> None:
        self.gone: dict[EntryNumber, Entry] = {}
        self.come: dict[EntryNumber, Entry] = {}

    @property
    def records(self) -> frozenset[EntryNumber]:
        """The numbers of their records."""
        return frozenset((*self.gone, *self.come))

    @property
    def both(self) -> tuple[Entry, ...]:
        """The entries of both sides."""
        return (*self.gone.values(), *self.come.values())


class Varied:
    """Compiles the credits of a production as if its log were another.

    base: the figures of the whole log. tables: what the log holds beside its lines.
    """

    def __init__(self, base: Snapshot, tables: WrittenLog, chain: Chain) -> None:
        self._base, self._tables, self._chain = base, tables, chain
        self._implied = Implied(tables)
        self._cells_by_cut: dict[int | None, Mapping[str, list[Cell]]] = {}
        self._seen_by_cut: dict[int | None, Mapping[str, Seen]] = {}

    def credits(
        self, tables: WrittenLog, without: Collection[EntryNumber], plan: CreditPlan | None
    ) -> Credits:
        """Return the credits of other tables, and of the log without some of its lines.

        tables: their cut is looked at. plan: None: the built-in one. Whatever corrects a line that
        is left out is left out as well.
        """
        implied = Implied(tables)
        turn = self._turn(tables, implied, frozenset(without))
        ledger = self._ledger(tables, implied, turn)
        shots = self._touched(tables, turn)
        seen = self._seen(ledger, shots)
        cells = Read(lambda: self._cells(ledger, shots))
        version = ledger.cut.version if ledger.cut is not None else None
        kept = self._base.footage if not shots and tables.cut == self._tables.cut else None
        feet = kept if kept is not None else Footage(cells, version)
        plan = plan or built_in_plan(ledger)
        return compile_credits(ledger, plan, tuple(code for code, _ in seen), feet)

    # --- entries

    def _turn(self, tables: WrittenLog, implied: Implied, without: frozenset[EntryNumber]) -> _Turn:
        turn = _Turn()
        read: set[EntryNumber] = set()
        for number in sorted(without):
            if number in read:
                continue
            lines = self._chain(number)
            read.update(line.number for line in lines)
            for record, line in current_lines(lines)[0]:
                entry = self._implied.entry(line, record.number, record.ref)
                turn.gone[entry.first] = entry
            for record, line in current_lines(_left(lines, without))[0]:
                entry = implied.entry(line, record.number, record.ref)
                turn.come[entry.first] = entry
        chained = {n for n in read if n in turn.gone or n in turn.come}
        for entry in self._implied_otherwise(tables, implied):
            if entry.first not in chained:
                turn.gone[entry.first] = entry
                turn.come[entry.first] = implied.entry(_line(entry), entry.first)
        return turn

    def _implied_otherwise(self, tables: WrittenLog, implied: Implied) -> Iterator[Entry]:
        """Entries that may imply something else by the other tables."""
        ledger = self._base.ledger
        for name, by in (
            ("puppets", ledger.entries_by_puppet),
            ("parts", ledger.entries_by_part),
            ("shots", ledger.entries_by_shot),
        ):
            for code in _changed(getattr(self._tables, name), getattr(tables, name)):
                yield from by.get(code, ())
        was, now = self._implied.persons, implied.persons
        others = {code for code in was if now.get(code, code) != was[code]}
        for person in dict.fromkeys(was[code] for code in sorted(others)):
            own = ledger.entries_by_person.get(person, ())
            yield from (entry for entry in own if entry.work.person in others)
        kinds = {c.code: (c.footage, c.kind) for c in tables.crafts}
        other = {c.code for c in self._tables.crafts if kinds.get(c.code) != (c.footage, c.kind)}
        if other and any(ledger.by_craft.get(code) for code in other):
            yield from (entry for entry in ledger.entries if entry.craft in other)

    def _ledger(self, tables: WrittenLog, implied: Implied, turn: _Turn) -> Ledger:
        base = self._base.ledger
        of_entries: dict[str, Any] = {
            name: getattr(base, name)
            for name in (
                "entries", "brief", "by_craft", "by_week", "performed", "on_stage", "waited",
                "forks", "last_line", "last_day", "entries_by_person", "entries_by_shot",
                "entries_by_character", "entries_by_puppet", "entries_by_part", "entries_by_day",
                "undated_by_writing", "by_number",
            )
        }  # fmt: skip
        done = self._done(turn) if turn.records else base.done
        by_shot = {
            shot: self._entries_of(shot, turn)
            for shot in dict.fromkeys(entry.shot for entry in turn.both)
            if shot is not None
        }
        changed = Changed(base.entries_by_shot, by_shot, lambda shot, _: by_shot[shot] or None)
        of_entries["entries_by_shot"] = changed
        return ledger_of(tables, implied, **{**of_entries, "done": done})

    def _entries_of(self, shot: str, turn: _Turn) -> tuple[Entry, ...]:
        kept = self._base.ledger.entries_by_shot.get(shot, ())
        own = [entry for entry in kept if entry.first not in turn.records]
        own += [entry for entry in turn.come.values() if entry.shot == shot]
        return tuple(sorted(own, key=attrgetter("first")))

    def _done(self, turn: _Turn) -> tuple[WorkDone, ...]:
        groups = {(entry.craft, entry.person) for entry in turn.both}
        rows: dict[tuple[str, str], list[DoneRow]] = defaultdict(list)
        found: list[WorkDone] = []
        for done in self._base.ledger.done:
            if (done.craft, done.person) not in groups:
                found.append(done)
                continue
            rows[done.craft, done.person] += [
                row for row in done.rows if EntryNumber(*row[:2]) not in turn.records
            ]
        for entry in turn.come.values():
            rows[entry.craft, entry.person].append(done_row(entry))
        for (craft, person), own in rows.items():
            if own:
                own.sort()
                found.append(WorkDone(craft, person, DoneInBrief.of(own), tuple(own)))
        return tuple(sorted(found, key=attrgetter("first")))

    # --- figures

    def _touched(self, tables: WrittenLog, turn: _Turn) -> frozenset[str]:
        """The shots whose claims may be others."""
        shots = {entry.shot for entry in turn.both if entry.shot is not None}
        shots.update(_changed(self._tables.shots, tables.shots))
        was = {(take.shot, take.number): take for take in self._tables.takes}
        now = {(take.shot, take.number): take for take in tables.takes}
        shots.update(key[0] for key in was.keys() | now.keys() if was.get(key) != now.get(key))
        return frozenset(shots)

    def _cells(self, ledger: Ledger, shots: frozenset[str]) -> tuple[Cell, ...]:
        """The footage of every shot, that of some of them computed again."""
        version = ledger.cut.version if ledger.cut is not None else None
        known = self._cells_by_cut.get(version)
        if known is None:
            known = self._cells_by_cut[version] = self._cells_of_base(ledger.cut)
        again = _footage_in(ledger, shots)
        every: list[Cell] = []
        for shot in ledger.shots:
            every += (again if shot in shots else known).get(shot, ())
        return tuple(every)

    def _cells_of_base(self, cut: Cut | None) -> Mapping[str, list[Cell]]:
        cells = _by_shot(self._base.footage.cells)
        if cut == self._tables.cut:
            return cells
        was, now = _shown_of(self._tables.cut), _shown_of(cut)
        if self._tables.cut is None or cut is None:
            others = frozenset(self._base.ledger.shots)
        else:
            both = was.keys() | now.keys()
            others = frozenset(shot for shot in both if was.get(shot) != now.get(shot))
        return {**cells, **_footage_in(replace(self._base.ledger, cut=cut), others)}

    def _seen(self, ledger: Ledger, shots: frozenset[str]) -> Seen:
        """The characters in order of appearance, each with its first film frame."""
        if not shots and ledger.cut == self._tables.cut:
            return self._base.first_seen
        if ledger.cut is None:
            return ()
        version = ledger.cut.version
        known = self._seen_by_cut.get(version)
        if known is None:
            known = self._seen_by_cut[version] = self._seen_in_base(ledger.cut)
        found = [seen for shot, own in known.items() if shot not in shots for seen in own]
        own_ledger = _of_shots(ledger, shots)
        runs = claim_runs(own_ledger, shots)
        found += order_of_appearance(use_of_cut(own_ledger, runs), kept_frames(runs))
        return _first_of_each(found)

    def _seen_in_base(self, cut: Cut) -> Mapping[str, Seen]:
        use = use_of_cut(replace(self._base.ledger, cut=cut), self._base.runs)
        by_shot: dict[str, list[KeptFrames]] = defaultdict(list)
        for kept in self._base.kept_in(use):
            by_shot[kept[0]].append(kept)
        return {shot: order_of_appearance(use, own) for shot, own in by_shot.items()}


def _left(lines: Iterable[LogLine], without: frozenset[EntryNumber]) -> list[LogLine]:
    """The lines without some, and without what corrects these."""
    gone = set(without)
    left = []
    for line in lines:  # a line stands behind the one that it corrects
        if line.number in gone or line.corrects in gone:
            gone.add(line.number)
        else:
            left.append(line)
    return left


def _line(entry: Entry) -> LogLine:
    """A line that says an entry as it stands."""
    return LogLine(
        number=entry.number,
        verb=Verb.RECORD,
        logged_at=entry.logged_at,
        work=entry.work,
        logged_by=entry.logged_by,
        ref=entry.ref,
        source=entry.source,
    )


def _changed(was: Iterable[HasCode], now: Iterable[HasCode]) -> list[str]:
    """The codes of which the facts are others, or are on one side alone."""
    before, after = ({fact.code: fact for fact in side} for side in (was, now))
    codes = dict.fromkeys((*before, *after))
    return [code for code in codes if before.get(code) != after.get(code)]


def _shown_of(cut: Cut | None) -> Mapping[str, tuple[CutClip, ...]]:
    """What a cut shows of each shot, wherever in the film."""
    clips = cut.clips if cut is not None else ()
    placeless = (replace(clip, order=0, film_first=0) for clip in clips)
    return grouped(placeless, attrgetter("shot"))


def _of_shots(ledger: Ledger, shots: frozenset[str]) -> Ledger:
    """The ledger with some of its shots alone."""
    cut = ledger.cut
    if cut is not None:
        cut = replace(cut, clips=tuple([clip for clip in cut.clips if clip.shot in shots]))
    known = {code: shot for code, shot in ledger.shots.items() if code in shots}
    return replace(ledger, cut=cut, shots=known)


def _footage_in(ledger: Ledger, shots: frozenset[str]) -> Mapping[str, list[Cell]]:
    own = _of_shots(ledger, shots)
    runs = claim_runs(own, shots)
    found = _by_shot(footage(own, runs, use_of_cut(own, runs)).cells)
    return {shot: found.get(shot, []) for shot in shots}


def _by_shot(cells: Iterable[Cell]) -> Mapping[str, list[Cell]]:
    found: dict[str, list[Cell]] = {}
    for cell in cells:
        found.setdefault(cell.shot, []).append(cell)
    return found


def _first_of_each(seen: Iterable[tuple[str, int]]) -> Seen:
    first: dict[str, int] = {}
    for character, frame in seen:
        first[character] = min(frame, first.get(character, frame))
    return tuple(sorted(first.items(), key=lambda item: (item[1], item[0])))
