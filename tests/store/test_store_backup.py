"""Copies of a log, and the full check of one."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from datetime import datetime
from pathlib import Path

import pytest

from credits.errors import LogUnusable, NoProduction, WrongCall
from credits.model.facts import Person, Work
from credits.model.log import Batch, NewLine, Verb
from credits.store.file import copy_log
from credits.store.log import open_log
from credits.store.logs.restore import keep_aside
from credits.store.production import back_up
from credits.store.seals.verify import verify

RECORD = Batch(
    lines=(NewLine(verb=Verb.RECORD, work=Work(craft="voice", person="ana", character="wick")),)
)

pytestmark = pytest.mark.sqlite


def write(folder: Path, *batches: Batch) -> None:
    with open_log(folder) as log, log.writing() as pen:
        for batch in batches:
            pen.write(batch)


def tamper(folder: Path, *statements: str) -> None:
    """What a stranger does to the file, foreign keys unheeded."""
    with closing(sqlite3.connect(folder / "production.db")) as raw, raw:
        for statement in statements:
            raw.execute(statement)


def said(folder: Path) -> list[str]:
    return [str(finding) for finding in verify(folder)]


# --- copies


def test_a_copy_in_a_folder_is_named_by_the_moment(film: Path, tmp_path: Path) -> None:
    copy = back_up(film, tmp_path, lambda: datetime(2026, 3, 2, 18, 5, 9))
    assert copy == tmp_path / "production-20260302-180509.db"
    assert [p.name for p in tmp_path.iterdir() if p.is_file()] == [copy.name]


def test_a_copy_holds_everything_that_was_committed_while_others_write(film: Path) -> None:
    with open_log(film) as log, log.writing() as pen:
        pen.write(Batch(people=(Person(code="cai", credit_name="Cai"),)))
        copy = back_up(film, film / "copy.db")
    with closing(sqlite3.connect(copy)) as raw:
        assert [p for (p,) in raw.execute("SELECT person FROM people")] == ["ana", "ben"]


@pytest.mark.skipif(os.name != "posix", reason="who may read a file is told otherwise there")
@pytest.mark.parametrize("mode", [0o600, 0o640, 0o644])
def test_a_copy_may_be_read_by_whoever_may_read_the_log(film: Path, mode: int) -> None:
    (film / "production.db").chmod(mode)
    copy = back_up(film, film / "copy.db")
    assert copy.stat().st_mode & 0o777 == mode


def test_a_copy_put_back_is_the_log_as_it_was(film: Path) -> None:
    copy = back_up(film, film / "copy.db")
    with open_log(film) as log:
        before = log.read()
    write(film, RECORD)
    copy.replace(film / "production.db")
    with open_log(film) as log:
        assert log.read() == before
    write(film, RECORD)
    assert said(film) == []


def test_a_copy_never_writes_over_a_file(film: Path, tmp_path: Path) -> None:
    target = tmp_path / "copy.db"
    target.write_text("mine")
    with pytest.raises(WrongCall, match="is there already; nothing was copied"):
        back_up(film, target)
    assert target.read_text() == "mine"


def test_a_copy_needs_a_folder_and_a_log(film: Path, tmp_path: Path) -> None:
    with pytest.raises(WrongCall, match="is no folder to write to"):
        back_up(film, tmp_path / "nowhere" / "copy.db")
    with pytest.raises(NoProduction):
        back_up(tmp_path, tmp_path / "copy.db")


def test_a_damaged_log_is_not_copied(film: Path, tmp_path: Path) -> None:
    path = film / "production.db"
    path.write_bytes(path.read_bytes()[: 4096 * 20])
    with pytest.raises(LogUnusable, match="is damaged"):
        back_up(film, tmp_path / "copy.db")
    assert [p.name for p in tmp_path.iterdir()] == ["film"]


# --- the full check


def test_a_sound_log_has_no_findings(film: Path) -> None:
    write(film, RECORD, RECORD)
    assert verify(film) == ()


def test_lines_that_were_taken_out_are_missed(film: Path) -> None:
    write(film, *(RECORD for _ in range(6)))
    tamper(
        film,
        "DROP TRIGGER entries_removed",
        "DELETE FROM entries WHERE number IN (1, 4, 5)",
    )
    put_back = "Put back a copy made with `credits backup`: credits restore FILE"
    assert said(film) == [
        "production.db: trigger 'entries_removed': the trigger is missing: the log is not guarded"
        f" against changes. {put_back}",
        f"production.db: line A-1 is missing. {put_back}",
        f"production.db: lines A-4 to A-5 are missing. {put_back}",
    ]


def test_triggers_that_were_changed_or_added_are_seen(film: Path) -> None:
    tamper(
        film,
        "DROP TRIGGER entries_changed",
        "CREATE TRIGGER entries_changed BEFORE UPDATE ON entries BEGIN SELECT 1; END",
        "CREATE TRIGGER mine AFTER INSERT ON people BEGIN SELECT 1; END",
    )
    changed, added = said(film)
    assert "trigger 'entries_changed': the trigger was changed" in changed
    assert "trigger 'mine': the trigger was not made by this program" in added


def test_rows_that_name_what_is_not_there_are_seen(film: Path) -> None:
    tamper(film, "DELETE FROM characters")
    assert any("puppets names something that is not in characters" in text for text in said(film))


def test_a_line_that_cannot_be_read_is_seen(film: Path) -> None:
    write(film, RECORD, RECORD)
    tamper(
        film, "DROP TRIGGER entries_changed", "UPDATE entries SET logged_at = 'x' WHERE number = 2"
    )
    (_, unreadable) = said(film)
    assert "production.db: line A-2 cannot be read" in unreadable


def test_a_row_that_cannot_be_read_is_seen(film: Path) -> None:
    tamper(
        film,
        "INSERT INTO parts VALUES (1, 'smile', 'face', NULL, NULL, 'smile')",
        "INSERT INTO replacements VALUES (1, '010-020', 1, 'wick', 'smile', '1-4,x')",
    )
    unreadable, unsealed = said(film)
    assert "production.db: row 1 of replacements cannot be read" in unreadable
    assert "of history have no seal: another program wrote them" in unsealed


def test_a_value_that_breaks_a_rule_of_the_log_is_damage(film: Path) -> None:
    ignored = "PRAGMA ignore_check_constraints = ON"
    tamper(film, ignored, "UPDATE people SET name_confirmed_on = 'yesterday'")
    assert any("is damaged: CHECK constraint failed in people" in text for text in said(film))


def test_settings_that_cannot_be_used_are_findings_too(film: Path) -> None:
    (film / "production.toml").write_text("title = 1")
    assert len(said(film)) == 1
    assert "production.toml: title '1'" in said(film)[0]


def test_a_file_that_is_no_log_is_not_verified(tmp_path: Path) -> None:
    with pytest.raises(NoProduction):
        verify(tmp_path)
    (tmp_path / "production.db").write_text("no database" * 100)
    with pytest.raises(LogUnusable, match="is not a log"):
        verify(tmp_path)


# --- copies among others


def test_a_copy_can_be_read_where_nobody_may_write(film: Path, tmp_path: Path) -> None:
    copy = back_up(film, tmp_path / "copy.db")
    # SQLite's file format, 1.3.3: 1 is a rollback journal; 2, a WAL, would want a file beside it.
    assert copy.read_bytes()[18:20] == b"\x01\x01"
    with closing(sqlite3.connect(f"{copy.as_uri()}?immutable=1", uri=True)) as raw:
        assert raw.execute("SELECT count(*) FROM people").fetchone() == (2,)


def test_copies_of_one_name_are_numbered_from_the_second_on(film: Path, tmp_path: Path) -> None:
    log, target = film / "production.db", tmp_path / "copy.db"
    names = [copy_log(log, target, numbered=True).name for _ in range(3)]
    assert names == ["copy.db", "copy-2.db", "copy-3.db"]


def test_what_an_earlier_try_has_kept_aside_is_not_kept_twice(film: Path) -> None:
    log = film / "production.db"
    moments = [datetime(2026, 3, 2, 18, minute) for minute in (5, 6, 7)]
    first = keep_aside(log, moments[0], readable=True)
    assert keep_aside(log, moments[1], readable=True) == first
    write(film, RECORD)
    assert keep_aside(log, moments[2], readable=True) != first
    assert len(list(film.glob("production.db.before-restore-*"))) == 2
