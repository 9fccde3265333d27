"""Contents at the head of a long page: its headings, each leading to its place."""

from __future__ import annotations

import re
from collections.abc import Iterator

LONG = 10_000  # characters; such a page may be longer than ten screens of a telephone
FEWEST = 3  # headings that are worth a list

_HEADING = re.compile(r'<h2(?: id="(?P<id>[^"]*)")?>(?P<said>.*?)</h2>', re.DOTALL)
_HEAD = re.compile(r'</h1>\s*(?:<(p|div) class="lede">.*?</\1>\s*)?', re.DOTALL)
_ASIDE = re.compile(r"<small.*?</small>|</?a\b[^>]*>", re.DOTALL)
_OWN = ('class="letters"', 'class="contents')
HERE = "<!--contents-->"
"""Where a template puts it, contents stand there and not at the head."""


def with_contents(page: str) -> str:
    """Return a page as its template wrote it, with contents where it is long and has none.

    Headings that had no place get one.
    """
    start, end = page.find("<main"), page.rfind("</main>")
    main = page[start:end]
    if start < 0 or len(main) < LONG or any(own in main for own in _OWN):
        return page.replace(HERE, "", 1)
    found = list(_HEADING.finditer(main))
    head = _HEAD.search(main)
    if len(found) < FEWEST or head is None:
        return page.replace(HERE, "", 1)
    listed: list[str] = []
    body = "".join(_placed(main[head.end() :], listed))
    contents = "\n".join(listed)
    nav = f'<nav class="contents" aria-label="On this page"><ul>\n{contents}\n</ul></nav>\n'
    body = body.replace(HERE, nav, 1) if HERE in body else f"{nav}{body}"
    return f"{page[:start]}{main[: head.end()]}{body}{page[end:]}"


def _placed(body: str, listed: list[str]) -> Iterator[str]:
    """Yield a text with a place at every heading, each of which is listed meanwhile."""
    at = 0
    for number, match in enumerate(_HEADING.finditer(body), 1):
        place = match["id"] or f"heading-{number}"
        said = " ".join(_ASIDE.sub("", match["said"]).split())
        listed.append(f'<li><a href="#{place}">{said}</a>')
        yield body[at : match.start()]
        yield f'<h2 id="{place}">{match["said"]}</h2>'
        at = match.end()
    yield body[at:]
