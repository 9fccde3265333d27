"""Compiled credits written short, and where the fonts of this machine are."""

from __future__ import annotations

import os
from datetime import date
from typing import Any

from credits.billing.credits import Credits, Held, Line, Section
from credits.billing.plan import Layout
from credits.billing.reasons import Reason, ReasonKind
from credits.formats.deliver.fonts import font_folders
from credits.formats.deliver.plain import Delivery
from credits.model.facts import EntryNumber

FONTS = font_folders(os.environ)
ENTRIES = (EntryNumber("A", 1), EntryNumber("A", 4))
BECAUSE = (
    Reason(kind=ReasonKind.CONTRACT, headings=("Leads",), names=("Lead",), billing_number=7),
    Reason(kind=ReasonKind.CRAFT, names=("Voice",), entries=ENTRIES),
)
CAUTION = "A draft until somebody clears it."


def line(name: str, role: str | None = None, *, confirmed: bool = True) -> Line:
    """A line of a person whose code is the name in small letters."""
    return Line(
        person=name.lower(),
        name=name,
        role=role,
        characters=(),
        confirmed=confirmed,
        because=BECAUSE,
    )


def names(heading: str, *people: str, columns: int = 1) -> Section:
    """Names alone."""
    return Section(
        heading=heading, lines=tuple(map(line, people)), layout=Layout.NAMES, columns=columns
    )


def roles(heading: str, *pairs: tuple[str, str]) -> Section:
    """Roles and names on a gutter."""
    lines = tuple(line(name, role) for role, name in pairs)
    return Section(heading=heading, lines=lines, layout=Layout.ROLE_AND_NAME)


def card(heading: str, *people: str) -> Section:
    """A card."""
    return Section(heading=heading, lines=tuple(map(line, people)), layout=Layout.CARD)


def text(heading: str, markdown: str) -> Section:
    """A section of fixed text."""
    return Section(heading=heading, lines=(), layout=Layout.TEXT, text=markdown)


def credits_of(*sections: Section, held: tuple[str, ...] = ()) -> Credits:
    """Compiled credits; the held asked to be uncredited."""
    asked = ReasonKind.UNCREDITED
    because = (Reason(kind=asked, entries=ENTRIES),)
    hidden = tuple(
        Held(person=name.lower(), name=name, kind=asked, because=because) for name in held
    )
    return Credits(plan="a plan", sections=sections, held=hidden)


def delivery(*sections: Section, held: tuple[str, ...] = (), **more: Any) -> Delivery:
    """What a deliverable is made from: up to 3 March 2026, entry A-17, cut 2."""
    given: dict[str, Any] = {
        "title": "The Small Film",
        "caution": CAUTION,
        "day": date(2026, 3, 3),
        "last_line": EntryNumber("A", 17),
        "cut": 2,
        **more,
    }
    return Delivery(credits=credits_of(*sections, held=held), **given)
