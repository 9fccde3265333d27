"""The entries as they stand, brought to where the log stands; and which shots that touches."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from credits.checks.alone import SCOPES
from credits.figures.changed import Thing, things_of
from credits.figures.lookups import StandingEntry, fork_text
from credits.hands.hands import Via, build_target
from credits.model.facts import Cut, CutClip, EntryNumber, Kind
from credits.model.log import LogLine, WrittenLog
from credits.model.replay import Implied, by_field, current_lines
from credits.store.beside.kept import FiguresFile


class Touched:
    """What is to be computed again.

    claims: shots of which the claims are others. hands: shots of which the hands in their frames
    are. cases: what checks rest on that is another, by scope; ``all_cases``: all of it is.
    words: the places of records of which the words that are searched are others, as far as not
    ``all_words`` are. things: what the entries name that stand otherwise now; is_new: all stand so.
    """

    def __init__(self) -> None:
        self.claims: set[str] = set()
        self.hands: set[str] = set()
        self.cases: dict[str, set[str]] = {scope: set() for scope in SCOPES}
        self.all_cases = False
        self.words: set[int] = set()
        self.all_words = False
        self.things: set[Thing] = set()
        self.is_new = False

    def everything(self, shots: Iterable[str]) -> None:
        """Note that nothing stays as it was."""
        self.claims = set(shots)
        self.hands = set(self.claims)
        self.all_cases = self.all_words = self.is_new = True


_ROWS_OF = {
    "people": (("person", "person"),),
    "engagements": (("person", "person"),),
    "puppets": (("puppet", "puppet"),),
    "parts": (("part", "part"),),
    "fittings": (("part", "part"),),
    "replacements": (("part", "part"), ("shot", "shot")),
    "shots": (("shot", "shot"),),
    "takes": (("shot", "shot"),),
}
"""For each table, the columns that name what checks rest on, each with its scope."""


class _Things:
    """What other work than animation was done on; the shots of all of it are found together."""

    def __init__(self) -> None:
        self.worked_on: dict[Via, set[str]] = defaultdict(set)
        self.in_sequence: set[tuple[str, str]] = set()

    def shots(self, file: FiguresFile, tables: WrittenLog) -> set[str]:
        """Find the shots in which the things are, and perhaps some more."""
        parts = self.worked_on[Via.PART]
        puppets = set(self.worked_on[Via.PUPPET])
        shots: set[str] = set()
        if parts:
            puppets |= {worn.puppet for worn in tables.fittings if worn.part in parts}
            shots |= {shown.shot for shown in tables.replacements if shown.part in parts}
        for column, codes in (("puppet", puppets), ("character", self.worked_on[Via.CHARACTER])):
            if codes:
                shots |= file.shots_with(column, codes)
        if self.in_sequence:
            sequence_of = {shot.code: shot.sequence for shot in tables.shots}
            for character, sequence in self.in_sequence:
                found = file.shots_with("character", [character])
                shots |= {shot for shot in found if sequence_of[shot] == sequence}
        return shots


class StandingEntries:
    """Follows what is new in the log from where the figures stand.

    state: what the figures say of themselves; empty: nothing is known yet.
    """

    def __init__(self, file: FiguresFile, state: Mapping[str, str]) -> None:
        self._file = file
        self._lines = int(state.get("lines", 0))
        self._changes = int(state.get("changes", 0))
        self._cut = state.get("cut", "")
        self._is_new = not state
        self._tables = file.tables()
        self._implied = Implied(self._tables)
        self._touched = Touched()
        self._things = _Things()

    @property
    def cut(self) -> str:
        """Return the version of the cut in use, as a text; empty: there is none."""
        return "" if self._tables.cut is None else str(self._tables.cut.version)

    def take_in(self) -> Touched:
        """Bring the entries to where the log stands; return what that touches."""
        file = self._file
        again = set() if self._is_new else self._by_tables()
        if again is None:
            # Codes that are one person now, or a craft that counts otherwise: nothing stays.
            file.clear()
            self._is_new, self._lines, again = True, 0, set()
        again |= self._corrected()
        return self._stand(again)

    def _stand(self, again: set[int]) -> Touched:
        """Put in what is new, and find the records anew that may stand otherwise now."""
        file = self._file
        file.stand_new(self._lines, self._targets(), self._implied.joined.items())
        if self._is_new:
            file.index()
            self._derive(again)
            self._touched.everything(self._implied.shots)
            return self._touched
        added = file.standing_after(self._lines)
        self._touch(map(self._read, added))
        self._touched.words = again | {row[0] for row in added}
        self._derive(again)
        self._by_cut()
        touched = self._touched
        touched.hands |= touched.claims | self._things.shots(file, self._tables)
        touched.cases["shot"] |= touched.claims
        shown_in = by_field(self._tables.replacements, "shot")
        for shot in touched.claims:
            touched.cases["part"] |= {shown.part for shown in shown_in.get(shot, ())}
        return touched

    # -- what lines change ------------------------------------------------------------------------

    def _targets(self) -> Iterator[tuple[Any, ...]]:
        """Yield what new lines name, each once, and behind it what that implies."""
        for named in self._file.named_after(self._lines):
            *names, in_shot = named
            yield *named, *self._implied.target(*names, in_shot=bool(in_shot))

    def _corrected(self) -> set[int]:
        """Note the new corrections; return the places of the records that they go back to."""
        records: dict[int, int] = {}
        for line, corrects in self._file.new_corrections(self._lines):
            records[line] = records.get(corrects) or self._file.record_of(corrects)
        self._file.correct(records.items())
        return set(records.values())

    def _derive(self, records: set[int]) -> None:
        """Find anew what says these records now."""
        if not records:
            return
        file = self._file
        before = file.standing("record", records)
        places: dict[EntryNumber, int] = {}
        lines: list[LogLine] = []
        for place, line in file.chains(records):
            places[line.number] = place
            lines.append(line)
        current, forks = current_lines(lines)
        after = [self._entry(places, record, line) for record, line in current]
        file.stand(records, (entry.row() for entry in after))
        file.replace(
            "forks",
            ({"record": record} for record in records),
            ((file.record_of(places[fork.line]), fork_text(fork)) for fork in forks),
        )
        if not self._is_new:
            self._touch(map(self._read, before))
            self._touch(after)

    def _entry(
        self, places: Mapping[EntryNumber, int], record: LogLine, line: LogLine
    ) -> StandingEntry:
        entry = self._implied.entry(line, record.number, record.ref)
        own = {name: getattr(entry, name) for name in StandingEntry._fields[2:]}
        # What is kept says only what was said: a shot may become longer.
        own["frames"] = line.work.frames if line.work is not None else None
        return StandingEntry(record=places[record.number], line=places[line.number], **own)

    def _read(self, row: Sequence[Any]) -> StandingEntry:
        return StandingEntry.read(row, {})

    def _touch(self, entries: Iterable[StandingEntry]) -> None:
        """Note what the entries are in, as they stand or as they stood."""
        cases = self._touched.cases
        for entry in entries:
            for scope in ("shot", "person", "puppet"):
                code = getattr(entry, scope)
                if code is not None:
                    cases[scope].add(code)
            if entry.day is not None:
                cases["day"].add(entry.day.isoformat())
            craft = self._implied.crafts[entry.craft]
            self._touched.things.update(things_of(entry, craft))
            if craft.footage:
                if entry.shot is not None:
                    self._touched.claims.add(entry.shot)
            elif craft.kind is Kind.BUILD:
                target = build_target(entry)
                if target is not None:
                    self._things.worked_on[target[0]].add(target[1])
            elif entry.shot is not None:
                self._touched.hands.add(entry.shot)
            elif entry.character is not None and entry.sequence is not None:
                self._things.in_sequence.add((entry.character, entry.sequence))
            elif entry.character is not None:
                self._things.worked_on[Via.CHARACTER].add(entry.character)

    # -- what tables and the cut change -----------------------------------------------------------

    def _by_tables(self) -> set[int] | None:
        """Return the records to derive anew since tables have changed; None: all of them."""
        again: list[tuple[str, str]] = []
        for table, old, new in self._file.changes(self._changes):
            other = {name for name in old | new if old.get(name) != new.get(name)}
            both = [each for each in (old, new) if each]
            if table == "people" and "same_as" in other:
                return None
            if table == "crafts" and old and new and other & {"kind", "footage"}:
                return None
            if table == "puppets" and "character" in other:
                again += (("character", each["character"]) for each in both)
                again.append(("puppet", (new or old)["puppet"]))
            elif table == "parts" and "character" in other:
                again.append(("part", (new or old)["part"]))
            elif table == "shots":
                self._touched.claims |= {each["shot"] for each in both if "frames" in other}
                self._touched.hands |= {each["shot"] for each in both}
            elif table == "takes":
                self._touched.claims |= {each["shot"] for each in both}
            elif table == "replacements":
                self._touched.hands |= {each["shot"] for each in both}
            elif table == "fittings":
                self._things.worked_on[Via.PUPPET] |= {each["puppet"] for each in both}
            self._asked_again(table, old, new)
        return {row[0] for column, code in again for row in self._file.standing(column, [code])}

    def _asked_again(self, table: str, old: Mapping[str, Any], new: Mapping[str, Any]) -> None:
        """Note what checks rest on that a changed row of a table is a part of."""
        cases = self._touched.cases
        shown = self._tables.replacements
        if table == "crafts" and old and new:
            self._touched.all_cases = True
        for row in (old, new):
            for table_of, scope in _ROWS_OF.get(table, ()):
                code = row.get(table_of)
                if code is not None:
                    is_person = scope == "person"
                    cases[scope].add(self._implied.persons.get(code, code) if is_person else code)
            if table in ("characters", "puppets") and row:
                character = row["character"]
                cases["shot"] |= self._file.shots_with("character", [character])
                cases["shot"] |= {one.shot for one in shown if one.character == character}
                cases["puppet"] |= {
                    one.code for one in self._tables.puppets if one.character == character
                }
            elif table == "parts" and row:
                cases["shot"] |= {one.shot for one in shown if one.part == row["part"]}

    def _by_cut(self) -> None:
        """Touch the shots of which the cut in use shows something else than it did."""
        if self._cut == self.cut:
            return
        if not self._cut or not self.cut:
            self._touched.claims |= set(self._implied.shots)
            self._touched.cases["shot"] |= set(self._implied.shots)
            return
        before, now = (_by_shot(cut) for cut in (self._file.cut(int(self._cut)), self._tables.cut))
        self._touched.claims |= {
            shot for shot in before.keys() | now.keys() if before.get(shot) != now.get(shot)
        } & self._implied.shots.keys()


def _by_shot(cut: Cut | None) -> dict[str, list[CutClip]]:
    """Return what a cut shows of each shot, wherever in the film it is shown."""
    clips: dict[str, list[CutClip]] = defaultdict(list)
    for clip in cut.clips if cut is not None else ():
        clips[clip.shot].append(replace(clip, order=0, film_first=1))
    return clips
