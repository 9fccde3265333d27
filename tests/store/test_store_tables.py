"""The log is described once, and all else made of that; what is slow and seldom is not imported."""

from __future__ import annotations

import re
import subprocess
import sys
from dataclasses import fields
from pathlib import Path

import pytest
from sqlalchemy.dialects import postgresql
from sqlalchemy.schema import CreateTable

from credits.model.facts import Work
from credits.model.log import REFERENCE_TABLES, Batch, Tables, WrittenLog
from credits.store import reading
from credits.store.reading import FACT_TABLES, WORK, FactTable
from credits.store.schema.records import APPEND_ONLY, RECORDS
from credits.store.schema.tables import METADATA

LOG_ONE_LINE = """
import sys
from pathlib import Path
from credits.model.log import Batch, NewLine
from credits.model.facts import Work
from credits.model.log import Verb
from credits.store.log import open_log

with open_log(Path(sys.argv[1])) as log, log.writing() as writer:
    work = Work(craft="voice", person="ana", character="wick")
    print(*writer.write(Batch(lines=(NewLine(verb=Verb.RECORD, work=work),))).numbers)
print(*sorted({"alembic", "mako", "sqlalchemy", "sqlmodel"} & set(sys.modules)))
"""

pytestmark = pytest.mark.sqlite


def test_the_tables_are_listed_once() -> None:
    listed = [field.name for field in fields(Tables)]
    assert listed == list(REFERENCE_TABLES)
    for whole in (WrittenLog, Batch):
        assert listed == [field.name for field in fields(whole)][: len(listed)]
    assert {*listed, *APPEND_ONLY, "log"} == set(METADATA.tables)


def test_the_tables_are_listed_in_the_order_in_which_they_name_each_other() -> None:
    seen: set[str] = set()
    for name in REFERENCE_TABLES:
        seen.add(name)
        assert {key.column.table.name for key in METADATA.tables[name].foreign_keys} <= seen


@pytest.mark.parametrize("table", FACT_TABLES, ids=lambda table: table.name)
def test_every_column_that_somebody_fills_holds_a_field_of_the_fact(
    table: FactTable,
) -> None:
    assert set(RECORDS[table.name].said_columns) == set(table.names)
    assert len(table.names) == len(fields(table.fact))


def test_a_line_holds_every_field_of_its_work() -> None:
    assert WORK.fields == tuple(field.name for field in fields(Work))


def test_the_key_of_a_table_without_codes_is_that_of_its_rows() -> None:
    keys = {name: RECORDS[name].key_columns for name in REFERENCE_TABLES}
    assert {name: key for name, key in keys.items() if key} == {
        "engagements": ("person", "department", "job_title", "starts_on"),
        "fittings": ("part", "puppet", "from_on"),
        "takes": ("shot", "take"),
        "replacements": ("shot", "take", "character", "part"),
    }


def test_the_tables_say_nothing_in_the_words_of_one_engine() -> None:
    """What only SQLite understands would stand in the tables as any other engine writes them."""
    of_sqlite = ("GLOB", "json_valid", "IS date(", "STRICT")
    dialect = postgresql.dialect()
    for table in METADATA.sorted_tables:
        written = str(CreateTable(table).compile(dialect=dialect))
        assert [word for word in of_sqlite if word in written] == []


def test_the_engine_is_known_to_those_alone_who_open_files() -> None:
    """The log's own file, what it refuses, and the figures beside it; all else of the engine stands
    in a room of its own."""
    folder = Path(reading.__file__).parent
    places = (path.relative_to(folder) for path in folder.rglob("*.py"))
    knowing = {
        place.as_posix()
        for place in places
        if place.parts[0] != "engines"
        and re.search(
            r"import sqlite3|PRAGMA|sqlite_master|TRIGGER", (folder / place).read_text("utf-8")
        )
    }
    assert knowing == {
        "beside/cases.py",
        "beside/figures_db.py",
        "beside/kept.py",
        "beside/log_here.py",
        "beside/rows.py",
        "beside/sites.py",
        "beside/sums.py",
        "file.py",
        "logs/copied.py",
        "logs/restore.py",
        "refused.py",
    }


def test_a_line_is_logged_without_what_only_makes_or_migrates_a_log(film: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-c", LOG_ONE_LINE, str(film)], capture_output=True, text=True, check=True
    )
    assert done.stdout.splitlines() == ["A-1", ""]
