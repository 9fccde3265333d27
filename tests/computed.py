"""Figures of a ledger, as tests ask for them."""

from __future__ import annotations

from collections.abc import Mapping

from credits.billing.compile import compile_credits
from credits.billing.credits import Credits
from credits.billing.plan import CreditPlan, built_in_plan
from credits.figures.snapshot import Snapshot
from credits.footage.claims import TakeRuns
from credits.footage.cut import CutUse, kept_frames, order_of_appearance
from credits.footage.footage import Footage
from credits.model.ledger import Ledger


def footage_of(ledger: Ledger) -> tuple[Mapping[tuple[str, int], TakeRuns], CutUse | None, Footage]:
    """Return the runs, the use of the cut and the footage of a ledger."""
    snapshot = Snapshot(ledger)
    return snapshot.runs, snapshot.use, snapshot.footage


def credits_of(
    ledger: Ledger,
    runs: Mapping[tuple[str, int], TakeRuns],
    use: CutUse | None,
    feet: Footage,
    plan: CreditPlan | None = None,
) -> Credits:
    """Return the end credits by the plan; by the built-in plan when none is given."""
    appearance = tuple(character for character, _ in order_of_appearance(use, kept_frames(runs)))
    return compile_credits(ledger, plan or built_in_plan(ledger), appearance, feet)
