"""The table of what was measured: on the terminal, and in a document between two marks."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from benchmarks.measures import (
    MEASURES,
    OF_FEATURE,
    TEN_TIMES,
    TEN_TIMES_AFTER,
    TEN_TIMES_MEMORY,
    Limit,
    limits_of,
)
from benchmarks.processes import Figure

Results = Mapping[str, Mapping[str, Figure]]
"""By size, by key."""

BEGIN = "<!-- benchmarks: begin, written by make bench -->"
END = "<!-- benchmarks: end -->"
COLUMNS = ("", "example", "feature", "limit", "met", "ten times", "met")
NOT_MEASURED = "–"


def figure_text(value: float, unit: str) -> str:
    """Write a figure with its unit."""
    if unit == "s":
        return f"{value:.2f} s" if value < 10 else f"{value:,.0f} s"
    return f"{value:,.1f} {unit}" if value < 10 and unit != "files" else f"{value:,.0f} {unit}"


def limit_text(limit: Limit, unit: str) -> str:
    """Write a limit: of itself, or by what another measure came to."""
    if not limit.of:
        return f"{'at least ' if limit.least else ''}{limit.plus:,g} {unit}"
    factor = f"{limit.factor:g} × " if limit.factor != 1 else ""
    return f"{factor}{_called(limit.of)}{f' + {limit.plus:g} {unit}' if limit.plus else ''}"


def _called(key: str) -> str:
    """Return what limits call a measure; those of the feature are its own at another size."""
    if key.startswith(OF_FEATURE):
        return "the feature's"
    return MEASURES[key].short or MEASURES[key].title


def known_at(results: Results, size: str) -> dict[str, Figure]:
    """Return what limits at a size are made of: its own figures, and those of the feature."""
    feature = results.get("feature", {})
    return {**results.get(size, {}), **{f"{OF_FEATURE}{key}": own for key, own in feature.items()}}


def is_met(results: Results, size: str, key: str) -> bool | None:
    """Tell whether a figure keeps to its limits; None where it has none, or nothing is known."""
    figure = results.get(size, {}).get(key)
    if figure is None:
        return None
    known = known_at(results, size)
    met = [limit.met(figure, known) for limit in limits_of(key, size)]
    if False in met:
        return False
    return True if met and None not in met else None


def _met_text(met: bool | None) -> str:
    return {True: "yes", False: "**no**", None: ""}[met]


def _ratios(key: str, size: str, results: Results) -> Iterator[str]:
    """Yield how many times what others came to a figure is, for each limit by another."""
    known = known_at(results, size)
    for limit in limits_of(key, size):
        if limit.of in known and known[limit.of].value:
            ratio = known[key].value / known[limit.of].value
            yield f"{ratio:.2f} × {_called(limit.of)}"


def _cell(key: str, size: str, results: Results) -> str:
    if key not in results.get(size, {}):
        return NOT_MEASURED
    text = figure_text(results[size][key].value, MEASURES[key].unit)
    ratios = ", ".join(_ratios(key, size, results))
    return f"{text} ({ratios})" if ratios else text


def table_rows(results: Results) -> Iterator[tuple[str, ...]]:
    """Yield the rows of the table for a document: one a measure, whether it was measured or not."""
    for key, measure in MEASURES.items():
        example, feature, ten = (
            _cell(key, size, results) for size in ("example", "feature", "ten")
        )
        limits = " and ".join(limit_text(each, measure.unit) for each in measure.limits)
        of_feature, of_ten = (_met_text(is_met(results, size, key)) for size in ("feature", "ten"))
        yield (measure.title, example, feature, limits, of_feature, ten, of_ten)


def document_table(results: Results, said: str) -> str:
    """Return the table in Markdown between its marks. said: on what it was measured."""
    lines = [
        BEGIN,
        said,
        "",
        "| " + " | ".join(COLUMNS) + " |",
        "| --- | --: | --: | --- | --- | --: | --- |",
        *("| " + " | ".join(row) + " |" for row in table_rows(results)),
        "",
        f"Ten times a feature may take {TEN_TIMES:g} times as long, what follows one entry"
        f" {TEN_TIMES_AFTER:g} times, and {TEN_TIMES_MEMORY:,.0f} MB.",
        END,
    ]
    return "\n".join(lines)


def written_into(document: str, table: str) -> str:
    """Put the table where the marks are. Raises ValueError where they are not."""
    before, begin, rest = document.partition(BEGIN)
    _, end, after = rest.partition(END)
    if not (begin and end):
        raise ValueError(f"the document lacks {BEGIN} or {END}")
    return f"{before}{table}{after}"


def terminal_lines(results: Results, sizes: Sequence[str]) -> Iterator[str]:
    """Yield the lines of everything that was measured, with the ratios behind the limits."""
    for size in sizes:
        yield f"{size:<46}{'clock':>14}{'at work':>10}{'memory':>10}{'runs':>6}  limit"
        found, known = results[size], known_at(results, size)
        for key in MEASURES:
            if key not in found:
                continue
            figure, unit = found[key], MEASURES[key].unit
            took = figure.took
            work = f"{took.cpu:>8.2f} s{took.memory:>7.0f} MB" if took else " " * 20
            limits = [_limit_line(each, figure, known, unit) for each in limits_of(key, size)]
            text = figure_text(figure.value, unit)
            title = MEASURES[key].title
            yield f"{title:<46}{text:>14}{work}{figure.runs:>6}  {'; '.join(limits)}".rstrip()
        yield ""


def _limit_line(limit: Limit, figure: Figure, known: Mapping[str, Figure], unit: str) -> str:
    text, met = limit_text(limit, unit), limit.met(figure, known)
    if met is None:
        return f"{text}: not known"
    ratio = f" ({', '.join(_times(figure, known[limit.of]))})" if limit.of else ""
    return f"{text}{ratio}: {'met' if met else 'NOT MET'}"


def _times(figure: Figure, other: Figure) -> Iterator[str]:
    """How many times another figure one is: by the clock, which decides; and at work, which is
    steadier where the machine has other work to do."""
    if other.value:
        yield f"{figure.value / other.value:.2f} times"
    if figure.took and other.took and other.took.cpu:
        yield f"{figure.took.cpu / other.took.cpu:.2f} at work"
