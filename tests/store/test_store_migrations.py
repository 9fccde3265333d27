"""Older logs are brought up to date, whole or not at all, to the tables of the classes."""

from __future__ import annotations

import re
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import StaticPool, create_engine

from credits.errors import LogUnusable
from credits.files import shipped
from credits.model.facts import Person, Work
from credits.model.log import Batch, NewLine, Verb
from credits.store.log import open_log
from credits.store.place import log_of
from credits.store.production import create_production
from credits.store.schema.migrate import bring_up_to_date, upgrade
from credits.store.schema.tables import METADATA
from credits.store.schema.version import known_versions
from credits.store.seals.verify import verify
from tests.postgres_server import PostgresServer
from tests.raw_log import read_raw

COLOUR = """
    with op.batch_alter_table("people", recreate="always") as people:
        people.add_column(sa.Column("colour", sa.Text(), nullable=True))
    op.execute("UPDATE people SET colour = 'red'")
    with op.batch_alter_table("entries", recreate="always") as entries:
        entries.add_column(sa.Column("weather", sa.Text(), nullable=True))
    op.execute("UPDATE entries SET weather = 'fog'")
"""


HEAD = known_versions()[-1]
NEXT = f"{int(HEAD) + 1:04}"


@pytest.fixture
def older(film: Path) -> Path:
    """A log with one line; its version will be the one before the newest."""
    record = NewLine(verb=Verb.RECORD, work=Work(craft="voice", person="ana", character="wick"))
    with open_log(film) as log, log.writing() as pen:
        pen.write(Batch(lines=(record,)))
    return film / "production.db"


@pytest.fixture
def newer_program(tmp_path: Path) -> Path:
    """The migrations of a program that knows one version more."""
    folder = tmp_path / "db"
    shutil.copytree(shipped("db"), folder, ignore=shutil.ignore_patterns("__pycache__"))
    return folder


def next_version(folder: Path, upgrade_body: str) -> None:
    (folder / "versions" / f"{NEXT}_next.py").write_text(
        "import sqlalchemy as sa\nfrom alembic import op\n"
        f'revision: str = "{NEXT}"\ndown_revision: str | None = "{HEAD}"\n\n'
        f"def upgrade() -> None:\n{upgrade_body}\n"
    )


def contents(path: Path) -> list[str]:
    """Everything in the database, as text: schema, triggers, rows."""
    with closing(sqlite3.connect(path)) as raw:
        return list(raw.iterdump())


def query(path: Path, statement: str) -> list[tuple[object, ...]]:
    with closing(sqlite3.connect(path)) as raw:
        return raw.execute(statement).fetchall()


def triggers(path: Path) -> list[tuple[object, ...]]:
    return query(path, "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' ORDER BY name")


# --- one definition


def shape(raw: sqlite3.Connection) -> dict[str, object]:
    """Every table and index, its lines in no order but the columns', every trigger by its text."""
    found: dict[str, object] = {}
    for kind, name, sql in raw.execute("SELECT type, name, sql FROM sqlite_master"):
        if kind == "table":
            body = " ".join(sql[sql.index("(") + 1 : sql.rindex(")")].split())
            lines = sorted(re.split(r", (?![^(]*\))", body))  # not at the commas within brackets
            columns = [row[1] for row in raw.execute(f"PRAGMA table_info({name})")]
            found[name] = (lines, columns, sql.rstrip().endswith("STRICT"))
        elif sql is not None:
            found[name] = " ".join(sql.split())
    return found


@pytest.mark.sqlite
def test_migrations_from_nothing_make_what_the_table_classes_make(empty: Path) -> None:
    with closing(sqlite3.connect(empty / "production.db")) as new, closing(migrated()) as made:
        assert len(shape(new)) > 100
        assert shape(made) == shape(new)
        version = "SELECT version_num FROM alembic_version"
        assert made.execute(version).fetchall() == new.execute(version).fetchall()


def migrated() -> sqlite3.Connection:
    raw = sqlite3.connect(":memory:", isolation_level=None)
    with create_engine("sqlite://", creator=lambda: raw, poolclass=StaticPool).begin() as to:
        upgrade(to, shipped("db"))
    return raw


# Alembic cannot read indexes on expressions back; the shapes above hold them.
@pytest.mark.filterwarnings("ignore:autogenerate skipping:UserWarning")
@pytest.mark.filterwarnings("ignore:Skipped unsupported reflection")
def test_nothing_is_left_for_a_migration_to_add() -> None:
    with closing(migrated()) as raw:
        engine = create_engine("sqlite://", creator=lambda: raw, poolclass=StaticPool)
        with engine.connect() as connection:
            context = MigrationContext.configure(connection, opts={"compare_type": False})
            assert compare_metadata(context, METADATA) == []


# --- bringing an older log up to date


def test_a_log_of_the_newest_version_is_left_alone(older: Path) -> None:
    before = contents(older)
    assert bring_up_to_date(older) is None
    assert contents(older) == before
    assert sorted(p.name for p in older.parent.iterdir()) == ["production.db", "production.toml"]


def test_an_older_log_is_copied_and_then_brought_up_to_date(
    older: Path, newer_program: Path
) -> None:
    next_version(newer_program, COLOUR)
    before = contents(older)
    copy = bring_up_to_date(older, newer_program)
    assert copy == older.with_name(f"production.db.before-{HEAD}")
    assert contents(copy) == before
    assert query(older, "SELECT version_num FROM alembic_version") == [(NEXT,)]
    assert query(older, "SELECT person, colour FROM people") == [("ana", "red"), ("ben", "red")]
    assert query(older, "SELECT number, weather FROM entries") == [(1, "fog")]
    assert query(older, "PRAGMA foreign_key_check") == []


def test_the_triggers_outlive_the_rebuilding_of_their_tables(
    older: Path, newer_program: Path
) -> None:
    next_version(newer_program, COLOUR)
    before = triggers(older)
    bring_up_to_date(older, newer_program)
    assert triggers(older) == before
    with closing(sqlite3.connect(older)) as raw:
        for statement in ("UPDATE entries SET minutes = 1", "DELETE FROM entries"):
            with pytest.raises(sqlite3.IntegrityError, match="append-only"):
                raw.execute(statement)


@pytest.mark.parametrize(
    ("body", "said"),
    [
        (COLOUR + "    raise RuntimeError('half way')\n", "half way"),
        (COLOUR + "    op.execute('UPDATE nowhere SET x = 1')\n", "no such table: nowhere"),
        (
            COLOUR + "    op.execute('DELETE FROM people')\n",
            "would name codes that are in no table",
        ),
    ],
)
def test_a_migration_that_fails_leaves_everything_as_it_was(
    older: Path, newer_program: Path, body: str, said: str
) -> None:
    next_version(newer_program, body)
    before, names = contents(older), sorted(p.name for p in older.parent.iterdir())
    with pytest.raises(LogUnusable, match=f"{said}.*The log is as it was"):
        bring_up_to_date(older, newer_program)
    assert contents(older) == before
    assert sorted(p.name for p in older.parent.iterdir()) == names
    with open_log(older.parent) as log:
        assert len(log.read().lines) == 1


def test_an_earlier_copy_is_never_written_over(older: Path, newer_program: Path) -> None:
    next_version(newer_program, COLOUR)
    earlier = older.with_name(f"production.db.before-{HEAD}")
    earlier.write_text("mine")
    assert bring_up_to_date(older, newer_program) == older.with_name(
        f"production.db.before-{HEAD}-2"
    )
    assert earlier.read_text() == "mine"


def test_a_log_that_is_being_written_is_migrated_later(older: Path, newer_program: Path) -> None:
    next_version(newer_program, COLOUR)
    with closing(sqlite3.connect(older, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(LogUnusable, match="locked"):
            bring_up_to_date(older, newer_program, busy_milliseconds=50)
        other.execute("ROLLBACK")
    assert bring_up_to_date(older, newer_program) is not None


def test_the_older_program_says_that_the_log_is_newer(older: Path, newer_program: Path) -> None:
    next_version(newer_program, COLOUR)
    bring_up_to_date(older, newer_program)
    with pytest.raises(LogUnusable, match=f"version '{NEXT}': was written by a newer program"):
        open_log(older.parent)


def test_scripts_are_named_by_the_versions_that_they_make() -> None:
    scripts = ScriptDirectory(str(shipped("db"))).walk_revisions()
    assert known_versions() == tuple(reversed([script.revision for script in scripts]))


def test_versions_are_read_in_the_order_in_which_they_follow(newer_program: Path) -> None:
    next_version(newer_program, "    pass")
    assert known_versions(newer_program) == (*known_versions(), NEXT)


# --- a log on a server

HEADS = (
    "SELECT p.prosrc FROM pg_trigger t JOIN pg_proc p ON p.oid = t.tgfoid WHERE t.tgname"
    " = 'people_history_update'"
)


@pytest.fixture
def far(tmp_path: Path, postgres: PostgresServer) -> Path:
    """A production on a server, with Ana in it and one entry, opened by its owner."""
    folder = create_production(tmp_path / "far", "The Lamplighter", log=postgres.new_database())
    line = NewLine(verb=Verb.RECORD, work=Work(craft="voice", person="ana"))
    with open_log(folder) as log, log.writing() as pen:
        pen.write(Batch(people=(Person(code="ana", credit_name="Ana"),), lines=(line,)))
    return folder


@pytest.mark.postgres
def test_a_log_on_a_server_is_brought_up_to_date_where_it_is(
    far: Path, newer_program: Path
) -> None:
    next_version(newer_program, COLOUR.replace('recreate="always"', ""))
    before = read_raw(far, HEADS)
    assert bring_up_to_date(log_of(far), newer_program) is None
    assert read_raw(far, "SELECT version_num FROM alembic_version") == [(NEXT,)]
    assert read_raw(far, "SELECT person, colour FROM people") == [("ana", "red")]
    assert read_raw(far, "SELECT number, weather FROM entries") == [(1, "fog")]
    assert read_raw(far, HEADS) == before
    with pytest.raises(LogUnusable, match="newer program"):
        open_log(far)


@pytest.mark.postgres
@pytest.mark.parametrize("last", ["raise RuntimeError('half way')", "op.execute('SELECT nowhere')"])
def test_a_migration_that_fails_leaves_the_server_as_it_was(
    far: Path, newer_program: Path, last: str
) -> None:
    next_version(newer_program, COLOUR.replace('recreate="always"', "") + f"    {last}\n")
    with pytest.raises(LogUnusable, match="could not be brought to the newest version"):
        bring_up_to_date(log_of(far), newer_program)
    assert verify(far) == ()
    with open_log(far) as log:
        assert len(log.read().lines) == 1
