"""A finished folder takes the place of the old one in one step; an unfinished one never does."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from fcntl import LOCK_EX, flock
from pathlib import Path

import pytest

from credits.errors import CreditsError
from credits.site.publish import MARK, Published, exchange, publish

FIRST = (("index.html", b"home"), ("people/ana.html", b"Ana"), ("people/ben.html", b"Ben"))
SECOND = (("index.html", b"home"), ("people/ana.html", b"Ana Lind"))


def held(folder: Path) -> dict[str, bytes]:
    """Every file of a folder but the mark, with its bytes."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file() and path.name != MARK
    }


@pytest.fixture
def site(tmp_path: Path) -> Path:
    """A site of three files."""
    folder = tmp_path / "site" / "crew"
    assert publish(folder, FIRST) == Published(3, 4, 0, 0)  # the mark is the fourth
    return folder


def test_the_folder_holds_the_files_and_nothing_else(site: Path) -> None:
    assert held(site) == dict(FIRST)
    assert [path.name for path in site.parent.iterdir()] == ["crew"]


def test_what_did_not_change_is_the_same_file_and_not_newer(site: Path) -> None:
    kept, changed = site / "index.html", site / "people/ana.html"
    before = [(path.stat().st_ino, path.stat().st_mtime_ns) for path in (kept, changed)]
    assert publish(site, SECOND) == Published(2, 1, 2, 1)
    after = [(path.stat().st_ino, path.stat().st_mtime_ns) for path in (kept, changed)]
    assert after[0] == before[0]
    assert after[1] != before[1]
    assert held(site) == dict(SECOND)


def test_a_page_is_exchanged_by_itself_and_the_others_stay(site: Path) -> None:
    assert exchange(site, "people/ana.html", b"Ana Lind")
    assert held(site) == {**dict(FIRST), "people/ana.html": b"Ana Lind"}
    assert [path.name for path in (site / "people").iterdir() if path.name.startswith(".")] == []


@pytest.mark.parametrize("path", ["people/ana.html", "people/dee.html"], ids=["same", "none"])
def test_a_page_that_says_the_same_or_is_not_there_is_not_exchanged(site: Path, path: str) -> None:
    before = (site / "people/ana.html").stat()
    assert not exchange(site, path, b"Ana")
    assert held(site) == dict(FIRST)
    assert (site / "people/ana.html").stat() == before


def test_no_page_is_put_into_a_folder_that_is_no_site(tmp_path: Path) -> None:
    (tmp_path / "own").mkdir()
    (tmp_path / "own" / "index.html").write_text("mine")
    assert not exchange(tmp_path / "own", "index.html", b"home")
    assert (tmp_path / "own" / "index.html").read_text() == "mine"


def test_files_that_do_not_belong_to_it_are_taken_away(site: Path) -> None:
    (site / "people/old name.html").write_text("stray")
    (site / "deep/er").mkdir(parents=True)
    (site / "deep/er/stray.txt").write_text("stray")
    assert publish(site, FIRST) == Published(3, 0, 4, 2)
    assert held(site) == dict(FIRST)
    assert not (site / "deep").exists()


@pytest.mark.parametrize(
    "error", [ValueError("half way"), KeyboardInterrupt(), OSError(28, "full")]
)
def test_a_build_that_fails_leaves_the_old_site_as_it_was(site: Path, error: Exception) -> None:
    def files() -> Iterator[tuple[str, bytes]]:
        yield "index.html", b"new home"
        yield "people/ana.html", b"new Ana"
        raise error

    with pytest.raises(CreditsError if isinstance(error, OSError) else type(error)):
        publish(site, files())
    assert held(site) == dict(FIRST)
    assert [path.name for path in site.parent.iterdir()] == ["crew"]


@pytest.mark.parametrize("after", [0, 1, 2])
def test_a_build_that_is_killed_leaves_the_old_site_as_it_was(site: Path, after: int) -> None:
    program = f"""
import os, signal
from pathlib import Path
from credits.site.publish import publish
def files():
    for at in range(3):
        if at == {after}:
            os.kill(os.getpid(), signal.SIGKILL)
        yield f"{{at}}.html", b"new"
publish(Path({str(site)!r}), files())
"""
    assert subprocess.run([sys.executable, "-c", program], check=False).returncode == -9
    assert held(site) == dict(FIRST)
    # The next build clears away what the killed one left beside it.
    assert publish(site, SECOND).removed == 1
    assert held(site) == dict(SECOND)
    assert [path.name for path in site.parent.iterdir()] == ["crew"]


def test_files_are_written_as_they_come(site: Path) -> None:
    def files() -> Iterator[tuple[str, bytes]]:
        yield "index.html", b"new home"
        (unfinished,) = site.parent.glob(".crew.*.new")
        assert (unfinished / "index.html").read_bytes() == b"new home"
        yield "late.html", b"late"

    assert publish(site, files()).written == 2


def test_two_builds_of_one_folder_do_not_disturb_each_other(site: Path) -> None:
    """The second begins while the first is half way, and ends before it."""

    def files() -> Iterator[tuple[str, bytes]]:
        yield "index.html", b"first"
        assert publish(site, (("index.html", b"second"), ("other.html", b"x"))).pages == 2
        assert held(site)["index.html"] == b"second"
        yield "people/ana.html", b"first Ana"

    assert publish(site, files()).removed == 1
    assert held(site) == {"index.html": b"first", "people/ana.html": b"first Ana"}
    assert [path.name for path in site.parent.iterdir()] == ["crew"]


def test_builds_by_many_processes_at_once_end_with_one_whole_site(site: Path) -> None:
    program = f"""
import sys
from pathlib import Path
from credits.site.publish import publish
for _ in range(20):
    publish(Path({str(site)!r}), ((f"{{n}}.html", sys.argv[1].encode()) for n in range(30)))
"""
    every = [subprocess.Popen([sys.executable, "-c", program, str(n)]) for n in range(4)]
    assert [one.wait(60) for one in every] == [0, 0, 0, 0]
    assert set(held(site)) == {f"{n}.html" for n in range(30)}
    assert len(set(held(site).values())) == 1
    assert [path.name for path in site.parent.iterdir()] == ["crew"]


@contextmanager
def the_folder_above_held(site: Path) -> Iterator[None]:
    """Another build begins, or takes its place, and lets no other do so meanwhile."""
    handle = os.open(site.parent, os.O_RDONLY)
    flock(handle, LOCK_EX)
    try:
        yield
    finally:
        os.close(handle)


def test_a_build_begins_when_no_other_begins_or_ends(site: Path) -> None:
    build = threading.Thread(target=publish, args=(site, SECOND))
    with the_folder_above_held(site):
        build.start()
        build.join(0.3)
        assert [path.name for path in site.parent.iterdir()] == ["crew"]
    build.join(60)
    assert held(site) == dict(SECOND)


def test_a_build_takes_its_place_when_no_other_begins_or_ends(site: Path) -> None:
    begun = threading.Event()
    with ExitStack() as other:

        def files() -> Iterator[tuple[str, bytes]]:
            yield from SECOND
            other.enter_context(the_folder_above_held(site))
            begun.set()

        build = threading.Thread(target=publish, args=(site, files()))
        build.start()
        assert begun.wait(60)
        build.join(0.3)
        assert held(site) == dict(FIRST)
    build.join(60)
    assert held(site) == dict(SECOND)


def test_a_folder_that_is_no_site_is_refused_and_not_touched(tmp_path: Path) -> None:
    folder = tmp_path / "pictures"
    folder.mkdir()
    (folder / "holiday.jpg").write_bytes(b"dear")
    with pytest.raises(CreditsError, match="not a site of this program"):
        publish(folder, FIRST)
    assert held(folder) == {"holiday.jpg": b"dear"}


def test_an_empty_folder_is_taken_and_a_file_is_not(tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    publish(tmp_path / "empty", FIRST)
    assert held(tmp_path / "empty") == dict(FIRST)
    (tmp_path / "file").write_text("a file")
    with pytest.raises(CreditsError, match="is a file"):
        publish(tmp_path / "file", FIRST)
    assert (tmp_path / "file").read_text() == "a file"


def test_somebody_who_reads_meanwhile_always_finds_a_whole_site(site: Path) -> None:
    missing: list[str] = []
    over = threading.Event()

    def read() -> None:
        while not over.is_set():
            try:
                assert (site / "index.html").read_bytes() == b"home"
                assert (site / "people/ana.html").read_bytes() in (b"Ana", b"Ana Lind")
            except (OSError, AssertionError) as error:
                missing.append(repr(error))

    reader = threading.Thread(target=read)
    reader.start()
    for _ in range(50):
        publish(site, SECOND)
        publish(site, FIRST)
    over.set()
    reader.join()
    assert missing == []


# --- what else may stand there, and where the folder may be


def own_files(folder: Path) -> None:
    """What a folder has beside its pages that is published from a repository."""
    (folder / ".git" / "refs").mkdir(parents=True)
    (folder / ".git" / "HEAD").write_text("ref: refs/heads/pages")
    (folder / "CNAME").write_text("film.example")


def test_the_repository_and_the_name_of_a_published_folder_stay(site: Path) -> None:
    own_files(site)
    assert publish(site, SECOND).removed == 1
    assert publish(site, SECOND) == Published(2, 0, 3, 0)
    own = {".git/HEAD": b"ref: refs/heads/pages", "CNAME": b"film.example"}
    assert held(site) == {**dict(SECOND), **own}
    assert (site / ".git" / "refs").is_dir()


def test_a_folder_with_nothing_but_a_repository_is_taken(tmp_path: Path) -> None:
    own_files(tmp_path / "pages")
    publish(tmp_path / "pages", FIRST)
    assert held(tmp_path / "pages").keys() >= {".git/HEAD", "CNAME", "index.html"}


def test_a_repository_is_not_lost_with_a_build_that_was_killed_in_its_exchange(site: Path) -> None:
    program = f"""
import os, signal
from pathlib import Path
from credits.site import publish
publish._keep_own = lambda *_: os.kill(os.getpid(), signal.SIGKILL)
publish.publish(Path({str(site)!r}), (("index.html", b"new"),))
"""
    own_files(site)
    assert subprocess.run([sys.executable, "-c", program], check=False).returncode == -9
    publish(site, SECOND)
    assert held(site).keys() >= {".git/HEAD", "CNAME"}
    assert [path.name for path in site.parent.iterdir()] == ["crew"]


def test_a_link_to_a_site_keeps_pointing_at_it(tmp_path: Path) -> None:
    real, link = tmp_path / "disk" / "pages", tmp_path / "site"
    publish(real, FIRST)
    link.symlink_to(real)
    assert publish(link, SECOND).removed == 1
    assert link.is_symlink()
    assert held(real) == dict(SECOND)
    assert {path.name for path in tmp_path.rglob("*") if path.name.startswith(".")} == {MARK}


def test_a_link_to_a_folder_that_is_not_there_yet_is_followed(tmp_path: Path) -> None:
    (tmp_path / "site").symlink_to(tmp_path / "pages")
    publish(tmp_path / "site", FIRST)
    assert held(tmp_path / "pages") == dict(FIRST)


# --- where the system cannot exchange two folders in one step


@pytest.fixture
def by_two_renames(monkeypatch: pytest.MonkeyPatch) -> None:
    """As on a system that has no such call."""
    monkeypatch.setattr("credits.site.publish._swap", lambda *_: False)


@pytest.mark.usefixtures("by_two_renames")
def test_two_renames_put_the_new_one_in_its_place(site: Path) -> None:
    own_files(site)
    publish(site, SECOND)
    assert held(site).keys() == {"index.html", "people/ana.html", ".git/HEAD", "CNAME"}
    assert [path.name for path in site.parent.iterdir()] == ["crew"]


@pytest.mark.usefixtures("by_two_renames")
def test_the_first_rename_is_undone_where_the_second_fails(
    site: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    rename = Path.rename

    def refused(self: Path, target: Path) -> Path:
        if self.suffix == ".new":
            raise OSError(13, "Permission denied")
        return rename(self, target)

    monkeypatch.setattr(Path, "rename", refused)
    with pytest.raises(CreditsError, match="The site that was there is as it was"):
        publish(site, SECOND)
    assert held(site) == dict(FIRST)
    assert [path.name for path in site.parent.iterdir()] == ["crew"]


def test_a_site_that_was_moved_aside_by_a_killed_build_comes_back(site: Path) -> None:
    site.rename(site.parent / ".crew.0123abcd.old")

    def files() -> Iterator[tuple[str, bytes]]:
        yield "index.html", b"new home"
        assert held(site) == dict(FIRST)  # it is back before the next is half way
        raise ValueError("half way")

    with pytest.raises(ValueError, match="half way"):
        publish(site, files())
    assert held(site) == dict(FIRST)
    assert [path.name for path in site.parent.iterdir()] == ["crew"]


def test_somebodys_own_file_beside_a_site_is_not_taken_for_left_over(site: Path) -> None:
    mine = site.parent / ".crew.notes.new"
    mine.mkdir()
    publish(site, SECOND)
    assert mine.is_dir()


# --- who may look into it


def mode_of(path: Path) -> int:
    return path.stat().st_mode & 0o777


def test_a_folder_for_few_is_its_users_alone_from_its_first_moment(tmp_path: Path) -> None:
    folder = tmp_path / "site" / "office"

    def files() -> Iterator[tuple[str, bytes]]:
        (begun,) = folder.parent.glob(".office.*.new")
        assert mode_of(begun) == 0o700
        yield from FIRST

    publish(folder, files(), shared=False)
    assert mode_of(folder) == 0o700


@pytest.mark.parametrize("shared", [True, False])
def test_a_folder_stays_as_open_as_it_is(site: Path, shared: bool) -> None:
    site.chmod(0o750)
    publish(site, SECOND, shared=shared)
    assert mode_of(site) == 0o750
