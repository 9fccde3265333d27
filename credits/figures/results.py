"""Everything that is computed from a ledger, held together."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from credits.billing.compile import compile_credits
from credits.billing.credits import Credits
from credits.billing.plan import CreditPlan, built_in_plan
from credits.checks.answers import Settled, open_and_settled
from credits.checks.checks import find_checks
from credits.checks.rule import Check, Known
from credits.footage.claims import TakeRuns, claim_runs
from credits.footage.cut import CutUse, chosen_takes, order_of_appearance, use_of_cut
from credits.footage.footage import Footage, footage
from credits.hands.hands import Hands
from credits.hands.reach import Reach, reach
from credits.model.ledger import Ledger


@dataclass(frozen=True, slots=True)
class Results:
    """The computed production.

    ``first_seen``: characters with film frames, as they appear. ``checks`` are all of them;
    each is among ``open_checks`` or in ``settled``.
    """

    ledger: Ledger
    runs: Mapping[tuple[str, int], TakeRuns]
    use: CutUse | None
    takes: Mapping[str, int]
    footage: Footage
    footage_by_character: Mapping[str, Footage]
    footage_by_person: Mapping[str, Footage]
    footage_by_shot: Mapping[str, Footage]
    hands: Hands
    reach: Mapping[str, Reach]
    first_seen: tuple[tuple[str, int], ...]
    credits: Credits
    checks: tuple[Check, ...]
    open_checks: tuple[Check, ...]
    settled: tuple[Settled, ...]


def footage_of(ledger: Ledger) -> tuple[Mapping[tuple[str, int], TakeRuns], CutUse | None, Footage]:
    """Only what footage needs: the runs, the use of the cut, the footage."""
    runs = claim_runs(ledger)
    use = use_of_cut(ledger, runs)
    return runs, use, footage(ledger, runs, use)


def credits_of(
    ledger: Ledger,
    runs: Mapping[tuple[str, int], TakeRuns],
    use: CutUse | None,
    feet: Footage,
    plan: CreditPlan | None = None,
) -> Credits:
    """The end credits by the plan; by the built-in plan when none is given."""
    appearance = tuple(character for character, _ in order_of_appearance(use, runs))
    return compile_credits(ledger, plan or built_in_plan(ledger), appearance, feet)


def compute(ledger: Ledger, plan: CreditPlan | None = None) -> Results:
    """Compute the whole production."""
    runs, use, feet = footage_of(ledger)
    hands = Hands(ledger, runs)
    credits = credits_of(ledger, runs, use, feet, plan)
    checks = find_checks(Known(ledger=ledger, runs=runs, use=use, credits=credits))
    open_checks, settled = open_and_settled(checks, ledger)
    return Results(
        ledger=ledger,
        runs=runs,
        use=use,
        takes=chosen_takes(ledger, runs),
        footage=feet,
        footage_by_character=feet.parted(lambda cell: cell.character),
        footage_by_person=feet.parted(lambda cell: cell.person),
        footage_by_shot=feet.parted(lambda cell: cell.shot),
        hands=hands,
        reach=reach(ledger, runs, use, hands),
        first_seen=order_of_appearance(use, runs),
        credits=credits,
        checks=checks,
        open_checks=open_checks,
        settled=settled,
    )
