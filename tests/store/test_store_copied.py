"""A log carried between a folder and a server: the same rows, seals and figures, or nothing."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path
from typing import Any

import psycopg
import pytest

from credits.app.logs.copied import copy_log
from credits.app.logs.verified import sealed
from credits.errors import CreditsError, LogUnusable, NoProduction, ProblemsFound, WrongCall
from credits.model.facts import Person
from credits.model.log import Batch
from credits.store.engines.address import Address
from credits.store.log import open_log
from credits.store.place import address_of
from credits.store.production import back_up, create_production
from credits.store.schema.records import RECORDS
from credits.store.seals.verify import verify, verify_file
from tests.postgres_server import PostgresServer
from tests.raw_log import raw_log, unguarded
from tests.store.conftest import FILM
from tests.store.test_store_server import EVERYTHING

pytestmark = pytest.mark.postgres


@pytest.fixture
def here(tmp_path: Path, on_server: PostgresServer) -> Path:  # noqa: ARG001 - it takes them back
    """A log in a file, with a row in every table and a people list whose rows name later ones."""
    return filled(create_production(tmp_path / "here", "The Lamplighter"))


@pytest.fixture
def there(tmp_path: Path, on_server: PostgresServer) -> Path:
    """The same on a server."""
    return filled(on_server.new_log(tmp_path / "there"))


def filled(folder: Path) -> Path:
    same = Person(code="bo", credit_name="Bo", same_as="zed")
    people = Batch(people=(same, Person(code="zed", credit_name="Zed \u2603")))
    with open_log(folder) as log, log.writing() as pen:
        for batch in (FILM, *EVERYTHING, people):
            pen.write(batch)
    return folder


def rows(folder: Path) -> dict[str, list[tuple[Any, ...]]]:
    asked = {
        name: f"SELECT {', '.join(record.columns)} FROM {name} ORDER BY {record.key}"
        for name, record in RECORDS.items()
    }
    with closing(raw_log(folder)) as raw:
        return {name: raw.execute(query).fetchall() for name, query in asked.items()}


def with_log(folder: Path, address: Address) -> Path:
    """A folder with the settings of another, whose log is at an address."""
    new = folder.with_name(f"{folder.name}-on-server")
    new.mkdir()
    text = (folder / "production.toml").read_text("utf-8")
    (new / "production.toml").write_text(f'log = "{address.text}"\n{text}', "utf-8")
    return new


def test_a_log_is_the_same_on_a_server_and_back_in_a_folder(
    here: Path, tmp_path: Path, postgres: PostgresServer
) -> None:
    address = postgres.new_database()
    lines = len(rows(here)["entries"])
    assert copy_log(str(here), address.text).lines == lines
    far = with_log(here, address)
    assert rows(far) == rows(here)
    assert sealed(far).now == sealed(here).now
    assert verify(far) == ()
    back = tmp_path / "back"
    copy_log(str(far), str(back))
    assert rows(back) == rows(here)
    assert sealed(back).now == sealed(here).now
    assert address_of(back) is None
    beside = tmp_path / "beside"
    beside.mkdir()
    (beside / "production.toml").write_bytes((here / "production.toml").read_bytes())
    copy_log(address.text, str(beside))
    assert rows(beside) == rows(here)


def test_what_is_written_afterwards_goes_on_where_the_log_was(
    here: Path, postgres: PostgresServer
) -> None:
    address = postgres.new_database()
    copy_log(str(here), address.text)
    far = with_log(here, address)
    with open_log(far) as log, log.writing() as pen:
        last = pen.write(EVERYTHING[2]).numbers[-1]
    assert last.number == len(rows(here)["entries"]) + 2
    assert verify(far) == ()
    assert sealed(far, against=sealed(here).now.seal).then == sealed(here).now


def test_a_backup_of_a_log_on_a_server_is_a_file_with_all_of_it(
    there: Path, tmp_path: Path
) -> None:
    copy = back_up(there, tmp_path / "copy.db")
    assert verify_file(copy) == ()
    assert sealed(there, copy).now == sealed(there).now
    folder = tmp_path / "put back"
    folder.mkdir()
    copy.rename(folder / "production.db")
    assert rows(folder) == rows(there)


def test_a_log_that_is_not_sound_is_not_copied(here: Path, postgres: PostgresServer) -> None:
    with unguarded(here) as raw:
        raw.execute("UPDATE entries SET person = 'ben' WHERE number = 2")
    address = postgres.new_database()
    with pytest.raises(LogUnusable, match="line A-2 was altered"):
        copy_log(str(here), address.text)
    assert tables(address) == []


def tables(address: Address) -> list[tuple[Any, ...]]:
    with psycopg.connect(address.text) as raw:
        return raw.execute("SELECT tablename FROM pg_tables WHERE schemaname = 'public'").fetchall()


@pytest.mark.parametrize("to_server", [True, False])
def test_where_a_figure_would_differ_nothing_is_copied(
    here: Path,
    tmp_path: Path,
    postgres: PostgresServer,
    monkeypatch: pytest.MonkeyPatch,
    to_server: bool,
) -> None:
    """The rows come as they are, so no figure differs of itself; here one is told otherwise."""
    told = iter(range(9))
    monkeypatch.setattr("credits.app.logs.copied.figures_of", lambda _: (next(told),))
    address = postgres.new_database()
    target = tmp_path / "new"
    with pytest.raises(CreditsError, match="the figures of the copy are not those"):
        copy_log(str(here), address.text if to_server else str(target))
    assert tables(address) == []
    assert not target.exists()


def test_nothing_is_copied_over_anything(here: Path, there: Path, tmp_path: Path) -> None:
    address = address_of(there)
    assert address is not None
    before = rows(there)
    with pytest.raises(CreditsError):  # who logs may make no tables, and there are some
        copy_log(str(here), address.text)
    assert rows(there) == before
    with pytest.raises(WrongCall, match=r"holds a production\.db already"):
        copy_log(str(there), str(here))
    full = tmp_path / "full"
    full.mkdir()
    (full / "notes.txt").touch()
    with pytest.raises(WrongCall, match="is no empty folder"):
        copy_log(str(there), str(full))
    assert [path.name for path in full.iterdir()] == ["notes.txt"]
    with pytest.raises(WrongCall, match="so it has one"):
        copy_log(address.text, str(there))
    with pytest.raises(WrongCall, match="nothing says what film it is"):
        copy_log(address.text, address.text)
    with pytest.raises(NoProduction):
        copy_log(str(tmp_path / "nowhere"), address.text)
    with pytest.raises(ProblemsFound, match="holds a password"):
        copy_log(str(here), "postgresql://ana:secret@db/film")
