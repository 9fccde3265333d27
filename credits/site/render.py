"""All pages of an edition, rendered by their templates: Markdown of notes, names, files."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import cache, lru_cache
from typing import Any
from xml.etree.ElementTree import Element

import nh3
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markdown import Markdown
from markdown.treeprocessors import Treeprocessor
from markupsafe import Markup

from credits import cautions, files
from credits.editions import Edition, cut_to
from credits.site import links
from credits.site.links import DataFile, Frame, Link, Page
from credits.site.pages.character import character_pages, puppet_pages, replacement_pages
from credits.site.pages.counted import counted_pages
from credits.site.pages.credits import credits_pages
from credits.site.pages.footage import footage_pages, review_pages
from credits.site.pages.home import checks_pages, home_pages
from credits.site.pages.people import crafts_pages, people_pages
from credits.site.pages.person import person_pages
from credits.site.pages.shot import shot_pages
from credits.site.pages.week import week_pages
from credits.site.source import PageSource, jump_file
from credits.units.table import Table

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
# Who may see the pages of a builder; the files are written in this order.
_BUILDERS: tuple[tuple[Edition, tuple[Builder, ...]], ...] = (
    (
        Edition.PUBLIC,
        (
            *(home_pages, character_pages, crafts_pages, puppet_pages),
            *(people_pages, person_pages, credits_pages, counted_pages, jump_file),
        ),
    ),
    (Edition.CREW, (replacement_pages, shot_pages, week_pages)),
    (Edition.OFFICE, (footage_pages, review_pages, checks_pages)),
)


def builders(edition: Edition) -> tuple[Builder, ...]:
    """Return the builders of the pages that an edition has."""
    return tuple(builder for least, own in _BUILDERS if edition.sees(least) for builder in own)


def all_pages(source: PageSource) -> Iterator[Page | DataFile]:
    """Yield every page and data file of the source's edition."""
    for builder in builders(source.edition):
        yield from builder(source)


def frame_of(page: Page, source: PageSource) -> Frame:
    """Return the frame of a page: what stands around it in this edition."""
    nav = (item for item in _NAV if source.edition.sees(item[2]))
    return Frame(
        title=page.title,
        film=source.ledger.production.title,
        root=links.root_of(page.path),
        nav=tuple((text, href, href == page.part) for text, href, _ in nav),
        edition=_EDITION_WORDS[source.edition],
        as_of=source.as_of,
        crew=source.crew,
        office=source.office,
    )


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


def _cleaned(text: str, tags: frozenset[str]) -> Markup:
    html = _markdown().reset().convert(text)
    return Markup(_cleaner(tags).clean(html))


@lru_cache(maxsize=50_000)
def markdown(text: str) -> Markup:
    """Write a note as paragraphs, lists, tables and links that lead out of the site.

    Tags that somebody typed are shown as text. Pictures are left out: no page asks for anything
    that is not in the site's own folder.
    """
    return _cleaned(text, BLOCK_TAGS)


@lru_cache(maxsize=50_000)
def markdown_line(text: str) -> Markup:
    """Write a note as one line for a table cell: emphasis, code and links alone."""
    return _cleaned(text, LINE_TAGS).strip()


@lru_cache(maxsize=100_000)
def name(link: Link, root: str) -> Markup:
    """Write a name, isolated from the text around it, as a link where it leads somewhere.

    root: the way from the page that shows it to the root of the site. A name stands on a page
    hundreds of times and on hundreds of pages, so it is written once and remembered.
    """
    text = Markup('<bdi dir="{}">{}</bdi>').format(link.direction, link.text)
    if link.href is None:
        return text
    return Markup('<a href="{}{}">{}</a>').format(root, link.href, text)


def names(links: Iterable[Link], root: str) -> Markup:
    """Write names, separated by commas."""
    return Markup(", ").join(name(link, root) for link in links)


@cache
def environment() -> Environment:
    """Return the environment over the folder of templates."""
    made = Environment(
        loader=FileSystemLoader(files.shipped("site_templates"), encoding="utf-8"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        auto_reload=False,
        cache_size=-1,
    )
    made.filters |= {"markdown": markdown, "markdown_line": markdown_line}
    made.filters |= {"name": name, "names": names, "printed": Table.printed}
    made.globals["cautions"] = cautions
    made.tests["links"] = lambda value: isinstance(value, tuple)
    made.tests["link"] = lambda value: isinstance(value, Link)
    return made


def rendered(template: str, **values: Any) -> str:
    """Return the page that a template makes of a frame and a page model."""
    return environment().get_template(template).render(**values)


def static_files() -> dict[str, bytes]:
    """Read the style sheet and the scripts, by their place in the site."""
    paths = sorted(files.shipped("site_templates").iterdir())
    return {path.name: path.read_bytes() for path in paths if path.suffix in (".css", ".js")}


def render(page: Page, source: PageSource) -> str:
    """Write one page as HTML: its model and what stands around it are first cut to the edition."""
    frame, model = cut_to((frame_of(page, source), page.model), source.edition)
    return rendered(page.template, frame=frame, page=model)


def site_files(source: PageSource, pictures: Mapping[str, bytes]) -> Iterator[tuple[str, bytes]]:
    """Yield every file of the edition: pages, data files, pictures, style sheet, scripts."""
    for item in all_pages(source):
        if isinstance(item, DataFile):
            yield item.path, item.content
        else:
            yield item.path, render(item, source).encode("utf-8")
    for picture, content in pictures.items():
        yield f"pictures/{picture}", content
    yield from static_files().items()
