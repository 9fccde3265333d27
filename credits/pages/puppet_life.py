"""The life of each puppet: which shots it was in, and its time line from the first build on."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from credits.compute.results import Results
from credits.editions import Everyone
from credits.model.facts import Fitting, Puppet
from credits.model.ledger import Entry
from credits.pages.strips import RowSpec, Strip, TickSpec, strip
from credits.pages.time_lines import Days, day_blocks, entry_days, month_marks
from credits.pages.words import day_text
from credits.units.frames import Frames


@dataclass(frozen=True, slots=True)
class LifeRow:
    """A stretch of the puppet's life, or a day of it: what, from, to."""

    what: Everyone[str]
    first: Everyone[str]
    last: Everyone[str]
    times: Everyone[str]


@dataclass(frozen=True, slots=True)
class InShot:
    """The frames of a take that hold the puppet, as kept: who moved it, from when to when."""

    shot: str
    take: int
    frames: Frames
    people: frozenset[str]
    days: Days | None


class PuppetShots:
    """For each puppet the takes it is in. One walk over the claims, made once for a site."""

    def __init__(self, results: Results) -> None:
        self._of: dict[str, list[InShot]] = defaultdict(list)
        for (shot, take), own in results.runs.items():
            ranges: dict[str, list[tuple[int, int]]] = defaultdict(list)
            people: dict[str, set[str]] = defaultdict(set)
            days: dict[str, set[date]] = defaultdict(set)
            for run in own.runs:
                for layer in run.kept:
                    for claim in layer.claims:
                        for puppet in claim.puppets:
                            ranges[puppet].append((run.first, run.stop))
                            people[puppet].add(claim.person)
                            if layer.day is not None:
                                days[puppet].add(layer.day)
            for puppet, found in ranges.items():
                dated = days[puppet]
                span = (min(dated), max(dated)) if dated else None
                self._of[puppet].append(
                    InShot(shot, take, Frames.of(*found), frozenset(people[puppet]), span)
                )

    def of(self, puppet: str) -> tuple[InShot, ...]:
        """The takes in which the puppet is seen, in the order of the shots."""
        return tuple(self._of.get(puppet, ()))


@dataclass(frozen=True, slots=True)
class Life:
    """The days of a puppet. ``fitted`` without an end is still fitted."""

    puppet: Puppet
    built: tuple[Days, ...]
    fitted: tuple[Fitting, ...]
    shot: tuple[Days, ...]
    mended: tuple[Days, ...]

    def last_day(self, today: date | None) -> date | None:
        """The last day that the time line needs; what is still fitted goes on to the log's last."""
        ends = [last for days in (self.built, self.shot, self.mended) for _, last in days]
        ends += [day for f in self.fitted for day in (f.from_on, f.to_on) if day]
        if any(f.to_on is None for f in self.fitted) and today is not None:
            ends.append(today)
        ends += [day for day in (self.puppet.ready_on, self.puppet.retired_on) if day]
        return max(ends, default=None)


def days_of(entries: Iterable[Entry]) -> tuple[Days, ...]:
    """The days of the dated entries, from and to, in order."""
    return tuple(sorted(days for e in entries if (days := entry_days(e)) is not None))


def _fitted_days(life: Life, end: date) -> tuple[Days, ...]:
    """Fittings as days; one that is still on lasts to the puppet's retirement, or to the end."""
    until = life.puppet.retired_on or end
    return tuple(
        (fitting.from_on, max(fitting.to_on or until, fitting.from_on)) for fitting in life.fitted
    )


def life_strip(name: str, life: Life, today: date | None) -> Strip | None:
    """The puppet's time line; None where nothing of it is dated.

    ``today``: the last day of the log, to which what is still fitted goes on.
    """
    end = life.last_day(today)
    if end is None:
        return None
    rows = (
        ("built", life.built),
        ("parts fitted", _fitted_days(life, end)),
        ("shot", life.shot),
        ("mended", life.mended),
    )
    specs = [
        RowSpec(what, day_blocks(what, days, at)) for at, (what, days) in enumerate(rows) if days
    ]
    if not specs:
        return None
    puppet = life.puppet
    days = [day for _, own in rows for span in own for day in span]
    told = ((puppet.ready_on, "ready"), (puppet.retired_on, "retired"))
    marked = [(day, word) for day, word in told if day is not None]
    first = min([*days, *(day for day, _ in marked)])
    last = max([*days, *(day for day, _ in marked)])
    marks = [TickSpec(day.toordinal(), above=word) for day, word in marked]
    title = f"The life of {name}. The same is in the table."
    span = (first.toordinal(), last.toordinal() + 1)
    return strip(title, specs, span, [*month_marks(first, last), *marks])


def life_rows(life: Life, counted: dict[str, str]) -> tuple[LifeRow, ...]:
    """The time line as a table, in the order of the days. ``counted``: how often, by what."""
    found: list[tuple[date, LifeRow]] = []
    for what, days in (("built", life.built), ("shot", life.shot), ("mended", life.mended)):
        if days:
            last = max(end for _, end in days)
            first = days[0][0]
            row = LifeRow(what, day_text(first), day_text(last), counted.get(what, ""))
            found.append((first, row))
    if life.fitted:
        first = min(fitting.from_on for fitting in life.fitted)
        on = [fitting.to_on for fitting in life.fitted]
        until = day_text(max(day for day in on if day)) if all(on) else "still fitted"
        found.append(
            (first, LifeRow("parts fitted", day_text(first), until, counted.get("fitted", "")))
        )
    for day, what in ((life.puppet.ready_on, "ready"), (life.puppet.retired_on, "retired")):
        if day is not None:
            found.append((day, LifeRow(what, day_text(day), "", "")))
    return tuple(row for _, row in sorted(found, key=lambda pair: pair[0]))
