"""The figures that are kept, opened and brought to where their log stands.

Whoever only asks finds them there, and does not wait for what computes figures to be imported.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import closing
from importlib import import_module
from pathlib import Path
from typing import Protocol

from credits.figures.renewal import Depth, Stand
from credits.memory import all_kept
from credits.store.beside.figures_db import disk_refuses
from credits.store.beside.kept import FiguresFile, if_possible

MOST_TRIES = 5


class Renews(Protocol):
    """Brings figures to where their log stands."""

    def __init__(self, file: FiguresFile) -> None: ...

    def renew(self, depth: Depth, most: int | None = None) -> None:
        """Compute what is touched, as far as it is wanted.

        most: where more shots than these are touched, they wait for whoever asks next.
        """


Imports = Callable[[], type[Renews]]
"""Imports what brings figures to where their log stands."""


def _renews() -> type[Renews]:
    found: type[Renews] = import_module("credits.figures.renewing").Renewal
    return found


def opened(folder: Path, depth: Depth, renews: Imports = _renews) -> FiguresFile:
    """Open the figures of a production, renewed as far as they are wanted.

    Figures and log are read as they are at one moment, until the file is closed. renews: what
    has everything at hand that is wanted. Raises what ``open_log`` and reading raise.
    """
    file = FiguresFile(folder)
    try:
        for _ in range(MOST_TRIES):
            file.begin()
            if Stand(file).stands(depth):
                return file
            file.end(keep=False)
            _renew(file, depth, renews)
    except BaseException as error:
        file.close()
        if not disk_refuses(error):
            raise
    # Somebody writes all the while, or the disk takes nothing more: this one computes for itself,
    # of one moment.
    file.close()
    file = FiguresFile(folder, in_memory=True)
    file.begin(writing=True)
    renews()(file).renew(depth)
    return file


def _renew(file: FiguresFile, depth: Depth, renews: Imports, most: int | None = None) -> None:
    file.begin(writing=True)
    try:
        with all_kept():
            renews()(file).renew(depth, most)
    except BaseException:
        file.end(keep=False)
        raise
    file.end(keep=True)


def renewed(
    folder: Path,
    depth: Depth,
    most: int | None,
    renews: Imports = _renews,
    *,
    read: FiguresFile | None = None,
) -> None:
    """Renew the figures after something was written, so that the next answer is there.

    Where that cannot be done now, whoever asks next does it.
    most: as for ``Renews.renew``. renews: as for ``opened``. read: figures that were opened
    before: what they have read of the tables is not read again.
    """
    with if_possible(), closing(FiguresFile(folder)) as file:
        if read is not None:
            file.knows(read)
        if file.is_on_disk:
            _renew(file, depth, renews, most)
