"""Pages that lead on: for an address that is not there, and for the code of a person joined."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial

from credits.editions import Everyone
from credits.names import fold
from credits.site import links
from credits.site.links import About, Link, Page
from credits.site.source import PageSource


@dataclass(frozen=True, slots=True, kw_only=True)
class ElsewherePage:
    """What the page says, and where it leads. to: None: nobody knows, so nowhere by itself."""

    heading: Everyone[str]
    to: Everyone[Link | None]


def _joined(source: PageSource) -> Iterator[tuple[str, Link]]:
    """Yield the codes that were joined with another, each with the person they lead to.

    A code goes with the name that it was given for. Where that is not the name that the person has
    now, it may be a former one: then the office alone has the old address.
    """
    ledger = source.ledger
    for code, one in sorted(ledger.one_person.items()):
        if code == one or not source.named(one):
            continue
        former = fold(ledger.people[code].credit_name) != fold(ledger.people[one].credit_name)
        link = source.person(one)
        if link is not None and (source.office or not former):
            yield code, link


def elsewhere_pages(source: PageSource) -> Iterator[Page]:
    """Yield ``404.html``, which servers show for what is not there, and the old addresses."""
    heading, template = "There is no such page", "elsewhere.html"
    gone = partial(ElsewherePage, heading=heading, to=None)
    yield Page(links.NOT_FOUND, template, heading, "", gone, About())
    for code, link in _joined(source):
        moved = partial(ElsewherePage, heading=link.text, to=link)
        yield Page(links.person_page(code), template, link.text, links.PEOPLE, moved)
