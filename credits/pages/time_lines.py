"""Time lines: work by day, drawn from the first day to the last."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date

from credits.model.ledger import Entry
from credits.pages.strips import BlockSpec, RowSpec, Strip, TickSpec, merged, scale_step, strip
from credits.pages.words import MONTHS, days_between

# Work on one thing goes on over a weekend: shorter pauses do not break a band.
PAUSE_DAYS = 5
MOST_MARKS = 10
_MONTHS_APART = (1, 2, 3, 6, 12, 24, 60, 120, 600)
Days = tuple[date, date]


def month_marks(first: date, last: date) -> list[TickSpec]:
    """Marks at the beginnings of months, as many apart as the strip has room for."""
    months = [first.year * 12 + first.month - 1, last.year * 12 + last.month - 1]
    step = int(scale_step(months[1] - months[0] + 1, MOST_MARKS, _MONTHS_APART))
    begin = -(-months[0] // step) * step
    marks = []
    for month in range(begin, months[1] + 1, step):
        at = date(month // 12, month % 12 + 1, 1)
        if at >= first:
            below = f"{MONTHS[at.month - 1][:3]} {at.year}"
            marks.append(TickSpec(at.toordinal(), below=below))
    return marks


def day_blocks(what: str, days: Iterable[Days], pattern: int) -> list[BlockSpec]:
    """Bands where the days (first and last, both included) go on, over short pauses."""
    spans = merged(((a.toordinal(), b.toordinal() + 1) for a, b in days), gap=PAUSE_DAYS)
    return [
        BlockSpec(
            a,
            b,
            pattern,
            f"{what}: {days_between(date.fromordinal(int(a)), date.fromordinal(int(b) - 1))}",
        )
        for a, b in spans
    ]


def entry_days(entry: Entry) -> tuple[date, date] | None:
    """The first and last day of an entry's work; None when it is undated."""
    if entry.day is None:
        return None
    return (entry.work.started_on or entry.day, entry.day)


def time_line(title: str, rows: Mapping[str, Iterable[Entry]]) -> Strip | None:
    """A row per name, a band where its work went on; None when nothing is dated."""
    dated = {
        name: [days for entry in entries if (days := entry_days(entry)) is not None]
        for name, entries in rows.items()
    }
    every = [days for own in dated.values() for days in own]
    if not every:
        return None
    first = min(days[0] for days in every)
    last = max(days[1] for days in every)
    specs = []
    for place, (name, own) in enumerate(dated.items()):
        if not own:
            continue
        specs.append(RowSpec(name, day_blocks(name, own, place)))
    span = (first.toordinal(), last.toordinal() + 1)
    return strip(title, specs, span, month_marks(first, last))
