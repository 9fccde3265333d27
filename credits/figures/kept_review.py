"""What reviews are made of, read of the figures that are kept."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from datetime import date

from credits.figures.kept_claims import poses_of_rows
from credits.figures.lookups import day_of, stage_work
from credits.model.facts import Purpose
from credits.model.ledger import Ledger, StageWork
from credits.review.days import Poses
from credits.review.waits import Worked
from credits.review.weeks import TakeWeek, take_weeks
from credits.store.beside.kept import FiguresFile


class KeptReview:
    """Reads of the figures of a production what its reviews are made of."""

    def __init__(self, file: FiguresFile, ledger: Ledger) -> None:
        self._file = file
        self._ledger = ledger
        self._crafts = [craft.code for craft in ledger.crafts.values() if craft.footage]

    def take_weeks(self) -> Sequence[TakeWeek]:
        """Read everybody's work by take and week."""
        purpose = {each.value: each for each in Purpose}
        found = []
        for row in self._file.worked_rows():
            figures = row[5:]
            if str in (type(row[8]), type(row[10])):
                figures = (*map(int, figures),)
            found.append(TakeWeek._make((*row[:4], purpose[row[4]], *figures)))
        return [*found, *take_weeks(self._wide(), (), (), self._ledger.purpose_in)]

    def near_repairs(
        self, of_shot: Collection[tuple[str, str]], of_day: Collection[tuple[str, date]]
    ) -> Iterable[Worked]:
        """Read the work on puppets, each named with a shot or with a day."""
        on_days = [(puppet, day.isoformat()) for puppet, day in of_day]
        rows = self._file.work_near("shot", self._crafts, of_shot)
        rows += self._file.work_near("day", self._crafts, on_days)
        return [(person, day_of(day), shot, puppet) for person, day, shot, puppet in rows]

    def _wide(self) -> tuple[StageWork, ...]:
        """Read the work on no one shot."""
        return stage_work(self._file.stage_rows(self._crafts, "shot", [None]))

    def stage_of(self, person: str) -> tuple[StageWork, ...]:
        """Read what of a person's entries stage days are made of."""
        return stage_work(self._file.stage_rows(self._crafts, "person", [person]))

    def poses_of(self, person: str) -> tuple[Poses, ...]:
        """Read the poses of a person's kept frames."""
        return poses_of_rows(self._file.rows_where("poses", person=person))
