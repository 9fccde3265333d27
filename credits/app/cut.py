"""Import the editors' cut, go back to a version of it, save it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from credits.app.production import read_ledger
from credits.app.writing import write_if_unmoved
from credits.errors import Finding, ProblemsFound, WrongCall
from credits.files import write_whole
from credits.formats.cut.otio import cut_to_otio
from credits.formats.cut.read import read_cut
from credits.model.facts import Cut
from credits.model.log import Batch, WrittenLog
from credits.store import open_log
from credits.units.film_time import FrameRate


@dataclass(frozen=True, slots=True, kw_only=True)
class ImportedCut:
    """A cut that was read. ``is_new``: False where it is the same as the cut in use, ``version``.

    not_understood: what a person should look at.
    """

    version: int
    cut: Cut
    is_new: bool
    rate: FrameRate
    not_understood: tuple[Finding, ...]


def import_cut(
    folder: Path, file: Path, first_frame: int = 1, shot_pattern: str | None = None
) -> ImportedCut:
    """Read a cut and write it as a new version; one that is the same is not written again.

    first_frame: the number of a shot's frame 1 in the file.
    shot_pattern: how a clip's name holds its shot. Raises ProblemsFound.
    """

    def version(written: WrittenLog) -> tuple[Batch | None, ImportedCut]:
        reading = read_cut(file, written, first_frame=first_frame, shot_pattern=shot_pattern)
        cut = reading.cut
        if reading.problems or cut is None:
            raise ProblemsFound(*reading.problems, *reading.not_understood)
        used = written.cut
        same = used is not None and _content(used) == _content(cut)
        return None if same else Batch(cut=cut), ImportedCut(
            version=used.version if used is not None else 0,
            cut=cut,
            is_new=not same,
            rate=written.production.rate,
            not_understood=reading.not_understood,
        )

    with open_log(folder) as log:
        imported, receipt = write_if_unmoved(log, version)
    return replace(imported, version=receipt.cut_version or imported.version)


def _content(cut: Cut) -> Cut:
    return replace(cut, version=0, source="", brought_in_on=None)


def use_cut(folder: Path, version: int) -> None:
    """Make a version of the cut the one in use. Raises WrongCall when there is none such."""
    with open_log(folder) as log, log.writing() as writer:
        writer.use_cut(version)


def save_cut(folder: Path, file: Path) -> int:
    """Write the cut in use as an ``.otio`` file; its version. Raises ProblemsFound, WrongCall."""
    if file.suffix.lower() != ".otio":
        hint = "Write a name that ends in .otio."
        raise WrongCall(Finding("the cut is written as .otio", hint, None, "--save", str(file)))
    ledger = read_ledger(folder)
    if ledger.cut is None:
        hint = "Bring one in: credits cut FILE."
        raise ProblemsFound(Finding("there is no cut yet", hint))
    write_whole(file, cut_to_otio(ledger.cut, ledger).encode())
    return ledger.cut.version
