"""Reach: the time in the film and the share of it are of the same frames, each counted once."""

from __future__ import annotations

from fractions import Fraction

from credits.editions import Edition
from credits.figures.snapshot import Snapshot
from credits.site.links import Page
from credits.site.pages.person import PersonPage, person_pages
from credits.site.source import PageSource
from tests.small_log import small_ledger

# Ana's 24 frames are shown twice, Ben's 24 once: 48 distinct frames, 72 film frames.
SHOWN_TWICE = """
    [people]
    person
    ana
    ben
    cai

    [characters]
    character
    wick

    [sequences]
    sequence
    010

    [shots]
    shot, sequence, frames
    010-020, 010, 60

    [entries]
    craft, person, character, shot, frames, finished_on
    animation, ana, wick, 010-020, 1-24, 2026-03-02
    animation, ben, wick, 010-020, 25-60, 2026-03-02
    sculpt, cai, wick, , , 2026-01-09

    [cut]
    shot, first, last
    010-020, 1, 24
    010-020, 25, 48
    010-020, 1, 24
"""


def test_frames_that_are_shown_again_are_on_screen_again_but_reached_once() -> None:
    reach = Snapshot(small_ledger(SHOWN_TWICE)).reach
    assert {person: (own.frames, own.screen_frames) for person, own in reach.items()} == {
        "ana": (24, 48), "ben": (24, 24), "cai": (48, 72),
    }  # fmt: skip


def test_the_share_is_of_the_distinct_frames_of_the_cut() -> None:
    results = Snapshot(small_ledger(SHOWN_TWICE))
    assert results.use is not None
    assert results.use.distinct_frames == 48
    assert [own.share_of(results.use) for own in results.reach.values()] == [
        Fraction(1, 2), Fraction(1, 2), 1,
    ]  # fmt: skip


def test_a_persons_page_says_time_and_share_of_the_same_frames() -> None:
    source = PageSource(Snapshot(small_ledger(SHOWN_TWICE)), Edition.CREW)
    said = {}
    for file in person_pages(source):
        if isinstance(file, Page) and isinstance(file.model, PersonPage) and file.model.reach:
            said[file.path] = (file.model.reach.running, file.model.reach.of_film)
    assert said == {
        "people/ana.html": ("0:01", "50.0 % of the film, each frame counted once"),
        "people/ben.html": ("0:01", "50.0 % of the film, each frame counted once"),
        "people/cai.html": ("0:02", "100.0 % of the film, each frame counted once"),
    }
