"""The end credits compiled by the plan."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace

from credits.billing.credits import Because, Considered, Credits, Held, Line, Outcome, Section
from credits.billing.find import HELD_BELOW, Decided, Fall, Found, Placed, route, sections_in_full
from credits.billing.plan import CAST_CRAFTS, CreditPlan, Layout, Order, PlannedSection, RoleShown
from credits.billing.reasons import FAR, because, billing_number, fall_words
from credits.billing.threshold import FiguresOf
from credits.footage.footage import Footage
from credits.model.facts import Craft, CreditWish, Kind
from credits.model.ledger import Entry, Ledger
from credits.names import sort_key

MOST_COLUMNS = 3
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
        self._roles = {
            role: place
            for place, role in enumerate(
                dict.fromkeys(
                    [c.name.lower() for c in ledger.crafts.values() if c.code in CAST_CRAFTS]
                    + [ANIMATED_BY]
                    + [performed_as(c) for c in ledger.crafts.values()]
                )
            )
        }

    def section(self, section: PlannedSection, placed: Mapping[str, Placed]) -> Section:
        """The section with the lines of everybody placed in it, in its order."""
        key = self._order(section, placed)
        lines = [
            line for person, own in placed.items() for line in self._lines(section, person, own)
        ]
        lines.sort(key=key)
        layout = section.layout or _fitting_layout(section)
        columns = section.columns or (MOST_COLUMNS if layout is Layout.NAMES else 1)
        return Section(section.heading, tuple(lines), layout, columns, section.text)

    def _lines(self, section: PlannedSection, person: str, placed: Placed) -> Iterator[Line]:
        if section.cast:
            parts = _by(placed.found, lambda entry: entry.character or "")
            for code, own in parts.items():
                yield self._line(section, person, placed, own, self._cast_role(section, code, own))
        elif section.performances:
            crafts = self._ledger.crafts
            for role, own in _by(placed.found, lambda e: performed_as(crafts[e.craft])).items():
                yield self._line(section, person, placed, own, role)
        else:
            yield self._line(section, person, placed, placed.found, None)

    def _line(
        self, section: PlannedSection, person: str, placed: Placed, found: Found, role: str | None
    ) -> Line:
        who = self._ledger.people[person]
        characters = self._in_order({e.character for e in found.entries if e.character})
        return Line(
            person,
            who.credit_name,
            role if section.cast or section.performances else self._role(section, person, found),
            characters,
            self._ledger.confirmed(person),
            because(self._ledger, section, found, placed.reached, placed.falls),
        )

    def _in_order(self, characters: set[str]) -> tuple[str, ...]:
        return tuple(sorted(characters, key=lambda code: self._appearance[code]))

    def _cast_role(self, section: PlannedSection, code: str, own: Found) -> str | None:
        """The character; with the craft behind it where that is not the first of the list."""
        if not code:
            jobs = (*own.guaranteed, *own.engagements)
            return ", ".join(dict.fromkeys(job.job_title for job in jobs)) or None
        name = self._ledger.characters[code].name
        crafts = dict.fromkeys(entry.craft for entry in own.entries)
        if section.cast[0] in crafts:
            return name
        return f"{name} ({', '.join(self._ledger.crafts[c].name.lower() for c in crafts)})"

    def _role(self, section: PlannedSection, person: str, found: Found) -> str | None:
        if section.role is RoleShown.CHARACTERS:
            characters = self._in_order({e.character for e in found.entries if e.character})
            return ", ".join(self._ledger.characters[code].name for code in characters) or None
        if section.role is RoleShown.CRAFT:
            names = (self._ledger.crafts[entry.craft].name for entry in found.entries)
            return ", ".join(dict.fromkeys(names)) or self._job_titles(person, found)
        if section.role is RoleShown.JOB_TITLE:
            return self._job_titles(person, found)
        return None

    def _job_titles(self, person: str, found: Found) -> str | None:
        """Those of the engagements found; of who is found by work, of all that are not bound to a
        heading of their own."""
        own = self._ledger.engagements.get(person, ())
        unbound = tuple(job for job in own if not job.guaranteed_heading)
        jobs = (*found.guaranteed, *found.engagements) or unbound
        return ", ".join(dict.fromkeys(job.job_title for job in jobs)) or None

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

        def number(line: Line) -> int:
            return billing_number(ledger, line.person, placed[line.person].found)

        by: dict[Order, Callable[[Line], object]] = {
            Order.CONTRACT: number,
            Order.APPEARANCE: first_seen,
            Order.FOOTAGE: lambda line: -self._figures.on_screen(line.person),
            Order.BY_HAND: lambda line: hand.get(line.person, FAR),
        }
        wanted = by.get(section.order, _alike)

        def key(line: Line) -> tuple[object, ...]:
            role = self._roles.get(line.role or "", 0) if section.performances else 0
            name = sort_key(ledger.people[line.person].files_under)
            cast = section.cast and section.order is Order.APPEARANCE
            main = bool(cast and line.role and not self._is_main(line))
            return (role, wanted(line), main, name, line.person, first_seen(line), line.role or "")

        return key

    def _is_main(self, line: Line) -> bool:
        """Whether a cast line is of the first craft: then nothing stands behind the character."""
        return line.role in {self._ledger.characters[code].name for code in line.characters}


def _alike(_: Line) -> int:
    """An order in which all lines tie."""
    return 0


def _fitting_layout(section: PlannedSection) -> Layout:
    if section.text:
        return Layout.TEXT
    if section.cast:
        return Layout.CHARACTER_AND_NAMES
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


class _Holder:
    """Says who is held and why: by wish, below a threshold, or taken by no section."""

    def __init__(
        self, ledger: Ledger, sections: tuple[PlannedSection, ...], decided: list[Decided]
    ) -> None:
        self._ledger = ledger
        self._sections = sections
        self._below: dict[str, list[Decided]] = defaultdict(list)
        for one in decided:
            if one.outcome is Outcome.BELOW:
                self._below[one.person].append(one)

    def held(self, person: str) -> Held:
        """The whole person, held."""
        who = self._ledger.people[person]
        entries = self._ledger.entries_by_person.get(person, ())
        jobs = self._ledger.engagements.get(person, ())
        figures: tuple[tuple[str, int | str], ...] = (
            ("entries", len(entries)),
            ("engagements", len(jobs)),
        )
        numbers = tuple(entry.number for entry in entries)
        below = self._below.get(person, [])
        threshold = " ".join(self._words(one) for one in below)
        if who.wish is CreditWish.UNCREDITED:
            reason = "asked to be uncredited"
            rule = "A person who asks to be uncredited is not printed."
        elif below:
            reason = "below the threshold, held for a decision"
            rule = "The plan holds those who do not reach what the heading asks for."
            figures += tuple(
                (one.reached.threshold.counted_in, one.reached.shown)
                for one in below
                if one.reached is not None
            )
        else:
            reason = "no section of the plan takes this person"
            rule = "The plan has no section for this person's crafts or departments."
        return Held(person, who.credit_name, reason, Because(rule, figures, numbers, threshold))

    def _words(self, one: Decided) -> str:
        assert one.reached is not None
        return fall_words(self._ledger, Fall(self._sections[one.place].heading, one.reached)) + "."

    def lines(self, printed: frozenset[str]) -> tuple[Held, ...]:
        """The lines that are held of people who print elsewhere, in the order of the plan."""
        ends = [one for own in self._below.values() for one in own if one.to.startswith(HELD_BELOW)]
        ends.sort(key=lambda one: (one.place, self._name(one.person)))
        out = []
        for one in ends:
            if one.person in printed:
                section = self._sections[one.place]
                reason = because(self._ledger, section, one.found, one.reached)
                who = self._ledger.people[one.person]
                words = "below the threshold, this line is held for a decision"
                why = replace(reason, threshold=self._words(one))
                out.append(Held(one.person, who.credit_name, words, why, section.heading))
        return tuple(out)

    def _name(self, person: str) -> tuple[object, ...]:
        return (sort_key(self._ledger.people[person].files_under), person)

    def by_name(self, people: list[str]) -> tuple[Held, ...]:
        """The people, held, by sort name."""
        return tuple(self.held(person) for person in sorted(people, key=self._name))


def _considered(
    ledger: Ledger, sections: tuple[PlannedSection, ...], decided: list[Decided]
) -> tuple[Considered, ...]:
    return tuple(
        Considered(
            one.person,
            sections[one.place].heading,
            one.outcome,
            because(ledger, sections[one.place], one.found, one.reached),
            one.reached,
            one.to,
        )
        for one in sorted(decided, key=lambda one: one.place)
    )


def compile_credits(
    ledger: Ledger, plan: CreditPlan, appearance: tuple[str, ...], footage: Footage
) -> Credits:
    """The end credits by the plan.

    ``appearance``: characters in order of appearance; ``footage``: that of the same ledger, for
    thresholds and orders of footage.
    """
    figures = FiguresOf(ledger, footage)
    planned = sections_in_full(plan, ledger, appearance)
    routed = route(ledger, plan, planned, figures)
    lines = LinesOf(ledger, appearance, figures)
    compiled = [
        lines.section(section, routed.placed.get(place, {}))
        for place, section in enumerate(planned)
    ]
    sections = tuple(section for section in compiled if section.lines or section.text)
    printed = frozenset(line.person for section in sections for line in section.lines)
    holder = _Holder(ledger, planned, routed.decided)
    owed = [person for person in people_owed(ledger) if person not in printed]
    return Credits(
        plan.name,
        sections,
        holder.by_name(owed),
        appearance,
        holder.lines(printed),
        _considered(ledger, planned, routed.decided),
    )
