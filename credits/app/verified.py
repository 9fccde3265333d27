"""Check a production whole: its log, its settings, and the figures that are kept."""

from __future__ import annotations

from pathlib import Path

from credits.errors import Finding, Place
from credits.figures.whole import kept_wrongly
from credits.model.words import some_of
from credits.store.figures_db import FIGURES_NAME, forget
from credits.store.verify import verify


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
