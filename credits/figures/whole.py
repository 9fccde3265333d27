"""Everything that is kept, renewed and compared: with what the checks find."""

from __future__ import annotations

from importlib import import_module
from pathlib import Path

from credits.figures.keep import open_figures
from credits.figures.renewal import Depth
from credits.figures.renewing import KnownClaims, Renewal
from credits.memory import all_kept
from credits.store.beside.figures_db import COMPUTED, FIGURES_NAME
from credits.store.beside.kept import FiguresFile
from credits.store.beside.rows import Rows


class WholeRenewal(Renewal):
    """Renews all that is kept, what the checks find included."""

    def _rows_of_cases(self, codes: list[str], known: KnownClaims | None) -> Rows:
        # Only who asks what the checks find waits for them.
        cases = import_module("credits.figures.cases")
        found: Rows = cases.CasesOf(self._file, codes, known).rows()
        return found


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
