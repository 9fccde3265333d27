"""What pages are made from, for one edition, and what they say of entries of the log."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from functools import cache, cached_property, lru_cache, partial
from hashlib import sha256
from typing import Any, TypeVar, cast
from weakref import proxy

from credits.billing.compared.compare import Comparison
from credits.billing.credits import Credits
from credits.checks.rule import Severity
from credits.editions import Edition, Everyone
from credits.figures.snapshot import Snapshot
from credits.footage.claims import Animated
from credits.hands.hands import Via, build_target
from credits.model.facts import CreditWish, Kind, Person, Replacement
from credits.model.ledger import BriefEntry, Entry, Ledger
from credits.names import sort_key
from credits.site import links
from credits.site.links import Link, LinkedOnce, linked_day, plain_day
from credits.site.strips import Days, days_of, first_and_last
from credits.units.film_time import clock, day_text, feet_text, seconds_text
from credits.units.frames import NO_FRAMES, Frames, Range
from credits.units.rounding import Exact, half_up
from credits.units.table import Column, Marked, Scale, Table, Unit, columns

K = TypeVar("K")
V = TypeVar("V")
AnEntry = TypeVar("AnEntry", bound=BriefEntry)


def remembered(find: Callable[[PageSource, K], V]) -> cached_property[Callable[[K], V]]:
    """Make a method of a source remember its answers, each of which many pages want."""
    # What is remembered may not keep the source alive: its files are closed when nobody has it.
    return cached_property(lambda source: cache(partial(find, cast("PageSource", proxy(source)))))


def grouped(items: Iterable[V], key: Callable[[V], K]) -> dict[K, list[V]]:
    """Return items by a key, in order of first appearance."""
    found: dict[K, list[V]] = defaultdict(list)
    for item in items:
        found[key(item)].append(item)
    return found


@dataclass(frozen=True, slots=True, kw_only=True)
class Amount:
    """A figure of footage that stands alone: frames, seconds, running time, film."""

    frames: Everyone[str]
    seconds: Everyone[str]
    running: Everyone[str]
    feet: Everyone[str]


@dataclass(frozen=True)
class PageSource:
    """The results, the edition, and the pictures that the production folder holds.

    pictures: code (character, puppet or shot) -> the picture's file name in the site.
    comparison: the credits against the last proof; None where no proof was made. round_before: what
    that proof changed to the one before, where nothing is new since. logos: the file that the
    credit plan names -> the picture's file name in the site. log_seal: the seal that the log had
    when the last proof was made; empty: there is none.
    """

    results: Snapshot
    edition: Edition
    pictures: Mapping[str, str] = field(default_factory=dict)
    comparison: Comparison | None = None
    round_before: Comparison | None = None
    logos: Mapping[str, str] = field(default_factory=dict)
    log_seal: str = ""

    @property
    def ledger(self) -> Ledger:
        """Return the ledger behind the results."""
        return self.results.ledger

    @cached_property
    def printed(self) -> frozenset[str]:
        """The codes of the people whose credit prints."""
        return self.results.credits.printed

    @cached_property
    def credits_of(self) -> Callable[[str], Credits]:
        """What tells everything that was decided of the credit of a person."""
        found, nothing = self.results.credits.by_person(), self.results.credits.of("")
        return lambda person: found.get(person, nothing)

    @cached_property
    def replacements(self) -> Mapping[str, Mapping[str, list[Replacement]]]:
        """What the face sheets show, by character and part."""
        found = grouped(self.ledger.replacements, lambda one: one.character)
        return {code: grouped(own, lambda one: one.part) for code, own in found.items()}

    @cached_property
    def crafts_of(self) -> Mapping[str, list[str]]:
        """The crafts of each person, in the order of their table."""
        places = self.results.places.crafts
        work = sorted(self.ledger.done, key=lambda own: places[own.craft])
        return {
            person: [own.craft for own in every]
            for person, every in grouped(work, lambda own: own.person).items()
        }

    @cached_property
    def performed(self) -> frozenset[str]:
        """Who performed in frames of shots otherwise than frame by frame."""
        return frozenset(self.ledger.performed)

    @cached_property
    def voices(self) -> Mapping[str, list[str]]:
        """Who gives a voice to each character."""
        found: dict[str, list[str]] = defaultdict(list)
        for work in self.ledger.done:
            for character in work.characters if work.craft == "voice" else ():
                found[character].append(work.person)
        return found

    @cached_property
    def animated_on(self) -> Mapping[str, Mapping[tuple[str, int], list[Animated]]]:
        """Who animated each character, by the takes in which frames of it are kept."""
        places = self.results.places.shots
        every = [each for own in self.results.animated.values() for each in own]
        every.sort(key=lambda each: (places[each.shot], each.take))
        return {
            character: grouped(own, lambda each: (each.shot, each.take))
            for character, own in grouped(every, lambda each: each.character).items()
        }

    @cached_property
    def seen_work(self) -> Mapping[str, tuple[bool, bool]]:
        """Of everybody with footage, whether frames are kept, and whether the cut shows any."""
        found: dict[str, tuple[bool, bool]] = {}
        for cell in self.results.footage.summed_by("person").cells:
            kept, shown = found.get(cell.person, (False, False))
            own = kept or cell.character_kept > 0, shown or cell.character_screen > 0
            found[cell.person] = own
        return found

    def by_craft(self, entries: Iterable[AnEntry]) -> list[tuple[str, list[AnEntry]]]:
        """Return entries by craft, in the order of the crafts."""
        found = grouped(entries, lambda entry: entry.craft)
        return sorted(found.items(), key=lambda item: self.results.places.crafts[item[0]])

    @property
    def wrong_and_open(self) -> tuple[int, int]:
        """Return how many open checks say that the log cannot be right, and how many only ask."""
        wrong = sum(check.severity is Severity.WRONG for check in self.results.open_checks)
        return wrong, len(self.results.open_checks) - wrong

    @property
    def has_cut(self) -> bool:
        """Tell whether there is a cut to be measured against."""
        return self.results.use is not None

    @property
    def as_of(self) -> str:
        """Tell what the data is: the last line of the log, the last day, the version of the cut."""
        ledger = self.ledger
        day = day_text(ledger.last_day) if ledger.last_day else ""
        if ledger.last_line is None:
            return "The log is empty"
        if not self.crew:
            return f"Log as of {day}" if day else "Log without dates"
        cut = f"cut version {ledger.cut.version}" if ledger.cut else "no cut yet"
        return f"Log as of entry {ledger.last_line}{day and f', {day}'}; {cut}"

    def amount(self, frames: Exact, shown: int | None = None) -> Amount:
        """Return a figure of footage for a page.

        shown: the whole frames that a column gives it so that the column adds up; without one the
        frames are rounded half up.
        """
        rounded = half_up(frames) if shown is None else shown
        return Amount(
            frames=f"{rounded:,}",
            seconds=seconds_text(frames, self.scale.rate, 1),
            running=clock(frames, self.scale.rate),
            feet=feet_text(rounded, self.scale.gauge),
        )

    def in_cut(self, shot: str, take: int) -> Frames:
        """Return the frames of a take that the cut uses; none without a cut."""
        use = self.results.use
        return use.used.get((shot, take), NO_FRAMES) if use is not None else NO_FRAMES

    @cached_property
    def takes_in_cut(self) -> Mapping[str, list[int]]:
        """The takes of each shot that the cut uses."""
        used = grouped(self.results.use.used if self.results.use else (), lambda key: key[0])
        return {shot: [take for _, take in own] for shot, own in used.items()}

    @cached_property
    def film_spans(self) -> Callable[[str, int | None, Frames], tuple[Range, ...]]:
        """What tells where frames of a take are in the current cut; without a cut, nowhere.

        Those are half-open film frames, from 1, in film order. Take None: of whichever is used.
        """
        use, takes = self.results.use, self.takes_in_cut

        @lru_cache(maxsize=4096)
        def spans(shot: str, take: int | None, frames: Frames) -> tuple[Range, ...]:
            if use is None:
                return ()
            ones = [take] if take is not None else takes.get(shot, ())
            return tuple(sorted(span for one in ones for span in use.film_spans(shot, one, frames)))

        return spans

    @property
    def scale(self) -> Scale:
        """Return what turns the frames of the production into time and film."""
        return Scale(self.ledger.production.rate, self.ledger.production.gauge)

    @property
    def crew(self) -> bool:
        """Tell whether the readers may see what the crew sees."""
        return self.edition.sees(Edition.CREW)

    @property
    def office(self) -> bool:
        """Tell whether the readers may see what the office sees."""
        return self.edition.sees(Edition.OFFICE)

    def named(self, code: str) -> bool:
        """Tell whether this edition names the person and gives them a page.

        Public: those whose credit prints. Crew: all but those who asked to be uncredited.
        """
        if self.edition is Edition.OFFICE:
            return True
        person = self.ledger.person(code)
        if person.wish is CreditWish.UNCREDITED:
            return False
        return self.edition is Edition.CREW or person.code in self.printed

    @cached_property
    def person(self) -> Callable[[str], Link | None]:
        """What tells a person's name, leading to their page, as this edition may show it.

        None: this edition does not mention the person at all. In the crew edition somebody who
        asked to be uncredited is "uncredited", without a page.
        """

        own: PageSource = proxy(self)

        @cache
        def person(code: str) -> Link | None:
            person = own.ledger.person(code)
            if own.named(code):
                return Link(person.credit_name, links.person_page(person.code))
            return Link("uncredited") if own.edition is Edition.CREW else None

        return person

    def named_people(self, codes: Iterable[str]) -> list[tuple[str, Link]]:
        """Return each of the people once whom this edition mentions, by name."""
        ordered = sorted(set(codes), key=self.name_order)
        return [(code, link) for code in ordered if (link := self.person(code)) is not None]

    def names(self, codes: Iterable[str]) -> tuple[Link, ...]:
        """Return the names of the people whom this edition mentions, by name, each once."""
        return self._names(tuple(codes))

    @remembered
    def _names(self, codes: tuple[str, ...]) -> tuple[Link, ...]:
        return tuple([link for _, link in self.named_people(codes)])

    def people_in_order(self) -> tuple[Person, ...]:
        """Return everybody whom this edition names, each human being once, by sort name."""
        ledger = self.ledger
        ones = [p for p in ledger.people.values() if ledger.one_person.get(p.code) == p.code]
        shown = [person for person in ones if self.named(person.code)]
        return tuple(sorted(shown, key=lambda p: self.name_order(p.code)))

    @cached_property
    def name_order(self) -> Callable[[str], int]:
        """What tells the place of a person in a list of names.

        Whom this edition does not name stands last, in an order that says nothing of the name:
        among the others by name "uncredited" would give the first letter away.
        """
        ledger = self.ledger

        def order(code: str) -> tuple[object, ...]:
            person = ledger.person(code)
            if self.named(code):
                return (
                    False,
                    sort_key(person.files_under, ledger.production.alphabet),
                    person.code,
                )
            return (True, sha256(person.code.encode("utf-8", "replace")).digest())

        return {code: at for at, code in enumerate(sorted(ledger.people, key=order))}.__getitem__

    @remembered
    def character(self, code: str) -> Link:
        """Return the character's name, leading to its page."""
        return Link(self.ledger.characters[code].name, links.character_page(code))

    def characters(self, codes: Iterable[str | None]) -> tuple[Link, ...]:
        """Return the characters among the codes, each once, in the order of their table."""
        place = self.results.places.characters
        return tuple(map(self.character, sorted({c for c in codes if c}, key=place.__getitem__)))

    @remembered
    def copy(self, code: str) -> Link:
        """Return ``copy 3``: a puppet where its character is named beside it."""
        copy = self.ledger.puppets[code].copy or code
        return Link(f"copy {copy}" if copy.isdigit() else copy, links.puppet_page(code))

    def copies(self, codes: Iterable[str | None]) -> tuple[Link, ...]:
        """Return puppets once each, by code, where their character is named beside them."""
        return tuple(map(self.copy, sorted({code for code in codes if code})))

    @remembered
    def puppet(self, code: str) -> Link:
        """Return the puppet as people call it ("Wick, copy 3"), leading to its page."""
        name = self.ledger.characters[self.ledger.puppets[code].character].name
        return Link(f"{name}, {self.copy(code)}", links.puppet_page(code))

    def thing(self, via: Via, code: str) -> Link:
        """Return a character, puppet or part as people call it."""
        if via is Via.PUPPET:
            return self.puppet(code)
        if via is Via.CHARACTER:
            return self.character(code)
        return Link(f"{self.ledger.parts[code].kind} {code}")

    @remembered
    def shot(self, code: str) -> Link:
        """Return the shot's code; it leads to the shot's page for those who may see shots."""
        return Link(code, links.shot_page(code) if self.crew else None)

    @remembered
    def craft(self, code: str) -> Link:
        """Return the craft's name, leading to its page."""
        return Link(self.ledger.crafts[code].name, links.craft_page(code))

    def sequence(self, code: str) -> str:
        """Return ``030, The Quay``; the code alone of a sequence without a name."""
        name = self.ledger.sequences[code].name
        return f"{code}, {name}" if name else code

    def note(self, entry: Entry) -> str:
        """Return the note of an entry; empty where the edition's readers may not see it."""
        return entry.work.note or "" if self.office or not entry.work.private else ""

    def makes(self, entry: Entry) -> bool:
        """Tell whether the entry's work makes something; a repair does not."""
        craft = self.ledger.crafts[entry.craft]
        return craft.kind is Kind.BUILD and not craft.repair

    def makers(self, entries: Iterable[Entry]) -> tuple[Link, ...]:
        """Return who made something, by name; those who repaired it are not among them."""
        return self.names(entry.person for entry in entries if self.makes(entry))


def plain(names: Iterable[Link]) -> tuple[Link, ...]:
    """Return names that lead nowhere: they stand again on a page that leads from them above."""
    return tuple(map(links.plain, names))


def worked_days(entries: Iterable[Entry]) -> Days | None:
    """Return the day on which the work was begun and the last one; None where it is undated."""
    return first_and_last(days_of(entries))


OFFICE = Edition.OFFICE
ENTRY_COLUMNS = (
    Column(key="entry", heading="Entry", unit=Unit.CODE),
    Column(key="day", heading="Day", unit=Unit.DAY),
    *columns(person="By", craft="Craft", what="On"),
    Column(key="shot", heading="Shot", unit=Unit.CODE),
    Column(key="take", heading="Take"),
    Column(key="frames", heading="Frames", unit=Unit.RANGES),
    Column(key="stage", heading="Stage"),
    *columns(Unit.MINUTES, edition=OFFICE, nothing="", minutes="Minutes", wait="Wait"),
    Column(key="note", heading="Note", unit=Unit.NOTE),
)
REPAIR_COLUMNS = (
    Column(key="day", heading="Day", unit=Unit.DAY),
    *columns(thing="What", person="By"),
    Column(key="shot", heading="On shot", unit=Unit.CODE),
    Column(key="note", heading="Note", unit=Unit.NOTE),
    *columns(
        Unit.MINUTES, edition=OFFICE, nothing="", minutes="Work, minutes", wait="Wait, minutes"
    ),
)

PART_COLUMNS = (
    Column(key="part", heading="Part", unit=Unit.CODE),
    *columns(kind="Kind", makers="Made by"),
)


def part_values(source: PageSource, code: str) -> tuple[str, str, tuple[Link, ...]]:
    """Return what stands in the columns of a part."""
    made = source.ledger.entries_by_part.get(code, ())
    return code, source.ledger.parts[code].kind, source.makers(made)


def what_of(source: PageSource, entry: Entry) -> tuple[Link, ...]:
    """Return what an entry's work was on: the puppet, else the character; and the part."""
    found = []
    # A voice is not given to a copy, though the character may have only one.
    if entry.puppet is not None and (entry.work.puppet or source.ledger.is_footage(entry)):
        found.append(source.puppet(entry.puppet))
    elif entry.character is not None:
        found.append(source.character(entry.character))
    if entry.part is not None:
        found.append(Link(f"{source.ledger.parts[entry.part].kind} {entry.part}"))
    return tuple(found)


def _number(entry: Entry) -> Marked:
    number = str(entry.number)
    corrects = f"corrects {entry.first}" if entry.first != entry.number else ""
    return Marked(value=number, note=corrects, anchor=f"entry-{number}")


def _thing(source: PageSource, entry: Entry) -> Link | None:
    target = build_target(entry)
    return source.thing(*target) if target is not None else None


_Says = Mapping[str, Callable[[PageSource, Entry], object]]
_SAYS: _Says = {
    "entry": lambda _, entry: _number(entry),
    "day": lambda _, entry: linked_day(entry.day),
    "thing": _thing,
    "person": lambda source, entry: source.person(entry.person),
    "craft": lambda source, entry: source.craft(entry.craft),
    "what": what_of,
    "shot": lambda source, entry: source.shot(entry.shot) if entry.shot is not None else None,
    "take": lambda _, entry: entry.take,
    "frames": lambda _, entry: entry.frames or None,
    "stage": lambda _, entry: entry.stage,
    "minutes": lambda _, entry: entry.work.minutes or None,
    "wait": lambda _, entry: entry.work.wait_minutes or None,
    "note": lambda source, entry: source.note(entry),
}
"""What a column says of an entry."""
_SAYS_PLAINLY: _Says = {
    **_SAYS,
    "day": lambda _, entry: plain_day(entry.day),
    "craft": lambda source, entry: source.ledger.crafts[entry.craft].name,
    "what": lambda source, entry: plain(what_of(source, entry)),
}
"""The same; days, crafts and things lead nowhere."""


def _entries(
    source: PageSource,
    caption: str,
    columns: Iterable[Column],
    entries: Iterable[Entry],
    says: _Says = _SAYS,
) -> Table:
    """Return entries in the order given, but those of people whom the edition does not mention."""
    told = [says[column.key] for column in columns]
    shown = (entry for entry in entries if source.person(entry.person) is not None)
    rows = (tuple([tell(source, entry) for tell in told]) for entry in shown)
    return Table.of(caption, columns, rows)


def shot_log(source: PageSource, caption: str, entries: Iterable[Entry]) -> Table:
    """Return entries of the log, by day, then in the order given; undated ones first.

    Entries of people whom the edition does not mention are left out. People lead to their pages
    once; days, crafts and things lead nowhere, so that the longest part of a shot's page is small.
    """
    ordered = sorted(entries, key=lambda entry: entry.day or date.min)
    table = _entries(source, caption, ENTRY_COLUMNS, ordered, _SAYS_PLAINLY)
    return linked_once(table, "person")


def repairs_table(source: PageSource, entries: Iterable[Entry], of: str) -> Table:
    """Return the repairs among some entries, undated ones first, then by day.

    of: what was repaired, or by whom, as the caption says it.
    """
    repairs = filter(source.ledger.is_repair, entries)
    ordered = sorted(repairs, key=lambda entry: (entry.day or date.min, entry.number))
    caption = f"Repairs {of}"
    table = _entries(source, caption, REPAIR_COLUMNS, ordered)
    told = table.without_empty("thing", "shot", "note")
    return linked_once(told, *(c.key for c in told.columns if c.key in _LEADING))


_LEADING = frozenset({"day", "thing", "person", "shot"})


def linked_once(table: Table, *keys: str) -> Table:
    """Return a table whose names lead somewhere the first time that they stand in a column.

    keys: of the columns.
    """
    for key in keys:
        table = table.with_values(key, partial(_linked_once, LinkedOnce()))
    return table


def _linked_once(once: LinkedOnce, value: Any) -> Any:
    match value:
        case Marked():
            return replace(value, value=_linked_once(once, value.value))
        case Link():
            return once((value,))[0]
        case tuple():
            return once(value) if all(isinstance(one, Link) for one in value) else value
        case _:
            return value


def without_cut(source: PageSource, table: Table) -> Table:
    """Return the table without what the cut says, as long as there is no cut."""
    keys = ("cut", "screen", "screen_time", "in_cut", "in_film")
    return table if source.has_cut else table.without(*keys)
