"""The credit plan: which sections the end credits have, and who stands in each.

A plan is plain data. It is read from ``credit-plan.toml``; the built-in plan is made from the
production itself: what contracts guarantee, a section per craft in the order of the crafts, then
the departments of the crew list.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from itertools import chain

from credits.billing.stages import Stages
from credits.billing.thresholds import Threshold
from credits.model.facts import Craft
from credits.model.ledger import Ledger
from credits.model.words import begin
from credits.text import fold_words

BUILT_IN = "built-in plan"
CAST_CRAFTS = frozenset({"voice", "singing"})
CHARACTER_MARK = "{character}"
MOST_COLUMNS = 3
LEVELS = (1, 2)
MOST_SPACE = 12
LONGEST_TEXT = 50_000  # characters
MOST_PICTURE_LINES = 16
JOINED_BY = "&"
# Common practice: how the end credits of a film open, as far as its contracts have such headings.
OPENING = (
    ("directed by", "director", "directors", "a film by"),
    ("written by", "writer", "writers", "written and directed by"),
    ("screenplay by", "screenplay", "script", "script by"),
    ("story by", "story", "based on", "based on the book by", "adapted by"),
    ("produced by", "producer", "producers"),
    ("executive producer", "executive producers", "executive produced by"),
    ("co-produced by", "co-producer", "co-producers", "associate producer", "line producer"),
    ("director of photography", "photographed by", "cinematography", "cinematography by"),
    ("production designer", "production design", "production designed by", "art director"),
    ("edited by", "editor", "editors", "film editor"),
    ("music by", "music", "composer", "original music by", "score by"),
    ("sound design", "sound designer", "sound by"),
    ("casting by", "casting", "casting director"),
)
_OPENS_AT = {heading: place for place, every in enumerate(OPENING) for heading in every}
LAST_BILLING = 10**9  # behind every billing number


class Order(StrEnum):
    """How the lines of a section are ordered; what ties is by sort name."""

    NAME = "name"
    CONTRACT = "contract"
    APPEARANCE = "appearance"
    FOOTAGE = "footage"
    BY_HAND = "by hand"
    JOB_TITLE = "job title"


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
    """How often a person is named: once in a section, or once in all sections that say so.

    Any other word is the name of a group: once in all sections of the group.
    """

    SECTION = "section"
    ALL = "all"


class NamedKind(StrEnum):
    """What a line names."""

    PERSON = "person"
    COMPANY = "company"
    ANIMAL = "animal"
    SONG = "song"
    OTHER = "other"


class Size(StrEnum):
    """How large a section is set, beside the others."""

    SMALL = "small"
    NORMAL = "normal"
    LARGE = "large"


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A logo or a mark, of the production's folder of pictures.

    ``file``: its name. ``shows``: what it is, in words, for whatever prints no pictures.
    ``lines``: how many lines of the roll it is high.
    """

    file: str
    shows: str
    lines: int


class LinePlace(StrEnum):
    """Where a line of the plan's own stands among the others."""

    SORTED = "sorted"
    FIRST = "first"
    LAST = "last"


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnLine:
    """A line of the plan's own: a company, an animal, a song, somebody whom the log does not know.

    ``name``: as it prints, line breaks kept. ``files_under``: what it is sorted by; empty: the
    name. ``after``: the person behind whose last line it stands; where that person does not stand
    in the section, and where none is given, ``place`` says where. ``confirmed_on``: when the
    spelling was confirmed, as it was written.
    """

    name: str
    named: NamedKind = NamedKind.OTHER
    role: str = ""
    note: str = ""
    files_under: str = ""
    after: str = ""
    place: LinePlace = LinePlace.SORTED
    confirmed_on: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class NameRule:
    """How one person is printed in some places, where it is not as in the list of people.

    ``printed_as`` empty: the credited name; else ``confirmed_on`` says when the person confirmed
    it. ``printed``: False: not at all there; whoever then stands nowhere is held. ``note`` stands
    beside the name. ``unbroken``: no line break parts the name. Where: lines that fit each of
    ``headings`` (as compared), ``crafts``, ``job_titles`` (as compared), ``characters`` that is
    given; all lines where none is.
    """

    person: str
    printed_as: str = ""
    printed: bool = True
    note: str = ""
    unbroken: bool = False
    confirmed_on: date | None = None
    headings: tuple[str, ...] = ()
    crafts: tuple[str, ...] = ()
    job_titles: tuple[str, ...] = ()
    characters: tuple[str, ...] = ()


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

    ``episodes``: the section is in the credits of these alone (as compared). ``excepted``: people
    who do not stand here, whatever takes them. ``units``, ``stages``: only work on these stages, or
    on those of these units, counts. ``lines``: those of the plan's own. ``together``: people whose
    names stand on one line, whether they are neighbours by then or not.

    ``below``: the heading under which those go who do not reach ``at_least``; None: they are held.
    ``layout`` None, ``columns`` 0, ``once`` None: as fits the section and the plan. ``once``: one
    of ``Once``, or the name of a group. ``sub_headings``: each role is a heading of level 2.
    ``alone``: a heading over the sections of level 2 that follow; it stands where one of them does.
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
    once: str | None = None
    excepted: tuple[str, ...] = ()
    units: tuple[str, ...] = ()
    episodes: tuple[str, ...] = ()
    stages: tuple[str, ...] = ()
    lines: tuple[OwnLine, ...] = ()
    together: tuple[tuple[str, ...], ...] = ()
    heading_also: str = ""
    level: int = 1
    space: int = 1
    size: Size = Size.NORMAL
    pictures: tuple[Picture, ...] = ()
    sub_headings: bool = False
    alone: bool = False

    @property
    def takes_people(self) -> bool:
        """Whether people may stand under this very heading: it can also be sent some."""
        special = self.performances or self.every_performance or self.every_guaranteed
        return not special and not self.text and not self.alone


@dataclass(frozen=True, slots=True)
class CreditPlan:
    """The sections in the order in which they run. ``name`` says where the plan came from.

    ``names``: how people are printed where it is not as in the list of people; the first rule that
    fits holds. ``roles_also``: roles in the second language, by the role as compared.
    ``joined_by``: what stands between two names on one line.
    """

    name: str
    sections: tuple[PlannedSection, ...]
    once: str = Once.SECTION
    names: tuple[NameRule, ...] = ()
    roles_also: tuple[tuple[str, str], ...] = ()
    joined_by: str = JOINED_BY


def called_so(sections: Iterable[PlannedSection]) -> dict[str, int]:
    """Return where people go who are sent to a heading: the first section that is called so and
    takes people, by the heading without regard to case."""
    places = reversed([*enumerate(sections)])  # of those that are called alike the first stays
    return {fold_words(section.heading): at for at, section in places if section.takes_people}


def stages_of(section: PlannedSection, ledger: Ledger) -> Stages:
    """Return the stages on which work counts for a section."""
    if not section.units and not section.stages:
        return None
    units = frozenset(map(fold_words, section.units))
    of_units = (
        stage.code
        for stage in ledger.stages.values()
        if stage.unit is not None and fold_words(stage.unit) in units
    )
    return frozenset((*section.stages, *of_units))


def guaranteed_headings(ledger: Ledger) -> tuple[tuple[str, str], ...]:
    """Return the headings that contracts guarantee, as compared and as spelled.

    Those that open the end credits of most films come first, as they are billed there; the others
    follow in the order of the crew list. A billing number places people under a heading, and no
    heading among others.
    """
    spelled: dict[str, str] = {}
    for job in chain.from_iterable(ledger.engagements.values()):
        if job.guaranteed_heading:
            spelled.setdefault(fold_words(job.guaranteed_heading), job.guaranteed_heading)
    return tuple(sorted(spelled.items(), key=lambda each: _OPENS_AT.get(each[0], len(_OPENS_AT))))


def planned_headings(plan: CreditPlan, ledger: Ledger) -> Iterator[str]:
    """Yield the headings of a plan, and those that contracts guarantee; nothing is compiled."""
    for section in plan.sections:
        heading = section.heading
        if CHARACTER_MARK in heading or section.performances or section.every_performance:
            codes = section.performances or tuple(ledger.characters)
            names = (ledger.characters[code].name for code in codes if code in ledger.characters)
            yield from ((heading or CHARACTER_MARK).replace(CHARACTER_MARK, name) for name in names)
        elif heading:
            yield heading
        if section.below is not None:
            yield section.below
    yield from (spelled for _, spelled in guaranteed_headings(ledger))


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
    plan: CreditPlan, ledger: Ledger, appearance: tuple[str, ...], episode: str = ""
) -> tuple[PlannedSection, ...]:
    """Write out every section of the plan: blocks by character, guaranteed headings, and the
    sections that are only named as where people go who are below a threshold.

    episode: whose credits they are; empty: the whole film has all sections.
    """
    key = fold_words(episode)
    planned = (s for s in plan.sections if not (key and s.episodes) or key in s.episodes)
    sections = [own for each in planned for own in _blocks(each, ledger, appearance)]
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
