"""A ledger that reads its entries when they are asked for, from the figures that are kept."""

from __future__ import annotations

import json
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from datetime import date
from fractions import Fraction
from functools import cache, cached_property, lru_cache, partial
from itertools import chain
from operator import attrgetter, itemgetter
from typing import Any, NamedTuple

from credits.model.facts import EntryNumber, Shot
from credits.model.lazy import Looked, LookedInPart, MadeMapping, Read
from credits.model.ledger import (
    BriefEntry,
    CraftWork,
    DoneInBrief,
    DoneRow,
    Entry,
    Fork,
    Ledger,
    StageWork,
    WaitedFor,
    WeekWork,
    WorkDone,
    done_row,
    performs,
    performs_only,
)
from credits.model.log import LogLine
from credits.model.replay import BY_WHAT, Implied, grouped, ledger_of, looked_at, written_undated
from credits.store.beside.figures_db import STANDING
from credits.store.beside.kept import FiguresFile, words_of
from credits.store.reading import same_texts
from credits.units.film_time import WHOLE_TIME, Period, iso_week
from credits.units.frames import Frames

day_of = lru_cache(maxsize=65536)(lambda text: None if text is None else date.fromisoformat(text))
"""Read a day as it is kept; equal days are read once."""


frames_of = lru_cache(maxsize=65536)(lambda text: None if text is None else Frames.parse(text))
share_of = lru_cache(maxsize=4096)(lambda text: None if text is None else Fraction(text))


FEW_PEOPLE = 32
"""Of so many people who did what is at hand entry by entry."""


class StandingEntry(NamedTuple):
    """An entry as it stands, with what figures are made of: no more is kept of it.

    record, line: the places in the log of what records it and of what says it now.
    """

    record: int
    line: int
    first: EntryNumber
    number: EntryNumber
    ref: str | None
    craft: str
    person: str
    character: str | None
    puppet: str | None
    part: str | None
    sequence: str | None
    shot: str | None
    take: int | None
    frames: Frames | None
    share: Fraction | None
    day: date | None
    stage: str | None

    @classmethod
    def read(cls, row: Sequence[Any], shots: Mapping[str, Shot]) -> StandingEntry:
        """Make one of a row as ``STANDING``.

        shots: those of which an entry that names no frames means all.
        """
        (record, line, first_origin, first_number, origin, number, ref, craft, person, character,
         puppet, part, sequence, shot, take, frames, share, day, stage) = row  # fmt: skip
        named = frames_of(frames)
        if named is None and shot in shots:
            named = shots[shot].frames
        first = EntryNumber(first_origin, first_number)
        now = first if line == record else EntryNumber(origin, number)
        return cls._make(
            (
                record, line, first, now, ref, craft, person, character, puppet, part,
                sequence, shot, take, named, share_of(share), day_of(day), stage,
            )
        )  # fmt: skip

    def row(self) -> tuple[Any, ...]:
        """Return the row that holds it."""
        frames = None if self.frames is None else self.frames.text
        share = None if self.share is None else str(self.share)
        day = None if self.day is None else self.day.isoformat()
        return (*self[:2], *self.first, *self.number, *self[4:13], frames, share, day, self.stage)


assert len(StandingEntry._fields) == len(STANDING) - 2


class CheckedEntry(NamedTuple):
    """An entry as it stands, with what checks look at."""

    first: EntryNumber
    number: EntryNumber
    ref: str | None
    craft: str
    person: str
    character: str | None
    puppet: str | None
    part: str | None
    sequence: str | None
    shot: str | None
    take: int | None
    frames: Frames | None
    share: Fraction | None
    day: date | None
    stage: str | None
    said_take: int | None
    said_puppet: str | None
    minutes: int | None
    started_on: date | None
    finished_on: date | None
    logged_on: date

    @classmethod
    def read(cls, row: Sequence[Any], shots: Mapping[str, Shot]) -> CheckedEntry:
        """Make one of a row as ``FiguresFile.every_checked``; shots: as for a standing entry."""
        *standing, take, puppet, minutes, started_on, finished_on, logged_on = row
        entry = StandingEntry.read(standing, shots)
        days = map(day_of, (started_on, finished_on, logged_on))
        return cls._make((*entry[2:], take, puppet, minutes, *days))


class EntryLookup:
    """Reads entries as they stand, each once.

    at_once: the tables are read at once, for whoever looks at every entry.
    work_alone: of each entry is read what was done, and not who logged it and where it came from.
    """

    def __init__(
        self, file: FiguresFile, *, at_once: bool = False, work_alone: bool = False
    ) -> None:
        self.tables = file.tables(at_once=at_once)
        self.implied = Implied(self.tables)
        self._file = file
        self._work_alone = work_alone
        self._known: dict[EntryNumber, Entry] = {}

    def where(self, condition: str = "", *values: Any) -> tuple[Entry, ...]:
        """Read the entries that stand and fit, by the number of their records."""
        found = []
        for line, origin, number, ref in self._file.entries(
            condition, values, work_alone=self._work_alone
        ):
            known = self._known.get(line.number)
            if known is None:
                first = EntryNumber(origin, number)
                first = line.number if first == line.number else first  # held once
                entry = self.implied.entry(line, first, ref)
                known = self._known[line.number] = entry
            found.append(known)
        return tuple(found)

    def among(
        self, codes: Mapping[str, Collection[str]], period: Period = WHOLE_TIME
    ) -> tuple[Entry, ...]:
        """Read the entries of a period that have one of some codes in every field that is named."""
        wanted = {f"s.{name} IN ({', '.join('?' * len(own))})": own for name, own in codes.items()}
        ends = (("s.day >= ?", period.first), ("s.day <= ?", period.last))
        wanted |= {end: (day.isoformat(),) for end, day in ends if day is not None}
        return self.where(" AND ".join(wanted), *chain.from_iterable(wanted.values()))

    def unfinished(self, crafts: Sequence[str]) -> tuple[Entry, ...]:
        """Read the entries of some crafts that do not say when the work was finished."""
        marks = ", ".join("?" * len(crafts))
        return self.where(f"s.craft IN ({marks}) AND e.finished_on IS NULL", *crafts)

    def saying(self, text: str, day: date | None = None) -> tuple[Entry, ...]:
        """Read the entries whose ref and note have every word of a text.

        day: those of this day, too.
        """
        words = words_of(text).split()
        try:
            text.encode()
        except UnicodeEncodeError:  # which no log can hold
            words = []
        # One value, however many words there are: the engine knows an end of its conditions.
        missing = "SELECT 1 FROM json_each(?) w WHERE NOT instr(words, w.value)"
        said = f"NOT EXISTS ({missing})" if words else "? IS NULL"
        condition = f"s.record IN (SELECT record FROM main.words WHERE {said}) OR s.day = ?"
        return self.where(condition, json.dumps(words), None if day is None else day.isoformat())

    def history(self, number: EntryNumber) -> tuple[LogLine, ...]:
        """Read all lines of the entry of which one has this number, as they were written."""
        place = self._file.place_of(number)
        if place is None:
            return ()
        return tuple(line for _, line in self._file.chains([self._file.record_of(place)]))

    def every(self) -> tuple[Entry, ...]:
        """Read every entry."""
        return self.where()

    def by(self, what: str) -> Looked[Any, tuple[Entry, ...]]:
        """Return the entries by what they name or imply."""
        if what == "day":
            return Looked(
                lambda: [day_of(text) for text in self._file.distinct(what)],
                lambda day: self.where("s.day = ?", day.isoformat()) or None,
            )
        return LookedInPart(
            lambda: self._file.distinct(what),
            lambda code: self.where(f"s.{what} = ?", code) or None,
            lambda code: self._beside_shots(f"s.{what} = ?", code) or None,
        )

    def _beside_shots(self, condition: str, code: str) -> tuple[Entry, ...]:
        beside, crafts = self._is_beside_shots
        return self.where(f"{condition} AND {beside}", code, *crafts)

    @cached_property
    def _is_beside_shots(self) -> tuple[str, tuple[str, ...]]:
        """The condition that leaves performances in a shot out, and what fills its marks."""
        crafts = tuple([craft.code for craft in self.tables.crafts if performs_only(craft)])
        return f"(s.shot IS NULL OR s.craft NOT IN ({', '.join('?' * len(crafts))}))", crafts

    def undated_by_writing(self) -> Looked[date, tuple[Entry, ...]]:
        """Return the entries without a day, by the day on which they were written down."""
        condition = "s.day IS NULL AND substr(e.logged_at, 1, 10) = ?"
        return Looked(
            lambda: [date.fromisoformat(day) for day in self._file.days_written_undated()],
            lambda day: self.where(condition, day.isoformat()) or None,
        )

    def by_number(self) -> Looked[EntryNumber, Entry]:
        """Return the entries by the number of the line that says them now."""
        return Looked(
            lambda: [EntryNumber(*number) for number in self._file.numbers()],
            lambda number: next(
                iter(self.where("s.number = ? AND s.origin = ?", *number[::-1])), None
            ),
        )

    def looked_up(self) -> dict[str, Any]:
        """Return every field of a ledger in which entries are looked up, each read when asked."""
        return {
            **{f"entries_by_{name}": self.by(name) for name in BY_WHAT},
            "undated_by_writing": self.undated_by_writing(),
            "by_number": self.by_number(),
            "done": Read(self.done),
            "by_craft": Looked(lambda: self._file.distinct("craft"), self._craft_work),
            "by_week": Looked(lambda: sorted(self._weeks), lambda week: self._by_week.get(week)),
            "performed": Read(self._performed),
            "on_stage": Read(self.on_stage),
            "waited": Read(self.waited),
        }

    def done(self, held: Mapping[str, Sequence[BriefEntry]] | None = None) -> tuple[WorkDone, ...]:
        """Read what everybody did, by craft; entry by entry when somebody asks.

        held: the entries of each person, where they are at hand: their rows are made of these each
        time that somebody asks.
        """
        if held is None:
            rows = cache(self._done_by)
        else:
            rows = lru_cache(FEW_PEOPLE)(partial(_done_of, held))
        found: dict[tuple[str, str], list[DoneInBrief]] = {}
        for craft, person, *said in self._file.done_in_brief():
            own = DoneInBrief(tuple(said[:2]), tuple(said[2:4]), *said[4:])
            found.setdefault((craft, person), []).append(own)
        done = [
            WorkDone(
                craft,
                person,
                (together := _together(own)),
                Read(partial(_of_craft, rows, craft, person), together.entries, keep=held is None),
            )
            for (craft, person), own in found.items()
        ]
        return tuple(sorted(done, key=attrgetter("first")))

    def _done_by(self, person: str) -> dict[str, tuple[DoneRow, ...]]:
        """Read what somebody did entry by entry, by craft."""
        return grouped(sorted(self._file.done_rows(person)), itemgetter(4))

    @cached_property
    def _weeks(self) -> dict[str, tuple[str, ...]]:
        """The days of each week of entries; of undated ones under the empty word."""
        days = self._file.days_worked()
        return grouped(days, lambda text: iso_week(date.fromisoformat(text)) if text else "")

    @cached_property
    def _by_week(self) -> dict[str, WeekWork]:
        """What was done in each week."""
        days = {text: week for week, own in self._weeks.items() for text in own if text}
        return {week: WeekWork(*counts) for week, *counts in self._file.week_work(days)}

    def _performed(self) -> tuple[str, ...]:
        """Read who performed in frames of shots otherwise than frame by frame."""
        crafts = [craft.code for craft in self.tables.crafts if performs(craft)]
        return tuple(sorted(self._file.people_in_shots(crafts)))

    def _craft_work(self, craft: str) -> tuple[CraftWork, ...] | None:
        """Read who did a craft."""
        found: dict[str, list[tuple[Any, ...]]] = {}
        for person, *said in self._file.craft_work(craft):
            found.setdefault(person, []).append(tuple(said))
        every = []
        for person, rows in sorted(found.items()):
            characters, entries, minutes, first_days, last_days = zip(*rows, strict=True)
            begun, last = (
                [date.fromisoformat(day) for day in days if day is not None]
                for days in (first_days, last_days)
            )
            every.append(
                CraftWork(
                    person=person,
                    characters=frozenset(filter(None, characters)),
                    entries=sum(entries),
                    minutes=sum(minutes),
                    days=(min(begun), max(last)) if last else None,
                )
            )
        return tuple(every) or None

    def on_stage(self) -> tuple[StageWork, ...]:
        """Read what days of crafts with footage are made of."""
        crafts = [craft.code for craft in self.tables.crafts if craft.footage]
        return stage_work(self._file.stage_rows(crafts))

    def waited(self) -> tuple[WaitedFor, ...]:
        """Read the repairs that somebody waited for."""
        crafts = [craft.code for craft in self.tables.crafts if craft.repair]
        return tuple(
            [
                WaitedFor(EntryNumber(origin, number), puppet, part, shot, day_of(day), minutes)
                for origin, number, puppet, part, shot, day, minutes in self._file.waited_rows(
                    crafts
                )
            ]
        )

    def brief(self) -> tuple[StandingEntry, ...]:
        """Read every entry, in brief."""
        return self._in_brief(self._file.every_standing())

    def checked(self) -> tuple[CheckedEntry, ...]:
        """Read every entry, with what checks look at."""
        shots = self.implied.shots
        return tuple([CheckedEntry.read(row, shots) for row in self._file.every_checked()])

    def brief_with_footage(self) -> tuple[StandingEntry, ...]:
        """Read every entry of a craft with footage, in brief."""
        crafts = [craft.code for craft in self.tables.crafts if craft.footage]
        return self._in_brief(self._file.every_standing(crafts)) if crafts else ()

    def brief_by(self, what: str) -> Looked[Any, tuple[StandingEntry, ...]]:
        """Return the entries in brief by what they name or imply."""

        def read(code: object, where: str = "", values: Sequence[str] = ()) -> Any:
            rows = self._in_brief(self._file.standing(what, [str(code)], where, values))
            return tuple(sorted(rows, key=attrgetter("first"))) or None

        if what == "day":
            return Looked(lambda: [day_of(text) for text in self._file.distinct(what)], read)
        beside, crafts = self._is_beside_shots
        return LookedInPart(
            lambda: self._file.distinct(what),
            read,
            lambda code: read(code, beside, crafts),
            lambda code: read(code, *self._is_on(what)),
        )

    def _is_on(self, what: str) -> tuple[str, tuple[str, ...]]:
        """The condition that leaves out what is on something more particular than a character, a
        puppet or a part, and performances in a shot; and what fills its marks."""
        if what == "character":
            crafts = tuple([craft.code for craft in self.tables.crafts if performs(craft)])
            played = f"s.shot IS NULL AND s.craft IN ({', '.join('?' * len(crafts))})"
            return f"(s.puppet IS NULL AND s.part IS NULL OR {played})", crafts
        beside, crafts = self._is_beside_shots
        return (f"{beside} AND s.part IS NULL" if what == "puppet" else beside), crafts

    def _in_brief(self, rows: Iterable[Sequence[Any]]) -> tuple[StandingEntry, ...]:
        shots = self.implied.shots
        one = same_texts()
        return tuple(
            [StandingEntry.read((*row[:6], *map(one, row[6:], row[6:])), shots) for row in rows]
        )


def stage_work(rows: Sequence[Sequence[Any]]) -> tuple[StageWork, ...]:
    """Read what stage days are made of, as it is kept."""
    people, days, *others = zip(*rows, strict=True) if rows else ((), ())
    return tuple(map(StageWork._make, zip(people, map(day_of, days), *others, strict=True)))


def _together(parts: Sequence[DoneInBrief]) -> DoneInBrief:
    """Return what parts of somebody's work say together."""
    if len(parts) == 1:
        return parts[0]
    first, lowest, counts, first_days, last_days = zip(*parts, strict=True)
    return DoneInBrief(
        min(first),
        min(lowest),
        sum(counts),
        min((day for day in first_days if day is not None), default=None),
        max((day for day in last_days if day is not None), default=None),
    )


def _done_of(
    held: Mapping[str, Sequence[BriefEntry]], person: str
) -> dict[str, tuple[DoneRow, ...]]:
    return grouped(map(done_row, held[person]), itemgetter(4))


def _of_craft(
    rows: Callable[[str], dict[str, tuple[DoneRow, ...]]], craft: str, person: str
) -> tuple[DoneRow, ...]:
    return rows(person)[craft]


def kept_ledger(
    file: FiguresFile,
    *,
    brief: bool = False,
    checked: bool = False,
    with_footage: bool = False,
    whole: bool = False,
    lookup: EntryLookup | None = None,
) -> Ledger:
    """Return the ledger of a log whose entries stand where the log stands.

    Entries are read when they are asked for; brief: every entry is read at once, in brief, for
    figures of the whole film; checked: every entry is read at once, with what checks look at.
    with_footage: of those in brief only the entries of crafts with footage.
    whole: every entry is read at once, with all it says, and none is looked up.
    lookup: what reads the entries, where they are searched, too.
    """
    lookup = lookup or EntryLookup(file, at_once=brief or checked or whole)
    in_brief: Sequence[Any] = Read(lookup.brief_with_footage if with_footage else lookup.brief)
    every: Sequence[Any] = in_brief if brief else Read(lookup.checked if checked else lookup.every)
    if brief or checked or whole:
        at_once: dict[str, Any] = {
            f"entries_by_{name}": MadeMapping(partial(grouped, every, attrgetter(name)))
            for name in BY_WHAT
        }
        at_once["by_number"] = MadeMapping(lambda: {entry.number: entry for entry in every})
        if whole:
            at_once |= looked_at(every, lookup.implied.crafts)
            # A row of each entry, kept beside it, would take half as much memory again.
            at_once["done"] = Read(partial(lookup.done, at_once["entries_by_person"]))
            at_once["undated_by_writing"] = MadeMapping(partial(grouped, every, written_undated))
        return _ledger(file, lookup, every, every, **at_once)
    return _ledger(file, lookup, every, in_brief)


def ledger_in_brief(file: FiguresFile, lookup: EntryLookup | None = None) -> Ledger:
    """Return the ledger in which entries are looked up in brief, for figures of a few things.

    lookup: what reads the entries, where something else reads of it, too.
    """
    lookup = lookup or EntryLookup(file)
    every: Sequence[Any] = Read(lookup.brief)
    own = {f"entries_by_{name}": lookup.brief_by(name) for name in BY_WHAT}
    return _ledger(file, lookup, every, every, **own)


def _ledger(
    file: FiguresFile,
    lookup: EntryLookup,
    every: Sequence[Any],
    brief: Sequence[Any],
    **others: Any,
) -> Ledger:
    return ledger_of(
        lookup.tables,
        lookup.implied,
        entries=every,
        brief=brief,
        forks=forks_of(file),
        last_line=file.last_line(),
        last_day=day_of(file.last_day()),
        **{**lookup.looked_up(), **others},
    )


def forks_of(file: FiguresFile) -> tuple[Fork, ...]:
    """Read the forks that are kept."""
    forks = (
        Fork(*(_numbers(part) for part in text.split(";")))  # type: ignore[arg-type]
        for _, text in file.rows("forks")
    )
    return tuple(sorted(forks, key=lambda fork: fork.line))


def _numbers(text: str) -> EntryNumber | tuple[EntryNumber, ...]:
    if text.startswith("="):
        return EntryNumber.parse(text[1:])
    return tuple(map(EntryNumber.parse, text.split(",")))


def fork_text(fork: Fork) -> str:
    """Return a fork as it is kept."""
    return f"={fork.line};{','.join(map(str, fork.corrections))};={fork.holds}"
