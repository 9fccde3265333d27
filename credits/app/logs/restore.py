"""Put a backup in the place of the log, and say what that means before it is done."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import NamedTuple

from credits.app.production import snapshot_of
from credits.billing.proofs import credits_to_json
from credits.errors import CreditsError, Finding, LogUnusable, Place, ProblemsFound, WrongCall
from credits.figures.snapshot import Snapshot
from credits.model.words import counted, some_of
from credits.store.beside.figures_db import forget
from credits.store.file import LOG_NAME
from credits.store.log import open_log
from credits.store.logs.restore import (
    copied_beside,
    first_lines_differ,
    is_readable,
    keep_aside,
    lines_of,
    not_sound,
    put_in_place,
)
from credits.store.place import address_of
from credits.store.seals.verify import moments_of, verify, verify_file

# What only grows, and what one row of it is.
_GROWS = {
    "entries": "line",
    "history": "change of a list",
    "proofs": "proof",
    "settlements": "answer",
    "confirmations": "confirmation",
    "cut_versions": "cut",
}


class Restored(NamedTuple):
    """What was done. kept: where what was there lies now; None: nothing was there, or the same."""

    lines: int
    kept: Path | None


def restore(folder: Path, file: Path, *, force: bool = False) -> Restored:
    """Put a copy of the log in its place; every figure of both is compared before it is done.

    force: also over a log that has what the copy has not. Whatever was there is kept beside it.
    Raises WrongCall, LogUnusable, ProblemsFound; the log is then as it was.
    """
    log = folder / LOG_NAME
    if address_of(folder) is not None:
        what = "the log of this production is on a server, where nothing is written over"
        hint = (
            "Put the copy as production.db into a folder of its own, with production.toml but its"
            " line `log`, and carry it into an empty database: credits copy FOLDER ADDRESS"
        )
        raise WrongCall(Finding(what, hint, value=str(folder)))
    if not file.is_file():
        raise WrongCall(Finding("is no file", "Name a copy of the log.", value=str(file)))
    if log.exists() and log.samefile(file):
        raise WrongCall(Finding("is the log itself", "Name a copy of it.", value=str(file)))
    with copied_beside(file, folder) as beside:
        copy = beside / LOG_NAME
        before = _sound_figures(file, beside, folder)
        readable = log.exists() and is_readable(log)
        if readable and _is_the_same(log, copy):
            return Restored(lines_of(copy, ("entries",))["entries"], None)
        if readable and not force and (more := _has_more(log, copy)):
            what = f"the log here has {more} that the copy has not"
            hint = "Write --force to put the copy in its place; what is here is kept beside it."
            raise ProblemsFound(Finding(what, hint, Place(file.name)))
        kept = keep_aside(log, datetime.now(), readable=readable) if log.exists() else None
        put_in_place(copy, log, readable=readable)
        forget(folder)
        with open_log(folder) as now:
            written = now.read()
        if figures_of(before) != figures_of(snapshot_of(written, folder)):
            what = "the figures of the log are not those of the copy"
            hint = f"What was there lies in {kept.name}." if kept is not None else ""
            raise CreditsError(Finding(what, hint, Place(LOG_NAME)))
        return Restored(len(written.lines), kept)


def _is_the_same(log: Path, copy: Path) -> bool:
    """Whether a log is sound, and is what the copy is, as after a restoring that was stopped."""
    if verify_file(log):
        return False
    return moments_of(log)[-1].seal == moments_of(copy)[-1].seal


def _is_older(finding: Finding) -> bool:
    return finding.what.startswith("is of an older version")


def _sound_figures(file: Path, beside: Path, folder: Path) -> Snapshot:
    """The figures of the copy, which is brought to the version of this release.

    Raises LogUnusable where it is not sound, and names the file that was meant.
    """
    try:
        found = [one for one in verify(beside) if one.place == Place(LOG_NAME)]
        if found and not _is_older(found[0]):
            raise not_sound(file, found)
        with open_log(beside) as log:
            return snapshot_of(log.read(), folder)  # by the plan that the production has
    except LogUnusable as error:
        raise not_sound(file, error.findings) from error


def _has_more(log: Path, copy: Path) -> str:
    """What the log has that the copy has not, in words; empty: nothing."""
    here, there = lines_of(log, tuple(_GROWS)), lines_of(copy, tuple(_GROWS))
    more = [
        counted(count - there.get(table, 0), _GROWS[table])
        for table, count in here.items()
        if count > there.get(table, 0)
    ]
    if more:
        return some_of(more)
    first = first_lines_differ(log, copy)
    return f"another line {first}, so something" if first is not None else ""


def figures_of(snapshot: Snapshot) -> tuple[object, ...]:
    """Everything that is computed of a log, to be compared."""
    cells = sorted(map(repr, snapshot.footage.cells))
    return cells, snapshot.reach, credits_to_json(snapshot.credits), snapshot.checks
