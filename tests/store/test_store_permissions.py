"""Who may read a log, its copies, its figures and what the office makes of it: its user alone."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path

import pytest

from credits.app.site import build_sites
from credits.cli.main import run
from credits.editions import Edition
from credits.figures.keep import open_figures
from credits.figures.renewal import Depth
from credits.store.log import open_log
from credits.store.production import back_up, create_production

NOBODY = 65534
MADE = ("production.db", "figures.db", "backups/production-20260302-180509.db", "site/office")


def mode_of(path: Path) -> int:
    return path.stat().st_mode & 0o777


@pytest.fixture(autouse=True)
def usual_mask() -> Iterator[None]:
    """The mask with which most systems come: others may read what is made."""
    before = os.umask(0o022)
    yield
    os.umask(before)


@pytest.fixture
def place() -> Iterator[Path]:
    """A folder that everybody may enter."""
    folder = Path(tempfile.mkdtemp())
    folder.chmod(0o755)
    yield folder
    shutil.rmtree(folder)


def used(film: Path) -> Path:
    """The production, with everything made of it that holds what the office knows."""
    open_figures(film, Depth.FIGURES).close()
    (film / "backups").mkdir()
    back_up(film, film / "backups", lambda: datetime(2026, 3, 2, 18, 5, 9))
    build_sites(film, tuple(Edition))
    return film


def test_a_new_log_and_what_is_made_of_it_is_its_users_alone(place: Path) -> None:
    film = used(create_production(place / "film", "Film"))
    assert {mode_of(film / name) & 0o077 for name in (*MADE, "production.toml")} == {0}
    for beside in film.glob("*.db-*"):
        assert mode_of(beside) & 0o077 == 0
    assert mode_of(film / "site" / "crew") == mode_of(film / "site" / "public") == 0o755


def test_one_that_is_shared_may_be_read_as_the_mask_allows(place: Path) -> None:
    film = used(create_production(place / "film", "Film", shared=True))
    assert {mode_of(film / name) & 0o044 for name in MADE} == {0o044}


@pytest.mark.parametrize(("more", "mode"), [([], 0o600), (["--shared"], 0o644)])
def test_whoever_starts_a_production_says_who_may_read_it(
    place: Path, more: list[str], mode: int
) -> None:
    assert run(["start", "Film", str(place / "film"), "-q", *more]) == 0
    assert mode_of(place / "film" / "production.db") == mode


def test_what_is_there_stays_as_open_as_it_is(place: Path) -> None:
    film = used(create_production(place / "film", "Film"))
    for name in MADE:
        (film / name).chmod(0o755 if name == "site/office" else 0o664)
    with open_log(film) as log:
        log.read()
    (film / "production.toml").write_text('title = "Another"\n')
    build_sites(film, (Edition.OFFICE,))
    assert [mode_of(film / name) for name in MADE] == [0o664, 0o664, 0o664, 0o755]


@contextmanager
def another_user() -> Iterator[None]:
    """As another user of the machine, where this one may become one."""
    os.setegid(NOBODY)
    os.seteuid(NOBODY)
    try:
        yield
    finally:
        os.seteuid(0)
        os.setegid(0)


def is_read_by_another(path: Path) -> bool:
    if os.geteuid() != 0:  # who may not become another asks what the system asks
        return bool(path.stat().st_mode & 0o004)
    with another_user():
        try:
            list(path.iterdir()) if path.is_dir() else path.read_bytes()
        except PermissionError:
            return False
    return True


@pytest.mark.parametrize("shared", [False, True])
def test_another_user_reads_what_is_shared_alone(place: Path, shared: bool) -> None:
    film = used(create_production(place / "film", "Film", shared=shared))
    assert [is_read_by_another(film / name) for name in MADE] == [shared] * len(MADE)


def test_another_user_is_told_that_the_log_may_not_be_opened(
    place: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    film = used(create_production(place / "film", "Film"))
    asked = ["footage", "-p", str(film)]
    assert run(asked) == 0
    if os.geteuid() != 0:  # to its own user it can only be closed altogether
        (film / "production.db").chmod(0)
        assert run(asked) == 1
    else:
        with another_user():
            assert run(asked) == 1
    said = capsys.readouterr().err
    assert "production.db: " in said
    assert "See that it is a file that you may read" in said
