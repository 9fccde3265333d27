"""The end credits compiled by the plan: whom sections find, where they stand, their lines."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property, partial
from itertools import chain
from operator import attrgetter, itemgetter
from typing import NamedTuple

from credits.billing.credits import (
    Considered,
    Credits,
    Held,
    Line,
    Outcome,
    Section,
)
from credits.billing.plan import (
    CAST_CRAFTS,
    LAST_BILLING,
    MOST_COLUMNS,
    CreditPlan,
    FiguresOf,
    Layout,
    Once,
    Order,
    PlannedSection,
    Reached,
    RoleShown,
    called_so,
    guaranteed_headings,
    sections_in_full,
)
from credits.billing.reasons import Reason, ReasonKind
from credits.footage.footage import Footage
from credits.model.facts import Craft, CreditWish, Engagement, EntryNumber, Kind
from credits.model.lazy import Read
from credits.model.ledger import Ledger, WorkDone
from credits.model.replay import grouped
from credits.names import sort_key
from credits.text import fold_words
from credits.units.rounding import Exact

ANIMATED_BY, MADE_BY, MENDED_BY = "animated by", "made by", "mended by"


class WorkSaid(NamedTuple):
    """What some entries say together: numbers, first and last day, crafts.

    ``crafts``: each once, in the order of the entries.
    """

    numbers: Sequence[EntryNumber]
    days: tuple[date, ...]
    crafts: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Found:
    """What puts one person under a heading.

    ``guaranteed``: engagements whose contract guarantees the heading; ``engagements``: others.
    ``named``: the plan names the person.
    """

    done: tuple[WorkDone, ...] = ()
    engagements: tuple[Engagement, ...] = ()
    guaranteed: tuple[Engagement, ...] = ()
    named: bool = False

    @cached_property
    def work(self) -> WorkSaid:
        """What the entries say, looked at once."""
        own = self.done
        ends = [(done.brief.first_day, done.brief.last_day) for done in own]
        days = [day for day in chain.from_iterable(ends) if day is not None]
        first_and_last = (min(days), max(days)) if days else ()

        def numbers() -> tuple[EntryNumber, ...]:
            rows = chain.from_iterable([done.rows for done in own])
            return tuple(sorted([EntryNumber(*row[2:4]) for row in rows]))

        return WorkSaid(
            numbers=Read(numbers),
            days=tuple(map(date.fromisoformat, first_and_last)),
            crafts=tuple(dict.fromkeys([done.craft for done in own])),
        )

    @cached_property
    def characters(self) -> frozenset[str]:
        """The characters of the entries."""
        return frozenset().union(*[done.characters for done in self.done])

    def __add__(self, other: Found) -> Found:
        every = (*self.done, *other.done)
        whole = {each.craft for each in every if not each.is_part}
        done = {
            (each.craft, each.first): each
            for each in every
            if not (each.is_part and each.craft in whole)
        }
        return Found(
            done=tuple(sorted(done.values(), key=attrgetter("lowest"))),
            engagements=tuple(dict.fromkeys((*self.engagements, *other.engagements))),
            guaranteed=tuple(dict.fromkeys((*self.guaranteed, *other.guaranteed))),
            named=self.named or other.named,
        )


@dataclass(frozen=True, slots=True)
class Placed:
    """A person in a section: why, what was reached, thresholds that they fell below before."""

    found: Found
    reached: Reached | None = None
    falls: tuple[Reason, ...] = ()

    def __add__(self, other: Placed) -> Placed:
        falls = tuple(dict.fromkeys((*self.falls, *other.falls)))
        return Placed(self.found + other.found, self.reached or other.reached, falls)


def job_titles(jobs: tuple[Engagement, ...]) -> tuple[str, ...]:
    """Return each job title once, in the order of the engagements."""
    return tuple(dict.fromkeys(job.job_title for job in jobs))


def reasons_of(
    ledger: Ledger, section: PlannedSection, found: Found, reached: Reached | None = None
) -> Iterator[Reason]:
    """Say what puts somebody under the heading of a section, and what was asked for there."""
    if found.guaranteed:
        numbers = [j.billing_number for j in found.guaranteed if j.billing_number is not None]
        yield Reason(
            kind=ReasonKind.CONTRACT,
            headings=tuple(dict.fromkeys(j.guaranteed_heading or "" for j in found.guaranteed)),
            names=job_titles(found.guaranteed),
            engagements=len(found.guaranteed),
            billing_number=min(numbers, default=None),
        )
    if found.named:
        yield Reason(kind=ReasonKind.NAMED_BY_PLAN)
    if found.engagements:
        yield Reason(
            kind=ReasonKind.JOB_TITLE if section.job_titles else ReasonKind.DEPARTMENT,
            names=job_titles(found.engagements),
            engagements=len(found.engagements),
        )
    if found.done:
        on_character = section.characters or section.performances
        yield Reason(
            kind=ReasonKind.PERFORMANCE if on_character else ReasonKind.CRAFT,
            names=tuple(dict.fromkeys(ledger.crafts[craft].name for craft in found.work.crafts)),
            entries=found.work.numbers,
            days=found.work.days,
        )
    if reached is not None:
        yield Reason(kind=ReasonKind.ASKED, reached=reached)


def found_by(
    ledger: Ledger, sections: tuple[PlannedSection, ...]
) -> Iterator[tuple[int, str, Found]]:
    """Find everybody whom a section takes: its place, the person, and what puts them there."""
    work = _WorkLookedUp(ledger)
    hosted = _hosted(ledger, sections)
    for place, section in enumerate(sections):
        out: dict[str, Found] = {}
        for person, found in chain(
            _by_work(section, work),
            _by_engagement(ledger, section, hosted[place]),
            _by_name(ledger, section),
        ):
            out[person] = out[person] + found if person in out else found
        yield from ((place, person, found) for person, found in out.items())


People = Iterator[tuple[str, Found]]


class _WorkLookedUp:
    """The work by craft and by character, so that no section looks at that of others."""

    def __init__(self, ledger: Ledger) -> None:
        self._ledger = ledger
        self._by_craft = grouped(ledger.done, attrgetter("craft"))
        self._parts: dict[str, dict[str | None, list[WorkDone]]] = {}

    def _on(self, craft: str) -> dict[str | None, list[WorkDone]]:
        """Return the work of a craft by character."""
        if craft not in self._parts:
            parts = self._parts[craft] = defaultdict(list)
            for done in self._by_craft.get(craft, ()):
                for character, own in done.by_character.items():
                    parts[character].append(own)
        return self._parts[craft]

    def of(self, crafts: tuple[str, ...], characters: tuple[str, ...]) -> list[WorkDone]:
        """Return the work of these crafts on these characters; of all where none is given.

        In the order of the crafts, then of the ledger.
        """
        if not characters:
            return list(chain.from_iterable([self._by_craft.get(craft, ()) for craft in crafts]))
        groups = [(craft,) for craft in crafts] or [tuple(self._by_craft)]
        return [
            done
            for group in groups
            for done in sorted(
                [own for c in group for code in characters for own in self._on(c).get(code, ())],
                key=attrgetter("first"),
            )
        ]


def _by_work(section: PlannedSection, work: _WorkLookedUp) -> People:
    crafts = tuple(dict.fromkeys((*section.crafts, *section.cast)))
    characters = tuple(dict.fromkeys(section.characters or section.performances))
    for person, own in grouped(work.of(crafts, characters), attrgetter("person")).items():
        yield person, Found(done=tuple(sorted(own, key=attrgetter("lowest"))))


def _by_engagement(ledger: Ledger, section: PlannedSection, headings: set[str]) -> People:
    """Who is engaged for what the section takes, or by contract for one of the headings."""
    departments, titles = section.departments, section.job_titles

    def takes(job: Engagement) -> bool:
        if job.guaranteed_heading:
            return fold_words(job.guaranteed_heading) in headings
        fits = not departments or fold_words(job.department) in departments
        fits = fits and (not titles or fold_words(job.job_title) in titles)
        return fits and bool(departments or titles)

    for person, jobs in ledger.engagements.items() if departments or titles or headings else ():
        if own := tuple(filter(takes, jobs)):
            guaranteed = tuple(job for job in own if job.guaranteed_heading)
            others = tuple(job for job in own if not job.guaranteed_heading)
            yield person, Found(engagements=others, guaranteed=guaranteed)


def _by_name(ledger: Ledger, section: PlannedSection) -> People:
    for code in section.people:
        person = ledger.one_person.get(code, code)
        if person in ledger.people:
            yield person, Found(named=True)


def _hosted(ledger: Ledger, sections: tuple[PlannedSection, ...]) -> dict[int, set[str]]:
    """Which guaranteed headings stand where: where they are named, else first called so."""
    hosts: dict[int, set[str]] = defaultdict(set)
    called = called_so(sections)
    for key, _ in guaranteed_headings(ledger):
        places = [n for n, s in enumerate(sections) if s.takes_people and key in s.guaranteed]
        if not places and key in called:
            places = [called[key]]
        for place in places:
            hosts[place].add(key)
    return hosts


class Router:
    """Follows people from the section that found them to where they stand or are held.

    They stand in the section, or below it, or in another by "once in all", or are held; always
    exactly one decision ends the way.

    sections: those of the plan, written out (``sections_in_full``).
    placed: who stands in which section, by its place among the sections.
    decided: every decision of a section, by its place, in the order in which it was made.
    """

    def __init__(
        self,
        ledger: Ledger,
        plan: CreditPlan,
        sections: tuple[PlannedSection, ...],
        figures: FiguresOf,
    ) -> None:
        self.ledger, self.plan, self.sections, self.figures = ledger, plan, sections, figures
        self.placed: dict[int, dict[str, Placed]] = defaultdict(dict)
        self.decided: list[tuple[int, Considered]] = []
        self._called = called_so(sections)
        self._taken: dict[str, int] = {}
        every = list(found_by(ledger, sections))
        for place, person, found in every:
            # Whom a contract guarantees a heading are taken by it before any is asked.
            if found.guaranteed and self._shares(place):
                self._taken.setdefault(person, place)
        for each in every:
            self.decide(*each)

    def _shares(self, place: int) -> bool:
        """Whether the section names nobody who stands in another such section."""
        return (self.sections[place].once or self.plan.once) is Once.ALL

    def decide(self, place: int, person: str, found: Found) -> None:
        """Follow one person whom the section at a place found."""
        if self.ledger.people[person].wish is CreditWish.UNCREDITED:
            self._note(place, person, Outcome.UNCREDITED, found)
            return
        falls: dict[int, Reason] = {}
        while True:
            section = self.sections[place]
            taken = self._taken.get(person, place)
            if taken != place and self._shares(place) and not found.guaranteed:
                to = self.sections[taken].heading
                self._note(place, person, Outcome.ELSEWHERE, found, to=to)
                return
            reached = self._reached(section, person, found)
            if reached is None or reached.enough or found.guaranteed or found.named:
                placed, here = Placed(found, reached, tuple(falls.values())), self.placed[place]
                here[person] = here[person] + placed if person in here else placed
                if self._shares(place):
                    self._taken.setdefault(person, place)
                self._note(place, person, Outcome.PRINTED, found, reached)
                return
            fell = ReasonKind.FELL_THROUGH
            falls[place] = Reason(kind=fell, headings=(section.heading,), reached=reached)
            onward = None if section.below is None else self._called.get(fold_words(section.below))
            if onward is None or onward in falls:
                circle = onward is not None
                self._note(place, person, Outcome.BELOW, found, reached, in_circle=circle)
                return
            to = self.sections[onward].heading
            self._note(place, person, Outcome.BELOW, found, reached, to)
            place = onward

    def _reached(self, section: PlannedSection, person: str, found: Found) -> Reached | None:
        if section.at_least is None or not section.takes_people:
            return None
        work = found.done
        if found.engagements and not work:
            work = self.figures.work_of(person, section.characters)
        return self.figures.reached(section.at_least, person, work, section.characters)

    def _note(
        self,
        place: int,
        person: str,
        outcome: Outcome,
        found: Found,
        reached: Reached | None = None,
        to: str | None = None,
        in_circle: bool = False,
    ) -> None:
        section = self.sections[place]
        one = Considered(
            person=person,
            heading=section.heading,
            outcome=outcome,
            because=tuple(reasons_of(self.ledger, section, found, reached)),
            to=to,
            in_circle=in_circle,
        )
        self.decided.append((place, one))


def performed_as(craft: Craft) -> str:
    """What stands opposite somebody in a performance block: ``voice``, ``animated by``, ..."""
    if craft.footage:
        return ANIMATED_BY
    if craft.repair:
        return MENDED_BY
    return MADE_BY if craft.kind is Kind.BUILD else craft.name.lower()


class LinesOf:
    """Makes the lines of sections. Holds the places of characters and crafts."""

    def __init__(self, ledger: Ledger, appearance: tuple[str, ...], figures: FiguresOf) -> None:
        self._ledger = ledger
        self._figures = figures
        unseen = [code for code in ledger.characters if code not in frozenset(appearance)]
        self._appearance = {code: place for place, code in enumerate((*appearance, *unseen))}
        crafts = ledger.crafts.values()
        cast = (craft.name.lower() for craft in crafts if craft.code in CAST_CRAFTS)
        self._performed = {craft.code: performed_as(craft) for craft in crafts}
        roles = dict.fromkeys((*cast, ANIMATED_BY, *self._performed.values()))
        self._roles = {role: place for place, role in enumerate(roles)}

    def section(self, section: PlannedSection, placed: Mapping[str, Placed]) -> Section:
        """The section with the lines of everybody placed in it, in its order."""
        lines = [line for own in placed.items() for line in self._lines(section, *own)]
        layout = section.layout or _fitting_layout(section)
        return Section(
            heading=section.heading,
            lines=tuple(sorted(lines, key=self._order(section, placed))),
            layout=layout,
            columns=section.columns or (MOST_COLUMNS if layout is Layout.NAMES else 1),
            text=section.text,
        )

    def _lines(self, section: PlannedSection, person: str, placed: Placed) -> Iterator[Line]:
        for found, role in self._parts(section, person, placed.found):
            yield Line(
                person=person,
                name=self._ledger.people[person].credit_name,
                role=role,
                characters=Read(partial(self._characters, found)),
                confirmed=self._ledger.confirmed(person),
                because=(*placed.falls, *reasons_of(self._ledger, section, found, placed.reached)),
            )

    def _parts(
        self, section: PlannedSection, person: str, found: Found
    ) -> Iterator[tuple[Found, str | None]]:
        """What stands on a line of its own, with its role."""
        if section.cast:
            for code, own in _by_character(found).items():
                yield own, self._cast_role(section, code, own)
        elif section.performances:
            for role, own in _by(found, lambda done: self._performed[done.craft]).items():
                yield own, role
        else:
            yield found, self._role(section, person, found)

    def _characters(self, found: Found) -> tuple[str, ...]:
        """The characters of the entries found, in order of appearance."""
        return tuple(sorted(found.characters, key=self._appearance.__getitem__))

    def _cast_role(self, section: PlannedSection, code: str, own: Found) -> str | None:
        """The character; with the craft behind it where that is not the first of the list."""
        if not code:
            return ", ".join(job_titles((*own.guaranteed, *own.engagements))) or None
        name = self._ledger.characters[code].name
        if section.cast[0] in own.work.crafts:
            return name
        return f"{name} ({', '.join(self._ledger.crafts[c].name.lower() for c in own.work.crafts)})"

    def _role(self, section: PlannedSection, person: str, found: Found) -> str | None:
        ledger, names = self._ledger, []
        if section.role is RoleShown.CHARACTERS:
            names = [ledger.characters[code].name for code in self._characters(found)]
        elif section.role is RoleShown.CRAFT:
            names = list(dict.fromkeys(ledger.crafts[craft].name for craft in found.work.crafts))
        if section.role is RoleShown.JOB_TITLE or (section.role is RoleShown.CRAFT and not names):
            # Of who is found by work, of all engagements that are not bound.
            jobs = (*found.guaranteed, *found.engagements) or _unbound(ledger, person)
            names = list(job_titles(jobs))
        return ", ".join(names) or None

    def _order(
        self, section: PlannedSection, placed: Mapping[str, Placed]
    ) -> Callable[[Line], tuple[object, ...]]:
        """The key of a line. What ties is by sort name, then by code; a person's own lines are in
        order of appearance."""
        ledger, last = self._ledger, len(self._appearance)
        in_parts = bool(section.cast or section.performances)
        codes = [ledger.one_person.get(code, code) for code in section.by_hand]
        hand = {code: place for place, code in reversed(list(enumerate(codes)))}

        def first_seen(line: Line) -> int:
            return min((self._appearance[code] for code in line.characters), default=last)

        def wanted(line: Line) -> Exact:
            match section.order:
                case Order.CONTRACT:
                    return _billing_number(ledger, line.person, placed[line.person].found)
                case Order.APPEARANCE:
                    return first_seen(line)
                case Order.FOOTAGE:
                    return -self._figures.on_screen(line.person)
                case Order.BY_HAND:
                    return hand.get(line.person, LAST_BILLING)
                case Order.NAME:
                    return 0

        def key(line: Line) -> tuple[object, ...]:
            role = self._roles.get(line.role or "", 0) if section.performances else 0
            name = sort_key(ledger.people[line.person].files_under)
            other = False
            if section.cast and section.order is Order.APPEARANCE:
                # In a line of the first craft nothing stands behind the character.
                main = {"", *(ledger.characters[code].name for code in line.characters)}
                other = (line.role or "") not in main
            seen = first_seen(line) if in_parts else 0
            return (role, wanted(line), other, name, line.person, seen, line.role or "")

        return key


def _unbound(ledger: Ledger, person: str) -> tuple[Engagement, ...]:
    """The engagements of a person that guarantee no heading."""
    jobs = ledger.engagements.get(person, ())
    return tuple(job for job in jobs if not job.guaranteed_heading)


def _billing_number(ledger: Ledger, person: str, found: Found) -> int:
    """The number of the contract that speaks for a heading: the first kind that has one."""
    for jobs in (found.guaranteed, found.engagements, _unbound(ledger, person)):
        numbers = [job.billing_number for job in jobs if job.billing_number is not None]
        if numbers:
            return min(numbers)
    return LAST_BILLING


def _fitting_layout(section: PlannedSection) -> Layout:
    if section.text:
        return Layout.TEXT
    if section.cast:
        return Layout.CHARACTER_AND_NAMES
    return Layout.NAMES if section.role is RoleShown.NOTHING else Layout.ROLE_AND_NAME


def _by_character(found: Found) -> dict[str, Found]:
    """What was found on each character; on none, and what has no work, under an empty code."""
    parts = [each for done in found.done for each in done.by_character.items()]
    by_character: dict[str, list[WorkDone]] = defaultdict(list)
    for character, own in sorted(parts, key=lambda part: part[1].lowest):
        by_character[character or ""].append(own)
    if len(by_character) < 2:
        return dict.fromkeys(by_character or ("",), found)
    return {code: replace(found, done=tuple(own)) for code, own in by_character.items()}


def _by(found: Found, key: Callable[[WorkDone], str]) -> dict[str, Found]:
    """What was found in parts, by a key of its work; what has no work is one part."""
    parts = grouped(found.done, key)
    if len(parts) < 2:
        return dict.fromkeys(parts or ("",), found)
    return {name: replace(found, done=own) for name, own in parts.items()}


def people_owed(ledger: Ledger) -> tuple[str, ...]:
    """Everybody with a current entry or an engagement: printed or held, never left out."""
    return tuple(sorted({*(done.person for done in ledger.done), *ledger.engagements}))


def _held_people(
    ledger: Ledger,
    figures: FiguresOf,
    decided: Iterable[Considered],
    printed: frozenset[str],
) -> Iterator[Held]:
    """Who is owed a credit and does not print: by wish, below a threshold, or taken by nothing."""
    below: dict[str, list[Reason]] = defaultdict(list)
    for one in decided:
        if one.outcome is Outcome.BELOW:
            below[one.person] += _asked_elsewhere(one)
    owed = [person for person in people_owed(ledger) if person not in printed]
    for person in sorted(owed, key=lambda person: _sorted_by(ledger, person)):
        who = ledger.people[person]
        kind = ReasonKind.BELOW_THRESHOLD if person in below else ReasonKind.NO_SECTION
        if who.wish is CreditWish.UNCREDITED:
            kind = ReasonKind.UNCREDITED
        entries = Read(partial(_entries_of, figures.work_of(person)))
        jobs = len(ledger.engagements.get(person, ()))
        because = (Reason(kind=kind, entries=entries, engagements=jobs), *below[person])
        yield Held(person=person, name=who.credit_name, kind=kind, because=because)


def _entries_of(work: Iterable[WorkDone]) -> tuple[EntryNumber, ...]:
    rows = chain.from_iterable([done.rows for done in work])
    return tuple([EntryNumber(*row[2:4]) for row in sorted(rows)])


def _held_lines(
    ledger: Ledger, decided: Iterable[tuple[int, Considered]], printed: frozenset[str]
) -> Iterator[Held]:
    """The lines that are held of people who print elsewhere, in the order of the plan."""
    own = (end for end in decided if end[1].is_held and end[1].person in printed)
    for _, one in sorted(own, key=lambda end: (end[0], _sorted_by(ledger, end[1].person))):
        found = tuple(reason for reason in one.because if reason.kind is not ReasonKind.ASKED)
        yield Held(
            person=one.person,
            name=ledger.people[one.person].credit_name,
            kind=ReasonKind.BELOW_THRESHOLD,
            because=(*found, *_asked_elsewhere(one)),
            heading=one.heading,
        )


def _asked_elsewhere(one: Considered) -> list[Reason]:
    """What the heading asked for, as it is said where another heading stands, or none."""
    asked = (reason for reason in one.because if reason.kind is ReasonKind.ASKED)
    return [replace(reason, headings=(one.heading,)) for reason in asked]


def _sorted_by(ledger: Ledger, person: str) -> tuple[object, ...]:
    return (sort_key(ledger.people[person].files_under), person)


def compile_credits(
    ledger: Ledger, plan: CreditPlan, appearance: tuple[str, ...], footage: Footage
) -> Credits:
    """The end credits by the plan.

    ``appearance``: characters in order of appearance; ``footage``: that of the same ledger.
    """
    figures = FiguresOf(ledger, footage)
    planned = sections_in_full(plan, ledger, appearance)
    routed = Router(ledger, plan, planned, figures)
    lines = LinesOf(ledger, appearance, figures)
    compiled = [lines.section(section, routed.placed[n]) for n, section in enumerate(planned)]
    sections = tuple(section for section in compiled if section.lines or section.text)
    printed = frozenset(line.person for each in sections for line in each.lines if line.person)
    return Credits(
        plan=plan.name,
        sections=sections,
        held=tuple(_held_people(ledger, figures, (one for _, one in routed.decided), printed)),
        order_of_appearance=appearance,
        held_lines=tuple(_held_lines(ledger, routed.decided, printed)),
        considered=tuple(one for _, one in sorted(routed.decided, key=itemgetter(0))),
        title=ledger.production.title,
    )
