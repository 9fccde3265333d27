"""Work on some stages alone, or on those of some units."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property

from credits.model.facts import EntryNumber
from credits.model.ledger import DoneInBrief, DoneRow, Ledger, WorkDone

Stages = frozenset[str] | None
"""Codes of stages; None: wherever the work was done, whether anybody said where or not."""


class WorkOnStages:
    """Finds what of work was done on some stages."""

    def __init__(self, ledger: Ledger) -> None:
        self._ledger = ledger

    @cached_property
    def _stage_of(self) -> dict[EntryNumber, str]:
        """The stage of each entry that has one, by the line that says it now."""
        brief = self._ledger.brief
        return {entry.number: entry.stage for entry in brief if entry.stage is not None}

    def of(self, work: Iterable[WorkDone], stages: Stages) -> tuple[WorkDone, ...]:
        """Return the part of each work that was done on these stages."""
        if stages is None:
            return tuple(work)
        parts = ((done, self._rows(done, stages)) for done in work)
        return tuple(
            WorkDone(done.craft, done.person, DoneInBrief.of(rows), rows, is_part=True)
            for done, rows in parts
            if rows
        )

    def _rows(self, done: WorkDone, stages: frozenset[str]) -> tuple[DoneRow, ...]:
        stage_of = self._stage_of
        return tuple(row for row in done.rows if stage_of.get(EntryNumber(*row[2:4])) in stages)
