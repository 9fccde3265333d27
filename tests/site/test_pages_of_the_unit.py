"""The pages of the unit say the same of figures that are kept and of figures computed at once."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from credits.app.figures import read_ledger
from credits.app.production import open_snapshot
from credits.editions import Edition
from credits.figures.snapshot import Snapshot
from credits.model.facts import ShotStatus
from credits.site.links import Page
from credits.site.pages.ahead import ahead_pages
from credits.site.pages.hospital import hospital_pages
from credits.site.pages.retakes import retakes_pages
from credits.site.render import Builder, render
from credits.site.source import PageSource

MOST = 300_000  # bytes of a page


@pytest.mark.parametrize("builder", [ahead_pages, hospital_pages, retakes_pages])
def test_what_is_kept_and_what_is_computed_make_one_page(
    example_production: Path, builder: Builder
) -> None:
    kept = open_snapshot(example_production)
    computed = Snapshot(read_ledger(example_production))
    said = []
    for snapshot in (kept, computed):
        source = PageSource(snapshot, Edition.OFFICE)
        (page,) = builder(source)
        assert isinstance(page, Page)
        said.append(render(page, source))
    assert said[0] == said[1]
    assert len(said[0].encode()) < MOST


def test_with_the_cut_the_film_wants_its_frames_and_without_one_all_of_the_shots(
    example_production: Path,
) -> None:
    ledger = read_ledger(example_production)
    assert ledger.cut is not None
    for without in (False, True):
        snapshot = Snapshot(replace(ledger, cut=None) if without else ledger)
        (page,) = ahead_pages(PageSource(snapshot, Edition.CREW))
        shots = [s for s in ledger.shots.values() if s.status is not ShotStatus.OMITTED]
        use = snapshot.use
        wanted = sum(s.length for s in shots) if use is None else use.distinct_frames
        assert sum(page.model.sequences.column("wanted")) == wanted
