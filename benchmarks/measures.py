"""What is measured, in which unit, and what it may come to at most.

The limits are for a feature. Of ten times a feature, each time may be ``TEN_TIMES`` times as long,
and what follows one entry ``TEN_TIMES_AFTER`` times.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from benchmarks.processes import Figure

TEN_TIMES = 12.0
TEN_TIMES_AFTER = 1.5
TEN_TIMES_MEMORY = 4096.0
OF_FEATURE = "feature:"
"""What stands before the key of a feature's figure in the limits of another size."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """At most ``factor`` times what another measure came to, and ``plus``. ``least``: at least."""

    plus: float = 0.0
    factor: float = 0.0
    of: str = ""
    least: bool = False

    def value(self, found: Mapping[str, Figure]) -> float | None:
        """Return the limit in the unit of its measure; None where the other was not measured."""
        if not self.of:
            return self.plus
        return self.factor * found[self.of].value + self.plus if self.of in found else None

    def met(self, figure: Figure, found: Mapping[str, Figure]) -> bool | None:
        """Tell whether the figure keeps to it; None where that is not known."""
        value = self.value(found)
        if value is None:
            return None
        return figure.value >= value if self.least else figure.value <= value


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """One line of the table. ``unit``: s, rows/s, MB, kB or files.

    ``after_entry``: it follows one entry, whatever the size. ``short``: how limits call it.
    """

    title: str
    unit: str = "s"
    limits: tuple[Limit, ...] = ()
    after_entry: bool = False
    short: str = ""

    @property
    def is_time(self) -> bool:
        """Tell whether it is measured in seconds."""
        return self.unit == "s"


def at_most(value: float) -> Limit:
    """Return a limit that stands by itself."""
    return Limit(plus=value)


def at_least(value: float) -> Limit:
    """Return a limit from below."""
    return Limit(plus=value, least=True)


def times(factor: float, of: str, plus: float = 0.0) -> Limit:
    """Return a limit by what another measure came to."""
    return Limit(factor=factor, of=of, plus=plus)


QUESTIONS = {
    "footage": "footage by person",
    "footage-shots": "footage by person and shot",
    "footage-weeks": "footage by week",
    "footage-stages": "footage by stage",
    "hands": "hands of a shot",
    "reach": "reach",
    "roll": "roll",
    "why": "why",
    "check": "check",
    "find": "find a name",
    "find-entries": "find a person's entries of a month",
    "review": "review",
    "day": "day",
}
"""The questions that the log answers, by key."""

_FAST, _COLD = at_most(0.6), at_most(6)
_ENTRY = times(1.3, "sqlmodel", 0.15)


def _question(key: str, title: str, cold: bool) -> Measure:
    limits = [_COLD if cold else _FAST]
    if key.startswith("footage"):
        limits.append(times(1.5 if cold else 0.5, "duckdb"))
    return Measure(title=f"{title}, nothing kept" if cold else title, limits=tuple(limits))


def cold(key: str) -> str:
    """Return the key of a question that is asked while nothing is kept."""
    return f"{key}-cold"


MEASURES: dict[str, Measure] = {
    "pass": Measure(title="`python -c pass`", short="python"),
    "sqlmodel": Measure(title='`python -c "import sqlmodel"`', short="import sqlmodel"),
    "duckdb": Measure(title="DuckDB: footage by person, in SQL", short="DuckDB"),
    "check-rows": Measure(
        title="load, checked only (dry run)", unit="rows/s", limits=(at_least(25_000),)
    ),
    "load-rows": Measure(title="load, figures renewed", unit="rows/s", limits=(at_least(12_000),)),
    **{key: _question(key, title, False) for key, title in QUESTIONS.items()},
    **{cold(key): _question(key, title, True) for key, title in QUESTIONS.items()},
    "entry": Measure(title="log an animation entry", limits=(_ENTRY,), after_entry=True),
    "repair": Measure(title="log a repair", limits=(_ENTRY,), after_entry=True),
    "tab": Measure(title="Tab: the code of a shot", limits=(at_most(0.35),)),
    "tab-entry": Measure(title="Tab: the number of an entry", limits=(at_most(0.35),)),
    "help": Measure(title="`--help`", limits=(times(1.3, "pass", 0.1),)),
    "site": Measure(
        title="crew site, full", limits=(at_most(15), times(1, "hugo")), short="one edition"
    ),
    "site-memory": Measure(title="crew site, full: memory", unit="MB", limits=(at_most(300),)),
    "hugo": Measure(title="Hugo: as many pages of the same bytes", short="Hugo's time"),
    "copy": Measure(title="the finished crew site copied", short="copying"),
    "site-all": Measure(title="three editions, full", limits=(times(1.8, "site"),)),
    "site-again": Measure(title="crew site again, nothing changed", limits=(at_most(1),)),
    "site-entry": Measure(
        title="crew site after one entry", limits=(at_most(3),), after_entry=True
    ),
    "site-changed": Measure(
        title="files that one entry changed", unit="files", short="those changed"
    ),
    "site-written": Measure(
        title="files written after one entry", unit="files", limits=(times(1, "site-changed"),)
    ),
    "site-watch": Measure(
        title="`--watch`: from the entry to the shot's page",
        limits=(at_most(1),),
        after_entry=True,
    ),
    "site-bytes": Measure(title="crew site: all files", unit="MB", limits=(at_most(100),)),
    "site-largest": Measure(title="crew site: largest page", unit="kB", limits=(at_most(300),)),
    "site-median": Measure(title="crew site: median page", unit="kB", limits=(at_most(40),)),
    "memory": Measure(title="the most memory of any process", unit="MB"),
}
"""The lines of the table in their order."""

BASELINES = ("pass", "sqlmodel", "duckdb", "hugo", "copy")


def limits_of(key: str, size: str) -> tuple[Limit, ...]:
    """Return the limits of a measure at a size: those of ten times are by the feature's figures.

    The keys of the feature's figures begin with OF_FEATURE there.
    """
    measure = MEASURES[key]
    if size == "feature":
        return measure.limits
    if size != "ten":
        return ()
    if key == "memory":
        return (at_most(TEN_TIMES_MEMORY),)
    if not measure.is_time or key in BASELINES:
        return ()
    return (times(TEN_TIMES_AFTER if measure.after_entry else TEN_TIMES, f"{OF_FEATURE}{key}"),)
