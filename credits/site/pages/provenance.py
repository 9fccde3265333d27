"""Who made what, for an edition."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from credits.cautions import CREDITS_CAUTION, REVIEW_CAUTION
from credits.editions import Crew, Edition, Everyone, Office, cut_to
from credits.formats.standards.account import (
    ANONYMOUS,
    UNCREDITED,
    About,
    InScope,
    Scope,
    Thing,
    in_scope,
    thing_of,
)
from credits.model.facts import Kind
from credits.model.ledger import Entry
from credits.site.source import PageSource
from credits.site.whole_site import as_of


@dataclass(frozen=True, slots=True)
class AgentRow:
    """A person whom the edition names; or, without a key, all the uncredited together."""

    key: Everyone[str]
    name: Everyone[str]
    isni: Crew[str] = ""


@dataclass(frozen=True, slots=True)
class ThingRow:
    """A character, puppet, part or shot."""

    thing: Everyone[Thing]
    name: Everyone[str]
    character: Everyone[str] = ""
    frames: Crew[int] = 0


@dataclass(frozen=True, slots=True)
class WorkRow:
    """One entry; in the public edition all entries of a person, craft and thing."""

    key: Everyone[str]
    craft: Everyone[str]
    craft_name: Everyone[str]
    agent: Everyone[str]
    character: Everyone[str]
    made: Everyone[tuple[Thing, ...]]
    used: Everyone[tuple[Thing, ...]]
    shot: Crew[str] = ""
    take: Crew[int | None] = None
    frames: Crew[str] = ""
    sequence: Crew[str] = ""
    started_on: Crew[date | None] = None
    finished_on: Crew[date | None] = None
    stage: Crew[str] = ""
    note: Crew[str] = ""
    minutes: Office[int | None] = None
    wait_minutes: Office[int | None] = None


@dataclass(frozen=True, slots=True)
class DerivedRow:
    """A part on a puppet, a copy cast from its character, a replacement seen in a shot."""

    thing: Everyone[Thing]
    of: Everyone[Thing]
    how: Everyone[str]
    work: Everyone[str] = ""
    from_on: Crew[date | None] = None
    to_on: Crew[date | None] = None
    take: Crew[int | None] = None
    frames: Crew[str] = ""


@dataclass(frozen=True, slots=True)
class Provenance:
    """The whole account."""

    title: Everyone[str]
    code: Everyone[str]
    about: Everyone[Thing]
    edition: Everyone[str]
    as_of: Everyone[str]
    cautions: Everyone[tuple[str, ...]]
    agents: Everyone[tuple[AgentRow, ...]]
    things: Everyone[tuple[ThingRow, ...]]
    works: Everyone[tuple[WorkRow, ...]]
    derived: Everyone[tuple[DerivedRow, ...]]


REPAIR = "repair"
CASTING = "casting"
FITTED, CAST, SHOWN = "fitted", "cast", "shown"


def provenance(source: PageSource, scope: Scope) -> Provenance:
    """The account of a scope for the source's edition.

    Raises ValueError for a shot in the public edition, which shows none; KeyError for an unknown
    code.
    """
    if scope.about is About.SHOT and not source.crew:
        raise ValueError("the public edition shows no shots")
    found = in_scope(source.results, scope)
    works = tuple(_works(source, found.entries))
    derived = tuple(_derived(source, found, works))
    production = source.ledger.production
    model = Provenance(
        title=production.title,
        code=production.code,
        about=(str(scope.about), scope.code),
        edition=str(source.edition),
        as_of=as_of(source),
        cautions=(CREDITS_CAUTION, REVIEW_CAUTION) if source.office else (CREDITS_CAUTION,),
        agents=_agents(source, works),
        things=tuple(_things(source, scope, works, derived)),
        works=works,
        derived=derived,
    )
    return cut_to(model, source.edition)


# --- Works


def _agent_key(source: PageSource, person: str) -> str | None:
    """The key of the agent; None: the edition does not mention the person at all."""
    if source.named(person):
        return source.ledger.person(person).code
    return ANONYMOUS if source.edition is Edition.CREW else None


def _works(source: PageSource, entries: Iterable[Entry]) -> Iterator[WorkRow]:
    whole: dict[tuple[str, str, Thing], WorkRow] = {}
    for entry in entries:
        agent = _agent_key(source, entry.person)
        if agent is None:
            continue
        if source.crew:
            yield _work(source, entry, agent)
            continue
        row = _whole_work(source, entry, agent)
        if row is not None:
            thing = (*row.made, *row.used)[0]
            whole.setdefault((row.craft, row.agent, thing), row)
    yield from whole.values()


def _made_and_used(source: PageSource, entry: Entry) -> tuple[tuple[Thing, ...], tuple[Thing, ...]]:
    """What came of an entry, and what was in hand for it. What is mended was there before."""
    if source.ledger.crafts[entry.craft].kind is Kind.BUILD:
        thing = thing_of(entry)
        things = () if thing is None else (thing,)
        return ((), things) if entry.craft == REPAIR else (things, ())
    made = () if entry.shot is None else (("shot", entry.shot),)
    if entry.puppet is not None:
        return made, (("puppet", entry.puppet),)
    return made, () if entry.character is None else (("character", entry.character),)


def _work(source: PageSource, entry: Entry, agent: str) -> WorkRow:
    made, used = _made_and_used(source, entry)
    work = entry.work
    return WorkRow(
        key=str(entry.number),
        craft=entry.craft,
        craft_name=source.ledger.crafts[entry.craft].name,
        agent=agent,
        character=entry.character or "",
        made=made,
        used=used,
        shot=entry.shot or "",
        take=entry.take,
        frames=work.frames.text if work.frames is not None else "",
        sequence=entry.sequence or "",
        started_on=work.started_on,
        finished_on=work.finished_on,
        stage=entry.stage or "",
        note=source.note(entry),
        minutes=work.minutes,
        wait_minutes=work.wait_minutes,
    )


def _whole_work(source: PageSource, entry: Entry, agent: str) -> WorkRow | None:
    """The entry without its when and where: performances and repairs are on the character."""
    craft = source.ledger.crafts[entry.craft]
    builds = craft.kind is Kind.BUILD and entry.craft != REPAIR
    thing = thing_of(entry) if builds else None
    if thing is None and entry.character is not None:
        thing = ("character", entry.character)
    if thing is None:
        return None
    return WorkRow(
        key=f"{entry.craft}/{agent}/{thing[0]}/{thing[1]}",
        craft=entry.craft,
        craft_name=craft.name,
        agent=agent,
        character=entry.character or "",
        made=(thing,) if builds else (),
        used=() if builds else (thing,),
    )


# --- What comes of what


def _derived(source: PageSource, found: InScope, works: Iterable[WorkRow]) -> Iterator[DerivedRow]:
    seen: set[tuple[str, str]] = set()
    for fitting in found.fittings:
        pair = (fitting.puppet, fitting.part)
        if pair in seen and not source.crew:
            continue
        seen.add(pair)
        yield DerivedRow(
            ("puppet", fitting.puppet),
            ("part", fitting.part),
            FITTED,
            from_on=fitting.from_on,
            to_on=fitting.to_on,
        )
    for work in works:
        for thing in work.made if work.craft == CASTING and work.character else ():
            if thing[0] != "character":
                yield DerivedRow(thing, ("character", work.character), CAST, work.key)
    for shown in found.replacements if source.crew else ():
        yield DerivedRow(
            ("shot", shown.shot),
            ("part", shown.part),
            SHOWN,
            take=shown.take,
            frames=shown.frames.text,
        )


# --- Agents and things


def _agents(source: PageSource, works: Iterable[WorkRow]) -> tuple[AgentRow, ...]:
    keys = {work.agent for work in works}
    people = [source.ledger.people[key] for key in keys if key != ANONYMOUS]
    rows = [
        AgentRow(person.code, person.credit_name, person.isni or "")
        for person in sorted(people, key=lambda person: source.name_order(person.code))
    ]
    if ANONYMOUS in keys:
        rows.append(AgentRow(ANONYMOUS, UNCREDITED))
    return tuple(rows)


def _named_things(works: Iterable[WorkRow], derived: Iterable[DerivedRow]) -> Iterator[Thing]:
    for work in works:
        yield from (*work.made, *work.used)
        if work.character:
            yield "character", work.character
        if work.shot:
            yield "shot", work.shot
    for row in derived:
        yield from (row.thing, row.of)


def _things(
    source: PageSource, scope: Scope, works: Iterable[WorkRow], derived: Iterable[DerivedRow]
) -> Iterator[ThingRow]:
    """The things of the account in the order of their tables; with the whole film all there are."""
    ledger = source.ledger
    film = scope.about is About.FILM
    named = {*_named_things(works, derived), (str(scope.about), scope.code)}
    owners = {("character", ledger.puppets[c].character) for kind, c in named if kind == "puppet"}
    named |= owners
    for code, character in ledger.characters.items():
        if film or ("character", code) in named:
            yield ThingRow(("character", code), character.name)
    for code, puppet in ledger.puppets.items():
        if film or ("puppet", code) in named:
            yield ThingRow(("puppet", code), source.puppet(code).text, puppet.character)
    for code, part in ledger.parts.items():
        if film or ("part", code) in named:
            yield ThingRow(("part", code), f"{part.kind} {code}", part.character or "")
    for code, shot in ledger.shots.items() if source.crew else ():
        if film or ("shot", code) in named:
            yield ThingRow(("shot", code), code, "", shot.length)
