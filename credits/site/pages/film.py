"""The film page: whose work am I looking at?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial

from credits.editions import Crew, Everyone
from credits.footage.cut import CutUse
from credits.model.facts import CutClip
from credits.site import links, strips
from credits.site.bands import Band, bands
from credits.site.links import Page
from credits.site.pages.shot import sequence_link
from credits.site.pages.shots import sequences_in_film
from credits.site.pieces import sequence_of, stretches_by
from credits.site.source import PageSource
from credits.units.film_time import clock
from credits.units.table import Column, Table, Unit, columns

APPEARING_COLUMNS = (
    Column(key="character", heading="Character"),
    Column(key="first", heading="First seen at", unit=Unit.RUNNING),
    *columns(voice="Voice"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmPage:
    """The strip of the film and what is in it. index: the data that the slider is made of.

    appearing: the characters in the order in which they are first seen.
    """

    index: Everyone[str]
    length: Everyone[str]
    frames: Everyone[str]
    bands: Everyone[tuple[Band, ...]]
    appearing: Everyone[Table | None]
    sequences: Crew[Table | None] = None


def _bands(source: PageSource, use: CutUse) -> Iterator[Band]:
    length = use.cut.length

    def of(clip: CutClip) -> str:
        return sequence_of(source.ledger, clip) if source.crew else ""

    stretches = stretches_by(use, of, length / strips.HAIRS)
    return bands(stretches, length, partial(sequence_link, source))


def _appearing(source: PageSource) -> Table | None:
    rows = [
        (
            source.character(code),
            first - 1,
            source.names(source.voices.get(code, ())),
        )
        for code, first in source.results.first_seen
    ]
    caption = "The characters in the order in which they appear"
    return Table.of(caption, APPEARING_COLUMNS, rows, source.scale) if rows else None


def _film_page(source: PageSource) -> FilmPage:
    use = source.results.use
    return FilmPage(
        index=links.FILM_INDEX if use else "",
        length=clock(use.cut.length, source.scale.rate) if use else "",
        frames=f"{use.cut.length:,}" if use else "",
        bands=tuple(_bands(source, use)) if use else (),
        appearing=_appearing(source) if use else None,
        sequences=sequences_in_film(source) if use else None,
    )


def film_pages(source: PageSource) -> Iterator[Page]:
    """Make the one page of the film."""
    yield Page(links.FILM, "film.html", "Film", links.FILM, partial(_film_page, source))
