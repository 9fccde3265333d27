"""Facts, columns and table classes say the same; and what is slow is not imported."""

from __future__ import annotations

import re

import pytest

from credits.store import tables
from credits.store.columns import CLIPS, FACT_TABLES, SETTLEMENTS, WORK, FactTable
from credits.store.statements import statements
from credits.store.tables import METADATA, REFERENCE_TABLES

LOG_ONE_LINE = """
import sys
from pathlib import Path
from credits.model.log import Batch, NewLine
from credits.model.facts import Work
from credits.model.log import Verb
from credits.store import open_log
with open_log(Path(sys.argv[1])) as log, log.writing() as pen:
    print(*pen.write(Batch(lines=(NewLine(Verb.RECORD, Work("voice", "ana", "wick")),))).numbers)
    print(len(pen.read().lines))
print(*sorted({"sqlmodel", "sqlalchemy", "alembic", "pydantic"} & set(sys.modules)))
"""


def columns(table: str, *without: str) -> tuple[str, ...]:
    return tuple(
        c.name
        for c in METADATA.tables[table].columns
        if not c.primary_key and not c.name.endswith("_key") and c.name not in without
    )


@pytest.mark.parametrize("table", FACT_TABLES, ids=lambda table: table.name)
def test_the_columns_of_a_table_are_the_fields_of_its_facts(table: FactTable[object]) -> None:
    assert columns(table.name) == table.columns
    has_key = any(c.name.endswith("_key") for c in METADATA.tables[table.name].columns)
    assert has_key == table.has_code


def test_the_columns_of_a_line_hold_all_the_fields_of_its_work() -> None:
    own = "origin number verb logged_at corrects_origin corrects_number logged_by why ref source"
    assert columns("entries", *own.split()) == WORK.columns
    assert columns("cut_clips", "version") == CLIPS.columns
    assert columns("settlements") == SETTLEMENTS.columns


def test_the_tables_are_written_in_the_order_in_which_they_name_each_other() -> None:
    assert tuple(table.name for table in FACT_TABLES) == REFERENCE_TABLES
    seen: set[str] = set()
    for name in tables.REFERENCE_TABLES:
        seen.add(name)
        assert {fk.column.table.name for fk in METADATA.tables[name].foreign_keys} <= seen


@pytest.mark.parametrize("table", FACT_TABLES, ids=lambda table: table.name)
def test_the_question_marks_of_a_statement_stand_for_the_columns_in_their_order(
    table: FactTable[object],
) -> None:
    inserted = re.search(r"\((.*?)\) VALUES", statements()[f"insert {table.name}"])
    assert inserted is not None
    key = (f"{table.columns[0]}_key",) if table.has_code else ()
    assert tuple(inserted[1].split(", ")) == (*table.columns, *key)
    updated = re.findall(r"([\w.]+) ?= ?\?", statements()[f"update {table.name}"])
    assert tuple(updated) == (*table.columns[1:], f"{table.name}.position")
