"""The credit plan: which sections the end credits have, and who stands in each.

A plan is plain data. The built-in plan is made from the production itself: what contracts
guarantee, a section per craft in the order of the crafts, then the departments of the crew list.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from credits.ledger.facts import Engagement
from credits.ledger.ledger import Ledger

CAST_CRAFTS = frozenset({"voice", "singing"})


class Order(StrEnum):
    """How the lines of a section are ordered (rule 3.9)."""

    NAME = "name"
    CONTRACT = "contract"
    APPEARANCE = "appearance"


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


@dataclass(frozen=True, slots=True)
class PlannedSection:
    """One section: its heading, and whose work or engagement puts them under it.

    ``departments`` and ``guaranteed`` hold the words without regard to case.
    """

    heading: str
    crafts: tuple[str, ...] = ()
    departments: tuple[str, ...] = ()
    guaranteed: tuple[str, ...] = ()
    role: RoleShown = RoleShown.NOTHING
    order: Order = Order.NAME


@dataclass(frozen=True, slots=True)
class CreditPlan:
    """The sections in the order in which they run. ``name`` says where the plan came from."""

    name: str
    sections: tuple[PlannedSection, ...]


def alike(text: str) -> str:
    """A heading or department as it is compared: without regard to case and spacing."""
    return " ".join(text.split()).casefold()


def _engagements(ledger: Ledger) -> Iterable[Engagement]:
    for own in ledger.engagements.values():
        yield from own


def _guaranteed(ledger: Ledger) -> list[PlannedSection]:
    billing: dict[str, tuple[int, str]] = {}
    spelled: dict[str, str] = {}
    for engagement in _engagements(ledger):
        if engagement.guaranteed_heading:
            key = alike(engagement.guaranteed_heading)
            spelled.setdefault(key, engagement.guaranteed_heading)
            number = engagement.billing_number
            rank = (number if number is not None else 10**9, spelled[key])
            billing[key] = min(billing.get(key, rank), rank)
    return [
        PlannedSection(
            spelled[key], guaranteed=(key,), role=RoleShown.NOTHING, order=Order.CONTRACT
        )
        for key in sorted(billing, key=lambda key: billing[key])
    ]


def _by_craft(ledger: Ledger) -> list[PlannedSection]:
    headings: dict[str, str] = {}
    crafts: dict[str, list[str]] = {}
    for craft in ledger.crafts.values():
        heading = craft.heading or craft.name
        headings.setdefault(alike(heading), heading)
        crafts.setdefault(alike(heading), []).append(craft.code)
    sections = []
    for key, codes in crafts.items():
        cast = CAST_CRAFTS.issuperset(codes)
        sections.append(
            PlannedSection(
                headings[key],
                crafts=tuple(codes),
                role=RoleShown.CHARACTERS if cast else RoleShown.NOTHING,
                order=Order.APPEARANCE if cast else Order.NAME,
            )
        )
    return sections


def _by_department(ledger: Ledger, taken: frozenset[str]) -> list[PlannedSection]:
    spelled: dict[str, str] = {}
    for engagement in _engagements(ledger):
        spelled.setdefault(alike(engagement.department), engagement.department)
    sections = []
    for key, department in spelled.items():
        heading = department[:1].upper() + department[1:]
        if key in taken:
            heading = f"{heading} department"
        sections.append(PlannedSection(heading, departments=(key,), role=RoleShown.JOB_TITLE))
    return sections


def built_in_plan(ledger: Ledger) -> CreditPlan:
    """The plan that needs no writing: guaranteed headings, crafts in their order, departments.

    Crafts that share a heading share a section. The departments stand in the order of the crew
    list. A department that is called like a section gets "department" behind its name.
    """
    sections = [*_guaranteed(ledger), *_by_craft(ledger)]
    taken = frozenset(alike(section.heading) for section in sections)
    sections.extend(_by_department(ledger, taken))
    return CreditPlan("built-in plan", tuple(sections))
