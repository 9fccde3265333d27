"""Review one animator: what is said of one person, and of the others as far as it is compared."""

from __future__ import annotations

from functools import cached_property
from pathlib import Path

from credits.app.work.named import fact_named
from credits.errors import CreditsError, Finding
from credits.figures.keep import kept_footage, open_figures
from credits.figures.kept_claims import kept_poses
from credits.figures.kept_review import KeptReview
from credits.figures.lookups import kept_ledger
from credits.figures.renewal import Depth
from credits.memory import all_kept
from credits.model.lazy import Read
from credits.model.ledger import Ledger
from credits.review.expectation import Expectation
from credits.review.review import Review, Reviews
from credits.review.shown import ShownExpectation, shown_expectation
from credits.store.beside.kept import FiguresFile
from credits.units.film_time import Period
from credits.units.table import Scale


class MadeReview:
    """A review with what it was made from: the figures that are open, and their ledger."""

    def __init__(self, file: FiguresFile, kept: KeptReview, person: str, period: Period) -> None:
        self.file = file
        self.ledger: Ledger = kept.ledger
        ledger, poses = kept.ledger, Read(lambda: kept_poses(file))
        footage = kept_footage(file, ledger)
        self._reviews = Reviews(ledger, poses, footage, person, kept)
        self.review: Review = self._reviews.of(person, period)

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
    ledger = kept_ledger(file)
    kept = KeptReview(file, ledger)
    code = fact_named("people", person, ledger.people.values()).code
    code = ledger.one_person.get(code, code)
    if not kept.stage_of(code):
        crafts = " or ".join(craft.code for craft in ledger.crafts.values() if craft.footage)
        what = f"has no entries of {crafts}, so there is no footage to review"
        hint = f"`credits why {code}` shows the work that there is."
        raise CreditsError(Finding(what, hint, value=person))
    return MadeReview(file, kept, code, period)
