"""The end credits compiled by the plan."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from itertools import chain
from operator import itemgetter

from credits.billing.credits import (
    Considered,
    Credits,
    Held,
    Line,
    Outcome,
    Reason,
    ReasonKind,
    Section,
)
from credits.billing.find import Found, Placed, job_titles, reasons_of, route
from credits.billing.plan import (
    CAST_CRAFTS,
    LAST_BILLING,
    MOST_COLUMNS,
    CreditPlan,
    Layout,
    Order,
    PlannedSection,
    RoleShown,
    sections_in_full,
)
from credits.billing.threshold import FiguresOf
from credits.footage.footage import Footage
from credits.model.facts import Craft, CreditWish, Engagement, Kind
from credits.model.ledger import Entry, Ledger
from credits.names import sort_key
from credits.units.rounding import Exact

ANIMATED_BY, MADE_BY, MENDED_BY = "animated by", "made by", "mended by"


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
        roles = dict.fromkeys((*cast, ANIMATED_BY, *map(performed_as, crafts)))
        self._roles = {role: place for place, role in enumerate(roles)}

    def section(self, section: PlannedSection, placed: Mapping[str, Placed]) -> Section:
        """The section with the lines of everybody placed in it, in its order."""
        lines = chain.from_iterable(self._lines(section, *own) for own in placed.items())
        layout = section.layout or _fitting_layout(section)
        return Section(
            heading=section.heading,
            lines=tuple(sorted(lines, key=self._order(section, placed))),
            layout=layout,
            columns=section.columns or (MOST_COLUMNS if layout is Layout.NAMES else 1),
            text=section.text,
        )

    def _lines(self, section: PlannedSection, person: str, placed: Placed) -> Iterator[Line]:
        if section.cast:
            for code, own in _by(placed.found, lambda entry: entry.character or "").items():
                yield self._line(section, person, placed, own, self._cast_role(section, code, own))
        elif section.performances:
            crafts = self._ledger.crafts
            for role, own in _by(placed.found, lambda e: performed_as(crafts[e.craft])).items():
                yield self._line(section, person, placed, own, role)
        else:
            shown = self._role(section, person, placed.found)
            yield self._line(section, person, placed, placed.found, shown)

    def _line(
        self, section: PlannedSection, person: str, placed: Placed, found: Found, role: str | None
    ) -> Line:
        return Line(
            person=person,
            name=self._ledger.people[person].credit_name,
            role=role,
            characters=self._characters(found),
            confirmed=self._ledger.confirmed(person),
            because=(*placed.falls, *reasons_of(self._ledger, section, found, placed.reached)),
        )

    def _characters(self, found: Found) -> tuple[str, ...]:
        """The characters of the entries found, in order of appearance."""
        characters = {entry.character for entry in found.entries if entry.character}
        return tuple(sorted(characters, key=lambda code: self._appearance[code]))

    def _cast_role(self, section: PlannedSection, code: str, own: Found) -> str | None:
        """The character; with the craft behind it where that is not the first of the list."""
        if not code:
            return ", ".join(job_titles((*own.guaranteed, *own.engagements))) or None
        name = self._ledger.characters[code].name
        crafts = dict.fromkeys(entry.craft for entry in own.entries)
        if section.cast[0] in crafts:
            return name
        return f"{name} ({', '.join(self._ledger.crafts[c].name.lower() for c in crafts)})"

    def _role(self, section: PlannedSection, person: str, found: Found) -> str | None:
        if section.role is RoleShown.CHARACTERS:
            names = [self._ledger.characters[code].name for code in self._characters(found)]
            return ", ".join(names) or None
        if section.role is RoleShown.CRAFT:
            names = [self._ledger.crafts[entry.craft].name for entry in found.entries]
            return ", ".join(dict.fromkeys(names)) or self._job_titles(person, found)
        if section.role is RoleShown.JOB_TITLE:
            return self._job_titles(person, found)
        return None

    def _job_titles(self, person: str, found: Found) -> str | None:
        """Those of the engagements found; of who is found by work, of all that are not bound."""
        jobs = (*found.guaranteed, *found.engagements) or _unbound(self._ledger, person)
        return ", ".join(job_titles(jobs)) or None

    def _order(
        self, section: PlannedSection, placed: Mapping[str, Placed]
    ) -> Callable[[Line], tuple[object, ...]]:
        """The key of a line. What ties is by sort name, then by code; a person's own lines are in
        order of appearance."""
        ledger, last = self._ledger, len(self._appearance)
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
            cast = section.cast and section.order is Order.APPEARANCE
            # In a line of the first craft nothing stands behind the character.
            main = {"", *(ledger.characters[code].name for code in line.characters)}
            other = bool(cast and (line.role or "") not in main)
            return (role, wanted(line), other, name, line.person, first_seen(line), line.role or "")

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
    if section.text or section.cast:
        return Layout.TEXT if section.text else Layout.CHARACTER_AND_NAMES
    return Layout.NAMES if section.role is RoleShown.NOTHING else Layout.ROLE_AND_NAME


def _by(found: Found, key: Callable[[Entry], str]) -> dict[str, Found]:
    """What was found in parts, by a key of its entries; what has no entries is one part."""
    parts: dict[str, list[Entry]] = {}
    for entry in found.entries:
        parts.setdefault(key(entry), []).append(entry)
    if not parts:
        return {"": found}
    return {name: replace(found, entries=tuple(own)) for name, own in parts.items()}


def people_owed(ledger: Ledger) -> tuple[str, ...]:
    """Everybody with a current entry or an engagement: printed or held, never left out."""
    return tuple(sorted({*ledger.entries_by_person, *ledger.engagements}))


def _held_people(
    ledger: Ledger, decided: Iterable[Considered], printed: frozenset[str]
) -> Iterator[Held]:
    """Who is owed a credit and does not print: by wish, below a threshold, or taken by nothing."""
    below: dict[str, list[Reason]] = defaultdict(list)
    for one in decided:
        if one.outcome is Outcome.BELOW:
            below[one.person] += _asked_elsewhere(one)
    owed = [person for person in people_owed(ledger) if person not in printed]
    for person in sorted(owed, key=lambda person: _by_name(ledger, person)):
        who = ledger.people[person]
        kind = ReasonKind.BELOW_THRESHOLD if person in below else ReasonKind.NO_SECTION
        if who.wish is CreditWish.UNCREDITED:
            kind = ReasonKind.UNCREDITED
        entries = tuple(entry.number for entry in ledger.entries_by_person.get(person, ()))
        jobs = len(ledger.engagements.get(person, ()))
        because = (Reason(kind=kind, entries=entries, engagements=jobs), *below[person])
        yield Held(person=person, name=who.credit_name, kind=kind, because=because)


def _held_lines(
    ledger: Ledger, decided: Iterable[tuple[int, Considered]], printed: frozenset[str]
) -> Iterator[Held]:
    """The lines that are held of people who print elsewhere, in the order of the plan."""
    own = (end for end in decided if end[1].is_held and end[1].person in printed)
    for _, one in sorted(own, key=lambda end: (end[0], _by_name(ledger, end[1].person))):
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
    asked = [reason for reason in one.because if reason.kind is ReasonKind.ASKED]
    return [replace(reason, headings=(one.heading,)) for reason in asked]


def _by_name(ledger: Ledger, person: str) -> tuple[object, ...]:
    return (sort_key(ledger.people[person].files_under), person)


def compile_credits(
    ledger: Ledger, plan: CreditPlan, appearance: tuple[str, ...], footage: Footage
) -> Credits:
    """The end credits by the plan.

    ``appearance``: characters in order of appearance; ``footage``: that of the same ledger.
    """
    figures = FiguresOf(ledger, footage)
    planned = sections_in_full(plan, ledger, appearance)
    routed = route(ledger, plan, planned, figures)
    lines = LinesOf(ledger, appearance, figures)
    compiled = [lines.section(section, routed.placed[n]) for n, section in enumerate(planned)]
    sections = tuple(section for section in compiled if section.lines or section.text)
    printed = frozenset(line.person for section in sections for line in section.lines)
    return Credits(
        plan=plan.name,
        sections=sections,
        held=tuple(_held_people(ledger, (one for _, one in routed.decided), printed)),
        order_of_appearance=appearance,
        held_lines=tuple(_held_lines(ledger, routed.decided, printed)),
        considered=tuple(one for _, one in sorted(routed.decided, key=itemgetter(0))),
    )
