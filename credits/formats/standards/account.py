"""Who made what, of the film, a character or a shot: agents, works, things, derivations.

Of the film also who prints in the end credits without any work in the log: director, editor,
engaged people, companies.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from credits.billing.plan import NamedKind
from credits.cautions import CREDITS_CAUTION, REVIEW_CAUTION
from credits.editions import Crew, Edition, Everyone, Office, cut_to
from credits.figures.snapshot import Snapshot
from credits.hands.hands import build_target
from credits.model.facts import EntryNumber, Fitting, Kind, Replacement
from credits.model.ledger import Entry
from credits.names import sort_key

ANONYMOUS = ""
UNCREDITED = "uncredited"
CASTING = "casting"
FITTED, CAST, SHOWN = "fitted", "cast", "shown"

Thing = tuple[str, str]
"""Kind and code: ("puppet", "wick-1")."""
Things = tuple[Thing, ...]
FILM, CHARACTER, SHOT = "film", "character", "shot"  # the kinds that an account can be about
PERSON = "person"


# What a line of the plan's own names is called here; a song did nothing.
OWN_LINES = {
    NamedKind.PERSON: "named",
    NamedKind.COMPANY: "company",
    NamedKind.ANIMAL: "animal",
    NamedKind.OTHER: "other",
}


@dataclass(frozen=True, slots=True)
class Agent:
    """A person whom the edition names; under the key ANONYMOUS all the uncredited together.

    ``kind``: what else a line of the credits may name: a company, an animal. Its key is its name.
    """

    key: Everyone[str]
    name: Everyone[str]
    isni: Crew[str] = ""
    kind: Everyone[str] = PERSON


@dataclass(frozen=True, slots=True, kw_only=True)
class Credited:
    """A line of the end credits that no work of the log stands behind."""

    kind: Everyone[str]
    agent: Everyone[str]
    heading: Everyone[str]
    role: Everyone[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Entity:
    """A character, puppet, part or shot. ``frames``: the length of a shot."""

    thing: Everyone[Thing]
    name: Everyone[str]
    character: Everyone[str] = ""
    frames: Crew[int] = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Activity:
    """One entry; to the public all of a person, craft and thing. ``made`` came of ``used``.

    ``began``: what of ``made`` was not there before. The rest it changed, as all later work does.
    """

    key: Everyone[str]
    craft: Everyone[str]
    craft_name: Everyone[str]
    agent: Everyone[str]
    character: Everyone[str]
    made: Everyone[Things]
    used: Everyone[Things]
    began: Everyone[Things] = ()
    shot: Crew[str] = ""
    take: Crew[int | None] = None
    frames: Crew[str] = ""
    sequence: Crew[str] = ""
    started_on: Crew[date | None] = None
    finished_on: Crew[date | None] = None
    stage: Crew[str] = ""
    note: Crew[str] = ""
    private_note: Office[str] = ""
    minutes: Office[int | None] = None
    wait_minutes: Office[int | None] = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Derivation:
    """A thing that comes of another: a part fitted, a copy cast, a replacement shown in a shot.

    ``how``: FITTED, CAST or SHOWN. ``work``: the key of the work by which; ``began``: the thing
    began with that work.
    """

    thing: Everyone[Thing]
    of: Everyone[Thing]
    how: Everyone[str]
    work: Everyone[str] = ""
    began: Everyone[bool] = False
    from_on: Crew[date | None] = None
    to_on: Crew[date | None] = None
    take: Crew[int | None] = None
    frames: Crew[str] = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Account:
    """The whole account. ``as_of``: what the data is, in words."""

    title: Everyone[str]
    code: Everyone[str]
    about: Everyone[Thing]
    edition: Everyone[str]
    as_of: Everyone[str]
    cautions: Everyone[tuple[str, ...]]
    agents: Everyone[tuple[Agent, ...]]
    things: Everyone[tuple[Entity, ...]]
    works: Everyone[tuple[Activity, ...]]
    derived: Everyone[tuple[Derivation, ...]]
    credited: Everyone[tuple[Credited, ...]] = ()


def account_of(
    results: Snapshot,
    about: Thing,
    edition: Edition,
    *,
    named: Callable[[str], bool],
    puppet_name: Callable[[str], str],
    as_of: str,
) -> Account:
    """Build the account of the film, a character or a shot, cut to an edition.

    about: its kind and code. named: whether the edition names a person. puppet_name: what people
    call a puppet. as_of: what the data is, in words that the edition may read.
    Raises ValueError for a shot in the public edition, which shows none; KeyError for an unknown
    code.
    """
    if about[0] == SHOT and edition is Edition.PUBLIC:
        raise ValueError("the public edition shows no shots")
    builder = _Builder(results, about, edition, named, puppet_name, edition.sees(Edition.CREW))
    entries, fittings, replacements = in_scope(results, *about)
    works = builder.works(entries)
    derived = tuple(builder.derived(fittings, replacements, works))
    credited = tuple(builder.credited(works)) if about[0] == FILM else ()
    office, production = edition is Edition.OFFICE, results.ledger.production
    whole = Account(
        title=production.title,
        code=production.code,
        about=about,
        edition=str(edition),
        as_of=as_of,
        cautions=(CREDITS_CAUTION, REVIEW_CAUTION) if office else (CREDITS_CAUTION,),
        agents=tuple(builder.agents(works, credited)),
        things=tuple(builder.things(works, derived)),
        works=works,
        derived=derived,
        credited=credited,
    )
    return cut_to(whole, edition)


# --- What belongs to a scope

InScope = tuple[Sequence[Entry], Sequence[Fitting], Sequence[Replacement]]


def in_scope(results: Snapshot, about: str, code: str) -> InScope:
    """Find the current entries, fittings and replacements that belong to it, in ledger order.

    A character: the work on it, on its copies and on what was ever fitted to them or shown. A shot:
    the work on the shot, and of all hands that are in its frames. Raises KeyError.
    """
    ledger = results.ledger
    if about == FILM:
        return ledger.entries, ledger.fittings, ledger.replacements
    if about == SHOT:
        return _of_shot(results, ledger.shots[code].code)
    character = ledger.characters[code].code
    copies = ledger.puppets_of.get(character, ())
    fittings = tuple(f for copy in copies for f in ledger.fittings_of_puppet.get(copy, ()))
    shown = tuple(r for r in ledger.replacements if r.character == character)
    parts = {f.part for f in fittings} | {r.part for r in shown}
    numbers = {e.number for e in ledger.entries_by_character.get(character, ())}
    for part in parts:
        numbers.update(e.number for e in ledger.entries_by_part.get(part, ()))
    return tuple(e for e in ledger.entries if e.number in numbers), fittings, shown


def _of_shot(results: Snapshot, shot: str) -> InScope:
    ledger = results.ledger
    takes = [take for code, take in results.runs if code == shot]
    numbers = {e.number for e in ledger.entries_by_shot.get(shot, ())}
    hands = (hand for take in takes for hand in results.hands.of_take(shot, take))
    numbers.update(*(hand.entries for hand in hands))
    worn = dict.fromkeys(
        fitting
        for take in takes
        for run in results.runs[shot, take].runs
        for layer in run.kept
        for puppet in sorted(layer.puppets)
        for fitting in ledger.fittings_of_puppet.get(puppet, ())
        if layer.day is None or fitting.holds_on(layer.day)
    )
    entries = tuple(e for e in ledger.entries if e.number in numbers)
    return entries, tuple(worn), ledger.replacements_by_shot.get(shot, ())


# --- What is said of it

_WHERE = ("character", "shot", "sequence", "stage")
_WHEN = ("started_on", "finished_on", "minutes", "wait_minutes")


@dataclass(frozen=True, slots=True)
class _Builder:
    """Makes the parts of one account."""

    results: Snapshot
    about: Thing
    edition: Edition
    named: Callable[[str], bool]
    puppet_name: Callable[[str], str]
    crew: bool

    def works(self, entries: Iterable[Entry]) -> tuple[Activity, ...]:
        """One work an entry; in the public edition one a person, craft and thing."""
        found: dict[str, Activity] = {}
        first = self._first_work()
        for entry in entries:
            agent = self._agent_key(entry.person)
            made, used = self._made_and_used(entry)
            if agent is None or not (self.crew or made or used):
                continue
            key = str(entry.number)
            if not self.crew:
                key = "/".join((entry.craft, agent, *(made or used)[0]))
            if key not in found:
                began = tuple(thing for thing in made if first[thing] == entry.number)
                work = self._work(entry, key, agent, made, used)
                found[key] = replace(work, began=began)
        return tuple(found.values())

    def _first_work(self) -> dict[Thing, EntryNumber]:
        """Find the entry that each thing began with, of all whose people the edition mentions.

        It is asked of the whole film, so that the account of a shot or a character says the same as
        that of the film. The earliest day counts, and the order of the log on one day, for work
        without a day after the rest, and for the public, who are told no days.
        """
        entries = [e for e in self.results.ledger.entries if self._agent_key(e.person) is not None]
        if self.crew:
            entries.sort(key=lambda entry: entry.day or date.max)
        first: dict[Thing, EntryNumber] = {}
        for entry in entries:
            for thing in self._made_and_used(entry)[0]:
                first.setdefault(thing, entry.number)
        return first

    def _agent_key(self, person: str) -> str | None:
        """The key of the agent; None: the edition does not mention the person at all."""
        if self.named(person):
            return self.results.ledger.person(person).code
        return ANONYMOUS if self.edition is Edition.CREW else None

    def _made_and_used(self, entry: Entry) -> tuple[Things, Things]:
        """What came of an entry, and what was in hand for it. What is repaired was there before.

        In the public edition, without their where, performances and repairs are on the character.
        """
        character: Things = () if entry.character is None else (("character", entry.character),)
        if self.results.ledger.crafts[entry.craft].kind is Kind.BUILD:
            target = build_target(entry)
            things: Things = () if target is None else ((str(target[0]), target[1]),)
            if self.results.ledger.is_repair(entry):
                return (), things if self.crew else character
            return things if self.crew else things or character, ()
        if not self.crew:
            return (), character
        made: Things = () if entry.shot is None else (("shot", entry.shot),)
        return made, character if entry.puppet is None else (("puppet", entry.puppet),)

    def _work(self, entry: Entry, key: str, agent: str, made: Things, used: Things) -> Activity:
        work = entry.work
        note = work.note or ""
        same: dict[str, Any] = {name: getattr(entry, name) or "" for name in _WHERE}
        same |= {name: getattr(work, name) for name in _WHEN}
        return Activity(
            key=key,
            craft=entry.craft,
            craft_name=self.results.ledger.crafts[entry.craft].name,
            agent=agent,
            made=made,
            used=used,
            take=entry.take,
            frames=work.frames.text if work.frames is not None else "",
            note="" if work.private else note,
            private_note=note if work.private else "",
            **same,
        )

    def derived(
        self,
        fittings: Iterable[Fitting],
        replacements: Iterable[Replacement],
        works: Iterable[Activity],
    ) -> Iterator[Derivation]:
        seen: set[Things] = set()
        for fitting in fittings:
            thing, of = ("puppet", fitting.puppet), ("part", fitting.part)
            if self.crew or (thing, of) not in seen:
                seen.add((thing, of))
                begin, end = fitting.from_on, fitting.to_on
                yield Derivation(thing=thing, of=of, how=FITTED, from_on=begin, to_on=end)
        for work in works:
            for thing in work.made if work.craft == CASTING and work.character else ():
                if thing[0] != "character":
                    of = ("character", work.character)
                    began = thing in work.began
                    yield Derivation(thing=thing, of=of, how=CAST, work=work.key, began=began)
        for shown in replacements if self.crew else ():
            thing, of, frames = ("shot", shown.shot), ("part", shown.part), shown.frames.text
            yield Derivation(thing=thing, of=of, how=SHOWN, take=shown.take, frames=frames)

    def credited(self, works: Sequence[Activity]) -> Iterator[Credited]:
        """The lines of the end credits behind which no work of the log stands."""
        at_work = {work.agent for work in works}
        for section, line in self.results.credits.lines:
            if line.named is NamedKind.SONG or not section.heading + (line.role or ""):
                continue
            kind, key = (PERSON, line.person) if line.person else (OWN_LINES[line.named], line.name)
            if line.person:
                by_work = any(reason.entries for reason in line.because)
                if not self.named(line.person) or (by_work and line.person in at_work):
                    continue
                key = self.results.ledger.person(line.person).code
            role = line.role or ""
            yield Credited(kind=kind, agent=key, heading=section.heading, role=role)

    def agents(self, works: Sequence[Activity], credited: Sequence[Credited]) -> Iterator[Agent]:
        """Everybody who did a work or prints, by sort name; then the uncredited, then others."""
        keys = {work.agent for work in works}
        keys |= {one.agent for one in credited if one.kind == PERSON}
        people = [self.results.ledger.people[key] for key in keys - {ANONYMOUS}]
        alphabet = self.results.ledger.production.alphabet
        for person in sorted(people, key=lambda p: (sort_key(p.files_under, alphabet), p.code)):
            yield Agent(person.code, person.credit_name, person.isni or "")
        if ANONYMOUS in keys:
            yield Agent(ANONYMOUS, UNCREDITED)
        others = dict.fromkeys((one.kind, one.agent) for one in credited if one.kind != PERSON)
        for kind, name in others:
            yield Agent(name, name, kind=kind)

    def things(self, works: Iterable[Activity], derived: Iterable[Derivation]) -> Iterator[Entity]:
        """The things of the account by their tables; with the whole film all there are."""
        ledger = self.results.ledger
        film, named_as = self.about[0] == FILM, self.puppet_name
        named = {self.about, *(thing for row in derived for thing in (row.thing, row.of))}
        for work in works:
            named.update(work.made, work.used)
            named.update(t for t in ((CHARACTER, work.character), (SHOT, work.shot)) if t[1])
        puppets = [code for kind, code in named if kind == "puppet"]
        named.update(("character", ledger.puppets[code].character) for code in puppets)
        rows = (
            *(("character", code, row.name, "", 0) for code, row in ledger.characters.items()),
            *(("puppet", c, named_as(c), p.character, 0) for c, p in ledger.puppets.items()),
            *(("part", c, f"{p.kind} {c}", p.character or "", 0) for c, p in ledger.parts.items()),
            *(("shot", code, code, "", shot.length) for code, shot in ledger.shots.items()),
        )
        for kind, code, name, character, frames in rows:
            if (film or (kind, code) in named) and (self.crew or kind != "shot"):
                yield Entity(thing=(kind, code), name=name, character=character, frames=frames)
