"""How it is counted: the rules in plain words, with this production's settings and this edition."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from credits.cautions import CREDITS_CAUTION, MATERIALS_CAUTION, REVIEW_CAUTION
from credits.compute.roll import LEAST_SECONDS_A_LINE
from credits.editions import Crew, Edition, Everyone
from credits.model.facts import Production
from credits.pages import links
from credits.pages.counted_example import Example, example
from credits.pages.page import Page
from credits.pages.source import PageSource
from credits.pages.words import day_text
from credits.units.film_time import FrameRate, Gauge, clock, feet_text

CREDITS_THAT_PRINT = "characters, puppets, pictures, the credits that print, order of appearance"
# What is shown, and whether the public, the crew and the office edition show it.
EDITIONS: tuple[tuple[str, str, str, str], ...] = (
    (CREDITS_THAT_PRINT, "yes", "yes", "yes"),
    ("people: credit name, crafts, characters", "if their credit prints", "yes", "yes"),
    ("people who asked to be uncredited", "no", "as “uncredited”, without a page", "yes"),
    ("shots, frames, who animated what, hands, reach", "no", "yes", "yes"),
    ("dates, stages, the pages of weeks", "no", "yes", "yes"),
    ("notes", "public ones of characters", "all but private ones", "yes"),
    ("minutes, waits, pace, re-shot share, reviews, held lines, checks", "no", "no", "yes"),
    ("legal names, e-mail addresses", "no", "no", "no"),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Setting:
    """A setting of the production and what it means."""

    name: Everyone[str]
    value: Everyone[str]
    meaning: Everyone[str]


@dataclass(frozen=True, slots=True)
class EditionRow:
    """What is shown, and whether each edition shows it."""

    what: Everyone[str]
    public: Everyone[str]
    crew: Everyone[str]
    office: Everyone[str]


@dataclass(frozen=True, slots=True)
class CountedPage:
    """What the page holds besides the rules themselves, which are the same for everybody."""

    settings: Everyone[tuple[Setting, ...]]
    editions: Everyone[tuple[EditionRow, ...]]
    edition: Everyone[str]
    data: Everyone[str]
    least_line: Everyone[str]
    credits_caution: Everyone[str]
    materials_caution: Everyone[str]
    review_caution: Crew[str] = ""
    example: Crew[Example | None] = None
    cut: Crew[str] = ""


def _rate_meaning(rate: FrameRate) -> str:
    return f"{clock(1000, rate)} of running time for every 1,000 frames"


def _gauge_meaning(gauge: Gauge) -> str:
    if gauge.whole_feet:
        return f"200 frames are written {feet_text(200, gauge)}: feet, a plus sign, frames"
    return f"200 frames are written {feet_text(200, gauge)}, in decimal feet"


def _settings(production: Production) -> tuple[Setting, ...]:
    return (
        Setting(
            "frame rate",
            f"{production.rate.text} frames a second",
            _rate_meaning(production.rate),
        ),
        Setting("film gauge, for feet", production.gauge.name, _gauge_meaning(production.gauge)),
    )


def _cut_text(source: PageSource) -> str:
    cut = source.ledger.cut
    if cut is None:
        return (
            "There is no cut yet, so nothing is counted in the cut or on screen, and reach is"
            " over the kept frames of the take that each shot means."
        )
    day = f", brought in on {day_text(cut.brought_in_on)}" if cut.brought_in_on else ""
    length = clock(cut.length, source.ledger.production.rate)
    return f"The current cut is version {cut.version}{day}; it runs {length}."


def _data_text(source: PageSource) -> str:
    last = source.ledger.last_day
    if source.ledger.last_line is None:
        return "The log holds no entry yet."
    if last is None:
        return "Everything here is counted from the log; its entries carry no dates."
    return (
        f"Everything here is counted from the log; the last day of work in it is {day_text(last)}."
    )


_EDITION_TEXT = {
    Edition.PUBLIC: "This is the public edition.",
    Edition.CREW: "This is the crew edition.",
    Edition.OFFICE: "This is the office edition.",
}


def counted_pages(source: PageSource) -> Iterator[Page]:
    """``counted.html``."""
    model = CountedPage(
        settings=_settings(source.ledger.production),
        editions=tuple(EditionRow(*row) for row in EDITIONS),
        edition=_EDITION_TEXT[source.edition],
        data=_data_text(source),
        least_line=f"{LEAST_SECONDS_A_LINE}",
        credits_caution=CREDITS_CAUTION,
        materials_caution=MATERIALS_CAUTION,
        review_caution=REVIEW_CAUTION,
        example=example() if source.crew else None,
        cut=_cut_text(source),
    )
    yield Page(links.COUNTED, "counted.html", "How it is counted", links.COUNTED, model)
