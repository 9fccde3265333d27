"""Names as a page writes them: in their own direction, leading to their page where there is one."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache

from markupsafe import Markup

from credits.pages.page import Link


@lru_cache(maxsize=100_000)
def name(link: Link, root: str) -> Markup:
    """The name, isolated from the text around it, as a link where it leads somewhere.

    ``root``: the way from the page that shows it to the root of the site. A name stands on a page
    hundreds of times and on hundreds of pages, so it is written once and remembered.
    """
    text = Markup('<bdi dir="{}">{}</bdi>').format(link.direction, link.text)
    if link.href is None:
        return text
    return Markup('<a href="{}{}">{}</a>').format(root, link.href, text)


def names(links: Iterable[Link], root: str) -> Markup:
    """The names, separated by commas."""
    return Markup(", ").join(name(link, root) for link in links)
