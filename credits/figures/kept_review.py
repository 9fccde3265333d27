"""What reviews are made of, read of the figures that are kept."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from functools import cached_property
from operator import itemgetter
from typing import Any

from credits.figures.keep import cells_of_rows
from credits.figures.kept_claims import poses_of_rows
from credits.figures.lookups import stage_work
from credits.model.ledger import Ledger, StageWork
from credits.review.days import Poses
from credits.review.weeks import TakeWeek, take_weeks
from credits.store.beside.kept import FiguresFile
from credits.units.film_time import WHOLE_TIME, Period, week_days

DAYS_OF_A_WEEK = 7


class KeptReview:
    """Reads of the figures of a production what its reviews are made of."""

    def __init__(self, file: FiguresFile, ledger: Ledger) -> None:
        self._file = file
        self.ledger = ledger
        self._crafts = [craft.code for craft in ledger.crafts.values() if craft.footage]
        self._stage: dict[str, tuple[StageWork, ...]] = {}

    def take_weeks(self, period: Period = WHOLE_TIME) -> Sequence[TakeWeek]:
        """Read everybody's work in a period by take and week."""
        if period == WHOLE_TIME:
            return self._take_weeks
        whole: set[str | None] = set()
        days: list[str] = []
        for week in {row.week for row in self._take_weeks if row.week is not None}:
            held = [*filter(period.holds, week_days(week))]
            if len(held) == DAYS_OF_A_WEEK:
                whole.add(week)
            else:
                days += [day.isoformat() for day in held]
        return [*(row for row in self._take_weeks if row.week in whole), *self._on_days(days)]

    @cached_property
    def _take_weeks(self) -> list[TakeWeek]:
        rows = self._file.worked_rows()
        kinds = {type(kept) for at in (_POSES, _DEN) for kept in map(itemgetter(at), rows)}
        if str in kinds:
            rows = [*map(_of_whole_numbers, rows)]
        on_no_shot = self._file.stage_rows(self._crafts, "shot", [None])
        return [
            *map(TakeWeek._make, rows),
            *take_weeks(stage_work(on_no_shot), (), (), self.ledger.purpose_in),
        ]

    def _on_days(self, days: Sequence[str]) -> list[TakeWeek]:
        """Make everybody's work on some days, of the weeks that are not whole."""
        return take_weeks(
            stage_work(self._file.stage_rows(self._crafts, "day", days)),
            cells_of_rows(self._file.rows_on_days("cells", days)),
            poses_of_rows(self._file.rows_on_days("poses", days)),
            self.ledger.purpose_in,
        )

    def on_puppets(
        self, shots: Sequence[tuple[str, str]], days: Sequence[tuple[str, date]]
    ) -> tuple[Iterable[tuple[int, str]], Iterable[tuple[int, str, str | None]]]:
        """Read who animated puppets in shots, and who on days, also in which shot.

        shots, days: each with a puppet; what is read names them by their places.
        """
        on_days = [(puppet, day.isoformat()) for puppet, day in days]
        return (
            self._file.who_in_shots(self._crafts, shots),
            self._file.who_on_days(self._crafts, on_days),
        )

    def stage_of(self, person: str) -> tuple[StageWork, ...]:
        """Read what of a person's entries stage days are made of."""
        if person not in self._stage:
            rows = self._file.stage_rows(self._crafts, "person", [person])
            self._stage[person] = stage_work(rows)
        return self._stage[person]

    def poses_of(self, person: str) -> tuple[Poses, ...]:
        """Read the poses of a person's kept frames."""
        return poses_of_rows(self._file.rows_where("poses", person=person))


_POSES, _DEN = map(TakeWeek._fields.index, ("poses", "den"))


def _of_whole_numbers(row: Sequence[Any]) -> tuple[Any, ...]:
    """Read whole numbers that are kept as texts, as the engine's are not large enough for them."""
    return (*row[:5], *[None if kept is None else int(kept) for kept in row[5:]])
