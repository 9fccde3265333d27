"""An entry changes the pages that are about what it touches, and no other."""

from __future__ import annotations

import pytest

from credits.editions import Edition
from credits.figures.snapshot import Snapshot
from credits.site.render import site_files
from credits.site.source import PageSource
from tests.small_log import WORKED_EXAMPLE, small_ledger

# Two people, a character and a shot that the entries below have nothing to do with.
WORK = """
    [people]
    person, credit_name
    ana, Ana
    ben, Ben
    cai, Cai
    dee, Dee

    [characters]
    character
    wick
    brine

    [puppets]
    puppet, character
    wick-1, wick
    brine-1, brine

    [sequences]
    sequence
    010
    020

    [shots]
    shot, sequence, frames
    010-010, 010, 48
    020-010, 020, 48

    [stages]
    stage
    north

    [entries]
    craft, person, character, puppet, shot, frames, finished_on, stage
    sculpt, cai, wick, , , , 2025-09-01,
    sculpt, dee, brine, , , , 2025-09-01,
    animation, ana, wick, wick-1, 010-010, 1-20, 2026-03-02, north
    animation, ben, brine, brine-1, 020-010, 1-48, 2026-03-09, north
"""
ONE_MORE = "    animation, ana, wick, wick-1, 010-010, 21-30, 2026-03-03, north\n"


def files_of(text: str, edition: Edition) -> dict[str, bytes]:
    return dict(site_files(PageSource(Snapshot(small_ledger(text)), edition), {}))


def changed(edition: Edition) -> set[str]:
    before, after = files_of(WORK, edition), files_of(WORK + ONE_MORE, edition)
    assert before.keys() == after.keys()
    return {path for path in before if before[path] != after[path]}


def test_one_more_day_of_animation_changes_what_it_is_about() -> None:
    about = {
        "shots/010-010.html", "shots/index.html", "shots/shots.csv",
        "characters/wick.html", "characters/index.html", "puppets/wick-1.html",
        "people/ana.html", "people/ana-shots.csv", "people/cai.html",
        "weeks/2026-w10.html", "weeks/index.html", "crafts/animation.html",
        "index.html", "counted.html",
    }  # fmt: skip
    assert changed(Edition.CREW) <= about
    assert changed(Edition.CREW) >= {"shots/010-010.html", "people/ana.html", "counted.html"}


def test_the_public_reads_no_day_of_animation() -> None:
    assert changed(Edition.PUBLIC) <= {"index.html", "counted.html"}


@pytest.mark.parametrize("edition", Edition)
def test_the_first_page_and_how_it_is_counted_say_what_the_data_is(edition: Edition) -> None:
    files = files_of(WORKED_EXAMPLE, edition)
    dated = {path for path, content in files.items() if b"Log as of" in content}
    assert dated == {"index.html", "counted.html"}
