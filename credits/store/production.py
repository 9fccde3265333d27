"""The production folder: make a new one, copy its log."""

from __future__ import annotations

import errno
import os
import shutil
from collections.abc import Callable, Iterator
from contextlib import ExitStack, closing, contextmanager
from datetime import date, datetime
from importlib import import_module
from pathlib import Path

from credits.errors import Finding, LogUnusable, ProblemsFound, WrongCall
from credits.files import require_file, require_folder
from credits.model.facts import BUILT_IN_CRAFTS
from credits.store import file
from credits.store.engines import table_words
from credits.store.engines.address import Address
from credits.store.engines.driver import Driver, begin
from credits.store.engines.sqlite import to_wal
from credits.store.place import log_of
from credits.store.reading import FACT_TABLES
from credits.store.schema.records import VERSION_COLUMN, VERSION_TABLE
from credits.store.schema.statements import insert_rows
from credits.store.schema.triggers import make_triggers
from credits.store.schema.version import known_versions
from credits.store.seals.chain import nothing_yet, seal_new
from credits.store.settings import SETTINGS_NAME, checked, settings_text
from credits.unfinished import sync_folder, unfinished
from credits.written import note, unbroken

ORIGIN = "A"
OWN, SHARED = 0o600, 0o666
"""Who may read and write a new log: its user alone, or whoever the user's mask lets."""


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
    shared: bool = False,
    before: Callable[[Path], object] = lambda _: None,
) -> Path:
    """Make an empty production in ``folder``, with the built-in crafts; returns the folder.

    The folder is made when it is not there. log: the address of a database on a server in which the
    log is made, which is then named in the settings; else it is a file in the folder. shared: other
    users of the machine may read the log, as far as the mask of this one allows; else nobody but
    this one. before: makes what else the folder is to hold, before it is a production. What was
    left of the same production, begun there and stopped, is in nobody's way. Raises WrongCall when
    the folder holds a production already, ProblemsFound with everything that is wrong with the
    settings; then nothing is left behind.
    """
    table = {"title": title, "frame_rate": rate, "gauge": gauge, "day_minutes": day_minutes}
    table["sentence"] = sentence
    production = checked(table if code is None else {**table, "code": code})
    if not (origin.isascii() and origin.isalpha() and origin.isupper()):
        hint = "Write capital letters, such as A."
        raise ProblemsFound(Finding("is not an origin", hint, None, "origin", origin))
    require_folder(folder)
    settings = settings_text(production)
    for name in (file.LOG_NAME, SETTINGS_NAME):
        if os.path.lexists(folder / name) and not _is_left(folder, settings):
            what = f"holds a {name} already: a production is there"
            raise WrongCall(Finding(what, "Name another folder.", value=str(folder)))
    mode = SHARED if shared else OWN
    with _new_folder(folder):
        before(folder)
        made = made_on or date.today()
        if log is None:
            _write_both(folder, settings, origin, made, mode)
        else:
            _write_on_server(folder, settings_text(production, log.text), log, origin, made)
    return folder


def _is_left(folder: Path, settings: str) -> bool:
    """Whether the same production was begun there, and stopped before it had a log."""
    if os.path.lexists(folder / file.LOG_NAME):
        return False
    try:
        return (folder / SETTINGS_NAME).read_bytes() == settings.encode("utf-8")
    except OSError:
        return False


@contextmanager
def _new_folder(folder: Path) -> Iterator[None]:
    """Make the folders that are missing; take them away again when the block fails."""
    with ExitStack() as undo:
        try:
            for path in reversed([p for p in (folder, *folder.parents) if not p.exists()]):
                path.mkdir()
                undo.callback(shutil.rmtree, path, ignore_errors=True)
        except OSError as error:
            what = f"cannot be made a production's folder ({error.strerror})"
            hint = "Name a folder that you may write."
            refused = WrongCall if error.errno == errno.ENAMETOOLONG else LogUnusable
            raise refused(Finding(what, hint, value=str(folder))) from error
        yield
        undo.pop_all()


def _write_both(folder: Path, settings: str, origin: str, made_on: date, mode: int) -> None:
    """Write both files under other names first, so that there is a whole production or none."""
    log, text = folder / file.LOG_NAME, folder / SETTINGS_NAME
    with (
        table_words.in_words(log),
        ExitStack() as undo,
        unfinished(log, mode=mode) as new_log,
        unfinished(text, mode=mode) as new_text,
    ):
        new_text.write_text(settings, encoding="utf-8", newline="\n")
        _make_log(new_log, origin, made_on)
        # Settings without a log are what was left where a power cut came between the two.
        new_text.replace(text)
        undo.callback(text.unlink, missing_ok=True)
        with unbroken():
            new_log.rename(log)
            undo.pop_all()
            note(log.parent)
        sync_folder(folder)


def _write_on_server(
    folder: Path, settings: str, address: Address, origin: str, made_on: date
) -> None:
    """Make the log on a server and write the settings, so that there are both or neither."""
    text = folder / SETTINGS_NAME
    on_server = import_module("credits.store.logs.on_server")
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

    ``target`` is a folder, which gets ``production-<YYYYMMDD-HHMMSS>.db`` by the local clock, and
    a number behind where there is one of this second; or the name of a new file in a folder that
    exists. Never writes over a file: WrongCall.
    """
    path = log_of(folder)
    numbered = target.is_dir()
    if numbered:
        target = target / f"production-{now():%Y%m%d-%H%M%S}{file.LOG_SUFFIX}"
    elif target.exists():
        raise file.already_there(target)
    else:
        require_file(target)
    if isinstance(path, Path):
        return file.copy_log(path, target, numbered=numbered)
    copied: Path = import_module("credits.store.logs.copied").backed_up(path, target)
    return copied
