"""How tests of the command line call it, and the worked example as people would load it."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any
from unittest.mock import patch

import pytest

from credits.cli.main import run
from credits.formats.deliver.fonts import FontsAtHand
from credits.store.beside.figures_db import FIGURES_NAME
from tests.conftest import made_once
from tests.productions import written_tables

ROOT = Path(__file__).resolve().parents[2]

WORKED_EXAMPLE = {
    "people": """
        person,credit_name
        ana,Ana
        ben,Ben
        cai,Cai
    """,
    "characters": """
        character,name
        wick,Wick
        brine,Brine
    """,
    "puppets": """
        puppet,character
        wick-1,wick
        wick-2,wick
        brine-1,brine
    """,
    "sequences": """
        sequence
        010
    """,
    "shots": """
        shot,sequence,frames
        010-020,010,48
    """,
    "stages": """
        stage
        S1
        S2
    """,
    "takes": """
        shot,take,purpose,decision
        010-020,1,shoot,accepted
    """,
    "entries": """
        craft,person,character,puppet,shot,frames,finished_on
        animation,ana,wick,wick-1,010-020,1-30,2026-03-02
        animation,ben,wick,wick-1,010-020,25-48,2026-03-03
        animation,cai,brine,brine-1,010-020,13-48,2026-03-03
        sculpt,cai,wick,,,,2025-09-01
        fabrication,ben,,wick-2,,,2025-12-01
        voice,ana,wick,,,,2025-06-01
        repair,ana,,wick-1,,,2026-03-03
    """,
}
CUT = "shot,first,last\n010-020,9,40\n"


@dataclass(frozen=True)
class Answer:
    """What a command answered: exit status, standard output, standard error."""

    status: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        """Standard output as JSON; fails when anything else stands there."""
        return json.loads(self.out)


Command = Callable[..., Answer]


@pytest.fixture(autouse=True)
def caches(shared_folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep what a Tab keeps out of the home of whoever runs the tests."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(shared_folder / "caches"))


@pytest.fixture(autouse=True, scope="session")
def fonts_at_hand() -> Iterator[None]:
    """The fonts of a folder are looked for once: none comes or goes while the tests run."""
    looked = lru_cache(FontsAtHand.look)
    with patch.object(FontsAtHand, "look", lambda folders: looked(tuple(folders))):
        yield


@pytest.fixture
def credits_(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Command:
    """Calls the command line in this process."""
    monkeypatch.delenv("CREDITS_PRODUCTION", raising=False)
    monkeypatch.delenv("CREDITS_TRACEBACK", raising=False)

    def call(*args: object) -> Answer:
        capsys.readouterr()
        status = run([str(arg) for arg in args])
        said = capsys.readouterr()
        assert "Traceback" not in said.err + said.out
        return Answer(status, said.out, said.err)

    return call


@pytest.fixture
def shell() -> Command:
    """Calls the command line in a process of its own; ``env`` adds to the environment."""

    def call(*args: object, cwd: Path | None = None, **env: str) -> Answer:
        done = subprocess.run(
            [sys.executable, "-m", "credits", *map(str, args)],
            capture_output=True,
            cwd=cwd,
            env={**os.environ, "PYTHONPATH": str(ROOT), **env},
            timeout=120,
            check=False,
        )
        return Answer(done.returncode, done.stdout.decode(), done.stderr.decode())

    return call


def files_in(folder: Path) -> list[Path]:
    """Everything in a folder, but the figures beside a log, which whoever asks may renew."""
    return sorted(p for p in folder.rglob("*") if not p.name.startswith(FIGURES_NAME))


@pytest.fixture(scope="session")
def films(shared_folder: Path) -> Path:
    """The folder of three productions, made once by commands: ``empty``, ``film``, ``cut``."""

    def make(folder: Path) -> None:
        tables = written_tables(folder / "tables", WORKED_EXAMPLE)
        (folder / "cut.csv").write_text(CUT)
        assert run(["start", "The Small Film", str(folder / "empty")]) == 0
        shutil.copytree(folder / "empty", folder / "film")
        assert run(["load", str(tables), "-p", str(folder / "film")]) == 0
        shutil.copytree(folder / "film", folder / "cut")
        assert run(["cut", str(folder / "cut.csv"), "-p", str(folder / "cut")]) == 0

    return made_once(shared_folder / "films", make)


@pytest.fixture
def empty(tmp_path: Path, films: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty production, which is the working folder."""
    folder = Path(shutil.copytree(films / "empty", tmp_path / "film"))
    monkeypatch.chdir(folder)
    return folder


@pytest.fixture
def film(empty: Path, tmp_path: Path, films: Path) -> Path:
    """The worked example, loaded from ``tables`` beside it; without a cut. It is the working
    folder."""
    written_tables(tmp_path / "tables", WORKED_EXAMPLE)
    shutil.copy(films / "film" / "production.db", empty)
    return empty


@pytest.fixture
def film_with_cut(film: Path, films: Path) -> Path:
    """The worked example with its cut."""
    shutil.copy(films / "cut" / "production.db", film)
    shutil.copy(films / "cut.csv", film.parent)
    return film
