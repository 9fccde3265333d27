"""What a half-typed word may become: read by a few columns, the same as the whole log says."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import UTC
from pathlib import Path
from tempfile import TemporaryDirectory

from hypothesis import given
from sqlalchemy.dialects.sqlite import dialect
from sqlalchemy.schema import CreateTable

from credits.app.work.named import name_of
from credits.model.facts import Part, Stage
from credits.model.log import Batch, LogLine, WrittenLog
from credits.model.replay import current_lines
from credits.store.codes import CODE_AND_NAME, codes_of, last_lines
from credits.store.log import open_log
from credits.store.reading import FACT_TABLES
from credits.store.schema.tables import METADATA
from tests.laws.strategies import productions


def test_codes_and_names_are_those_of_the_facts(film: Path) -> None:
    with open_log(film) as log:
        with log.writing() as pen:
            pen.write(
                Batch(
                    parts=(Part(code="face-1", character="wick", kind="face kit"),),
                    stages=(Stage("a-stage"),),
                )
            )
        written = log.read()
    assert set(CODE_AND_NAME) == {table.name for table in FACT_TABLES if table.has_code}
    for table in CODE_AND_NAME:
        facts = getattr(written, table)
        assert facts
        assert codes_of(film, [table]) == [(fact.code, name_of(fact)) for fact in facts]
    assert codes_of(film, ["shots", "stages"]) == [
        ("010-020", None), ("stage-1", None), ("a-stage", None),
    ]  # fmt: skip


def _row(line: LogLine) -> tuple[object, ...]:
    origin, number = line.corrects or (None, None)
    at = line.logged_at.astimezone(UTC).isoformat(timespec="microseconds")
    craft, person = (line.work.craft, line.work.person) if line.work else (None, None)
    return (*line.number, line.verb.value, at, origin, number, craft, person)


@given(productions())
def test_the_lines_that_count_are_those_of_the_whole_log_the_last_one_first(
    log: WrittenLog,
) -> None:
    with TemporaryDirectory() as folder:
        with closing(sqlite3.connect(Path(folder) / "production.db")) as connection:
            connection.execute(
                str(CreateTable(METADATA.tables["entries"]).compile(dialect=dialect()))
            )
            connection.executemany(
                "INSERT INTO entries (origin, number, verb, logged_at, corrects_origin,"
                " corrects_number, craft, person, private) VALUES (?, ?, ?, ?, ?, ?, ?, ?, 0)",
                map(_row, log.lines),
            )
            connection.commit()
        found = [
            (line.number, line.work and (line.work.craft, line.work.person))
            for line in last_lines(Path(folder))
        ]
    counting = sorted((holds for _, holds in current_lines(log.lines)[0]), key=lambda x: x.number)
    assert found == [
        (line.number, line.work and (line.work.craft, line.work.person))
        for line in reversed(counting)
    ]
