"""Check a production whole: its log, its settings, and the figures that are kept."""

from __future__ import annotations

import re
from pathlib import Path
from typing import NamedTuple

from credits.errors import Finding, Place, WrongCall
from credits.figures.kept_wrongly import kept_wrongly
from credits.files import is_database
from credits.model.words import some_of
from credits.store.beside.figures_db import FIGURES_NAME, forget
from credits.store.file import in_words
from credits.store.place import log_of
from credits.store.seals.chain import Moment
from credits.store.seals.verify import moments_of, verify, verify_file


def verify_production(folder: Path) -> tuple[Finding, ...]:
    """Find everything that is wrong with the log, the settings, and the figures that are kept.

    Figures that are wrong are removed, and made anew when somebody asks. Raises as ``verify``.
    """
    found = verify(folder)
    if found:
        return found
    wrong = kept_wrongly(folder)
    if not wrong:
        return ()
    forget(folder)
    what = f"does not hold what the log makes ({some_of(wrong)}); the log itself is sound"
    hint = "It was removed, and is made anew when it is next needed. Ask again what you asked."
    return (Finding(what, hint, Place(FIGURES_NAME)),)


class Sealed(NamedTuple):
    """The seal of a log: that of its last moment, and the moment of an earlier seal.

    then: None: no moment of the log has that seal, or none was asked about.
    """

    now: Moment
    then: Moment | None


def verify_copy(file: Path) -> tuple[Finding, ...]:
    """Find everything that is wrong with a backup. Raises WrongCall for what is no file."""
    _require_copy(file)
    return verify_file(file)


def sealed(folder: Path, copy: Path | None = None, against: str | None = None) -> Sealed:
    """Read the seal of a log that is sound, and find the moment that an earlier seal is of.

    copy: a backup that is asked about instead of the production's log. Raises WrongCall for what
    cannot be a seal, LogUnusable.
    """
    wanted = None if against is None else _seal(against)
    if copy is not None:
        _require_copy(copy)
    every = moments_of(log_of(folder) if copy is None else copy)
    then = next((moment for moment in every if moment.seal == wanted), None)
    return Sealed(every[-1], then)


def _require_copy(file: Path) -> None:
    what = ""
    if not file.is_file():
        what = "is not there" if not file.exists() else "is not a file"
    else:
        with in_words(file):
            what = "" if is_database(file) else "is not a copy of a log"
    if what:
        raise WrongCall(Finding(what, "Name a file made with `credits backup`.", value=str(file)))


def _seal(text: str) -> str:
    """Return a seal as it is kept; one that was copied from paper may have blanks in it."""
    seal = re.sub(r"\s+", "", text).lower()
    if not re.fullmatch("[0-9a-f]{64}", seal):
        hint = "Write the 64 digits that `credits verify --seal` printed."
        raise WrongCall(Finding("is no seal", hint, column="--against", value=text))
    return seal
