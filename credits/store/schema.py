"""Compiles the table classes into ``db/schema.sql`` and ``db/statements.sql``.

``python -m credits.store.schema`` writes both files anew; a test says when they are stale. A new
log is made from ``schema.sql`` (0.01 s instead of Alembic's 0.5 s); every statement that reads or
writes a log stands in ``statements.sql`` under its name (``statements.py``).
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from sqlalchemy import ClauseElement, Table, bindparam, delete, insert, select, update
from sqlalchemy.dialects.sqlite.pysqlite import SQLiteDialect_pysqlite
from sqlalchemy.schema import CreateIndex, CreateTable

from credits.places import migrations
from credits.store.migrate import known_versions
from credits.store.tables import METADATA, REFERENCE_TABLES
from credits.store.triggers import triggers

_DIALECT = SQLiteDialect_pysqlite(paramstyle="qmark")
_NUMBERED = frozenset({"cut_versions", "proofs"})  # the pen gives the number
_MADE = "-- Written by `python -m credits.store.schema` from credits/store/tables*.py.\n"


def _compiled(statement: ClauseElement) -> str:
    return str(statement.compile(dialect=_DIALECT)).strip()


def schema_text(head: str) -> str:
    """The whole schema at version ``head``: tables, indexes, triggers, Alembic's version row."""
    pieces = [
        "CREATE TABLE alembic_version (\n"
        "\tversion_num TEXT NOT NULL, \n"
        "\tCONSTRAINT alembic_version_pkc PRIMARY KEY (version_num)\n)"
    ]
    for table in METADATA.sorted_tables:
        pieces.append(_compiled(CreateTable(table)))
        for index in sorted(table.indexes, key=lambda index: str(index.name)):
            pieces.append(_compiled(CreateIndex(index)))
    pieces += triggers().values()
    pieces.append(f"INSERT INTO alembic_version (version_num) VALUES ('{head}')")
    return _MADE + "".join(f"{_tidy(piece)};\n" for piece in pieces)


def _tidy(text: str) -> str:
    return "\n".join(line.rstrip() for line in text.splitlines() if line.strip())


def _select(table: Table) -> str:
    place = next(iter(table.primary_key.columns))
    columns = [c for c in table.columns if not c.name.endswith("_key")]
    return _compiled(select(*columns).order_by(place))


def _insert(table: Table) -> str:
    place = next(iter(table.primary_key.columns))
    given = [c.name for c in table.columns if c is not place or table.name in _NUMBERED]
    return _compiled(insert(table).values({name: bindparam(name) for name in given}))


def _update(table: Table) -> str:
    """Sets every column but the code, which other rows name, by the row's position."""
    code = next(c.name for c in table.columns if not c.primary_key)
    settable = [
        c.name
        for c in table.columns
        if not c.primary_key and c.name != code and not c.name.endswith("_key")
    ]
    place = table.c.position == bindparam("at")
    return _compiled(update(table).where(place).values({n: bindparam(n) for n in settable}))


def _statements() -> Iterator[tuple[str, str]]:
    for table in METADATA.sorted_tables:
        yield f"select {table.name}", _select(table)
        if table.name != "history":
            yield f"insert {table.name}", _insert(table)
        if table.name in REFERENCE_TABLES:
            yield f"update {table.name}", _update(table)
    replacements = METADATA.tables["replacements"]
    place = replacements.c.position == bindparam("at")
    yield "delete replacements", _compiled(delete(replacements).where(place))


def statements_text() -> str:
    """Every statement by its name, one a line."""
    lines = (f"-- {name}\n{' '.join(text.split())}\n" for name, text in _statements())
    return _MADE + "".join(lines)


def write(folder: Path) -> None:
    """Write both files into the folder of the migrations."""
    (folder / "schema.sql").write_text(schema_text(known_versions(folder)[-1]), encoding="utf-8")
    (folder / "statements.sql").write_text(statements_text(), encoding="utf-8")


if __name__ == "__main__":
    write(migrations())
