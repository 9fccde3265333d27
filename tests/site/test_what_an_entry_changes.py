"""An entry changes the pages that are about what it touches, and no other."""

from __future__ import annotations

import os
from collections.abc import Iterable
from datetime import date
from itertools import count
from pathlib import Path
from typing import Any

import pytest

from credits.app import site as sites
from credits.app.end_credits.credits import CreditsNow
from credits.app.production import kept_snapshot
from credits.app.site import _latest, build_sites
from credits.editions import Edition
from credits.figures.keep import open_figures
from credits.figures.renewal import Depth
from credits.figures.snapshot import Snapshot
from credits.model import facts
from credits.model.log import Batch, NewLine, Verb
from credits.site import render
from credits.site.links import Page
from credits.site.publish import File, Published, publish
from credits.site.render import site_files
from credits.site.source import PageSource
from credits.store.beside.figures_db import forget
from credits.store.log import open_log
from credits.units.frames import Frames
from tests.productions import production_from, written_tables
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
    character, name
    wick, Wick
    brine, Brine

    [puppets]
    puppet, character
    wick-1, wick
    brine-1, brine

    [sequences]
    sequence, name
    010, One
    020, Two

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


def files_of(text: str, edition: Edition) -> dict[str, File]:
    return dict(site_files(PageSource(Snapshot(small_ledger(text)), edition), {}))


def changed(edition: Edition) -> set[str]:
    before, after = files_of(WORK, edition), files_of(WORK + ONE_MORE, edition)
    assert before.keys() == after.keys()
    return {path for path in before if before[path] != after[path]}


ABOUT = {
    "shots/010-010.html", "shots/index.html", "shots/shots.csv",
    "characters/wick.html", "characters/index.html", "puppets/wick-1.html",
    "people/ana.html", "people/ana-shots.csv", "people/cai.html",
    "weeks/2026-w10.html", "weeks/index.html", "crafts/animation.html",
    "index.html", "counted.html", "film.html", "ahead.html", "style.css",
}  # fmt: skip


def test_one_more_day_of_animation_changes_what_it_is_about() -> None:
    assert changed(Edition.CREW) <= ABOUT
    assert changed(Edition.CREW) >= {"shots/010-010.html", "people/ana.html", "counted.html"}


@pytest.fixture
def film(tmp_path: Path) -> Path:
    """The same work in a production, with a crew site."""
    tables: dict[str, str] = {}
    for block in WORK.split("    [")[1:]:
        name, _, rows = block.partition("]")
        tables[name] = "\n".join(line.strip() for line in rows.strip().splitlines())
    folder = production_from(tmp_path / "film", [written_tables(tmp_path / "tables", tables)])
    build_sites(folder, [Edition.CREW])
    return folder


def animate(folder: Path, frames: str = "21-30") -> None:
    work = facts.Work(
        craft="animation", person="ana", character="wick", puppet="wick-1", shot="010-010",
        frames=Frames.parse(frames), finished_on=date(2026, 3, 3), stage="north",
    )  # fmt: skip
    with open_log(folder) as log, log.writing() as writer:
        writer.write(Batch(lines=(NewLine(verb=Verb.RECORD, work=work),)))


def rendered(folder: Path, monkeypatch: pytest.MonkeyPatch) -> set[str]:
    """Build the site and return the pages that were made."""
    made, as_before = set(), render.render

    def counted(page: Page, source: PageSource) -> str:
        made.add(page.path)
        return as_before(page, source)

    monkeypatch.setattr(os, "cpu_count", lambda: 1)  # what a second process makes is not seen
    monkeypatch.setattr(render, "render", counted)
    build_sites(folder, [Edition.CREW])
    return made


def test_only_pages_that_it_is_about_are_made_again(
    film: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    animate(film)
    made = rendered(film, monkeypatch)
    assert made <= ABOUT
    assert {"shots/010-010.html", "people/ana.html", "weeks/2026-w10.html"} <= made


def test_who_watches_has_the_page_of_the_shot_before_the_others(
    film: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shot, person = (
        film / "site" / "crew" / path for path in ("shots/010-010.html", "people/ana.html")
    )
    before, then = (shot.read_bytes(), person.read_bytes()), []

    def published(folder: Path, files: Iterable[tuple[str, File]], shared: bool) -> Published:
        then.append((shot.read_bytes(), person.read_bytes()))
        return publish(folder, files, shared=shared)

    monkeypatch.setattr(sites, "publish", published)
    animate(film)
    (built,) = build_sites(film, [Edition.CREW], ahead=True)
    after = (shot.read_bytes(), person.read_bytes())
    assert then == [(after[0], before[1])]
    assert after[0] != before[0]
    assert after[1] != before[1]
    assert built.published.written == len(changed(Edition.CREW))


def test_the_page_of_a_shot_waits_for_no_credits(
    film: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shot = film / "site" / "crew" / "shots" / "010-010.html"
    compiled, then = sites.credits_now, []

    def compiled_now(*asked: Any) -> CreditsNow:
        then.append(shot.read_bytes())
        return compiled(*asked)

    monkeypatch.setattr(sites, "credits_now", compiled_now)
    before = shot.read_bytes()
    animate(film)
    build_sites(film, [Edition.CREW], ahead=True)
    assert then == [shot.read_bytes()]
    assert then != [before]


def test_sites_of_one_moment_read_the_hands_of_the_people_of_each(film: Path) -> None:
    every, some = (
        kept_snapshot(open_figures(film, Depth.REACH), Depth.REACH) for _ in ("whole", "in part")
    )
    assert len(every.reach) > 1
    for person in every.reach:
        some.expect_people({person})
        assert some.reach_of(person) == every.reach[person]
        assert some.ways_of(person) == every.ways.of(person)


def test_a_build_makes_way_for_what_is_logged_meanwhile_as_long_as_it_may(
    film: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    site, as_before = film / "site" / "crew", sites.watched_state
    before = {path: path.read_bytes() for path in site.rglob("*.html")}
    looks = count()

    def state(folder: Path) -> frozenset[tuple[str, int, int]]:
        if next(looks) == 1:  # the first look after the build has begun
            animate(film, frames="13-14")
        return as_before(folder)

    monkeypatch.setattr(sites, "watched_state", state)
    animate(film)
    with pytest.raises(sites.OvertakenError):
        build_sites(film, [Edition.CREW], patience=60)
    assert {path: path.read_bytes() for path in site.rglob("*.html")} == before
    assert [each.name for each in site.parent.iterdir()] == ["crew"]
    looks = count()
    (built,) = build_sites(film, [Edition.CREW], patience=0)
    assert built.published.written


def test_the_shots_that_come_first_are_those_of_the_last_whole_renewals() -> None:
    changed = [("010", 4), ("020", 7), ("030", 6), ("040", 6), ("050", 5)]
    assert _latest(changed) == ["020", "030", "040"]
    assert _latest([(str(shot), 8) for shot in range(4)]) == []
    assert _latest([("010", 9), *((str(shot), 8) for shot in range(3))]) == ["010"]


def test_where_the_production_is_named_from_elsewhere_pages_stay(
    film: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(film.parent)
    animate(film)
    assert "people/dee.html" not in rendered(Path(film.name), monkeypatch)


def test_without_what_was_kept_every_page_is_made(
    film: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    forget(film)
    made = rendered(film, monkeypatch)
    assert {"people/dee.html", "shots/020-010.html", "characters/brine.html"} <= made


def test_a_page_that_somebody_has_altered_is_made_again(
    film: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (film / "site" / "crew" / "people" / "dee.html").write_text("altered", "utf-8")
    made = rendered(film, monkeypatch)
    assert "people/dee.html" in made
    assert "people/ben.html" not in made


def test_the_public_reads_no_day_of_animation() -> None:
    assert changed(Edition.PUBLIC) <= {"index.html", "counted.html", "style.css"}


@pytest.mark.parametrize("edition", Edition)
def test_two_pages_and_the_margins_of_paper_say_what_the_data_is(edition: Edition) -> None:
    files = files_of(WORKED_EXAMPLE, edition)
    dated = {path for path, content in files.items() if b"Log as of" in content}
    assert dated == {"index.html", "counted.html", "style.css"}
