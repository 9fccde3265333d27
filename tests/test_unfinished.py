"""What killed programs left unfinished is taken away by the next; what is being made is not."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from credits.errors import CreditsError
from credits.files import Over, write_whole
from credits.store.log import open_log
from credits.store.production import back_up, create_production
from credits.temporary import own_folder
from credits.unfinished import clear_unfinished, unfinished

BEGIN = """
import os, signal, sys
from pathlib import Path
from credits.unfinished import unfinished
with unfinished(Path(sys.argv[1]), folder=sys.argv[2] == "folder") as new:
    if new.is_file():
        Path(f"{new}-journal").write_bytes(b"half")
    print(new.name, flush=True)
    sys.stdin.read()
    os.kill(os.getpid(), signal.SIGKILL)
"""


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def begun(target: Path, kind: str) -> subprocess.Popen[str]:
    """A process that has begun to make something, and is killed when its input ends."""
    words = [sys.executable, "-c", BEGIN, str(target), kind]
    process = subprocess.Popen(words, stdin=-1, stdout=-1, text=True)
    assert process.stdout is not None
    assert process.stdout.readline().startswith(f".{target.name}.")
    return process


@pytest.mark.parametrize("kind", ["file", "folder"])
def test_what_is_being_made_stays_and_what_was_left_goes(tmp_path: Path, kind: str) -> None:
    process = begun(tmp_path / "copy.db", kind)
    there = names(tmp_path)
    assert there
    clear_unfinished(tmp_path)
    assert names(tmp_path) == there
    process.communicate()
    assert process.returncode == -signal.SIGKILL
    assert names(tmp_path) == there
    write_whole(tmp_path / "other.csv", b"a\n")
    assert names(tmp_path) == ["other.csv"]


def test_what_is_called_otherwise_is_nobodys_of_ours(tmp_path: Path) -> None:
    mine = [".notes.unfinished", "copy.db.0123abcd.unfinished", ".copy.db.0123abcg.unfinished"]
    for name in mine:
        (tmp_path / name).write_text("mine")
    (tmp_path / ".copy.db.0123abcd.unfinished").write_text("left")
    (tmp_path / ".copy.db.0123abce.unfinished-wal").write_text("left")
    clear_unfinished(tmp_path)
    assert names(tmp_path) == sorted(mine)


def test_what_fails_leaves_nothing(tmp_path: Path) -> None:
    def fail(is_folder: bool) -> None:
        with unfinished(tmp_path / "x", folder=is_folder) as new:
            (new / "page" if is_folder else new).write_text("half")
            raise ZeroDivisionError

    for is_folder in (False, True):
        with pytest.raises(ZeroDivisionError):
            fail(is_folder)
    assert names(tmp_path) == []


def test_the_longest_name_can_be_written(tmp_path: Path) -> None:
    target = tmp_path / ("é" * 120 + ".csv")
    write_whole(target, b"a\n")
    assert target.read_bytes() == b"a\n"


def test_a_folder_for_a_moment_is_its_users_alone() -> None:
    with own_folder() as folder:
        assert folder.stat().st_mode & 0o777 == 0o700
    assert not folder.exists()


def test_a_file_that_few_may_read_is_as_closed_while_it_is_written(tmp_path: Path) -> None:
    path = tmp_path / "list.csv"
    path.write_bytes(b"a\n")
    path.chmod(0o600)
    write_whole(path, b"a\n", Over.ANYTHING)
    assert path.stat().st_mode & 0o777 == 0o600


# --- whole commands


def killed(program: str, *words: object) -> None:
    """Run a program that kills itself where it was told to."""
    done = subprocess.run([sys.executable, "-c", program, *map(str, words)], check=False)
    assert done.returncode == -signal.SIGKILL


COPY_KILLED = """
import os, signal, sys
from pathlib import Path
from credits.store import file
from credits.store.production import back_up
file._took_name = lambda *_: os.kill(os.getpid(), signal.SIGKILL)
back_up(Path(sys.argv[1]), Path(sys.argv[2]))
"""


def test_the_next_backup_clears_what_a_killed_one_left(tmp_path: Path) -> None:
    film, copies = create_production(tmp_path / "film", "Film"), tmp_path / "copies"
    copies.mkdir()
    killed(COPY_KILLED, film, copies)
    [left] = names(copies)
    assert left.endswith(".unfinished")
    copy = back_up(film, copies)
    assert names(copies) == [copy.name]


START_KILLED = """
import os, signal, sys
from pathlib import Path
from credits.cli.main import run
rename = Path.rename
def killed(self, target):
    if target.name == "production.db":
        os.kill(os.getpid(), signal.SIGKILL)
    return rename(self, target)
Path.rename = killed
run(["start", "Film", sys.argv[1]])
"""


def test_a_start_that_was_killed_between_its_files_is_repeated(tmp_path: Path) -> None:
    film = tmp_path / "film"
    killed(START_KILLED, film)
    assert (film / "production.toml").is_file()
    assert not (film / "production.db").exists()
    create_production(film, "Film")
    assert [name for name in names(film) if name.startswith(".")] == []
    with open_log(film) as log:
        assert log.read().production.title == "Film"


def test_the_settings_of_another_film_are_not_written_over(tmp_path: Path) -> None:
    film = tmp_path / "film"
    killed(START_KILLED, film)
    before = (film / "production.toml").read_bytes()
    with pytest.raises(CreditsError, match=r"holds a production\.toml already"):
        create_production(film, "Another Film")
    assert (film / "production.toml").read_bytes() == before


def test_nothing_of_another_program_is_held_for_good(tmp_path: Path) -> None:
    """A process that was begun while a file was made does not hold it."""
    with unfinished(tmp_path / "x") as new:
        child = subprocess.Popen(["sleep", "60"])
        kept = new.with_name(new.name)
        os.link(new, tmp_path / "again")
    try:
        (tmp_path / "again").rename(kept)
        clear_unfinished(tmp_path)
        assert names(tmp_path) == []
    finally:
        child.kill()
        child.wait()


def test_who_could_not_read_a_file_cannot_read_it_once_it_is_written_again(tmp_path: Path) -> None:
    path = tmp_path / "crew.csv"
    path.write_bytes(b"person,email\n")
    for mode in (0o600, 0o640):
        path.chmod(mode)
        write_whole(path, b"person,email\nana,ana@place.example\n")
        assert path.stat().st_mode & 0o777 == mode
