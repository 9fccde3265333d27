"""Open a production: its ledger, its credit plan, a snapshot of both."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from importlib import import_module
from pathlib import Path

from credits.billing.plan import BUILT_IN, CreditPlan, built_in_plan, planned_headings
from credits.errors import Finding, ProblemsFound, WrongCall
from credits.figures.keep import open_figures
from credits.figures.renewal import Depth
from credits.figures.snapshot import KeptSnapshot, Snapshot
from credits.formats.plan import FILE_NAME
from credits.memory import all_kept
from credits.model.episodes import episodes_of, replay_episode
from credits.model.ledger import Ledger
from credits.model.log import WrittenLog
from credits.model.replay import replay
from credits.model.words import some_of
from credits.store.beside.kept import FiguresFile
from credits.text import fold_words


def _plan_in(folder: Path, ledger: Ledger) -> tuple[CreditPlan | None, str]:
    """Read the plan in a production's folder, and its text; None: it has none of its own.

    Raises ProblemsFound with everything that is wrong with the file.
    """
    path = folder / FILE_NAME
    if not path.exists():
        return None, BUILT_IN
    # Only who has a plan waits for what reads it.
    plan: CreditPlan = import_module("credits.formats.plan.read").read_plan_file(path, ledger)
    return plan, path.read_text(encoding="utf-8-sig")


def headings_in_use(folder: Path, ledger: Ledger) -> tuple[str, ...]:
    """Return the headings of the credit plan and of contracts; nothing is compiled.

    Of the built-in plan those of crafts that somebody has done, and those of departments. Of a plan
    that cannot be read, which is told elsewhere, none but those of contracts.
    """
    try:
        plan, _ = _plan_in(folder, ledger)
    except ProblemsFound:
        plan = CreditPlan(BUILT_IN, ())
    if plan is None:
        built_in = built_in_plan(ledger)
        own = (s for s in built_in.sections if not s.crafts or any(map(_done_in(ledger), s.crafts)))
        plan = replace(built_in, sections=tuple(own))
    return tuple(dict.fromkeys(planned_headings(plan, ledger)))


def _done_in(ledger: Ledger) -> Callable[[str], bool]:
    return lambda craft: craft in ledger.by_craft


def snapshot_of(written: WrittenLog, folder: Path, episode: str | None = None) -> Snapshot:
    """Return the snapshot of a log that was read and of the plan in its folder, else the built-in.

    episode: of this one alone. Raises ProblemsFound with everything that is wrong with the plan's
    file, WrongCall where no shot belongs to the episode.
    """
    with all_kept():
        ledger = replay(written)
    plan, text = _plan_in(folder, ledger)
    if episode is None:
        return Snapshot(ledger, plan, plan_text=text, written=written)
    known = {fold_words(each): each for each in episodes_of(ledger)}
    if fold_words(episode) not in known:
        what = "no shot belongs to this episode"
        some = f"There are {some_of(known.values())}." if known else ""
        hint = some or "Say of each shot to which it belongs: column episode of the table shots."
        raise WrongCall(Finding(what, hint, column="--episode", value=episode))
    named = known[fold_words(episode)]
    with all_kept():
        own = replay_episode(written, named)
    return Snapshot(own, plan, plan_text=text, written=written, episode=named)


def open_snapshot(folder: Path, depth: Depth = Depth.FIGURES) -> Snapshot:
    """Open the production in a folder: its figures as they are kept, and its credit plan.

    depth: how far the figures are wanted. Raises as ``snapshot_of``.
    """
    return kept_snapshot(open_figures(folder, depth), depth)


def bare_snapshot(file: FiguresFile, depth: Depth) -> Snapshot:
    """Return the snapshot of figures that were opened; the credit plan is not looked at."""
    with all_kept():
        return KeptSnapshot(file, depth, lambda _: (None, BUILT_IN))


def kept_snapshot(
    file: FiguresFile, depth: Depth = Depth.FIGURES, *, whole: bool = False
) -> Snapshot:
    """Return the snapshot of figures that were opened. Raises as ``snapshot_of``.

    whole: everything is read at once, for whoever looks at most of it.
    """
    with all_kept():
        return KeptSnapshot(file, depth, lambda ledger: _plan_in(file.folder, ledger), whole=whole)
