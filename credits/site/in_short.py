"""What a search result and a link that is passed on show of a page: a sentence and a picture.

Both are made of the page's model after it was cut to the edition, so they say no more than it does.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import singledispatch
from typing import Any

from credits.site.links import Link
from credits.site.pages.character import CharacterPage
from credits.site.pages.home import SENTENCE, HomePage
from credits.site.pages.people import CraftPage
from credits.site.pages.person import PersonPage
from credits.site.pages.puppet import PuppetPage
from credits.site.pages.shot import ShotPage
from credits.site.pages.week import WeekPage

LONGEST = 300
MOST_NAMES = 5
OF_LISTS = {
    "characters.html": "The characters of {film}: who gave each a voice, who animated it.",
    "people.html": "Everybody who worked on {film}, with their crafts.",
    "crafts.html": "The crafts and departments of {film}, and who did what.",
    "credits.html": "The end credits of {film}.",
    "film.html": "{film}: who is behind every frame of the cut.",
    "reasons.html": "Why everybody stands where they stand in the end credits of {film}.",
    "roll.html": "The end credits of {film} as they roll.",
    "counted.html": "How the footage and the credits of {film} are counted.",
    "shots.html": "The shots of {film} by sequence.",
    "weeks.html": "The weeks of work on {film}.",
    "ahead.html": "What is still to shoot of {film}, and how long that would take.",
    "hospital.html": "Which puppets of {film} wait for repair, and which are back.",
    "retakes.html": "What was taken again of {film}, and why.",
}
"""What is said of a page that stands once, by its template."""


def in_short(template: str, model: Any, film: str) -> tuple[str, str]:
    """Return a sentence about a page and the name of its picture; empty where there is none."""
    said, picture = _in_short(model, film)
    said = said or OF_LISTS.get(template, "").format(film=film)
    said = " ".join(said.split())
    return said if len(said) <= LONGEST else f"{said[: LONGEST - 1].rstrip()}…", picture


def _names(links: Iterable[Link]) -> str:
    names = list(dict.fromkeys(map(str, links)))
    more = f" and {len(names) - MOST_NAMES} more" if len(names) > MOST_NAMES else ""
    return ", ".join(names[:MOST_NAMES]) + more


@singledispatch
def _in_short(_model: Any, _film: str) -> tuple[str, str]:
    return "", ""


@_in_short.register
def _home(page: HomePage, film: str) -> tuple[str, str]:
    picture = next((picture for _, picture, _ in page.characters if picture), "")
    general = f"Who made each character’s performance in {film}, and what follows from it."
    return general if page.sentence == SENTENCE else page.sentence, picture


@_in_short.register
def _character(page: CharacterPage, film: str) -> tuple[str, str]:
    performed = (
        f" {row.craft}: {_names([*(one.person for one in row.with_footage), *row.others])}."
        for row in page.performed_by
    )
    return f"{page.name}, a character of {film}.{''.join(performed)}", page.picture


@_in_short.register
def _person(page: PersonPage, film: str) -> tuple[str, str]:
    lines = (", ".join(filter(None, (line.heading, line.role))) for line in page.lines)
    credit = "; ".join(dict.fromkeys(lines))
    return f"{page.name} on {film}{f': {credit}' if credit else ''}.", page.picture


@_in_short.register
def _puppet(page: PuppetPage, film: str) -> tuple[str, str]:
    return f"{page.name}, a puppet of {film}: who built it, what it wore.", page.picture


@_in_short.register
def _shot(page: ShotPage, film: str) -> tuple[str, str]:
    return f"Shot {page.code} of {film}: who worked on which frames.", page.picture


@_in_short.register
def _week(page: WeekPage, film: str) -> tuple[str, str]:
    return f"What was done on {film}, {page.days}.", ""


@_in_short.register
def _craft(page: CraftPage, film: str) -> tuple[str, str]:
    return f"{page.name} on {film}: who did it, for which characters.", ""
