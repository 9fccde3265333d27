"""The scale of a strip of the whole film."""

from __future__ import annotations

from credits.model.facts import Cut, Production
from credits.pages.strips import TickSpec, scale_step
from credits.units.film_time import clock

MOST_MARKS = 10
SECONDS_BETWEEN_MARKS = (5, 10, 15, 30, 60, 120, 300, 600, 1200, 3600)


def film_marks(cut: Cut, production: Production) -> list[TickSpec]:
    """Running time at round distances along the film."""
    rate = production.rate
    seconds = float(cut.length / rate.per_second)
    step = int(scale_step(seconds, MOST_MARKS, SECONDS_BETWEEN_MARKS))
    marks = []
    for at in range(0, int(seconds) + 1, step):
        frames = at * rate.per_second
        marks.append(TickSpec(float(1 + frames), below=clock(frames, rate)))
    return marks
