"""Bad disks and wrong files: nothing is lost, nothing ends in a traceback, and it is said.

``benchmarks/disks.py`` does the same to every command, with hundreds of bytes turned.
"""

from __future__ import annotations

import random
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from benchmarks.disks import WRITERS, Disks, harms, small_disk
from benchmarks.kills import make_bases, preload
from tests.cli.conftest import Command
from tests.drawn import FULL

HARMS = {harm.name: harm for harm in harms()}
QUICK = ("question", "log", "verify", "backup")
FLIPS = 24 if FULL else 9


@pytest.fixture(scope="module")
def disks() -> Iterator[Disks]:
    """Productions that everybody may enter, to be harmed in copies."""
    top = Path(tempfile.mkdtemp())
    top.chmod(0o755)
    preload()
    make_bases(top, ["film"])
    yield Disks(top)
    shutil.rmtree(top)


SAID = [
    ("full disk", "log", "cannot be written|disk"),
    ("read-only folder", "log", "may be read, but not written. Ask for permission"),
    ("folder of another user", "question", "may not be opened by you. Ask for permission"),
    ("log of another user", "question", "cannot be opened. See that it is a file"),
    ("log gone", "question", "its log production.db is gone. Put back a copy"),
    ("cut to 0.00%", "backup", "is empty: it is not a log"),
    ("cut to 50.00%", "log", "is damaged. Put back a copy"),
    ("cut to 99.90%", "log", "is damaged. Put back a copy"),
    ("newer version", "log", "was written by a newer program"),
    ("a picture", "question", "is not a log"),
    ("another program's", "backup", "is a database, but not a log"),
    ("no shared memory", "log", "on this disk programs cannot share a log"),
]
"""What is wrong and what to do, as it is said: the harm, the command, one of these wordings."""


@pytest.mark.parametrize("name", HARMS)
def test_it_is_said_and_nothing_is_lost(name: str, disks: Disks) -> None:
    outcome = disks.over(HARMS[name], QUICK)
    assert outcome.wrong == []
    for harm, command, said in SAID:
        if harm == name:
            answer = outcome.said[command]
            assert any(words in answer for words in said.split("|")), answer


def test_what_is_said_belongs_to_a_harm_and_a_command() -> None:
    assert {harm for harm, *_ in SAID} <= HARMS.keys()
    assert {command for _, command, _ in SAID} <= set(QUICK)


def test_a_log_that_another_program_holds(disks: Disks) -> None:
    outcome = disks.locked(exclusive=False, names=("question", *WRITERS))
    assert outcome.wrong == []
    assert "is being written by another program" in outcome.said["restore"]


def test_a_log_that_another_program_lets_nobody_read_is_not_taken_for_damaged(
    disks: Disks,
) -> None:
    outcome = disks.locked(exclusive=True, names=("restore",))
    assert outcome.wrong == []
    assert "is being written by another program" in outcome.said["restore"]


def test_a_disk_of_its_own_that_is_full(disks: Disks) -> None:
    """Where nobody may mount one, files that may not grow stand in."""
    with small_disk("6m") as place:
        full = HARMS["full disk"]
        outcome = disks.over(full, QUICK) if place is None else disks.full(place, QUICK)
    assert outcome.wrong == []
    assert outcome.said["question"].startswith("0: ")


def test_bytes_that_turned_are_found_or_did_not_matter(disks: Disks) -> None:
    outcome = disks.flipped(random.Random(3), FLIPS, ("question", "log", "backup"))
    assert outcome.wrong == []
    assert int(outcome.said["found"]) > FLIPS // 3


def test_the_newest_copy_in_the_production_is_named(film: Path, credits_: Command) -> None:
    for _ in range(2):
        assert credits_("backup").status == 0
    newest = max((film / "backups").iterdir(), key=lambda copy: copy.stat().st_mtime)
    log = film / "production.db"
    log.write_bytes(log.read_bytes()[:5000])
    for beside in film.glob("production.db-*"):
        beside.unlink()
    assert f"credits restore backups/{newest.name}" in credits_("footage").err
    log.unlink()
    gone = credits_("footage")
    assert (gone.status, f"credits restore backups/{newest.name}" in gone.err) == (2, True)
    assert credits_("restore", newest).status == 0
    assert credits_("verify").status == 0


def test_two_backups_of_one_second_have_two_names(film: Path, credits_: Command) -> None:
    for _ in range(3):
        assert credits_("backup").status == 0
    assert len(list((film / "backups").iterdir())) == 3
