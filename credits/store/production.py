"""The production folder: make a new one, copy its log."""

from __future__ import annotations

import errno
import os
from collections.abc import Callable, Iterator
from contextlib import ExitStack, closing, contextmanager
from datetime import date, datetime
from importlib import import_module
from pathlib import Path

from credits.errors import Finding, LogUnusable, ProblemsFound, WrongCall
from credits.files import require_file, require_folder
from credits.model.facts import BUILT_IN_CRAFTS
from credits.store import file
from credits.store.chain import nothing_yet, seal_new
from credits.store.engines import table_words
from credits.store.engines.address import Address
from credits.store.engines.driver import Driver, begin
from credits.store.engines.sqlite import to_wal
from credits.store.place import log_of
from credits.store.reading import FACT_TABLES
from credits.store.records import VERSION_COLUMN, VERSION_TABLE
from credits.store.settings import SETTINGS_NAME, checked, settings_text
from credits.store.statements import insert_rows
from credits.store.triggers import make_triggers
from credits.store.version import known_versions
from credits.written import note, unbroken

ORIGIN = "A"


def create_production(
    folder: Path,
    title: str,
    code: str | None = None,
    rate: str = "24",
    gauge: str = "35mm-4perf",
    day_minutes: int = 600,
    *,
    made_on: date | None = None,
    origin: str = ORIGIN,
    sentence: str = "",
    log: Address | None = None,
) -> Path:
    """Make an empty production in ``folder``, with the built-in crafts; returns the folder.

    log: the address of a database on a server in which the log is made, which is then named in the
    settings; else it is a file in the folder.
    The folder is made when it is not there. Raises WrongCall when it holds a production already,
    ProblemsFound with everything that is wrong with the settings; then nothing is left behind.
    """
    table = {"title": title, "frame_rate": rate, "gauge": gauge, "day_minutes": day_minutes}
    table["sentence"] = sentence
    production = checked(table if code is None else {**table, "code": code})
    if not (origin.isascii() and origin.isalpha() and origin.isupper()):
        hint = "Write capital letters, such as A."
        raise ProblemsFound(Finding("is not an origin", hint, None, "origin", origin))
    require_folder(folder)
    for name in (file.LOG_NAME, SETTINGS_NAME):
        if os.path.lexists(folder / name):
            what = f"holds a {name} already: a production is there"
            raise WrongCall(Finding(what, "Name another folder.", value=str(folder)))
    with _new_folder(folder):
        made = made_on or date.today()
        if log is None:
            _write_both(folder, settings_text(production), origin, made)
        else:
            _write_on_server(folder, settings_text(production, log.text), log, origin, made)
    return folder


@contextmanager
def _new_folder(folder: Path) -> Iterator[None]:
    """Make the folders that are missing; take them away again when the block fails."""
    with ExitStack() as undo:
        try:
            for path in reversed([p for p in (folder, *folder.parents) if not p.exists()]):
                path.mkdir()
                undo.callback(path.rmdir)
        except OSError as error:
            what = f"cannot be made a production's folder ({error.strerror})"
            hint = "Name a folder that you may write."
            refused = WrongCall if error.errno == errno.ENAMETOOLONG else LogUnusable
            raise refused(Finding(what, hint, value=str(folder))) from error
        yield
        undo.pop_all()


def _write_both(folder: Path, settings: str, origin: str, made_on: date) -> None:
    """Write both files under other names first, so that there is a whole production or none."""
    log, text = folder / file.LOG_NAME, folder / SETTINGS_NAME
    new_log, new_text = (p.with_name(p.name + ".unfinished") for p in (log, text))
    with table_words.in_words(log), ExitStack() as undo:
        for path in (new_log, new_text):
            undo.callback(path.unlink, missing_ok=True)
        new_log.unlink(missing_ok=True)
        new_text.write_text(settings, encoding="utf-8", newline="\n")
        _make_log(new_log, origin, made_on)
        new_text.rename(text)
        undo.callback(text.unlink, missing_ok=True)
        with unbroken():
            new_log.rename(log)
            undo.pop_all()
            note(log.parent)


def _write_on_server(
    folder: Path, settings: str, address: Address, origin: str, made_on: date
) -> None:
    """Make the log on a server and write the settings, so that there are both or neither."""
    text = folder / SETTINGS_NAME
    on_server = import_module("credits.store.on_server")
    with (
        table_words.in_words(text),
        ExitStack() as undo,
        on_server.new_log(address, lambda driver: _fill(driver, origin, made_on)),
    ):
        undo.callback(text.unlink, missing_ok=True)
        text.write_text(settings, encoding="utf-8", newline="\n")
        undo.pop_all()
    note(folder)


def _make_log(path: Path, origin: str, made_on: date) -> None:
    path.touch()
    with closing(file.opened(path)) as driver:
        to_wal(driver)
        begin(driver, writing=True)
        table_words.make_tables(driver)
        make_triggers(driver)
        _fill(driver, origin, made_on)
        driver.commit()


def _fill(driver: Driver, origin: str, made_on: date) -> None:
    """Write what every log begins with, and seal it."""
    crafts = FACT_TABLES[0]
    version = f"INSERT INTO {VERSION_TABLE} ({VERSION_COLUMN}) VALUES (?)"
    driver.execute(version, (known_versions()[-1],))
    insert_rows(driver, "log", ("origin", "made_on"), [(origin, made_on)])
    rows = [crafts.values(craft) for craft in BUILT_IN_CRAFTS]
    insert_rows(driver, crafts.name, tuple(rows[0]), [tuple(row.values()) for row in rows])
    seal_new(driver, nothing_yet(origin), datetime.now().astimezone())


def back_up(folder: Path, target: Path, now: Callable[[], datetime] = datetime.now) -> Path:
    """Copy a production's log; returns the path of the copy.

    ``target`` is a folder, which gets ``production-<YYYYMMDD-HHMMSS>.db`` by the local clock, or
    the name of a new file in a folder that exists. Never writes over a file: WrongCall.
    """
    path = log_of(folder)
    if target.is_dir():
        target = target / f"production-{now():%Y%m%d-%H%M%S}.db"
    if target.exists():
        raise file.already_there(target)
    require_file(target)
    if isinstance(path, Path):
        return file.copy_log(path, target)
    copied: Path = import_module("credits.store.copied").backed_up(path, target)
    return copied
