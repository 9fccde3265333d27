"""Pages stay where nothing that they show has changed: whatever is logged, the site is whole."""

from __future__ import annotations

import os
import shutil
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from credits import two_processes
from credits.app.site import build_sites
from credits.editions import Edition
from credits.errors import ReadElsewhereError
from credits.model import facts
from credits.model.log import Batch, NewLine, Verb
from credits.store.log import open_log
from credits.units.frames import Frames
from tests.productions import production_from, written_tables

TABLES = {
    "people": "person,credit_name\nana,Ana Lind\nben,Ben Okoro\ncai,Cai Reyes\ndee,Dee Moss",
    "characters": "character,name\nwick,Wick\nbrine,Brine",
    "puppets": """puppet,character
        wick-1,wick
        wick-2,wick
        brine-1,brine""",
    "parts": """part,kind,character
        head-1,head,wick
        face-1,face,wick""",
    "fittings": "part,puppet,from_on\nhead-1,wick-1,2026-01-01",
    "sequences": "sequence,name\n010,One\n020,Two",
    "shots": """shot,sequence,frames
        010-010,010,48
        020-010,020,48""",
    "replacements": "shot,character,part,frames\n010-010,wick,face-1,1-24",
    "stages": "stage\nnorth",
    "entries": """craft,person,character,puppet,shot,frames,finished_on,stage,minutes
        sculpt,cai,wick,,,,2025-09-01,,60
        sculpt,dee,brine,,,,2025-09-01,,60
        animation,ana,wick,wick-1,010-010,1-20,2026-03-02,north,300
        animation,ana,wick,wick-2,010-010,21-40,2026-03-03,north,300
        animation,ben,brine,brine-1,020-010,1-48,2026-03-09,north,200""",
}
LOGGED: dict[str, dict[str, Any]] = {
    "a voice": {"craft": "voice", "person": "dee", "character": "wick"},
    "a voice in a sequence": {
        "craft": "voice",
        "person": "dee",
        "character": "wick",
        "sequence": "010",
    },
    "the character": {"craft": "sculpt", "person": "dee", "character": "wick"},
    "a copy": {"craft": "sculpt", "person": "dee", "puppet": "wick-2"},
    "a part that is fitted": {"craft": "sculpt", "person": "dee", "part": "head-1"},
    "a part that is shown": {"craft": "sculpt", "person": "dee", "part": "face-1"},
    "a repair on a shot": {
        "craft": "repair",
        "person": "dee",
        "puppet": "wick-1",
        "shot": "020-010",
        "finished_on": date(2026, 3, 9),
    },
    "a repair later than everything": {
        "craft": "repair",
        "person": "ben",
        "part": "head-1",
        "finished_on": date(2026, 5, 1),
    },
    "a day after everything, on something else": {
        "craft": "sculpt",
        "person": "ben",
        "puppet": "brine-1",
        "finished_on": date(2026, 6, 1),
    },
    "frames photographed again": {
        "craft": "animation",
        "person": "ben",
        "puppet": "wick-2",
        "shot": "010-010",
        "frames": Frames.parse("10-20"),
        "finished_on": date(2026, 4, 6),
        "stage": "north",
    },
    "another character in a shot": {
        "craft": "animation",
        "person": "ana",
        "puppet": "wick-1",
        "shot": "020-010",
        "frames": Frames.parse("1-12"),
        "finished_on": date(2026, 3, 10),
    },
    "another take": {
        "craft": "animation",
        "person": "cai",
        "puppet": "brine-1",
        "shot": "020-010",
        "take": 2,
        "frames": Frames.parse("1-12"),
        "finished_on": date(2026, 3, 11),
    },
}
CLIPS = (("020-010", 1), ("010-010", 33))
CUT = facts.Cut(
    version=1,
    source="cut.csv",
    length=64,
    clips=tuple(
        facts.CutClip(
            order=at,
            shot=shot,
            take=None,
            shown=32,
            source_first=1,
            source_last=32,
            film_first=first,
        )
        for at, (shot, first) in enumerate(CLIPS, 1)
    ),
)


def files_in(folder: Path) -> dict[str, bytes]:
    files = (path for path in folder.rglob("*") if path.is_file())
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in files}


def assert_whole(film: Path) -> None:
    """The sites as they are built on are those that are built at once."""
    build_sites(film, tuple(Edition))
    shutil.rmtree(film / "fresh", ignore_errors=True)
    build_sites(film, tuple(Edition), film / "fresh")
    ours, fresh = files_in(film / "site"), files_in(film / "fresh")
    assert ours.keys() == fresh.keys()
    assert [path for path in ours if ours[path] != fresh[path]] == []


def logged(film: Path, line: NewLine) -> None:
    with open_log(film) as log, log.writing() as writer:
        writer.write(Batch(lines=(line,)))


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A film with its sites, which each test goes on with as the one before left it."""
    root = tmp_path_factory.mktemp("stay")
    film = production_from(root / "film", [written_tables(root / "tables", TABLES)])
    with open_log(film) as log, log.writing() as writer:
        writer.write(Batch(cut=CUT))
    build_sites(film, tuple(Edition))
    return film


@pytest.fixture(autouse=True)
def _few_pages_are_shared(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two processes make the pages, however few; a second one that may not read ends the build."""

    class Told(ReadElsewhereError):
        pass

    monkeypatch.setattr(os, "cpu_count", lambda: 2)
    monkeypatch.setattr(two_processes, "LEAST_OF_FEW", 1)
    monkeypatch.setattr(two_processes, "ReadElsewhereError", Told)


@pytest.mark.parametrize("what", LOGGED)
def test_a_page_shows_whatever_was_logged(film: Path, what: str) -> None:
    work = facts.Work(**LOGGED[what])
    logged(film, NewLine(verb=Verb.RECORD, work=work))
    assert_whole(film)


def test_a_page_shows_what_was_amended_and_no_more_what_was_void(film: Path) -> None:
    with open_log(film) as log:
        first, second, *_ = log.read().lines
    assert first.work is not None
    work = facts.Work(craft="sculpt", person="ben", character="brine")
    logged(film, NewLine(verb=Verb.AMEND, work=work, corrects=first.number))
    assert_whole(film)
    logged(film, NewLine(verb=Verb.VOID, work=None, corrects=second.number))
    assert_whole(film)
