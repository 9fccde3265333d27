"""The credit plan: which sections the end credits have, and who stands in each.

A plan is plain data. It is read from ``credit-plan.toml``; the built-in plan is made from the
production itself: what contracts guarantee, a section per craft in the order of the crafts, then
the departments of the crew list.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from fractions import Fraction
from functools import cached_property
from itertools import chain
from operator import attrgetter

from credits.footage.footage import MEASURE_WORDS, NO_FOOTAGE, Footage, FootageTotals
from credits.model.facts import Craft
from credits.model.ledger import Ledger, WorkDone
from credits.model.replay import grouped
from credits.model.words import begin
from credits.text import fold_words
from credits.units.rounding import MOST_PLACES, Exact, decimal_text, plain_decimal

BUILT_IN = "built-in plan"
CAST_CRAFTS = frozenset({"voice", "singing"})
CHARACTER_MARK = "{character}"
MOST_COLUMNS = 3
LAST_BILLING = 10**9  # behind every billing number
NEED_A_CUT = frozenset({"cut", "screen"})
SHOWN_PLACES = 2


class ThresholdUnit(StrEnum):
    """What a threshold is counted in."""

    SECONDS = "seconds"
    FRAMES = "frames"
    FEET = "feet"
    STAGE_DAYS = "stage days"
    DAYS = "days"
    PERCENT = "%"
    ENTRIES = "entries"


_ONES = ("second", "frame", "foot", "stage day", "day", "%", "entry")
ONE_OF = dict(zip(ThresholdUnit, _ONES, strict=True))
FOOTAGE_UNITS = frozenset(map(ThresholdUnit, ("seconds", "frames", "feet", "%")))


@dataclass(frozen=True, slots=True, kw_only=True)
class Threshold:
    """What a section asks for at least.

    ``measure``: one of the five of footage, for seconds, frames and feet. They are of shot footage;
    of character footage where ``by_character``. Per cent are of a character's screen time: the
    person's character footage of that character on screen, and the best character counts.
    """

    least: Fraction
    unit: ThresholdUnit
    measure: str = ""
    by_character: bool = False

    @property
    def words(self) -> str:
        """As it is written and read: ``at least 20 seconds on screen``."""
        counted_in = self.counted_in
        if self.least == 1:
            counted_in = counted_in.replace(self.unit, ONE_OF[self.unit], 1)
        return f"at least {plain_decimal(self.least)} {counted_in}"

    @property
    def counted_in(self) -> str:
        """``seconds on screen``, ``stage days``, ``% of the character's screen time``."""
        if self.unit is ThresholdUnit.PERCENT:
            return "% of the character's screen time"
        if self.unit not in FOOTAGE_UNITS:
            return self.unit.value
        of = "character " if self.by_character else ""
        return f"{of}{self.unit} {MEASURE_WORDS[self.measure]}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Reached:
    """What somebody reaches of a threshold, exactly.

    ``character``, ``character_name``: the one that per cent are of. ``without_cut``: there is no
    cut yet, and kept frames were counted.
    """

    threshold: Threshold
    figure: Exact
    character: str | None = None
    character_name: str | None = None
    without_cut: bool = False

    @property
    def enough(self) -> bool:
        """Whether the threshold is reached; exactly at it is enough."""
        return self.figure >= self.threshold.least

    @property
    def shown(self) -> str:
        """The figure in decimals, with as many places as tell it from the threshold."""
        if Fraction(self.figure).denominator == 1:
            return str(int(self.figure))
        for places in range(SHOWN_PLACES, MOST_PLACES):
            shown = decimal_text(self.figure, places)
            if (Fraction(shown) >= self.threshold.least) is self.enough:
                return shown
        return decimal_text(self.figure, MOST_PLACES)

    @property
    def words(self) -> str:
        """``at least 20 seconds on screen: 12.50 reached``."""
        note = ", counted over the kept frames since there is no cut yet" * self.without_cut
        of = f" ({self.character_name})" if self.character_name is not None else ""
        return f"{self.threshold.words}: {self.shown} reached{note}{of}"


class Order(StrEnum):
    """How the lines of a section are ordered; what ties is by sort name."""

    NAME = "name"
    CONTRACT = "contract"
    APPEARANCE = "appearance"
    FOOTAGE = "footage"
    BY_HAND = "by hand"


class Layout(StrEnum):
    """How a section is set."""

    NAMES = "names"
    ROLE_AND_NAME = "role and name"
    CHARACTER_AND_NAMES = "character and names"
    CARD = "card"
    TEXT = "text"


class RoleShown(StrEnum):
    """What stands opposite a name."""

    NOTHING = "nothing"
    CHARACTERS = "characters"
    JOB_TITLE = "job title"
    CRAFT = "craft"


class Once(StrEnum):
    """How often a person is named: once in a section, or once in all sections that say so."""

    SECTION = "section"
    ALL = "all"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedSection:
    """One section: its heading, and whose work or engagement puts them under it.

    People are taken by their work (``crafts``, on ``characters``: each that is given must fit), by
    an engagement (``departments``, ``job_titles``, likewise; one with a guaranteed heading serves
    that alone), by a contract (``guaranteed`` headings), or by name (``people``). ``departments``,
    ``job_titles`` and ``guaranteed`` hold the words without regard to case.

    ``cast``: these crafts, a line for each character and person; what is not the first of them is
    named behind the character. ``performances``: a section for each character, with the heading's
    ``{character}`` replaced; ``every_performance``: for all that appear. ``every_guaranteed``: the
    guaranteed headings that have no section of their own stand here. ``text``: Markdown.

    ``below``: the heading under which those go who do not reach ``at_least``; None: they are held.
    ``layout`` None, ``columns`` 0, ``once`` None: as fits the section and the plan.
    """

    heading: str
    crafts: tuple[str, ...] = ()
    departments: tuple[str, ...] = ()
    guaranteed: tuple[str, ...] = ()
    role: RoleShown = RoleShown.NOTHING
    order: Order = Order.NAME
    characters: tuple[str, ...] = ()
    job_titles: tuple[str, ...] = ()
    people: tuple[str, ...] = ()
    cast: tuple[str, ...] = ()
    performances: tuple[str, ...] = ()
    every_performance: bool = False
    every_guaranteed: bool = False
    text: str = ""
    at_least: Threshold | None = None
    below: str | None = None
    by_hand: tuple[str, ...] = ()
    layout: Layout | None = None
    columns: int = 0
    once: Once | None = None

    @property
    def takes_people(self) -> bool:
        """Whether people may stand under this very heading: it can also be sent some."""
        special = self.performances or self.every_performance or self.every_guaranteed
        return not special and not self.text


@dataclass(frozen=True, slots=True)
class CreditPlan:
    """The sections in the order in which they run. ``name`` says where the plan came from."""

    name: str
    sections: tuple[PlannedSection, ...]
    once: Once = Once.SECTION


def called_so(sections: Iterable[PlannedSection]) -> dict[str, int]:
    """Return where people go who are sent to a heading: the first section that is called so and
    takes people, by the heading without regard to case."""
    places = reversed([*enumerate(sections)])  # of those that are called alike the first stays
    return {fold_words(section.heading): at for at, section in places if section.takes_people}


def guaranteed_headings(ledger: Ledger) -> tuple[tuple[str, str], ...]:
    """Return the headings that contracts guarantee, by billing number: as compared, as spelled."""
    billing: dict[str, tuple[int, str]] = {}
    spelled: dict[str, str] = {}
    for job in chain.from_iterable(ledger.engagements.values()):
        if job.guaranteed_heading:
            key = fold_words(job.guaranteed_heading)
            spelled.setdefault(key, job.guaranteed_heading)
            number = LAST_BILLING if job.billing_number is None else job.billing_number
            rank = (number, spelled[key])
            billing[key] = min(billing.get(key, rank), rank)
    return tuple((key, spelled[key]) for key in sorted(billing, key=lambda key: billing[key]))


def _by_craft(ledger: Ledger) -> list[PlannedSection]:
    crafts: dict[str, list[Craft]] = defaultdict(list)
    for craft in ledger.crafts.values():
        crafts[fold_words(craft.heading or craft.name)].append(craft)
    bound = dict(guaranteed_headings(ledger))
    sections = []
    for key, own in crafts.items():
        codes = tuple(craft.code for craft in own)
        role, order = RoleShown.NOTHING, Order.NAME
        if CAST_CRAFTS.issuperset(codes):
            role, order = RoleShown.CHARACTERS, Order.APPEARANCE
        order = Order.CONTRACT if key in bound else order
        heading = own[0].heading or own[0].name
        sections.append(PlannedSection(heading=heading, crafts=codes, role=role, order=order))
    return sections


def _by_department(ledger: Ledger, taken: set[str]) -> Iterator[PlannedSection]:
    spelled: dict[str, str] = {}
    for job in chain.from_iterable(ledger.engagements.values()):
        spelled.setdefault(fold_words(job.department), job.department)
    for key, department in spelled.items():
        heading = f"{begin(department)}{' department' if key in taken else ''}"
        yield PlannedSection(heading=heading, departments=(key,), role=RoleShown.JOB_TITLE)


def built_in_plan(ledger: Ledger) -> CreditPlan:
    """The plan that needs no writing: guaranteed headings, crafts in their order, departments.

    Crafts that share a heading share a section, and a heading that a contract guarantees is that
    section where a craft is called so, ordered by contract. The departments stand in the order of
    the crew list. A department that is called like a section gets "department" behind its name.
    """
    by_craft = _by_craft(ledger)
    taken = {fold_words(section.heading) for section in by_craft}
    taken.update(key for key, _ in guaranteed_headings(ledger))
    guaranteed = PlannedSection(heading="", every_guaranteed=True, order=Order.CONTRACT)
    return CreditPlan(BUILT_IN, (guaranteed, *by_craft, *_by_department(ledger, taken)))


def sections_in_full(
    plan: CreditPlan, ledger: Ledger, appearance: tuple[str, ...]
) -> tuple[PlannedSection, ...]:
    """Write out every section of the plan: blocks by character, guaranteed headings, and the
    sections that are only named as where people go who are below a threshold."""
    sections = [own for each in plan.sections for own in _blocks(each, ledger, appearance)]
    return tuple(_with_below(_with_guaranteed(sections, ledger)))


def _blocks(
    section: PlannedSection, ledger: Ledger, appearance: tuple[str, ...]
) -> Iterator[PlannedSection]:
    """A performance block for each character; any other section as it is."""
    codes = section.performances
    if section.every_performance:
        codes = appearance or tuple(ledger.characters)
    elif not codes:
        yield section
    for code in codes:
        if code in ledger.characters:
            heading = section.heading or CHARACTER_MARK
            yield replace(
                section,
                heading=heading.replace(CHARACTER_MARK, ledger.characters[code].name),
                performances=(code,),
                every_performance=False,
                layout=section.layout or Layout.ROLE_AND_NAME,
            )


def _with_guaranteed(sections: list[PlannedSection], ledger: Ledger) -> list[PlannedSection]:
    """The guaranteed headings that no section has, where the plan wants them, else at the front."""
    hosts = [section for section in sections if section.takes_people]
    known = {key for section in hosts for key in (fold_words(section.heading), *section.guaranteed)}
    pattern = next((s for s in sections if s.every_guaranteed), None)
    style = pattern or PlannedSection(heading="", order=Order.CONTRACT)
    own = [
        replace(style, heading=spelled, guaranteed=(key,), every_guaranteed=False)
        for key, spelled in guaranteed_headings(ledger)
        if key not in known
    ]
    at = sections.index(pattern) if pattern is not None else 0
    rest = [section for section in sections[at:] if not section.every_guaranteed]
    return [*sections[:at], *own, *rest]


def _with_below(sections: list[PlannedSection]) -> Iterator[PlannedSection]:
    """A section that is only named in ``below`` stands behind the last that names it, set alike."""
    known, set_alike = set(called_so(sections)), ("order", "by_hand", "layout", "columns", "once")
    sending = {
        fold_words(section.below): place
        for place, section in enumerate(sections)
        if section.at_least is not None and section.below is not None
    }
    for place, section in enumerate(sections):
        yield section
        key = fold_words(section.below or "")
        if sending.get(key) == place and key not in known:
            role = RoleShown.CHARACTERS if section.cast else section.role
            alike = {name: getattr(section, name) for name in set_alike}
            yield PlannedSection(heading=section.below or "", role=role, **alike)


class FiguresOf:
    """Answers how much of a threshold somebody reaches. What is never asked is not summed."""

    def __init__(self, ledger: Ledger, footage: Footage) -> None:
        self._ledger = ledger
        self._has_cut = footage.cut is not None
        self._footage = footage

    @cached_property
    def _by_person(self) -> Mapping[str, FootageTotals]:
        return self._by_either.by(lambda cell: cell.person)

    @cached_property
    def _by_both(self) -> Mapping[tuple[str, str], FootageTotals]:
        return self._by_either.by(lambda cell: (cell.person, cell.character))

    @cached_property
    def _by_either(self) -> Footage:
        return self._footage.summed_by("person", "character")

    @cached_property
    def _by_character(self) -> Mapping[str, FootageTotals]:
        return self._footage.by(lambda cell: cell.character)

    @cached_property
    def _done_by(self) -> Mapping[str, tuple[WorkDone, ...]]:
        return grouped(self._ledger.done, attrgetter("person"))

    def on_screen(self, person: str) -> Exact:
        """Shot footage on screen, in frames; kept footage where there is no cut yet."""
        return self._by_person.get(person, NO_FOOTAGE).by_shot.of(self._measure("screen"))

    def work_of(self, person: str, characters: tuple[str, ...] = ()) -> tuple[WorkDone, ...]:
        """Return the person's work on these characters; on all where none is given."""
        own = self._done_by.get(person, ())
        if not characters:
            return own
        parts = chain.from_iterable(done.by_character.items() for done in own)
        return tuple(done for character, done in parts if character in characters)

    def _measure(self, measure: str) -> str:
        return "kept" if measure in NEED_A_CUT and not self._has_cut else measure

    def reached(
        self,
        threshold: Threshold,
        person: str,
        work: Iterable[WorkDone],
        characters: tuple[str, ...] = (),
    ) -> Reached:
        """Return what the person reaches.

        work: what the section takes, for entries and days.
        characters: count only the footage and stage days of these; empty: of all.
        """
        unit, character, without_cut = threshold.unit, None, False
        figure: Exact
        if unit is ThresholdUnit.ENTRIES:
            figure = sum(done.brief.entries for done in work)
        elif unit is ThresholdUnit.DAYS:
            figure = len(set[str]().union(*(done.days for done in work)))
        elif unit is ThresholdUnit.STAGE_DAYS:
            own, crafts = self.work_of(person, characters), self._ledger.crafts
            shot = (done.days for done in own if crafts[done.craft].footage)
            figure = len(set[str]().union(*shot))
        elif unit is ThresholdUnit.PERCENT:
            figure, character = self._per_cent(person, characters)
            without_cut = not self._has_cut
        else:
            production = self._ledger.production
            seconds, feet = production.rate.per_second, production.gauge.frames_per_foot
            frames_in = {ThresholdUnit.SECONDS: seconds, ThresholdUnit.FEET: feet}.get(unit, 1)
            figure = Fraction(self._frames(threshold, person, characters)) / frames_in
            without_cut = not self._has_cut and threshold.measure in NEED_A_CUT
        of = self._ledger.characters.get(character or "")
        return Reached(
            threshold=threshold,
            figure=figure,
            character=character,
            character_name=of.name if of is not None else None,
            without_cut=without_cut,
        )

    def _frames(self, threshold: Threshold, person: str, characters: tuple[str, ...]) -> Exact:
        measure = self._measure(threshold.measure)
        parts = [self._by_both.get((person, c), NO_FOOTAGE) for c in dict.fromkeys(characters)]
        parts = parts if characters else [self._by_person.get(person, NO_FOOTAGE)]
        of_parts = ((p.character if threshold.by_character else p.by_shot) for p in parts)
        return sum((totals.of(measure) for totals in of_parts), Fraction(0))

    def _per_cent(self, person: str, characters: tuple[str, ...]) -> tuple[Exact, str | None]:
        """The person's largest part of a character's screen time, in per cent, and whose it is."""
        measure = self._measure("screen")
        best: tuple[Exact, str | None] = (0, None)
        for character in characters or self._by_character:
            whole = self._by_character.get(character, NO_FOOTAGE).character.of(measure)
            own = self._by_both.get((person, character), NO_FOOTAGE).character.of(measure)
            if whole and Fraction(own, whole) * 100 > best[0]:
                best = (Fraction(own, whole) * 100, character)
        return best
