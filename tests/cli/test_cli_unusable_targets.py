"""A target that cannot be used is a wrong call in every command that takes one: exit status 2."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from tests.cli.conftest import Command, files_in

pytestmark = pytest.mark.usefixtures("film_with_cut")

FILES = {
    "plan": ("plan", "--force", "--out"),
    "cut": ("cut", "--save"),
    "text": ("export", "text", "--out"),
    "csv": ("export", "csv", "--out"),
    "json": ("export", "json", "--out"),
    "xlsx": ("export", "xlsx", "--out"),
    "confirmations": ("export", "confirmations", "--out"),
    "prov": ("export", "prov", "--out"),
    "jsonld": ("export", "jsonld", "--out"),
    "backup": ("backup",),
}
FOLDERS = {
    "start": ("start", "Another Film"),
    "demo": ("demo",),
    "site": ("site", "--edition", "public", "--out"),
    "review": ("review", "ana", "--out"),
    "cards": ("export", "png", "--cards"),
}
SUFFIXES = {"cut": ".otio", "text": ".txt", "confirmations": ".xlsx", "plan": ".toml"}


def refused(credits_: Command, tmp_path: Path, words: tuple[str, ...], target: Path) -> None:
    before = files_in(tmp_path)
    answer = credits_(*words, target)
    assert (answer.status, answer.out) == (2, ""), answer.err
    assert answer.err
    assert files_in(tmp_path) == before


@pytest.mark.parametrize("command", FILES)
@pytest.mark.parametrize("place", ["nowhere", "a-file"])
def test_a_file_in_no_folder(credits_: Command, tmp_path: Path, command: str, place: str) -> None:
    (tmp_path / "a-file").write_text("mine")
    name = f"new{SUFFIXES.get(command, f'.{command}')}"
    refused(credits_, tmp_path, FILES[command], tmp_path / place / name)
    assert (tmp_path / "a-file").read_text() == "mine"


@pytest.mark.parametrize("command", FILES)
def test_no_ordinary_file(credits_: Command, tmp_path: Path, command: str) -> None:
    pipe = tmp_path / f"pipe{SUFFIXES.get(command, f'.{command}')}"
    os.mkfifo(pipe)
    refused(credits_, tmp_path, FILES[command], pipe)


@pytest.mark.parametrize("command", sorted({*FILES} - {"backup", "plan"}))
def test_a_folder_where_a_file_is_wanted(credits_: Command, tmp_path: Path, command: str) -> None:
    """A plan and a copy of the log go into a folder that is named, under names of their own."""
    folder = tmp_path / f"folder{SUFFIXES.get(command, f'.{command}')}"
    folder.mkdir()
    refused(credits_, tmp_path, FILES[command], folder)


@pytest.mark.parametrize("command", FOLDERS)
@pytest.mark.parametrize("inside", [".", "deeper"])
def test_a_file_where_a_folder_is_wanted(
    credits_: Command, tmp_path: Path, command: str, inside: str
) -> None:
    (tmp_path / "a-file").write_text("mine")
    refused(credits_, tmp_path, FOLDERS[command], tmp_path / "a-file" / inside)
    assert (tmp_path / "a-file").read_text() == "mine"


@pytest.mark.parametrize("command", FOLDERS)
def test_a_folder_that_holds_something_else(
    credits_: Command, tmp_path: Path, command: str
) -> None:
    inside = tmp_path / "full" / ("public" if command == "site" else "")
    inside.mkdir(parents=True)
    (inside / "production.db").write_text("mine")
    refused(credits_, tmp_path, FOLDERS[command], tmp_path / "full")


@pytest.mark.parametrize("command", sorted({*FILES, *FOLDERS}))
def test_a_name_that_no_system_takes(credits_: Command, tmp_path: Path, command: str) -> None:
    suffix = SUFFIXES.get(command, f".{command}") if command in FILES else ""
    words = FILES.get(command) or FOLDERS[command]
    refused(credits_, tmp_path, words, tmp_path / ("n" * 300 + suffix))


@pytest.mark.parametrize(
    ("words", "name"),
    [
        (("plan", "--out"), "plan.toml"),
        (("backup",), "copy.db"),
        (("export", "png", "--cards"), "cards"),
        (("export", "xlsx", "--out"), "credits.pdf"),
        (("cut", "--save"), "cut.edl"),
    ],
)
def test_what_is_there_and_must_not_be(
    credits_: Command, tmp_path: Path, words: tuple[str, ...], name: str
) -> None:
    (tmp_path / name).write_text("mine")
    refused(credits_, tmp_path, words, tmp_path / name)
    assert (tmp_path / name).read_text() == "mine"
