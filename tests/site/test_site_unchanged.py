"""A site of which nothing has changed is not built again; whatever changes is seen."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from credits.app import site as sites
from credits.app.site import build_sites
from credits.editions import Edition
from credits.model import facts
from credits.model.log import Batch, NewLine, Verb
from credits.store.beside.figures_db import forget
from credits.store.log import open_log
from tests.productions import production_from, written_tables

TABLES = {
    "people": "person,credit_name\nana,Ana Lind",
    "characters": "character,name\nwick,Wick",
    "puppets": "puppet,character\nwick-1,wick",
    "sequences": "sequence,name\n010,One",
    "shots": "shot,sequence,frames\n010-010,010,48",
    "entries": """craft,person,puppet,shot,frames,finished_on
        animation,ana,wick-1,010-010,1-30,2026-03-02""",
}


@pytest.fixture
def film(tmp_path: Path) -> Path:
    """A film with a crew site."""
    folder = production_from(tmp_path / "film", [written_tables(tmp_path / "tables", TABLES)])
    (folder / "pictures").mkdir()
    build_sites(folder, [Edition.CREW])
    return folder


def home(folder: Path) -> Path:
    return folder / "site" / "crew" / "index.html"


def test_nothing_is_computed_where_nothing_has_changed(
    film: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sites, "_Build", None)
    (built,) = build_sites(film, [Edition.CREW])
    assert built.published.written == built.published.removed == 0
    assert built.published.unchanged == sum(p.is_file() for p in home(film).parent.rglob("*"))


def log_one(folder: Path) -> None:
    work = facts.Work(craft="sculpt", person="ana", puppet="wick-1")
    with open_log(folder) as log, log.writing() as writer:
        writer.write(Batch(lines=(NewLine(verb=Verb.RECORD, work=work),)))


@pytest.mark.parametrize(
    "change",
    [
        log_one,
        forget,
        lambda folder: home(folder).unlink(),
        lambda folder: home(folder).write_text("altered", "utf-8"),
        lambda folder: (home(folder).parent / "more.html").write_text("more", "utf-8"),
        lambda folder: shutil.rmtree(home(folder).parent),
        lambda folder: (folder / "credit-plan.toml").write_text("", "utf-8"),
        lambda folder: (folder / "pictures" / "wick.png").write_bytes(b"no picture"),
    ],
    ids=["entry", "figures", "gone", "altered", "more", "no site", "plan", "picture"],
)
def test_whatever_changes_is_seen(
    film: Path, change: Callable[[Path], object], monkeypatch: pytest.MonkeyPatch
) -> None:
    change(film)
    asked: list[Path] = []

    def read(folder: Path, *_: object) -> object:
        asked.append(folder)
        raise KeyboardInterrupt

    monkeypatch.setattr(sites, "_Build", read)
    with pytest.raises(KeyboardInterrupt):
        build_sites(film, [Edition.CREW])
    assert asked == [film]


def test_another_edition_is_built_and_the_first_stays(film: Path) -> None:
    crew, office = build_sites(film, [Edition.CREW, Edition.OFFICE])
    assert crew.published.written == 0
    assert office.published.written > 0
