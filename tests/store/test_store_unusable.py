"""Files that are no log, damaged, locked or out of reach: words, never a traceback."""

from __future__ import annotations

import os
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest

from credits.errors import LogUnusable, NoProduction
from credits.model.facts import Person
from credits.model.log import Batch
from credits.store.log import open_log
from credits.store.production import back_up, create_production
from credits.store.schema.version import known_versions
from credits.store.seals.verify import verify

pytestmark = pytest.mark.sqlite

CAI = Batch(people=(Person(code="cai", credit_name="Cai"),))
NOBODY = 65534


def words(folder: Path) -> str:
    """What opening and reading the log says, being unusable."""
    with pytest.raises(LogUnusable) as caught, open_log(folder) as log:
        log.read()
    assert "Traceback" not in str(caught.value)
    return str(caught.value)


def test_a_folder_without_a_log(tmp_path: Path) -> None:
    with pytest.raises(NoProduction, match="credits start"):
        open_log(tmp_path)


def test_a_folder_in_the_place_of_the_log(tmp_path: Path) -> None:
    (tmp_path / "production.db").mkdir()
    assert "cannot be opened" in words(tmp_path)


def test_a_text_in_the_place_of_the_log(tmp_path: Path) -> None:
    (tmp_path / "production.db").write_text("person,credit_name\n" * 100)
    assert "is not a log" in words(tmp_path)


def test_an_empty_file(tmp_path: Path) -> None:
    (tmp_path / "production.db").touch()
    assert "is empty: it is not a log" in words(tmp_path)
    assert (tmp_path / "production.db").stat().st_size == 0


def test_another_programs_database_is_left_as_it_is(tmp_path: Path) -> None:
    path = tmp_path / "production.db"
    with closing(sqlite3.connect(path)) as other:
        other.execute("CREATE TABLE recipes (name)")
    before = path.read_bytes()
    assert "is a database, but not a log" in words(tmp_path)
    assert path.read_bytes() == before


def test_a_log_whose_end_is_lost(film: Path) -> None:
    path = film / "production.db"
    path.write_bytes(path.read_bytes()[: 4096 * 20])
    assert "is damaged" in words(film)


def test_a_log_of_a_newer_program(film: Path) -> None:
    with closing(sqlite3.connect(film / "production.db")) as raw, raw:
        raw.execute("UPDATE alembic_version SET version_num = '9999'")
    assert words(film) == (
        "production.db: version '9999': was written by a newer program: this one knows the log up"
        f" to version {known_versions()[-1]}. Install the newest version of this program."
    )


def test_a_row_that_no_program_of_ours_wrote(film: Path) -> None:
    with closing(sqlite3.connect(film / "production.db")) as raw, raw:
        raw.execute(
            "INSERT INTO entries (origin, number, verb, logged_at, craft, person, shot, frames,"
            " private) VALUES ('A', 1, 'record', '2026-03-02T10:00:00+00:00', 'voice', 'ana',"
            " '010-020', '48-1', 0)"
        )
    assert "holds a row that cannot be read" in words(film)


def test_a_log_that_another_program_is_writing_can_be_read_but_not_written(film: Path) -> None:
    with closing(sqlite3.connect(film / "production.db", isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with open_log(film, busy_milliseconds=50) as log:
            assert len(log.read().people) == 2
            said = "is being written by another program"
            with pytest.raises(LogUnusable, match=said), log.writing() as pen:
                pen.write(CAI)
            other.execute("ROLLBACK")
            with log.writing() as pen:
                pen.write(CAI)
            assert len(log.read().people) == 3


def test_a_log_that_is_closed(film: Path) -> None:
    log = open_log(film)
    log.close()
    log.close()
    with pytest.raises(LogUnusable, match="closed"):
        log.read()


# --- folders and files that one may only read


@contextmanager
def somebody_else() -> Iterator[None]:
    """As an ordinary user: to the superuser nothing is forbidden."""
    if os.geteuid() != 0:
        yield
        return
    os.seteuid(NOBODY)
    try:
        yield
    finally:
        os.seteuid(0)


@pytest.fixture
def guarded() -> Iterator[Path]:
    """A production in a folder that anybody may read and nobody may write."""
    top = Path(tempfile.mkdtemp())
    top.chmod(0o755)
    folder = create_production(top / "film", "Film")
    for path in folder.iterdir():
        path.chmod(0o444)
    folder.chmod(0o555)
    yield folder
    folder.chmod(0o755)
    shutil.rmtree(top)


def test_a_log_that_may_not_be_written_is_read_backed_up_and_verified(guarded: Path) -> None:
    names = sorted(path.name for path in guarded.iterdir())
    with somebody_else(), tempfile.TemporaryDirectory() as elsewhere:
        with open_log(guarded) as log:
            assert log.read().production.title == "Film"
            said = "may be read, but not written"
            with pytest.raises(LogUnusable, match=said), log.writing() as pen:
                pen.write(CAI)
            assert log.read().people == ()
        assert verify(guarded) == ()
        assert back_up(guarded, Path(elsewhere) / "copy.db").stat().st_size > 0
        with pytest.raises(LogUnusable):
            back_up(guarded, guarded)
    assert sorted(path.name for path in guarded.iterdir()) == names


def test_a_log_that_may_not_be_read(guarded: Path) -> None:
    (guarded / "production.db").chmod(0o000)
    with somebody_else():
        assert "cannot be opened" in words(guarded)


def test_a_folder_that_may_not_be_entered(guarded: Path) -> None:
    guarded.chmod(0o000)
    with somebody_else():
        assert "may not be opened by you" in words(guarded)


def test_a_production_cannot_be_made_where_one_may_not_write(guarded: Path) -> None:
    with somebody_else(), pytest.raises(LogUnusable, match="cannot be made a production's folder"):
        create_production(guarded / "another", "Another")
