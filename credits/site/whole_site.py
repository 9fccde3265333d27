"""All pages of an edition, and the frame that stands around each."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from credits.editions import Edition
from credits.site import links
from credits.site.links import DataFile, Frame, NavItem, Page
from credits.site.pages.character import character_pages, characters_pages, replacement_pages
from credits.site.pages.checks import checks_pages
from credits.site.pages.counted import counted_pages
from credits.site.pages.crafts import crafts_pages
from credits.site.pages.credits import credits_pages
from credits.site.pages.footage import footage_pages
from credits.site.pages.home import home_pages
from credits.site.pages.person import people_pages, person_pages
from credits.site.pages.puppet import puppet_pages
from credits.site.pages.review import review_pages
from credits.site.pages.shot import shot_pages
from credits.site.pages.shots import shots_page
from credits.site.pages.week import week_pages
from credits.site.source import PageSource, jump_file
from credits.units.film_time import day_text

_NAV: tuple[tuple[str, str, Edition], ...] = (
    ("Characters", links.CHARACTERS, Edition.PUBLIC),
    ("Shots", links.SHOTS, Edition.CREW),
    ("People", links.PEOPLE, Edition.PUBLIC),
    ("Crafts", links.CRAFTS, Edition.PUBLIC),
    ("Weeks", links.WEEKS, Edition.CREW),
    ("Credits", links.CREDITS, Edition.PUBLIC),
    ("Footage", links.FOOTAGE, Edition.OFFICE),
    ("Checks", links.CHECKS, Edition.OFFICE),
)

_EDITION_WORDS = {
    Edition.PUBLIC: "Public edition",
    Edition.CREW: "Crew edition: for the crew of this production only",
    Edition.OFFICE: "Office edition: for the production office only",
}

Builder = Callable[[PageSource], Iterator[Page | DataFile]]


def builders(edition: Edition) -> tuple[Builder, ...]:
    """The builders of the pages that an edition has."""
    every: tuple[tuple[Builder, Edition], ...] = (
        (home_pages, Edition.PUBLIC),
        (characters_pages, Edition.PUBLIC),
        (character_pages, Edition.PUBLIC),
        (replacement_pages, Edition.CREW),
        (crafts_pages, Edition.PUBLIC),
        (footage_pages, Edition.OFFICE),
        (review_pages, Edition.OFFICE),
        (checks_pages, Edition.OFFICE),
        (puppet_pages, Edition.PUBLIC),
        (shots_page, Edition.CREW),
        (shot_pages, Edition.CREW),
        (week_pages, Edition.CREW),
        (people_pages, Edition.PUBLIC),
        (person_pages, Edition.PUBLIC),
        (credits_pages, Edition.PUBLIC),
        (counted_pages, Edition.PUBLIC),
        (jump_file, Edition.PUBLIC),
    )
    return tuple(builder for builder, least in every if edition.sees(least))


def all_pages(source: PageSource) -> Iterator[Page | DataFile]:
    """Every page and data file of the source's edition."""
    for builder in builders(source.edition):
        yield from builder(source)


def as_of(source: PageSource) -> str:
    """What the data is: the last line of the log, the last day of work, the version of the cut."""
    ledger = source.ledger
    if ledger.last_line is None:
        return "The log is empty"
    cut = f"cut {ledger.cut.version}" if ledger.cut else "no cut yet"
    if not source.crew:
        return f"Log as of {day_text(ledger.last_day)}" if ledger.last_day else "Log without dates"
    day = f", {day_text(ledger.last_day)}" if ledger.last_day else ""
    return f"Log as of entry {ledger.last_line}{day}; {cut}"


def frame_of(page: Page, source: PageSource) -> Frame:
    """The frame of a page: what stands around it in this edition."""
    nav = tuple(
        NavItem(text, href, href == page.part)
        for text, href, least in _NAV
        if source.edition.sees(least)
    )
    return Frame(
        title=page.title,
        film=source.ledger.production.title,
        root=links.root_of(page.path),
        nav=nav,
        edition=_EDITION_WORDS[source.edition],
        as_of=as_of(source),
        crew=source.crew,
        office=source.office,
    )
