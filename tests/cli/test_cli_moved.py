"""A production folder that moves to another machine, in one file; and what others may send."""

from __future__ import annotations

import json
import shutil
import sqlite3
import stat
import zipfile
from collections.abc import Callable
from contextlib import closing
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest

from credits.app.logs import moved
from credits.cli.main import run
from tests.cli.conftest import Command
from tests.conftest import made_once

CONTENTS = "credits-folder.json"
ENTRY = ("log", "voice", "ben", "brine")


@pytest.fixture(scope="session")
def whole(shared_folder: Path, films: Path) -> Path:
    """A production with everything that a folder holds: plan, pictures, pages, figures; packed."""

    def make(made: Path) -> None:
        film = Path(shutil.copytree(films / "cut", made / "film"))
        (film / "pictures").mkdir()
        (film / "pictures" / "wïck.png").write_bytes(b"\x89PNG\r\n\x1a\n" + bytes(99))
        (film / "notes.txt").write_text("Ring the studio.")
        (film / "notes.txt").chmod(0o600)
        (film / "empty.txt").write_bytes(b"")
        (film / "nothing" / "yet").mkdir(parents=True)
        (film / "pictures").chmod(0o750)
        for words in (
            ("plan", "--out", film / "credit-plan.toml"),
            ("site", "--edition", "public"),
            ("backup",),
            ("footage",),
            ("backup", "--whole", made / "moved.zip"),
        ):
            assert run([*map(str, words), "-p", str(film)]) == 0

    return made_once(shared_folder / "whole", make)


@pytest.fixture
def folder(whole: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The production, which is the working folder."""
    film = Path(shutil.copytree(whole / "film", tmp_path / "film"))
    monkeypatch.chdir(film)
    return film


@pytest.fixture
def packed(whole: Path, tmp_path: Path) -> Path:
    """The production, packed."""
    return Path(shutil.copy(whole / "moved.zip", tmp_path))


def answers(folder: Path, credits_: Command) -> tuple[str, ...]:
    """What the commands answer of a production."""
    asked = (("footage",), ("roll",), ("reach",), ("check",), ("verify", "--seal"))
    return tuple(credits_(*words, "--json", "-p", folder).out for words in asked)


def files_of(folder: Path) -> dict[str, tuple[bytes, int]]:
    return {
        path.relative_to(folder).as_posix(): (path.read_bytes(), path.stat().st_mode)
        for path in folder.rglob("*")
        if path.is_file()
    }


def test_everything_that_a_folder_needs_comes_along_and_nothing_else(
    folder: Path, packed: Path, tmp_path: Path, credits_: Command
) -> None:
    there = tmp_path / "there"
    opened = credits_("restore", packed, "--into", there)
    assert opened.status == 0, opened.err
    found, before = files_of(there), files_of(folder)
    wanted = {
        name
        for name in before
        if not name.startswith(("site/", "backups/", "figures.db", "production.db-"))
    }
    assert set(found) == wanted
    assert {"credit-plan.toml", "production.toml", "pictures/wïck.png", "empty.txt"} <= wanted
    for name in wanted - {"production.db"}:
        assert found[name] == before[name], name
    assert stat.S_IMODE((there / "pictures").stat().st_mode) == 0o750
    assert (there / "nothing" / "yet").is_dir()
    assert answers(there, credits_) == answers(folder, credits_)
    again = credits_(*ENTRY, "--json", "-p", there)  # and the log goes on there
    assert again.json["entry"] == "A-8"


def test_the_log_is_whole_while_others_write_it(folder: Path, packed: Path) -> None:
    """What SQLite still holds beside the file is in the copy: a whole log, by itself."""
    with zipfile.ZipFile(packed) as archive:
        names = archive.namelist()
        archive.extract("production.db", folder.parent / "alone")
    assert names[0] == CONTENTS
    assert not {"production.db-wal", "production.db-shm"} & set(names)
    with closing(sqlite3.connect(folder.parent / "alone" / "production.db")) as log:
        assert log.execute("SELECT count(*) FROM entries").fetchone() == (7,)


def test_the_same_folder_is_packed_beside_its_backups_without_a_name(
    folder: Path, credits_: Command
) -> None:
    done = credits_("backup", "--whole", "--json")
    copy = Path(done.json["copy"])
    assert copy.parent == folder / "backups"
    assert copy.name.startswith("the-small-film-")
    assert "credits restore" in credits_("backup", "--whole", folder.parent).out


def test_nothing_is_written_over(folder: Path, packed: Path, credits_: Command) -> None:
    before = files_of(folder)
    refused = credits_("backup", "--whole", packed)
    assert refused.status == 2
    assert "is there already" in refused.err
    refused = credits_("restore", packed, "--into", folder)
    assert refused.status == 2
    assert "holds something already" in refused.err
    refused = credits_("restore", packed)
    assert refused.status == 2
    assert "--into DIR" in refused.err
    assert files_of(folder) == before


def test_what_was_packed_before_is_not_packed_again(
    folder: Path, packed: Path, credits_: Command
) -> None:
    shutil.copy(packed, folder / "last-week.zip")
    with zipfile.ZipFile(folder / "notes.zip", "w") as archive:
        archive.writestr("notes.txt", "Ring the studio.")
    assert credits_("backup", "--whole", folder / "now.zip").status == 0
    with zipfile.ZipFile(folder / "now.zip") as archive:
        names = set(archive.namelist())
    assert "notes.zip" in names
    assert not {"last-week.zip", "now.zip"} & names


def test_a_file_that_changes_meanwhile_is_not_half_packed(
    folder: Path, tmp_path: Path, credits_: Command, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_as_always = moved._write

    def somebody_else_writes_too(*given: Any) -> None:
        (folder / "notes.txt").write_text("Ring them twice.")
        write_as_always(*given)

    monkeypatch.setattr(moved, "_write", somebody_else_writes_too)
    refused = credits_("backup", "--whole", tmp_path / "moved.zip")
    assert refused.status == 1
    assert "'notes.txt': changed while it was packed" in refused.err
    assert [each.name for each in tmp_path.iterdir()] == ["film"]


def test_links_are_left_out_and_told(folder: Path, tmp_path: Path, credits_: Command) -> None:
    (tmp_path / "elsewhere.txt").write_text("secret")
    (folder / "link.txt").symlink_to(tmp_path / "elsewhere.txt")
    (folder / "links").symlink_to(tmp_path)
    done = credits_("backup", "--whole", tmp_path / "moved.zip")
    assert done.status == 0
    assert "Left out: link.txt" in done.err
    assert "Left out: links" in done.err
    with zipfile.ZipFile(tmp_path / "moved.zip") as archive:
        assert not [name for name in archive.namelist() if "link" in name]


# --- what somebody may send


Contents = dict[str, Any]
Harm = Callable[[Contents, dict[str, bytes]], None]


def packed_otherwise(packed: Path, harm: Harm, mode: int = stat.S_IFREG | 0o644) -> Path:
    """The same file, changed by whoever wishes us ill, with a list that fits where it can."""
    with zipfile.ZipFile(packed) as archive:
        files = {name: archive.read(name) for name in archive.namelist()}
    contents = json.loads(files.pop(CONTENTS))
    harm(contents, files)
    target = packed.with_name("hostile.zip")
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as made:
        made.writestr(CONTENTS, json.dumps(contents))
        for name, content in files.items():
            entry = zipfile.ZipInfo(name)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = mode << 16
            made.writestr(entry, content)
    return target


def adding(name: str, content: bytes = b"harm", size: int | None = None) -> Harm:
    def harm(contents: Contents, files: dict[str, bytes]) -> None:
        files[name] = content
        said = len(content) if size is None else size
        contents["files"].append([name, said, sha256(content).hexdigest(), 0o644])

    return harm


def altering(_: Contents, files: dict[str, bytes]) -> None:
    files["notes.txt"] = b"Ring nobody now."


def taking_out(_: Contents, files: dict[str, bytes]) -> None:
    del files["notes.txt"]


def adding_unlisted(_: Contents, files: dict[str, bytes]) -> None:
    files["more.txt"] = b"more"


def without_log(contents: Contents, files: dict[str, bytes]) -> None:
    del files["production.db"]
    contents["files"] = [each for each in contents["files"] if each[0] != "production.db"]


def folder_outside(contents: Contents, _: dict[str, bytes]) -> None:
    contents["folders"]["../outside"] = 0o755


def newer(contents: Contents, _: dict[str, bytes]) -> None:
    contents["format"] = 2


def broken_list(contents: Contents, _: dict[str, bytes]) -> None:
    contents["files"] = [["notes.txt"]]


@pytest.mark.parametrize(
    ("harm", "words"),
    [
        (adding("../outside.txt"), "is no name of a file in this folder"),
        (adding("a/../../outside.txt"), "is no name of a file in this folder"),
        (adding("/tmp/outside.txt"), "is no name of a file in this folder"),
        (adding("..\\outside.txt"), "is no name of a file in this folder"),
        (adding("C:outside.txt"), "is no name of a file in this folder"),
        (adding("a//b.txt"), "is no name of a file in this folder"),
        (adding("pictures/nul.txt"), "is no name that every system has"),
        (adding("production.db-wal"), "engine or the program makes for itself"),
        (adding("Figures.db"), "engine or the program makes for itself"),
        (adding("NOTES.txt"), "does not hold what it says it holds"),
        (adding("notes.txt/inner.txt"), "could not be done"),
        (adding("large.txt", size=99), "is not of the size that it says"),
        (adding("bomb.txt", bytes(2_000_000)), "is not of the size that it says"),
        (altering, "is damaged or was altered"),
        (taking_out, "does not hold what it says it holds"),
        (adding_unlisted, "does not hold what it says it holds"),
        (without_log, "holds no log"),
        (folder_outside, "names folders that are none of this folder's"),
        (newer, "was packed by a newer program"),
        (broken_list, "does not say what it holds"),
    ],
    ids=lambda each: each.replace(" ", "-") if isinstance(each, str) else "",
)
def test_what_is_not_what_we_packed_is_refused_whole(
    packed: Path,
    tmp_path: Path,
    credits_: Command,
    monkeypatch: pytest.MonkeyPatch,
    harm: Harm,
    words: str,
) -> None:
    monkeypatch.setattr(moved, "LARGEST_UNLIKELY", 1_000_000)
    hostile = packed_otherwise(packed, harm)
    before = sorted(tmp_path.rglob("*"))
    refused = credits_("restore", hostile, "--into", tmp_path / "there")
    assert refused.status == 1
    assert words in refused.err
    assert sorted(tmp_path.rglob("*")) == before  # nothing is left, there or anywhere
    assert not Path("/tmp/outside.txt").exists()


def test_a_link_in_the_file_is_refused(packed: Path, tmp_path: Path, credits_: Command) -> None:
    hostile = packed_otherwise(packed, lambda *_: None, stat.S_IFLNK | 0o777)
    refused = credits_("restore", hostile, "--into", tmp_path / "there")
    assert refused.status == 1
    assert "is no plain file" in refused.err
    assert not (tmp_path / "there").exists()


def test_rights_that_nobody_should_give_are_not_given(
    packed: Path, tmp_path: Path, credits_: Command
) -> None:
    def harm(contents: Contents, _: dict[str, bytes]) -> None:
        for each in contents["files"]:
            each[3] = 0o6777

    hostile = packed_otherwise(packed, harm, stat.S_IFREG | 0o6777)
    assert credits_("restore", hostile, "--into", tmp_path / "there").status == 0
    assert stat.S_IMODE((tmp_path / "there" / "notes.txt").stat().st_mode) == 0o777


def test_a_log_that_was_altered_before_it_was_packed_is_refused(
    folder: Path, tmp_path: Path, credits_: Command
) -> None:
    with closing(sqlite3.connect(folder / "production.db")) as raw:
        raw.execute("DROP TRIGGER entries_changed")
        raw.execute("UPDATE entries SET note = 'another' WHERE number = 2")
        raw.commit()
    assert credits_("backup", "--whole", tmp_path / "moved.zip").status == 0
    refused = credits_("restore", tmp_path / "moved.zip", "--into", tmp_path / "there")
    assert refused.status == 1
    assert "holds a production that is not sound" in refused.err
    assert not (tmp_path / "there").exists()


@pytest.mark.parametrize("share", [0.2, 0.6, 0.99])
def test_a_file_that_was_cut_off_is_refused(
    packed: Path, tmp_path: Path, credits_: Command, share: float
) -> None:
    part = tmp_path / "part.zip"
    content = packed.read_bytes()
    part.write_bytes(content[: int(len(content) * share)])
    refused = credits_("restore", part, "--into", tmp_path / "there")
    assert refused.status == 1
    assert not (tmp_path / "there").exists()


def test_a_byte_that_was_altered_on_the_way_is_found(
    packed: Path, tmp_path: Path, credits_: Command
) -> None:
    content = bytearray(packed.read_bytes())
    harmed = tmp_path / "harmed.zip"
    for at in range(len(content) // 3, len(content) // 2, len(content) // 16):
        harmed.write_bytes(content[:at] + bytes([content[at] ^ 0xFF]) + content[at + 1 :])
        refused = credits_("restore", harmed, "--into", tmp_path / "there")
        assert refused.status == 1
        assert not (tmp_path / "there").exists()


def test_a_backup_is_no_whole_folder(folder: Path, tmp_path: Path, credits_: Command) -> None:
    copy = tmp_path / "copy.db"
    assert credits_("backup", copy, "-p", folder).status == 0
    refused = credits_("restore", copy, "--into", tmp_path / "there")
    assert refused.status == 1
    assert "is damaged" in refused.err
    assert not (tmp_path / "there").exists()
