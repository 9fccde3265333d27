"""The end credits: sections and lines by the plan, everybody else held, a reason for each.

Nobody with a current entry or an engagement is ever in neither.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from credits.compute.claims import Exact
from credits.compute.credit_plan import CreditPlan, Layout, Order, PlannedSection, RoleShown, alike
from credits.ledger.facts import CreditWish, Engagement, EntryNumber
from credits.ledger.ledger import Entry, Ledger
from credits.names import sort_key


@dataclass(frozen=True, slots=True)
class Because:
    """Why a person stands where they stand: the rule in words, the figures, the entries."""

    rule: str
    figures: tuple[tuple[str, int | str], ...] = ()
    entries: tuple[EntryNumber, ...] = ()


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the credits. ``confirmed``: the person has confirmed the spelling."""

    person: str
    name: str
    role: str | None
    characters: tuple[str, ...]
    confirmed: bool
    because: Because


@dataclass(frozen=True, slots=True)
class Section:
    """A heading and its lines, in order, and how they are set.

    ``columns``: 1 to 3, for names alone. ``text``: Markdown, for a section of fixed text, which has
    no lines. Neighbouring lines of one role or character are set under it once.
    """

    heading: str
    lines: tuple[Line, ...]
    layout: Layout = Layout.NAMES
    columns: int = 1
    text: str = ""


@dataclass(frozen=True, slots=True)
class Held:
    """A person whom the plan does not print, and the reason."""

    person: str
    name: str
    reason: str
    because: Because


@dataclass(frozen=True, slots=True)
class Credits:
    """The compiled end credits. Sections without a line are left out."""

    plan: str
    sections: tuple[Section, ...]
    held: tuple[Held, ...]
    order_of_appearance: tuple[str, ...]

    def lines_of(self, person: str) -> tuple[tuple[Section, Line], ...]:
        """Every line of one person, with its section."""
        return tuple(
            (section, line)
            for section in self.sections
            for line in section.lines
            if line.person == person
        )


def people_owed(ledger: Ledger) -> tuple[str, ...]:
    """Everybody with a current entry or an engagement: printed or held, never left out."""
    return tuple(sorted({*ledger.entries_by_person, *ledger.engagements}))


@dataclass(frozen=True, slots=True)
class _Found:
    """What puts one person under a heading."""

    entries: tuple[Entry, ...] = ()
    engagements: tuple[Engagement, ...] = ()


def _days(entries: Iterable[Entry]) -> list[date]:
    return sorted(entry.day for entry in entries if entry.day is not None)


def _because(ledger: Ledger, found: _Found, section: PlannedSection) -> Because:
    if found.engagements:
        jobs = ", ".join(dict.fromkeys(e.job_title for e in found.engagements))
        if section.guaranteed:
            rule = f"A contract guarantees the heading '{section.heading}' (engaged as {jobs})."
        else:
            rule = f"The crew list has an engagement in this department ({jobs})."
        figures: list[tuple[str, int | str]] = [("engagements", len(found.engagements))]
        numbers = [e.billing_number for e in found.engagements if e.billing_number is not None]
        if section.guaranteed and numbers:
            figures.append(("billing number", min(numbers)))
        return Because(rule, tuple(figures))
    crafts = dict.fromkeys(ledger.crafts[entry.craft].name for entry in found.entries)
    rule = f"The log has work of this craft ({', '.join(crafts)})."
    days = _days(found.entries)
    figures = [("entries", len(found.entries))]
    if days:
        figures += [("first day", days[0].isoformat()), ("last day", days[-1].isoformat())]
    return Because(rule, tuple(figures), tuple(entry.number for entry in found.entries))


class _Compiler:
    def __init__(
        self, ledger: Ledger, appearance: tuple[str, ...], on_screen: Mapping[str, Exact]
    ) -> None:
        self._ledger = ledger
        self._on_screen = on_screen
        places = {character: place for place, character in enumerate(appearance)}
        unseen = [c for c in ledger.characters if c not in places]
        self._appearance = {
            **places,
            **{c: len(places) + place for place, c in enumerate(unseen)},
        }
        self._by_craft: dict[str, dict[str, list[Entry]]] = defaultdict(lambda: defaultdict(list))
        for entry in ledger.entries:
            self._by_craft[entry.craft][entry.person].append(entry)

    def _found(self, section: PlannedSection) -> dict[str, _Found]:
        if section.crafts:
            entries: dict[str, list[Entry]] = defaultdict(list)
            for craft in section.crafts:
                for person, own in self._by_craft.get(craft, {}).items():
                    entries[person].extend(own)
            return {
                person: _Found(entries=tuple(sorted(own, key=lambda e: e.number)))
                for person, own in entries.items()
            }
        engaged: dict[str, list[Engagement]] = defaultdict(list)
        for person, own_jobs in self._ledger.engagements.items():
            for job in own_jobs:
                if section.guaranteed:
                    if alike(job.guaranteed_heading or "") in section.guaranteed:
                        engaged[person].append(job)
                elif alike(job.department) in section.departments and not job.guaranteed_heading:
                    engaged[person].append(job)
        return {person: _Found(engagements=tuple(own)) for person, own in engaged.items()}

    def _line(self, person: str, found: _Found, section: PlannedSection) -> Line:
        who = self._ledger.people[person]
        characters = tuple(
            sorted(
                {entry.character for entry in found.entries if entry.character is not None},
                key=lambda c: self._appearance[c],
            )
        )
        role = None
        if section.role is RoleShown.CHARACTERS and characters:
            role = ", ".join(self._ledger.characters[c].name for c in characters)
        elif section.role is RoleShown.JOB_TITLE:
            role = ", ".join(dict.fromkeys(job.job_title for job in found.engagements))
        because = _because(self._ledger, found, section)
        confirmed = who.name_confirmed_on is not None
        return Line(person, who.credit_name, role, characters, confirmed, because)

    def _order(self, section: PlannedSection, line: Line, found: _Found) -> tuple[object, ...]:
        name = sort_key(self._ledger.people[line.person].files_under)
        if section.order is Order.CONTRACT:
            numbers = [e.billing_number for e in found.engagements if e.billing_number is not None]
            return (min(numbers, default=10**9), name, line.person)
        if section.order is Order.APPEARANCE:
            first = min((self._appearance[c] for c in line.characters), default=10**9)
            return (first, name, line.person)
        return (name, line.person)

    def section(self, section: PlannedSection) -> Section:
        """The section with everybody who belongs under it and wants to be named."""
        found = {
            person: own
            for person, own in self._found(section).items()
            if self._ledger.people[person].wish is CreditWish.CREDITED
        }
        lines = [self._line(person, own, section) for person, own in found.items()]
        lines.sort(key=lambda line: self._order(section, line, found[line.person]))
        named_only = section.role is RoleShown.NOTHING
        layout = Layout.NAMES if named_only else Layout.ROLE_AND_NAME
        return Section(section.heading, tuple(lines), layout, 3 if named_only else 1)

    def held(self, person: str) -> Held:
        """The person, held: by their own wish, or because no section of the plan takes them."""
        who = self._ledger.people[person]
        entries = self._ledger.entries_by_person.get(person, ())
        jobs = self._ledger.engagements.get(person, ())
        figures = (("entries", len(entries)), ("engagements", len(jobs)))
        numbers = tuple(entry.number for entry in entries)
        if who.wish is CreditWish.UNCREDITED:
            reason = "asked to be uncredited"
            rule = "A person who asks to be uncredited is not printed."
        else:
            reason = "no section of the plan takes this person"
            rule = "The plan has no section for this person's crafts or departments."
        return Held(person, who.credit_name, reason, Because(rule, figures, numbers))


def compile_credits(
    ledger: Ledger,
    plan: CreditPlan,
    appearance: tuple[str, ...],
    on_screen: Mapping[str, Exact],
) -> Credits:
    """The end credits by the plan.

    ``appearance``: characters in order of appearance; ``on_screen``: shot footage on screen by
    person, for plans that order by footage.
    """
    compiler = _Compiler(ledger, appearance, on_screen)
    sections = [compiler.section(section) for section in plan.sections]
    sections = [section for section in sections if section.lines]
    printed = {line.person for section in sections for line in section.lines}
    owed = [person for person in people_owed(ledger) if person not in printed]
    owed.sort(key=lambda person: (sort_key(ledger.people[person].files_under), person))
    held = tuple(compiler.held(person) for person in owed)
    return Credits(plan.name, tuple(sections), held, appearance)
