"""The version of a log, and the way to the newest."""

from __future__ import annotations

from contextlib import closing
from importlib import import_module
from itertools import chain, count
from pathlib import Path

from sqlalchemy import Connection, inspect, select

from credits.errors import CreditsError, Finding, LogUnusable, Place
from credits.files import shipped
from credits.store import sqlite
from credits.store.tables import VERSION


def known_versions(folder: Path | None = None) -> tuple[str, ...]:
    """List the versions that the migrations in ``folder`` know, the first one first.

    A script's name begins with its version; they follow each other in the order of their names.
    """
    scripts = sorted(((folder or shipped("db")) / "versions").glob("*_*.py"))
    return tuple(script.name.partition("_")[0] for script in scripts)


def stored_version(connection: Connection, path: Path) -> str:
    """Return the version that the log says it has. Raises LogUnusable when the file is no log."""
    with sqlite.snapshot(connection):
        tables = set(inspect(connection).get_table_names())
        if not {VERSION.name, "entries"} <= tables:
            what = "is a database, but not a log" if tables else "is empty: it is not a log"
            raise LogUnusable(
                Finding(what, "Name the folder of a production.", Place(path.name), None, str(path))
            )
        return str(connection.scalar(select(VERSION)) or "")


def is_current(connection: Connection, path: Path, folder: Path | None = None) -> bool:
    """Tell whether the log has the newest version; False when it is older.

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
    path: Path, folder: Path | None = None, busy_milliseconds: int = sqlite.BUSY_MILLISECONDS
) -> Path | None:
    """Migrate an older log to the newest version; the path of the copy made before, if any.

    The copy is ``production.db.before-<version>``. When a migration fails everything is as it was,
    and the copy is taken away again; LogUnusable says what failed.
    """
    copy: Path | None = None
    with sqlite.in_words(path), closing(sqlite.connect(path, busy_milliseconds)) as connection:
        if is_current(connection, path, folder):
            return None
        sqlite.without_foreign_keys(connection)
        try:
            sqlite.begin(connection, writing=True)
            # Another program may have been first.
            if not is_current(connection, path, folder):
                copy = sqlite.copy_log(path, _free_name(path, stored_version(connection, path)))
                upgrade(connection, folder or shipped("db"))
                connection.commit()
        except Exception as error:
            connection.rollback()
            if copy is not None:
                copy.unlink(missing_ok=True)
            if isinstance(error, CreditsError):
                raise
            original = getattr(error, "orig", None) or error
            what = f"could not be brought to the newest version ({original})"
            hint = "The log is as it was. Go on with the older program, and report this."
            raise LogUnusable(Finding(what, hint, Place(path.name))) from error
    return copy


def upgrade(connection: Connection, folder: Path) -> None:
    """Bring the tables to the head of the migrations and make the triggers anew; no commit.

    Foreign keys are off meanwhile; raises what fails, also where codes would name nothing.
    """
    # Alembic is wanted for an older log alone, and takes as long to import as a line to log.
    command, config = import_module("alembic.command"), import_module("alembic.config")
    sqlite.drop_triggers(connection)
    settings = config.Config(attributes={"connection": connection})
    settings.set_main_option("script_location", str(folder).replace("%", "%%"))
    command.upgrade(settings, "head")
    sqlite.make_triggers(connection)
    if lost := sqlite.lost_codes(connection):
        raise RuntimeError(f"{len(lost)} rows would name codes that are in no table")


def _free_name(path: Path, version: str) -> Path:
    name = f"{path.name}.before-{version or 'unknown'}"
    names = chain((name,), (f"{name}-{number}" for number in count(2)))
    return next(copy for each in names if not (copy := path.with_name(each)).exists())
