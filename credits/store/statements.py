"""The statements that read and write a log, by name, from ``db/statements.sql``.

They are compiled by SQLAlchemy from the table classes when those change (``schema.py``), not each
time a line is logged: importing the classes costs 0.4 s, reading the compiled file 0.3 ms.
"""

from __future__ import annotations

from functools import cache

from credits.places import migrations


@cache
def statements() -> dict[str, str]:
    """Every statement by its name: "select people", "insert entries", "update shots"."""
    text = (migrations() / "statements.sql").read_text(encoding="utf-8")
    lines = text.splitlines()[1:]
    return {
        name.removeprefix("-- "): statement
        for name, statement in zip(lines[::2], lines[1::2], strict=True)
    }
