"""All pages of an edition, rendered by their templates, and the files beside them."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cache, partial
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from credits import cautions, files
from credits.editions import Edition, cut_to
from credits.site import html, links
from credits.site.compiled import CompiledTemplates
from credits.site.contents import with_contents
from credits.site.in_short import in_short
from credits.site.jump import jump_file
from credits.site.links import DataFile, Frame, Link, Page
from credits.site.markdown import markdown, markdown_line
from credits.site.pages.ahead import ahead_pages
from credits.site.pages.character import character_pages, replacement_pages
from credits.site.pages.checks import checks_pages
from credits.site.pages.counted import counted_pages
from credits.site.pages.credits import credits_pages
from credits.site.pages.elsewhere import elsewhere_pages
from credits.site.pages.film import film_pages
from credits.site.pages.footage import footage_pages
from credits.site.pages.home import home_pages
from credits.site.pages.hospital import hospital_pages
from credits.site.pages.people import crafts_pages, people_pages
from credits.site.pages.person import person_pages
from credits.site.pages.puppet import puppet_pages
from credits.site.pages.reasons import reasons_pages
from credits.site.pages.retakes import retakes_pages
from credits.site.pages.review_parts import review_and_parts_pages
from credits.site.pages.shot import shot_pages
from credits.site.pages.shots import shots_pages
from credits.site.pages.week import week_pages
from credits.site.paper import style_sheet, titled
from credits.site.pieces import film_files
from credits.site.publish import File, OldFile
from credits.site.source import PageSource
from credits.two_processes import here_and_there, in_order

MOST_THERE = 90
"""Pages and files of people: of what is more, each process makes half."""

_NAV: tuple[tuple[str, str, Edition], ...] = (
    ("Film", links.FILM, Edition.PUBLIC),
    ("Characters", links.CHARACTERS, Edition.PUBLIC),
    ("Shots", links.SHOTS, Edition.CREW),
    ("People", links.PEOPLE, Edition.PUBLIC),
    ("Crafts", links.CRAFTS, Edition.PUBLIC),
    ("Weeks", links.WEEKS, Edition.CREW),
    ("Ahead", links.AHEAD, Edition.CREW),
    ("Hospital", links.HOSPITAL, Edition.CREW),
    ("Credits", links.CREDITS, Edition.PUBLIC),
    ("Footage", links.FOOTAGE, Edition.OFFICE),
    ("Checks", links.CHECKS, Edition.OFFICE),
)

# The pages that say what the data is. The others lead to the second, and so change with what they
# show and with nothing else.
_DATED = (links.HOME, links.COUNTED)

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
            *(people_pages, person_pages, credits_pages, counted_pages, elsewhere_pages, jump_file),
            *(film_pages, film_files),
        ),
    ),
    (
        Edition.CREW,
        (
            *(replacement_pages, shots_pages, shot_pages, week_pages),
            *(ahead_pages, hospital_pages),
        ),
    ),
    (
        Edition.OFFICE,
        (footage_pages, retakes_pages, review_and_parts_pages, reasons_pages, checks_pages),
    ),
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
    film = source.ledger.production.title
    return Frame(
        title=film if page.path == links.HOME else f"{page.title} – {film}",
        film=film,
        root=links.root_of(page.path),
        nav=tuple((text, href, href == page.part) for text, href, _ in nav),
        edition=_EDITION_WORDS[source.edition],
        as_of=source.as_of if page.path in _DATED else "",
        crew=source.crew,
        office=source.office,
        alphabet=source.ledger.production.alphabet,
    )


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
        bytecode_cache=CompiledTemplates(),
        # What a filter makes of a constant is not known when a template is compiled.
        optimized=False,
    )
    made.filters |= {"markdown": markdown, "markdown_line": markdown_line}
    made.filters |= {"name": html.name, "names": html.names, "table": html.table}
    made.filters["folded_tables"] = html.folded_tables
    made.filters["titled"] = titled
    made.globals["cautions"] = cautions
    made.tests["links"] = lambda value: isinstance(value, tuple)
    made.tests["link"] = lambda value: isinstance(value, Link)
    return made


def rendered(template: str, **values: Any) -> str:
    """Return the page that a template makes of a frame and a page model."""
    return environment().get_template(template).render(**values)


def static_files() -> dict[str, bytes]:
    """Read the scripts and the icon, by their place in the site."""
    paths = sorted(files.shipped("site_templates").iterdir())
    return {path.name: path.read_bytes() for path in paths if path.suffix in (".js", ".svg")}


def render(page: Page, source: PageSource) -> str:
    """Write one page as HTML: its model and what stands around it are first cut to the edition."""
    frame, model = cut_to((frame_of(page, source), page.model), source.edition)
    said, picture = in_short(page.template, model, frame.film)
    frame = replace(frame, description=said, picture=picture)
    written = rendered(page.template, frame=frame, page=model)
    return with_contents(html.with_patterns_asked_for(written))


def _is_of(item: Page | DataFile, kind: str) -> bool:
    return item.about is not None and item.about.kind == kind


def _sequence_of(source: PageSource, item: Page | DataFile) -> str | None:
    """Return the sequence of a piece of the film or of a shot's page; None: it is neither."""
    if item.about is not None and item.about.kind == "sequence":
        return item.about.code
    shot = item.about is not None and item.about.kind == "shot" and item.about.code
    return source.ledger.shots[shot].sequence if shot else None


def pages_of_shots(source: PageSource, shots: Collection[str]) -> Iterator[tuple[str, bytes]]:
    """Yield the pages of some shots, as far as the edition has them, by themselves."""
    for item in shot_pages(source) if shot_pages in builders(source.edition) else ():
        if item.about is not None and item.about.code in shots:
            yield item.path, render(item, source).encode("utf-8")


def site_files(
    source: PageSource,
    pictures: Mapping[str, bytes],
    items: Sequence[Page | DataFile] | None = None,
    old: Mapping[str, OldFile] | None = None,
) -> Iterator[tuple[str, File]]:
    """Yield every file of the edition: pages, data files, pictures, style sheet, scripts.

    They are made as they are asked for, and none is held.
    items: the pages and data files, where they were listed already. old: those files that stay as
    they are, by their path.
    """

    def made(item: Page | DataFile) -> bytes:
        return item.content if isinstance(item, DataFile) else render(item, source).encode("utf-8")

    every = list(all_pages(source)) if items is None else items
    stay = old or {}
    stale = [item for item in every if item.path not in stay]
    yield from stay.items()
    if source.results.is_held:
        # What pages share is computed before there are two processes.
        for item in stale:
            item.share()
        sequence_of = partial(_sequence_of, source)
        # A piece of the film and the pages of its shots tell of the same hands: one process finds
        # these once.
        places = {code: at for at, code in enumerate(source.ledger.sequences, 1)}
        stale.sort(key=lambda item: places.get(sequence_of(item) or "", 0))
        contents = in_order(stale, made, sequence_of)
        yield from zip((item.path for item in stale), contents, strict=True)
    else:
        # What pages of people share is read by one process alone, and what pieces of the film
        # do.
        people = [item for item in stale if _is_of(item, "person")]
        source.results.expect_people({item.about.code for item in people if item.about})
        pieces = [item for item in stale if _is_of(item, "sequence")]
        there = [*people[max(0, len(people) - MOST_THERE) // 2 :], *pieces]
        paths = {item.path for item in there}
        here = [item for item in stale if item.path not in paths]
        contents = here_and_there(here, there, made)
        yield from zip((item.path for item in (*here, *there)), contents, strict=True)
    for picture, content in pictures.items():
        yield f"pictures/{picture}", content
    film = source.ledger.production.title
    yield "style.css", style_sheet(film, _EDITION_WORDS[source.edition], source.as_of)
    yield from static_files().items()
