"""Time lines: work by day, drawn from the first day to the last."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date

from credits.ledger.ledger import Entry
from credits.pages.strips import BlockSpec, RowSpec, Strip, TickSpec, merged, strip
from credits.pages.words import MONTHS, days_between

# Work on one thing goes on over a weekend: shorter pauses do not break a band.
PAUSE_DAYS = 5


def _month_ticks(first: date, last: date) -> list[TickSpec]:
    months = (last.year - first.year) * 12 + last.month - first.month + 1
    every = next(step for step in (1, 2, 3, 6, 12, 24, 60, 1200) if months / step <= 12)
    ticks = []
    year, month = first.year, first.month
    while (year, month) <= (last.year, last.month):
        at = date(year, month, 1)
        if at >= first and (month - 1) % min(every, 12) == 0:
            ticks.append(TickSpec(at.toordinal(), below=f"{MONTHS[month - 1][:3]} {year}"))
        year, month = (year + 1, 1) if month == 12 else (year, month + 1)
    return ticks


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
        bands = merged(((a.toordinal(), b.toordinal() + 1) for a, b in own), gap=PAUSE_DAYS)
        blocks = [
            BlockSpec(
                a,
                b,
                place,
                f"{name}: {days_between(date.fromordinal(int(a)), date.fromordinal(int(b) - 1))}",
            )
            for a, b in bands
        ]
        specs.append(RowSpec(name, blocks))
    span = (first.toordinal(), last.toordinal() + 1)
    return strip(title, specs, span, _month_ticks(first, last))
