"""Figures of a production as they are kept: the ledger, footage, reach; no credit plan is read."""

from __future__ import annotations

from collections.abc import Mapping
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING

from credits.figures.keep import kept_footage, open_figures
from credits.figures.lookups import kept_ledger
from credits.figures.renewal import Depth
from credits.footage.footage import Footage
from credits.memory import all_kept
from credits.model.ledger import Ledger

if TYPE_CHECKING:  # whoever asks for footage does not wait for what is known of hands
    from credits.hands.reach import Reach


def read_ledger(folder: Path) -> Ledger:
    """Read the ledger of the production in a folder; its credit plan is not looked at."""
    return kept_ledger(open_figures(folder))


@all_kept()
def footage_of(folder: Path) -> tuple[Ledger, Footage]:
    """Return the ledger and the footage of the production in a folder."""
    file = open_figures(folder, Depth.FOOTAGE)
    ledger = kept_ledger(file)
    return ledger, kept_footage(file, ledger)


@all_kept()
def reach_of(folder: Path) -> tuple[Ledger, Mapping[str, Reach]]:
    """Return the ledger of the production in a folder, and how much of the film each person's
    hands are in."""
    file = open_figures(folder, Depth.REACH)
    ledger = kept_ledger(file)
    reach: Mapping[str, Reach] = import_module("credits.figures.kept_hands").kept_reach(
        file, ledger
    )
    return ledger, reach
