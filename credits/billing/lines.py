"""The lines of a section: what stands on each, and in which order."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from functools import partial

from credits.billing.credits import (
    Line,
    Section,
)
from credits.billing.found import Found, job_titles, reasons_of
from credits.billing.plan import (
    CAST_CRAFTS,
    LAST_BILLING,
    MOST_COLUMNS,
    Layout,
    Order,
    PlannedSection,
    RoleShown,
)
from credits.billing.routes import Placed
from credits.billing.thresholds import FiguresOf
from credits.model.facts import Craft, Engagement, Kind
from credits.model.lazy import Read
from credits.model.ledger import Ledger, WorkDone
from credits.model.replay import grouped
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
