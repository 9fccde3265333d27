"""Whether what is kept of the figures is what the log makes."""

from __future__ import annotations

from pathlib import Path

from credits.figures.keep import open_figures
from credits.figures.renewal import Depth
from credits.figures.whole import WholeRenewal
from credits.memory import all_kept
from credits.store.beside.figures_db import COMPUTED, FIGURES_NAME
from credits.store.beside.kept import FiguresFile


def kept_wrongly(folder: Path) -> list[str]:
    """Return which figures that are kept are not those that the log makes: the tables' names.

    All are computed once more, beside those that are kept. Empty where none are kept.
    """
    if not (folder / FIGURES_NAME).is_file():
        return []
    kept = open_figures(folder, Depth.EVERYTHING)
    anew = FiguresFile(folder, in_memory=True)
    try:
        anew.begin(writing=True)
        with all_kept():
            WholeRenewal(anew).renew(Depth.EVERYTHING)
        return [name for name in COMPUTED if kept.content(name) != anew.content(name)]
    finally:
        kept.close()
        anew.close()
