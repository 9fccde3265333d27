"""The log only grows: the database itself refuses everything else, whoever asks."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from datetime import date
from pathlib import Path

import pytest

from credits.model.facts import Cut, CutClip, Engagement, NewConfirmation, NewSettlement, Work
from credits.model.log import Batch, NewLine, NewProof, RowCorrection, Verb
from credits.store.log import open_log

PROTECTED = (
    "entries",
    "cut_versions",
    "cut_clips",
    "cut_uses",
    "settlements",
    "confirmations",
    "proofs",
    "list_corrections",
    "history",
    "moments",
    "seals",
)
WITH_HISTORY = (
    "log",
    "crafts",
    "people",
    "engagements",
    "characters",
    "puppets",
    "parts",
    "fittings",
    "sequences",
    "shots",
    "stages",
    "takes",
    "replacements",
)

pytestmark = pytest.mark.sqlite


@pytest.fixture
def raw(film: Path) -> Iterator[sqlite3.Connection]:
    """Any program's own connection to a log with something in every table that only grows."""
    record = NewLine(
        verb=Verb.RECORD,
        work=Work(craft="animation", person="ana", character="wick", shot="010-020"),
    )
    cut = Cut(
        version=0,
        source="reel.edl",
        length=48,
        clips=(
            CutClip(
                order=1,
                film_first=1,
                shown=48,
                shot="010-020",
                take=None,
                source_first=1,
                source_last=48,
            ),
        ),
    )
    answer = NewSettlement(
        check="no-engagement", subjects=(("person", "ana"),), facts="1a2b", why="She is a guest."
    )
    job = Engagement(person="ana", department="Animation", job_title="Animator")
    mistaken = RowCorrection(table="engagements", row=job, why="She was never asked.")
    with open_log(film) as log, log.writing() as pen:
        pen.write(Batch(engagements=(job,)))
        pen.write(Batch(corrections=(mistaken,)))
        pen.write(Batch(lines=(record, record), cut=cut, settlements=(answer,)))
        confirmed = NewConfirmation(person="ana", name="Ana", confirmed_on=date(2026, 3, 2))
        pen.write(
            Batch(
                confirmations=(confirmed,),
                proof=NewProof(content="{}", plan="built-in plan", lines=0, people=0),
            )
        )
    with closing(sqlite3.connect(film / "production.db")) as connection:
        yield connection


def rows(raw: sqlite3.Connection, table: str) -> list[tuple[object, ...]]:
    return raw.execute(f"SELECT * FROM {table}").fetchall()


STATEMENTS = (
    "DELETE FROM {table}",
    "UPDATE {table} SET {first} = {first} + 100",
    "UPDATE OR REPLACE {table} SET {first} = 1",
    "INSERT OR REPLACE INTO {table} SELECT * FROM {table}",
    "REPLACE INTO {table} SELECT * FROM {table} LIMIT 1",
    "INSERT INTO {table} SELECT * FROM {table} WHERE true ON CONFLICT DO UPDATE SET {first} = 100",
)


@pytest.mark.parametrize("table", PROTECTED)
def test_a_row_of_the_log_is_never_changed_removed_or_replaced(
    raw: sqlite3.Connection, table: str
) -> None:
    before = rows(raw, table)
    assert before
    first = raw.execute(f"SELECT * FROM {table}").description[0][0]
    for statement in STATEMENTS:
        with pytest.raises(sqlite3.IntegrityError, match="the log is append-only"):
            raw.execute(statement.format(table=table, first=first))
        assert rows(raw, table) == before


def test_a_line_is_not_replaced_by_way_of_its_number(raw: sqlite3.Connection) -> None:
    before = rows(raw, "entries")
    with pytest.raises(sqlite3.IntegrityError, match="append-only"):
        raw.execute(
            "INSERT OR REPLACE INTO entries (line, origin, number, verb, logged_at, craft, person,"
            " private) VALUES (99, 'A', 1, 'record', '', 'voice', 'ben', 0)"
        )
    assert rows(raw, "entries") == before


def test_a_clip_is_not_replaced_by_way_of_its_order(raw: sqlite3.Connection) -> None:
    with pytest.raises(sqlite3.IntegrityError, match="append-only"):
        raw.execute(
            "INSERT OR REPLACE INTO cut_clips VALUES (99, 1, 1, 1, 9, '010-020', NULL, 1, 9, '1')"
        )


@pytest.mark.parametrize("table", ["people", "shots", "crafts", "log"])
def test_a_row_of_a_reference_table_is_not_replaced_behind_its_history(
    raw: sqlite3.Connection, table: str
) -> None:
    before = rows(raw, "history")
    with pytest.raises(sqlite3.IntegrityError, match="the history is kept"):
        raw.execute(f"INSERT OR REPLACE INTO {table} SELECT * FROM {table}")
    assert rows(raw, "history") == before


def test_the_triggers_are_exactly_these(raw: sqlite3.Connection) -> None:
    expected = {
        f"{table}_{event}" for table in PROTECTED for event in ("changed", "removed", "replaced")
    } | {
        f"{table}_{event}"
        for table in WITH_HISTORY
        for event in ("history_insert", "history_update", "history_delete", "replaced")
    }
    found = {n for (n,) in raw.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")}
    assert found == expected | {
        "entries_corrects_void",
        "people_confirmed",
        "people_confirmed_new",
        "people_taken_back",
    }


def test_every_table_is_strict(raw: sqlite3.Connection) -> None:
    tables = {
        name: strict
        for _, name, kind, _, _, strict in raw.execute("PRAGMA table_list")
        if kind == "table" and not name.startswith("sqlite_") and name != "alembic_version"
    }
    assert set(tables) == {*PROTECTED, *WITH_HISTORY}
    assert set(tables.values()) == {1}
