"""The words of the credit plan, and what of a production they may name."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from credits.compute.credit_plan import (
    Layout,
    Order,
    PlannedSection,
    RoleShown,
    guaranteed_headings,
)
from credits.model.ledger import Ledger
from credits.text import fold_words

FILE_NAME = "credit-plan.toml"
SECTION = "section"
ALL = "all"

PLAN_KEYS = {
    "name": "what this plan is called",
    "once": "how often a person is named",
    SECTION: "a section",
}
WHO_KEYS = (
    "crafts", "characters", "departments", "job_titles", "people", "cast", "performances",
    "guaranteed", "text",
)  # fmt: skip
HOW_KEYS = ("heading", "at_least", "below", "order", "by_hand", "role", "layout", "columns", "once")
SECTION_KEYS = (*HOW_KEYS[:1], *WHO_KEYS, *HOW_KEYS[1:])

ORDERS = tuple(order.value for order in Order)
LAYOUTS = tuple(layout.value for layout in Layout)
ROLES = tuple(role.value for role in RoleShown)
MOST_COLUMNS = 3

# Keys that one section cannot have together with others: what it is, and what else it may have.
ALONE: Mapping[str, tuple[str, tuple[str, ...]]] = {
    "text": ("fixed text", ("heading", "text", "layout")),
    "performances": ("a performance block", ("heading", "performances", "layout", "once", "order")),
    "cast": (
        "a cast list",
        (
            "heading",
            "cast",
            "characters",
            "at_least",
            "below",
            "order",
            "by_hand",
            "layout",
            "once",
        ),
    ),
}


@dataclass(frozen=True, slots=True)
class Book:
    """What may be named. ``one``: what it is; ``known``: as it is compared, and how the plan holds
    it; ``spelled``: how people write it; ``add``: what to do about one that is missing."""

    one: str
    known: Mapping[str, str]
    spelled: Mapping[str, str]
    add: str

    def get(self, word: str) -> str | None:
        """What the plan holds for a word; None when it is not known."""
        return self.known.get(fold_words(word))


def _codes(one: str, codes: Iterable[str], add: str) -> Book:
    known = {fold_words(code): code for code in codes}
    return Book(one, known, known, add)


def _texts(one: str, texts: Iterable[str], add: str) -> Book:
    spelled = {fold_words(text): text for text in texts if text.strip()}
    return Book(one, {key: key for key in spelled}, spelled, add)


def books_of(ledger: Ledger) -> dict[str, Book]:
    """What each key of a section may name in this production."""
    jobs = [job for own in ledger.engagements.values() for job in own]
    crafts = _codes("craft", ledger.crafts, "add it to the crafts table")
    characters = _codes("character", ledger.characters, "add it to the characters table")
    people = _codes("person", ledger.people, "add them to the people table")
    crew_list = "see the engagements table"
    return {
        "crafts": crafts,
        "cast": crafts,
        "characters": characters,
        "performances": characters,
        "people": people,
        "by_hand": people,
        "departments": _texts("department", (job.department for job in jobs), crew_list),
        "job_titles": _texts("job title", (job.job_title for job in jobs), crew_list),
        "guaranteed": _texts(
            "guaranteed heading", (spelled for _, spelled in guaranteed_headings(ledger)), crew_list
        ),
    }


def layout_problems(
    section: PlannedSection, role_is_written: bool
) -> Iterator[tuple[str, str, str]]:
    """What in a section does not fit its layout: the key, what is wrong, what would be right."""
    layout = section.layout
    if layout is None:
        return
    if layout is Layout.TEXT and not section.text:
        yield "layout", "there is no text here", 'Write text = """...""".'
    if section.text and layout not in (Layout.TEXT, Layout.CARD):
        yield "layout", "is not for fixed text", 'Write "text" or "card".'
    if section.cast and layout is Layout.NAMES:
        yield "layout", "a cast list has characters", 'Write "character and names".'
    shown = section.role is not RoleShown.NOTHING
    if layout is Layout.NAMES and shown and role_is_written:
        hint = 'Write layout = "role and name", or take role away.'
        yield "layout", "names alone have no role beside them", hint
