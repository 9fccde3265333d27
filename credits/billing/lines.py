"""The lines of a section: what stands on each, and in which order."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from functools import partial
from itertools import chain

from credits.billing.credits import (
    Line,
    Section,
    fitting_columns,
)
from credits.billing.found import Found, job_titles, reasons_of
from credits.billing.plan import (
    CAST_CRAFTS,
    LAST_BILLING,
    LEVELS,
    CreditPlan,
    Layout,
    LinePlace,
    NameRule,
    Order,
    OwnLine,
    PlannedSection,
    RoleShown,
)
from credits.billing.reasons import Reason, ReasonKind
from credits.billing.routes import Placed
from credits.billing.thresholds import FiguresOf
from credits.model.facts import Craft, Engagement, Kind
from credits.model.lazy import Read
from credits.model.ledger import Ledger, WorkDone
from credits.model.replay import grouped
from credits.names import sort_key
from credits.text import fold_words
from credits.units.rounding import Exact

NO_BREAK_SPACE = "\N{NO-BREAK SPACE}"
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

    def __init__(
        self, ledger: Ledger, plan: CreditPlan, appearance: tuple[str, ...], figures: FiguresOf
    ) -> None:
        self._ledger = ledger
        self._plan = plan
        self._also = dict(plan.roles_also)
        self._rules = grouped(plan.names, lambda rule: self._known_as(rule.person))
        self._figures = figures
        jobs = chain.from_iterable(ledger.engagements.values())
        self._titles = tuple(dict.fromkeys(fold_words(job.job_title) for job in jobs))
        unseen = [code for code in ledger.characters if code not in frozenset(appearance)]
        self._appearance = {code: place for place, code in enumerate((*appearance, *unseen))}
        crafts = ledger.crafts.values()
        cast = (craft.name.lower() for craft in crafts if craft.code in CAST_CRAFTS)
        self._performed = {craft.code: performed_as(craft) for craft in crafts}
        roles = dict.fromkeys((*cast, ANIMATED_BY, *self._performed.values()))
        self._roles = {role: place for place, role in enumerate(roles)}

    def sections(
        self, section: PlannedSection, placed: Mapping[str, Placed]
    ) -> tuple[Section, ...]:
        """The section with the lines of everybody placed in it, in its order.

        More than one where each role is a heading of its own.
        """
        lines = [line for own in placed.items() for line in self._lines(section, *own)]
        lines.sort(key=self._order(section, placed))
        lines = self._together(section, self._with_own(section, lines))
        layout = section.layout or _fitting_layout(section)
        whole = Section(
            heading=section.heading,
            heading_also=section.heading_also,
            lines=tuple(lines),
            layout=layout,
            columns=section.columns or 1,
            text=section.text,
            level=section.level,
            space=section.space,
            size=section.size,
            pictures=section.pictures,
        )
        sections = tuple(_by_role(whole)) if section.sub_headings else (whole,)
        return sections if section.columns else tuple(map(_in_fitting_columns, sections))

    def _known_as(self, person: str) -> str:
        return self._ledger.one_person.get(person, person)

    def _with_own(self, section: PlannedSection, lines: list[Line]) -> list[Line]:
        """The lines with those of the plan's own in their places."""
        by_name = section.order is Order.NAME and not section.performances
        # By what a line is sorted that has a place by its name; by what it is, not what it says.
        alphabet = self._ledger.production.alphabet
        keys = {id(line): sort_key(self._files_under(line), alphabet) for line in lines}
        for own in section.lines:
            line = self._own_line(own)
            after = self._known_as(own.after)
            behind = [at for at, each in enumerate(lines, 1) if after and each.person == after]
            if behind:
                place = behind[-1]
                while place < len(lines) and not lines[place].person:
                    place += 1  # what stands behind one person stays in the plan's order
            elif own.place is LinePlace.FIRST:
                first = (at for at, each in enumerate(lines) if each.person)
                place = next(first, len(lines))
            elif own.place is LinePlace.LAST or not by_name:
                place = len(lines)
            else:
                key = keys[id(line)] = sort_key(own.files_under or own.name, alphabet)
                sorted_ones = [at for at, each in enumerate(lines) if id(each) in keys]
                before = [at for at in sorted_ones if keys[id(lines[at])] <= key]
                place = before[-1] + 1 if before else min(sorted_ones, default=len(lines))
            lines.insert(place, line)
        return lines

    def _files_under(self, line: Line) -> str:
        return self._ledger.people[line.person].files_under

    def _own_line(self, own: OwnLine) -> Line:
        return Line(
            person="",
            name=own.name,
            role=own.role or None,
            role_also=self._also.get(fold_words(own.role), ""),
            note=own.note,
            named=own.named,
            confirmed=own.confirmed_on is not None,
            because=(Reason(kind=ReasonKind.OF_THE_PLAN),),
        )

    def _together(self, section: PlannedSection, lines: list[Line]) -> list[Line]:
        """The lines with names that stand on one: behind the first of them, joined."""
        for codes in section.together:
            people = dict.fromkeys(map(self._known_as, codes))
            own = [line for person in people for line in lines if line.person == person]
            if len(own) < 2 or len({line.role for line in own}) > 1:
                continue
            at = min(map(lines.index, own))
            rest = [line for line in lines if line not in own]
            words = ["", *["," for _ in own[2:]], self._plan.joined_by]
            joined = [replace(line, joined=word) for line, word in zip(own, words, strict=True)]
            lines = [*rest[:at], *joined, *rest[at:]]
        return lines

    def _lines(self, section: PlannedSection, person: str, placed: Placed) -> Iterator[Line]:
        for found, role in self._parts(section, person, placed.found):
            rule = self._rule(section, person, found)
            name = rule.printed_as or self._ledger.people[person].credit_name
            confirmed = self._ledger.confirmed(person)
            if rule.printed_as:
                confirmed = rule.confirmed_on is not None
            yield Line(
                person=person,
                name=name.replace(" ", NO_BREAK_SPACE) if rule.unbroken else name,
                role=role,
                role_also=self._also.get(fold_words(role or ""), ""),
                note=rule.note,
                characters=Read(partial(self._characters, found)),
                confirmed=confirmed,
                because=(*placed.falls, *reasons_of(self._ledger, section, found, placed.reached)),
            )

    def _rule(self, section: PlannedSection, person: str, found: Found) -> NameRule:
        """How the plan prints the person here; as everywhere where it says nothing."""
        titles = {
            fold_words(title) for title in job_titles((*found.guaranteed, *found.engagements))
        }
        for rule in self._rules.get(person, ()):
            wanted = (
                (rule.headings, {fold_words(section.heading)}),
                (rule.crafts, found.work.crafts),
                (rule.job_titles, titles),
                (rule.characters, found.characters if rule.characters else ()),
            )
            fits = all(not asked or not set(asked).isdisjoint(said) for asked, said in wanted)
            if rule.printed and fits:
                return rule
        return NameRule(person=person)

    def _parts(
        self, section: PlannedSection, person: str, found: Found
    ) -> Iterator[tuple[Found, str | None]]:
        """What stands on a line of its own, with its role."""
        if section.cast:
            for code, own in _by_character(found).items():
                yield own, self._cast_role(section, code, own)
        elif section.performances and section.layout is not Layout.NAMES:
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
        alphabet = ledger.production.alphabet
        titles = section.job_titles or self._titles
        title_at = {title: place for place, title in enumerate(titles)}
        hand = {code: place for place, code in reversed(list(enumerate(codes)))}

        def first_seen(line: Line) -> int:
            return min((self._appearance[code] for code in line.characters), default=last)

        def title_place(found: Found) -> int:
            titles = job_titles((*found.guaranteed, *found.engagements))
            places = (title_at.get(fold_words(title), LAST_BILLING) for title in titles)
            return min(places, default=LAST_BILLING)

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
                case Order.JOB_TITLE:
                    return title_place(placed[line.person].found)
                case Order.NAME:
                    return 0

        def key(line: Line) -> tuple[object, ...]:
            role = self._roles.get(line.role or "", 0) if section.performances else 0
            name = sort_key(ledger.people[line.person].files_under, alphabet)
            other = False
            if section.cast and section.order is Order.APPEARANCE:
                # In a line of the first craft nothing stands behind the character.
                main = {"", *(ledger.characters[code].name for code in line.characters)}
                other = (line.role or "") not in main
            seen = first_seen(line) if in_parts else 0
            return (role, wanted(line), other, name, line.person, seen, line.role or "")

        return key


def _in_fitting_columns(section: Section) -> Section:
    """Names alone in as many columns as fit how many they are."""
    if section.layout is not Layout.NAMES:
        return section
    return replace(section, columns=fitting_columns(len(section.printed)))


def _by_role(section: Section) -> Iterator[Section]:
    """A section, and one of level 2 for each role of its lines, in the order of the lines."""
    by_role = grouped(section.lines, lambda line: line.role or "")
    yield replace(section, lines=by_role.pop("", ()))
    for role, lines in by_role.items():
        in_columns = section.layout is not Layout.CARD
        yield replace(
            section,
            heading=role,
            heading_also=lines[0].role_also,
            lines=tuple(replace(line, role=None, role_also="") for line in lines),
            layout=Layout.NAMES if in_columns else section.layout,
            level=LEVELS[-1],
            space=1,
            pictures=(),
            text="",
        )


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
