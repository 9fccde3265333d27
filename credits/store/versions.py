"""The version of a log's tables: which one it has, which one this program knows, and the way there.

Alembic is imported only when a log is really older: importing it costs half a second. Its
revision numbers are read from the texts of ``db/versions``.
"""

from __future__ import annotations

import re
import sqlite3
from contextlib import closing
from pathlib import Path

from credits.errors import Finding, LogUnusable, Place
from credits.places import migrations
from credits.store.connection import BUSY_MILLISECONDS, connect, in_words

_REVISION = re.compile(r'^revision\b[^=\n]*=\s*"([^"]+)"', re.MULTILINE)
_DOWN = re.compile(r'^down_revision\b[^=\n]*=\s*(?:"([^"]+)"|None)', re.MULTILINE)


def known_versions(folder: Path | None = None) -> tuple[str, ...]:
    """The versions that the migrations in ``folder`` know, the first one first, the head last."""
    after: dict[str | None, str] = {}
    for script in sorted(((folder or migrations()) / "versions").glob("*.py")):
        text = script.read_text(encoding="utf-8")
        revision, down = _REVISION.search(text), _DOWN.search(text)
        if revision and down:
            after[down[1]] = revision[1]
    chain: list[str] = []
    at = after.get(None)
    while at is not None:
        chain.append(at)
        at = after.get(at)
    return tuple(chain)


def stored_version(connection: sqlite3.Connection, path: Path) -> str:
    """The version that the log says it has. Raises LogUnusable when the file is no log."""
    tables = {row[0] for row in connection.execute("SELECT name FROM sqlite_master LIMIT 1000")}
    if not {"alembic_version", "entries"} <= tables:
        what = "is a database, but not a log" if tables else "is empty: it is not a log"
        raise LogUnusable(
            Finding(what, "Name the folder of a production.", Place(path.name), None, str(path))
        )
    row = connection.execute("SELECT version_num FROM alembic_version").fetchone()
    return str(row[0]) if row else ""


def is_current(connection: sqlite3.Connection, path: Path, folder: Path | None = None) -> bool:
    """Whether the log has the newest version; False when it is older.

    Raises LogUnusable when it is of a version that this program does not know.
    """
    known = known_versions(folder)
    stored = stored_version(connection, path)
    if stored == known[-1]:
        return True
    if stored in known:
        return False
    raise LogUnusable(
        Finding(
            f"was written by a newer program: this one knows the log up to version {known[-1]}",
            "Install the newest version of this program.",
            Place(path.name),
            "version",
            stored,
        )
    )


def bring_up_to_date(
    path: Path, folder: Path | None = None, busy_milliseconds: int = BUSY_MILLISECONDS
) -> Path | None:
    """Migrate an older log to the newest version; the path of the copy made before, if any.

    The copy is ``production.db.before-<version>``. When a migration fails everything is as it was,
    and the copy is taken away again; LogUnusable says what failed.
    """
    with in_words(path), closing(connect(path, busy_milliseconds)) as connection:
        if is_current(connection, path, folder):
            return None
        from credits.store.migrate import migrate

        return migrate(path, connection, folder or migrations())
