"""The version of a log, and the way to the newest."""

from __future__ import annotations

import re
import sqlite3
from contextlib import closing
from pathlib import Path

from alembic import command
from alembic.config import Config
from sqlalchemy import Connection, StaticPool, create_engine, event

from credits.errors import CreditsError, Finding, LogUnusable, Place
from credits.places import migrations
from credits.store.backup import copy_log
from credits.store.connection import BUSY_MILLISECONDS, connect, in_words
from credits.store.triggers import drop_statements, triggers

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

        return migrate(path, connection, folder or migrations())


def migrate(path: Path, raw: sqlite3.Connection, folder: Path) -> Path | None:
    """Bring the log of an open connection to the head of the migrations in ``folder``.

    Returns the copy made before. None: another program was first, and nothing was to be done.
    """
    # With foreign keys on, rebuilding a table would delete or refuse the rows that name it; the
    # pragma has no effect inside a transaction. They are checked at the end instead.
    raw.execute("PRAGMA foreign_keys=OFF")
    engine = create_engine("sqlite://", creator=lambda: raw, poolclass=StaticPool)

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        connection.exec_driver_sql("BEGIN IMMEDIATE")

    copy: Path | None = None
    try:
        with engine.begin() as connection:
            if is_current(raw, path, folder):
                return None
            copy = copy_log(path, _free_name(path, stored_version(raw, path)))
            upgrade(connection, folder)
            _check_codes(connection)
    except Exception as error:
        if copy is not None:
            copy.unlink(missing_ok=True)
        if isinstance(error, CreditsError):
            raise
        raise _failed(path, error) from error
    return copy


class _Broken(Exception):
    """The migrated log would not be whole."""


def upgrade(connection: Connection, folder: Path) -> None:
    """Bring the tables to the head of the migrations and make the triggers anew; no commit."""
    names = connection.exec_driver_sql("SELECT name FROM sqlite_master WHERE type = 'trigger'")
    for statement in list(drop_statements(name for (name,) in names)):
        connection.exec_driver_sql(statement)
    config = Config(attributes={"connection": connection})
    config.set_main_option("script_location", str(folder).replace("%", "%%"))
    command.upgrade(config, "head")
    for text in triggers().values():
        connection.exec_driver_sql(text)


def _check_codes(connection: Connection) -> None:
    lost = connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall()
    if lost:
        raise _Broken(f"{len(lost)} rows would name codes that are in no table")


def _free_name(path: Path, version: str) -> Path:
    name = f"{path.name}.before-{version or 'unknown'}"
    copy = path.with_name(name)
    count = 1
    while copy.exists():
        count += 1
        copy = path.with_name(f"{name}-{count}")
    return copy


def _failed(path: Path, error: Exception) -> LogUnusable:
    original = getattr(error, "orig", None) or error
    return LogUnusable(
        Finding(
            f"could not be brought to the newest version ({original})",
            "The log is as it was. Go on with the older program, and report this.",
            Place(path.name),
        )
    )
