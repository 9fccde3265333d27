"""Answers to checks: kept as they were given; a log of version 0001 comes to hold them."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest
from alembic import command
from alembic.config import Config
from sqlalchemy import StaticPool, create_engine

from credits.errors import LogUnusable, ProblemsFound
from credits.files import shipped
from credits.model.facts import NewSettlement, Person, Settlement
from credits.model.log import Batch, Verb
from credits.model.replay import replay
from credits.store.log import open_log
from credits.store.seals.verify import verify
from tests.raw_log import raw_log

SCHEMA_0001 = Path(__file__).with_name("schema_0001.sql")
NOON = datetime(2026, 3, 9, 12, 0, tzinfo=UTC)
IN_TWO_PLACES = (("puppet", "wick-1"), ("date", "2026-03-02"), ("stage", "S1"), ("stage", "ש2"))


def kept(folder: Path, *new: NewSettlement) -> tuple[Settlement, ...]:
    with open_log(folder, clock=lambda: NOON) as log:
        with log.writing() as pen:
            pen.write(Batch(settlements=new))
        return log.read().settlements


# --- kept as given


def test_an_answer_is_read_as_it_was_given(film: Path) -> None:
    answer = NewSettlement(
        check="puppet-in-two-places",
        subjects=IN_TWO_PLACES,
        facts="f1",
        why='It "moved".',
        settled_by="Bo",
    )
    assert kept(film, answer) == (
        Settlement(
            check="puppet-in-two-places",
            subjects=IN_TWO_PLACES,
            facts="f1",
            settled_at=NOON,
            why='It "moved".',
            settled_by="Bo",
        ),
    )


def test_taking_back_is_a_further_line(film: Path) -> None:
    answer = NewSettlement(
        check="no-engagement",
        subjects=(("person", "ana"),),
        facts="f1",
        why="A guest.",
        settled_by="Bo",
    )
    back = NewSettlement(
        check="no-engagement", subjects=(("person", "ana"),), facts="f1", taken_back=True
    )
    found = kept(film, answer, back)
    assert [(line.why, line.settled_by, line.taken_back) for line in found] == [
        ("A guest.", "Bo", False),
        (None, None, True),
    ]


def test_the_ledger_holds_the_answers(film: Path) -> None:
    found = kept(
        film,
        NewSettlement(
            check="no-engagement", subjects=(("person", "ana"),), facts="f1", why="A guest."
        ),
    )
    with open_log(film) as log:
        assert replay(log.read()).settlements == found


@pytest.mark.parametrize(
    ("answer", "said"),
    [
        (NewSettlement(check="no-engagement", subjects=(), facts="f1"), "an answer says why"),
        (
            NewSettlement(check="no-engagement", subjects=(), facts="f1", why="  "),
            "an answer says why",
        ),
        (NewSettlement(check=" ", subjects=(), facts="f1", why="So."), "the answer names a check"),
        (
            NewSettlement(check="no-engagement", subjects=(), facts="", why="So."),
            "the answer names the facts",
        ),
    ],
)
def test_what_is_no_answer_is_refused_with_the_whole_batch(
    film: Path, answer: NewSettlement, said: str
) -> None:
    with open_log(film) as log:
        batch = Batch(people=(Person(code="eva", credit_name="Eva"),), settlements=(answer,))
        with pytest.raises(ProblemsFound, match=said), log.writing() as pen:
            pen.write(batch)
        assert log.read().settlements == ()
        assert "eva" not in [person.code for person in log.read().people]


@pytest.mark.parametrize("subjects", ["no JSON", '{"puppet": "wick-1"}', "NULL"])
def test_the_database_refuses_subjects_that_are_no_list(film: Path, subjects: str) -> None:
    insert = "INSERT INTO settlements VALUES (1, 'x', ?, 'f', '2026-03-09T12:00:00Z', 'w', NULL, 0)"
    with (
        closing(raw_log(film)) as raw,
        pytest.raises(sqlite3.IntegrityError, match="the_subjects_are_a_list"),
    ):
        raw.execute(insert, (subjects,))


def test_verify_finds_an_answer_that_cannot_be_read(film: Path) -> None:
    insert = "INSERT INTO settlements VALUES (1, 'x', '[[1]]', 'f', 'no time', 'w', NULL, 0)"
    with closing(raw_log(film)) as raw:
        raw.execute(insert)
    (finding,) = verify(film)
    assert "row 1 of settlements cannot be read" in str(finding)
    with open_log(film) as log, pytest.raises(LogUnusable, match="cannot be read"):
        log.read()


# --- a log of version 0001

ROWS_0001 = """
    INSERT INTO log VALUES (1, 'A', '2025-09-01');
    INSERT INTO crafts VALUES (1, 'voice', 'Voice', 'Voices', 'performance', 0, NULL, 'voice');
    INSERT INTO people VALUES
        (1, 'ana', 'Ana', NULL, NULL, NULL, NULL, 'credited', NULL, NULL, NULL, 'ana');
    UPDATE people SET credit_name = 'Ana Lind';
    INSERT INTO characters VALUES (1, 'wick', 'Wick', 0, NULL, 'wick');
    INSERT INTO entries (line, origin, number, verb, logged_at, craft, person, character, private)
        VALUES (1, 'A', 1, 'record', '2025-09-01T10:00:00+00:00', 'voice', 'ana', 'wick', 0);
    INSERT INTO entries (line, origin, number, verb, logged_at, private, corrects_origin,
                         corrects_number, why)
        VALUES (2, 'A', 2, 'void', '2025-09-02T10:00:00+00:00', 0, 'A', 1, 'twice');
"""
TABLES_0001 = ("log", "crafts", "people", "characters", "entries", "history", "cut_versions")


@pytest.fixture
def film_0001(empty: Path) -> Path:
    """A production whose log a program of version 0001 made and wrote two lines to."""
    path = empty / "production.db"
    path.unlink()
    with closing(sqlite3.connect(path)) as raw:
        raw.executescript(SCHEMA_0001.read_text(encoding="utf-8"))
        raw.executescript(ROWS_0001)
        raw.commit()
    return empty


def contents(path: Path) -> dict[str, list[tuple[object, ...]]]:
    """The rows of each table, in the columns of that version: later ones stand behind them."""
    with closing(schema_in_memory()) as kept, closing(sqlite3.connect(path)) as raw:
        columns = {
            name: ", ".join(row[1] for row in kept.execute(f"PRAGMA table_info({name})"))
            for name in TABLES_0001
        }
        return {
            name: raw.execute(f"SELECT {own} FROM {name}").fetchall()
            for name, own in columns.items()
        }


def test_the_kept_schema_is_what_the_first_migration_makes() -> None:
    kept_tables, made_tables = (
        {
            (name, tuple(sorted(sql.replace(",", " ").split())))
            for name, sql in raw.execute("SELECT name, sql FROM sqlite_master WHERE sql <> ''")
            if not sql.startswith("CREATE TRIGGER")
        }
        for raw in (schema_in_memory(), first_migration())
    )
    assert {name for name, _ in kept_tables} > set(TABLES_0001)
    assert kept_tables == made_tables


def schema_in_memory() -> sqlite3.Connection:
    raw = sqlite3.connect(":memory:")
    raw.executescript(SCHEMA_0001.read_text(encoding="utf-8"))
    return raw


def first_migration() -> sqlite3.Connection:
    raw = sqlite3.connect(":memory:", isolation_level=None)
    with create_engine("sqlite://", creator=lambda: raw, poolclass=StaticPool).begin() as to:
        config = Config(attributes={"connection": to})
        config.set_main_option("script_location", str(shipped("db")))
        command.upgrade(config, "0001")
    return raw


def test_a_log_of_version_0001_is_copied_and_brought_up_with_all_its_rows(film_0001: Path) -> None:
    path, copy = film_0001 / "production.db", film_0001 / "production.db.before-0001"
    before = contents(path)
    with open_log(film_0001) as log:
        written = log.read()
    assert [(line.verb, line.why) for line in written.lines] == [
        (Verb.RECORD, None),
        (Verb.VOID, "twice"),
    ]
    assert written.people == (Person(code="ana", credit_name="Ana Lind"),)
    assert written.settlements == ()
    assert contents(path) == contents(copy) == before
    assert len(before["history"]) == 5
    with closing(sqlite3.connect(copy)) as raw:
        assert raw.execute("SELECT version_num FROM alembic_version").fetchall() == [("0001",)]
        tables = {name for (name,) in raw.execute("SELECT name FROM sqlite_master")}
        assert "settlements" not in tables
    assert verify(film_0001) == ()


def test_the_answers_of_a_log_that_was_brought_up_are_guarded(film_0001: Path) -> None:
    kept(
        film_0001,
        NewSettlement(
            check="nobody-voices", subjects=(("character", "wick"),), facts="f1", why="It hums."
        ),
    )
    with closing(sqlite3.connect(film_0001 / "production.db")) as raw:
        for statement in (
            "UPDATE settlements SET why = 'other'",
            "DELETE FROM settlements",
            "INSERT OR REPLACE INTO settlements SELECT * FROM settlements",
            "UPDATE entries SET why = 'other'",
            "DELETE FROM history",
        ):
            with pytest.raises(sqlite3.IntegrityError, match="the log is append-only"):
                raw.execute(statement)
