"""A log carried between a folder and a server, whole, every figure of both compared."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import NamedTuple

from credits.app.logs.restore import figures_of
from credits.app.production import snapshot_of
from credits.errors import CreditsError, Finding, LogUnusable, Place, WrongCall
from credits.files import LOG, PLAN, SETTINGS
from credits.model.log import WrittenLog
from credits.store.engines.address import address_in, checked_address, is_address
from credits.store.logs.copied import copied_to, reading_of
from credits.store.place import LogPlace, log_of
from credits.store.seals.verify import verify_file
from credits.store.settings import read_settings, without_log

_MAKE_ONE = "Name the folder of a production, or make one with `credits start`."


class Carried(NamedTuple):
    """What was copied. lines: of the log; target: where it is now."""

    lines: int
    target: LogPlace


def copy_log(source: str, target: str) -> Carried:
    """Copy the log of a production to a place that has none, with its seals and its history.

    source: a production's folder, or an address, with a folder as the target that has the settings.
    target: an address of an empty database, or a folder that has no log; one that is not there is
    made, with the settings and the plan of the source. Both logs are read whole and every figure is
    compared before the copy stands; else nothing is there. Raises WrongCall, LogUnusable,
    ProblemsFound.
    """
    if is_address(target):
        if is_address(source):
            what = "is an address, as is the target: nothing says what film it is"
            hint = "Name the folder of the production, whose settings name its log."
            raise WrongCall(Finding(what, hint, column="FROM", value=checked_address(source).name))
        folder = Path(source)
        address = checked_address(target, column="TO")
        return _carried(log_of(folder, _MAKE_ONE), address, folder)
    folder = Path(target)
    if (folder / LOG).exists():
        what = f"holds a {LOG} already"
        raise WrongCall(Finding(what, "Name another folder.", column="TO", value=target))
    if is_address(source):
        read_settings(folder)
        if address_in(folder) is not None:
            what = "names a log on a server, so it has one"
            hint = "Take the line `log` out of its production.toml, or name another folder."
            raise WrongCall(Finding(what, hint, column="TO", value=target))
        return _carried(checked_address(source, column="FROM"), folder / LOG, folder)
    log = log_of(Path(source), _MAKE_ONE)
    with _new_folder(Path(source), folder):
        return _carried(log, folder / LOG, Path(source))


@contextmanager
def _new_folder(source: Path, folder: Path) -> Iterator[None]:
    """Make the folder of a production with the settings and the plan of another; take it away again
    when the block fails."""
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        what = "is there already, and is no empty folder"
        raise WrongCall(Finding(what, "Name a new folder.", column="TO", value=str(folder)))
    is_new = not folder.exists()
    try:
        folder.mkdir(exist_ok=True)
        text = (source / SETTINGS).read_text("utf-8-sig")
        (folder / SETTINGS).write_text(without_log(text), "utf-8", newline="\n")
        if (source / PLAN).is_file():
            shutil.copyfile(source / PLAN, folder / PLAN)
        yield
    except BaseException as error:
        for name in (SETTINGS, PLAN):
            with suppress(OSError):
                (folder / name).unlink(missing_ok=True)
        if is_new:
            with suppress(OSError):
                folder.rmdir()
        if isinstance(error, OSError):
            what = f"cannot be made a production's folder ({error.strerror})"
            raise LogUnusable(Finding(what, "", value=str(folder))) from error
        raise


def _carried(source: LogPlace, target: LogPlace, folder: Path) -> Carried:
    """Copy a log. folder: that of the settings and the plan by which figures are made."""
    if found := verify_file(source):
        what = f"cannot be copied: {found[0].what}"
        raise LogUnusable(Finding(what, found[0].hint, Place(source.name)))
    with reading_of(source, folder) as before:
        written = before.read()
        with copied_to(before, target, folder) as copy:
            again = copy.read()
            same = written == again and before.proofs() == copy.proofs()
            if not same or _figures(written, folder) != _figures(again, folder):
                what = "the figures of the copy are not those of the log: nothing was copied"
                raise CreditsError(Finding(what, "", Place(target.name)))
    return Carried(len(written.lines), target)


def _figures(written: WrittenLog, folder: Path) -> tuple[object, ...]:
    return figures_of(snapshot_of(written, folder))
