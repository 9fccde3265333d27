"""Notes that somebody wrote, as HTML that is safe to show."""

from __future__ import annotations

from functools import cache, lru_cache
from xml.etree.ElementTree import Element

import nh3
from markdown import Markdown
from markdown.treeprocessors import Treeprocessor
from markupsafe import Markup

LINE_TAGS = frozenset({"em", "strong", "code", "a", "del", "sup", "sub", "abbr", "br"})
BLOCK_TAGS = LINE_TAGS | {"p", "hr", "pre", "blockquote", "ul", "ol", "li", "dl", "dt", "dd"}
BLOCK_TAGS |= {"h3", "h4", "h5", "h6", "table", "thead", "tbody", "tr", "th", "td"}
_LINKS = frozenset({"http", "https", "mailto"})


@cache
def _markdown() -> Markdown:
    class LinksThatLeadOut(Treeprocessor):
        """A link in a note may lead out of the site; within it a note cannot know the way."""

        def run(self, root: Element) -> None:
            for link in root.iter("a"):
                scheme, colon, _ = link.get("href", "").partition(":")
                if not colon or scheme.lower() not in _LINKS:
                    link.tag = "span"
                    link.attrib.clear()

    # Headings in a note stand below those of the page that shows it.
    made = Markdown(
        extensions=["tables", "sane_lists", "toc"],
        extension_configs={"toc": {"baselevel": 3, "marker": "", "anchorlink": False}},
        output_format="html",
    )
    # What looks like a tag in a note is what somebody typed, and is shown as that.
    made.preprocessors.deregister("html_block")
    made.inlinePatterns.deregister("html")
    made.treeprocessors.register(LinksThatLeadOut(made), "links_that_lead_out", 0)
    return made


@cache
def _cleaner(tags: frozenset[str]) -> nh3.Cleaner:
    return nh3.Cleaner(
        tags=set(tags),
        attributes={"a": {"href", "title"}, "abbr": {"title"}, "td": {"style"}, "th": {"style"}},
        filter_style_properties={"text-align"},
        url_schemes=set(_LINKS),
        link_rel="noopener noreferrer",
        clean_content_tags={"script", "style"},
    )


MOST_BRACKETS = 300
"""Of a note that has more, no links are made: each is looked for to the end of the note."""


def _cleaned(text: str, tags: frozenset[str]) -> Markup:
    if text.count("[") > MOST_BRACKETS:
        text = text.replace("[", "&#91;")
    try:
        html = _markdown().reset().convert(text)
    except RecursionError:  # lists in lists without end: shown as they were typed
        html = Markup("<p>{}</p>").format(text)
    return Markup(_cleaner(tags).clean(html))


@lru_cache(maxsize=10_000)
def markdown(text: str) -> Markup:
    """Write a note as paragraphs, lists, tables and links that lead out of the site.

    Tags that somebody typed are shown as text. Pictures are left out: no page asks for anything
    that is not in the site's own folder.
    """
    return _cleaned(text, BLOCK_TAGS)


@lru_cache(maxsize=10_000)
def markdown_line(text: str) -> Markup:
    """Write a note as one line for a table cell: emphasis, code and links alone."""
    return _cleaned(text, LINE_TAGS).strip()
