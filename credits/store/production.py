"""The production folder: finding one, making a new one."""

from __future__ import annotations

import os
from collections.abc import Mapping
from contextlib import closing
from datetime import date
from pathlib import Path

from credits.errors import Finding, LogUnusable, NoProduction, ProblemsFound, WrongCall
from credits.files import require_folder
from credits.model.crafts import BUILT_IN_CRAFTS
from credits.places import migrations
from credits.store.columns import FACT_TABLES
from credits.store.connection import LOG_NAME, connect, in_words, to_wal
from credits.store.settings import SETTINGS_NAME, checked, settings_text
from credits.store.statements import statements
from credits.text import fold_code

VARIABLE = "CREDITS_PRODUCTION"
ORIGIN = "A"
_HINT = (
    f"Go into a production's folder, or name it with --production DIR or {VARIABLE}, "
    "or make one with `credits start`."
)


def find_production(folder: Path | None, environ: Mapping[str, str], cwd: Path) -> Path:
    """The production's folder: ``folder``, else CREDITS_PRODUCTION, else ``cwd`` or the nearest
    parent that holds a log. Raises NoProduction that says what to do.
    """
    if folder is not None:
        return _named(cwd / folder, "--production")
    if environ.get(VARIABLE):
        return _named(cwd / environ[VARIABLE], VARIABLE)
    for candidate in (cwd, *cwd.parents):
        if os.path.isfile(candidate / LOG_NAME):  # noqa: PTH113 - False where one may not look
            return candidate
    raise NoProduction(
        Finding("is in no production: neither it nor a folder above it holds production.db", _HINT,
                value=str(cwd))
    )  # fmt: skip


def _named(folder: Path, by: str) -> Path:
    if folder.name == LOG_NAME and not folder.is_dir():
        folder = folder.parent
    if os.path.exists(folder / LOG_NAME):  # noqa: PTH110 - False where one may not look
        return folder
    what = "holds no production.db" if folder.is_dir() else "is not a folder"
    raise NoProduction(Finding(what, _HINT, column=by, value=str(folder)))


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
) -> Path:
    """Make an empty production in ``folder``, with the built-in crafts; returns the folder.

    The folder is made when it is not there. Raises WrongCall when it holds a production already,
    ProblemsFound with everything that is wrong with the settings; then nothing is left behind.
    """
    table = {"title": title, "frame_rate": rate, "gauge": gauge, "day_minutes": day_minutes}
    production = checked(table if code is None else {**table, "code": code})
    if not (origin.isascii() and origin.isalpha() and origin.isupper()):
        hint = "Write capital letters, such as A."
        raise ProblemsFound(Finding("is not an origin", hint, None, "origin", origin))
    require_folder(folder)
    for name in (LOG_NAME, SETTINGS_NAME):
        if os.path.lexists(folder / name):
            what = f"holds a {name} already: a production is there"
            raise WrongCall(Finding(what, "Name another folder.", value=str(folder)))
    with _new_folder(folder):
        _write_both(folder, settings_text(production), origin, made_on or date.today())
    return folder


class _new_folder:  # noqa: N801 - used as a block
    """Makes the folders that are missing; takes them away again when the block fails."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.made: list[Path] = []

    def __enter__(self) -> None:
        missing = [p for p in (self.folder, *self.folder.parents) if not p.exists()]
        try:
            for path in reversed(missing):
                path.mkdir()
                self.made.insert(0, path)
        except OSError as error:
            self._take_away()
            what = f"cannot be made a production's folder ({error.strerror})"
            hint = "Name a folder that you may write."
            raise LogUnusable(Finding(what, hint, value=str(self.folder))) from error

    def __exit__(self, kind: object, error: object, trace: object) -> None:
        if kind is not None:
            self._take_away()

    def _take_away(self) -> None:
        for path in self.made:
            path.rmdir()


def _write_both(folder: Path, settings: str, origin: str, made_on: date) -> None:
    """Both files under other names first, so that there is a whole production or none."""
    log, text = folder / LOG_NAME, folder / SETTINGS_NAME
    new_log, new_text = (p.with_name(p.name + ".unfinished") for p in (log, text))
    ours = [new_log, new_text]
    with in_words(log):
        try:
            new_log.unlink(missing_ok=True)
            new_text.write_text(settings, encoding="utf-8", newline="\n")
            _make_log(new_log, origin, made_on)
            new_text.rename(text)
            ours.append(text)
            new_log.rename(log)
        except BaseException:
            for path in ours:
                path.unlink(missing_ok=True)
            raise


def _make_log(path: Path, origin: str, made_on: date) -> None:
    schema = (migrations() / "schema.sql").read_text(encoding="utf-8")
    crafts = FACT_TABLES[0]
    rows = ((*crafts.row(craft), fold_code(craft.code)) for craft in BUILT_IN_CRAFTS)
    path.touch()
    with closing(connect(path)) as connection:
        to_wal(connection)
        connection.executescript(f"BEGIN; {schema}")
        connection.execute(statements()["insert log"], (origin, made_on.isoformat()))
        connection.executemany(statements()["insert crafts"], rows)
        connection.execute("COMMIT")
