"""A backup put in the place of the log: never over more, and never beside what was left over."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from tests.cli.conftest import Command

ENTRY = ("log", "voice", "ben", "brine")


@pytest.fixture
def copy(film: Path, tmp_path: Path, credits_: Command) -> Path:
    """A copy of the film's log, made before anything else happens."""
    target = tmp_path / "copy.db"
    assert credits_("backup", target, "-p", film).status == 0
    return target


def answers(film: Path, credits_: Command) -> tuple[object, ...]:
    """What the commands answer of a production."""
    asked = (("footage",), ("roll",), ("reach",), ("check",))
    return tuple(credits_(*words, "--json", "-p", film).out for words in asked)


def aside(film: Path) -> list[Path]:
    return sorted(film.glob("production.db.before-restore-*"))


def test_a_copy_is_not_put_over_a_log_that_has_more(
    film: Path, copy: Path, credits_: Command
) -> None:
    before = answers(film, credits_)
    assert credits_(*ENTRY, "-p", film).status == 0
    now = answers(film, credits_)
    refused = credits_("restore", copy, "-p", film)
    assert refused.status == 1
    assert "the log here has 1 line that the copy has not. Write --force" in refused.err
    assert answers(film, credits_) == now
    assert aside(film) == []
    done = credits_("restore", copy, "--force", "-p", film)
    assert done.status == 0, done.err
    assert answers(film, credits_) == before
    assert credits_("verify", "-p", film).status == 0
    [kept] = aside(film)
    assert str(kept) in done.out
    assert credits_("restore", kept, "-p", film).status == 0  # and back again: it has more
    assert answers(film, credits_) == now


def test_a_log_that_differs_from_the_copy_is_told(
    film: Path, copy: Path, credits_: Command
) -> None:
    """Both went on from the same lines, each by itself."""
    other = shutil.copytree(film, film.with_name("other"))
    for folder, frames in ((film, "1-2"), (other, "3-4")):
        done = credits_("log", "ana", "animation", "wick", "010-020", frames, "-p", folder)
        assert done.status == 0
    assert credits_("backup", copy.with_name("theirs.db"), "-p", other).status == 0
    refused = credits_("restore", copy.with_name("theirs.db"), "-p", film)
    assert refused.status == 1
    assert "another line A-8" in refused.err


def test_a_copy_that_was_altered_is_not_put_back(film: Path, copy: Path, credits_: Command) -> None:
    with closing(sqlite3.connect(copy)) as raw:
        query = "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"
        triggers = raw.execute(query).fetchall()
        for name, _ in triggers:
            raw.execute(f"DROP TRIGGER {name}")
        raw.execute("UPDATE entries SET note = 'another' WHERE number = 2")
        for _, text in triggers:
            raw.execute(text)
        raw.commit()
    refused = credits_("restore", copy, "-p", film, "--force")
    assert refused.status == 1
    assert "cannot be put back: line A-2 was altered after it was written" in refused.err


def test_what_lies_beside_a_damaged_log_does_not_get_into_the_copy(
    film: Path, copy: Path, credits_: Command
) -> None:
    before = answers(film, credits_)
    log, wal = film / "production.db", film / "production.db-wal"
    connection = sqlite3.connect(log)  # a program that was killed leaves its -wal
    connection.execute("PRAGMA journal_mode=WAL")
    connection.execute("PRAGMA wal_autocheckpoint=0")
    connection.execute("CREATE TABLE left_over (word TEXT)")
    connection.commit()
    left = wal.read_bytes()
    connection.close()
    log.write_bytes(log.read_bytes()[:4096] + b"junk" * 20_000)
    wal.write_bytes(left)
    done = credits_("restore", copy, "-p", film)
    assert done.status == 0, done.err
    assert answers(film, credits_) == before
    assert credits_("verify", "-p", film).status == 0
    assert [path for path in aside(film) if path.name.endswith("-wal")]


def test_a_log_that_is_gone_is_put_back(film: Path, copy: Path, credits_: Command) -> None:
    before = answers(film, credits_)
    (film / "production.db").unlink()
    for left in film.glob("production.db-*"):
        left.unlink()
    assert credits_("restore", copy, "-p", film).status == 0
    assert answers(film, credits_) == before


def test_who_reads_meanwhile_sees_one_log_or_the_other(
    film: Path, copy: Path, credits_: Command
) -> None:
    assert credits_(*ENTRY, "-p", film).status == 0
    count = "SELECT count(*) FROM entries"
    with closing(sqlite3.connect(film / "production.db")) as reader:
        before = reader.execute(count).fetchone()[0]
        assert credits_("restore", copy, "--force", "-p", film).status == 0
        assert reader.execute(count).fetchone()[0] == before - 1
        assert reader.execute("PRAGMA integrity_check").fetchone()[0] == "ok"


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (
            b"person,credit_name\n",
            "stranger.db: cannot be put back: is not a log. Take",
        ),
        (b"", "stranger.db: cannot be put back: is empty"),
        (b"SQLite format 3\0" + b"\1" * 5000, ""),
    ],
)
def test_what_is_no_copy_is_refused(
    content: bytes, said: str, film: Path, tmp_path: Path, credits_: Command
) -> None:
    before = (film / "production.db").read_bytes()
    stranger = tmp_path / "stranger.db"
    stranger.write_bytes(content)
    refused = credits_("restore", stranger, "--force", "-p", film)
    assert refused.status != 0
    assert said in refused.err
    assert (film / "production.db").read_bytes() == before
    assert aside(film) == []
    assert not list(film.glob(".restore-*"))


def test_the_log_itself_is_no_copy(film: Path, credits_: Command) -> None:
    refused = credits_("restore", film / "production.db", "-p", film)
    assert (refused.status, "is the log itself" in refused.err) == (2, True)


def test_the_credit_plan_of_the_production_is_no_matter_of_the_copy(
    film: Path, copy: Path, credits_: Command
) -> None:
    assert credits_("plan", "-p", film).status == 0
    plan = film / "credit-plan.toml"
    plan.write_text(plan.read_text().replace("Animat", "Lead animat"))
    assert credits_(*ENTRY, "-p", film).status == 0
    done = credits_("restore", copy, "--force", "-p", film)
    assert (done.status, done.err) == (0, "")


def test_a_log_that_is_the_copy_already_is_not_kept_aside(
    film: Path, copy: Path, credits_: Command
) -> None:
    """As after a restore that was stopped behind its last step."""
    for _ in range(2):
        assert credits_("restore", copy, "-p", film).status == 0
    assert aside(film) == []
    assert credits_(*ENTRY, "-p", film).status == 0
    for _ in range(2):
        assert credits_("restore", copy, "--force", "-p", film).status == 0
    assert len(aside(film)) == 1


def test_an_altered_log_is_not_taken_for_the_copy(
    film: Path, copy: Path, credits_: Command
) -> None:
    before = answers(film, credits_)
    with closing(sqlite3.connect(film / "production.db")) as raw:
        raw.execute("DROP TRIGGER entries_changed")
        raw.execute("UPDATE entries SET person = 'cai' WHERE number = 2")
        raw.commit()
    assert credits_("verify", "-p", film).status == 1
    assert credits_("restore", copy, "--force", "-p", film).status == 0
    assert credits_("verify", "-p", film).status == 0
    assert answers(film, credits_) == before


def test_a_log_that_became_an_empty_file_is_put_back(
    film: Path, credits_: Command, tmp_path: Path
) -> None:
    copy = tmp_path / "copy.db"
    assert credits_("backup", copy).status == 0
    for left in film.glob("production.db*"):
        left.unlink()
    (film / "production.db").touch()
    said = credits_("footage")
    assert said.status == 1
    assert "is empty: it is not a log. Put back a copy" in said.err
    assert credits_("restore", copy).status == 0
    assert credits_("verify").status == 0
