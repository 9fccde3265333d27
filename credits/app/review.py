"""Review one animator: what is said of one person, and of the others as far as it is compared."""

from __future__ import annotations

from functools import cached_property
from pathlib import Path

from credits.app.production import kept_snapshot
from credits.app.work.named import fact_named
from credits.errors import CreditsError, Finding
from credits.figures.keep import open_figures
from credits.figures.kept_review import KeptReview
from credits.figures.renewal import Depth
from credits.figures.snapshot import Snapshot
from credits.memory import all_kept
from credits.model.lazy import Read
from credits.model.ledger import Ledger
from credits.review.expectation import Expectation
from credits.review.review import Review, Reviews
from credits.review.shown import ShownExpectation, shown_expectation
from credits.units.film_time import Period
from credits.units.table import Scale


class MadeReview:
    """A review with what it was made from."""

    def __init__(self, snapshot: Snapshot, kept: KeptReview, person: str, period: Period) -> None:
        self.snapshot = snapshot
        poses = Read(lambda: tuple(snapshot.poses))
        self._reviews = Reviews(snapshot.ledger, poses, snapshot.footage, person, kept)
        self.review: Review = self._reviews.of(person, period)

    @property
    def ledger(self) -> Ledger:
        """The production that it was made from."""
        return self.snapshot.ledger

    @cached_property
    def expectation(self) -> Expectation | None:
        """What pace would be usual; None where that is switched off."""
        return self._reviews.expectation(self.review.person, self.review.period)

    @property
    def shown_expectation(self) -> ShownExpectation | None:
        """The expectation in words."""
        production = self.ledger.production
        return shown_expectation(self.expectation, Scale(production.rate, production.gauge))


@all_kept()
def review_of(folder: Path, person: str, period: Period) -> MadeReview:
    """Review the animator that a code names. Raises WrongCall, CreditsError."""
    file = open_figures(folder, Depth.FOOTAGE)
    snapshot = kept_snapshot(file, Depth.FOOTAGE)
    ledger = snapshot.ledger
    kept = KeptReview(file, ledger)
    code = fact_named("people", person, ledger.people.values()).code
    code = ledger.one_person.get(code, code)
    if not kept.stage_of(code):
        crafts = " or ".join(craft.code for craft in ledger.crafts.values() if craft.footage)
        what = f"has no entries of {crafts}, so there is no footage to review"
        hint = f"`credits why {code}` shows the work that there is."
        raise CreditsError(Finding(what, hint, value=person))
    return MadeReview(snapshot, kept, code, period)
