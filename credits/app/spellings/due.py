"""The day by which everybody is to say how their name is spelled."""

from __future__ import annotations

from datetime import date


def is_late(answer_by: date | None) -> bool:
    """Tell whether the day to answer by has gone."""
    return answer_by is not None and answer_by < date.today()
