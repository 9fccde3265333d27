"""The way of an older log to the newest version."""

from __future__ import annotations

from contextlib import closing
from importlib import import_module
from pathlib import Path

from sqlalchemy import Connection

from credits.errors import CreditsError, Finding, LogUnusable, Place
from credits.files import shipped
from credits.store.engines import table_words
from credits.store.engines.driver import is_file, lost_codes
from credits.store.file import BUSY_MILLISECONDS, copy_log
from credits.store.place import LogPlace, opened_log
from credits.store.schema.triggers import drop_triggers, make_triggers
from credits.store.schema.version import is_current, stored_version


def bring_up_to_date(
    path: LogPlace, folder: Path | None = None, busy_milliseconds: int = BUSY_MILLISECONDS
) -> Path | None:
    """Migrate an older log to the newest version; the path of the copy made before, if any.

    The copy is ``production.db.before-<version>``; of a log on a server none is made, and its owner
    alone may migrate it. When a migration fails everything is as it was,
    and the copy is taken away again; LogUnusable says what failed.
    """
    copy: Path | None = None
    earlier: list[Path] = []
    place = path if isinstance(path, Path) else Path(path.name)
    with table_words.in_words(place), closing(opened_log(path, busy_milliseconds)) as driver:
        if is_current(driver, path, folder):
            return None
        connection = table_words.connect(driver)
        if is_file(driver):
            table_words.without_foreign_keys(connection)
        try:
            table_words.begin_writing(connection)
            # Another program may have been first.
            if not is_current(driver, path, folder):
                if isinstance(path, Path):
                    version = stored_version(driver, path) or "unknown"
                    named = path.with_name(f"{path.name}.before-{version}")
                    # Where one was killed, its copy is there, and the log is as it was.
                    earlier += path.parent.glob(f"{named.name}*")
                    copy = copy_log(path, named, numbered=True, same_as=earlier)
                upgrade(connection, folder or shipped("db"))
                connection.commit()
        except Exception as error:
            connection.rollback()
            if copy is not None and copy not in earlier:
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
    driver = table_words.driver_of(connection)
    drop_triggers(driver)
    settings = config.Config(attributes={"connection": connection})
    settings.set_main_option("script_location", str(folder).replace("%", "%%"))
    command.upgrade(settings, "head")
    make_triggers(driver)
    if not is_file(driver):
        import_module("credits.store.logs.on_server").give_rights(driver)
    if lost := lost_codes(driver):
        raise RuntimeError(f"{len(lost)} rows would name codes that are in no table")
