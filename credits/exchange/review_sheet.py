"""What a review says on paper and in files: one person's figures in ready texts."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from credits.compute.expectation_words import ShownExpectation
from credits.compute.review_shown import ShownReview
from credits.compute.roll_lines import one_line
from credits.exchange.fonts import Needed


@dataclass(frozen=True, slots=True)
class ReviewSheet:
    """A review ready to be set. ``waits``: day, puppet, part, shot, minutes of each repair.

    ``others``: what the ranges are, or why there are none; ``data``: how far the log goes.
    """

    film: str
    name: str
    period: str
    data: str
    caution: str
    others: str
    shown: ShownReview
    expectation: ShownExpectation | None
    waits: tuple[tuple[str, str, str, str, str], ...]

    @property
    def texts(self) -> Iterator[Needed]:
        """Every text of the production's own that is set, with whose it is."""
        yield Needed(one_line(self.film), "the title")
        yield Needed(one_line(self.name), f"the name {one_line(self.name)}")
        for table in (self.shown.footage_by_shot, self.shown.days_by_shot):
            for row in table.rows:
                yield Needed(row.key or "", f"the shot {row.key}")
        for wait in self.waits:
            yield Needed(" ".join(wait), "a wait for a repair")
