"""What a load will do: the batch to write, or everything that is wrong."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from credits.errors import Finding
from credits.model.batch import Batch, TableCount


@dataclass(frozen=True, slots=True)
class LoadPlan:
    """``batch`` is empty as soon as there is one problem: a load is written whole or not at all.

    ``counts``: for each table that was given, how many rows are new, changed and the same.
    """

    batch: Batch = field(default_factory=Batch)
    problems: tuple[Finding, ...] = ()
    counts: Mapping[str, TableCount] = field(default_factory=dict)

    @property
    def changes_nothing(self) -> bool:
        """Whether there is nothing to write."""
        return self.batch == Batch()
