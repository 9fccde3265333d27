"""One kind of table, which the site, PDF, XLSX, CSV and the terminal all print.

A table holds values: exact frames, minutes, days, names. A column says what its values are (their
unit), from which edition on it is seen, and whether it adds up. Printing turns values into texts
in one place, and every printed column that adds up equals the total under it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from enum import StrEnum
from fractions import Fraction
from functools import partial
from itertools import groupby
from operator import is_, itemgetter
from typing import Any

from credits.editions import Edition, SeenInParts, cut_to
from credits.units.film_time import FrameRate, Gauge, clock_text, day_text, days_between, feet_text
from credits.units.frames import Frames
from credits.units.rounding import Exact, apportion, decimal_text, half_up, largest_remainder

NOTHING = "–"
_ONE = Fraction(1)
DECIMAL_FEET = 100  # hundredths of a foot are finer than a frame on every gauge


class Unit(StrEnum):
    """What the values of a column are, and so how they are written."""

    TEXT = "text"  # a text, or a name with a link, or several
    CODE = "code"  # a text in the letters of codes
    NOTE = "note"  # a line of Markdown
    DAY = "day"  # a day, or the first and the last day of a stretch
    RANGES = "frame ranges"  # frames, or names each with its frames
    NUMBER = "number"
    FRAMES = "frames"  # exact frames, shown whole
    SECONDS = "seconds"  # exact frames, shown in seconds
    RUNNING = "running time"  # exact frames, shown as minutes:seconds
    FEET = "feet"  # exact frames, shown as feet+frames, or decimal feet
    MINUTES = "minutes"
    HOURS = "hours"  # minutes, shown in hours
    PERCENT = "per cent"  # a share between 0 and 1
    DECIMAL = "decimal"


WORDS = frozenset({Unit.TEXT, Unit.CODE, Unit.NOTE, Unit.DAY, Unit.RANGES})
WHOLE = frozenset({Unit.NUMBER, Unit.FRAMES, Unit.MINUTES})
PLAIN_FIGURES = frozenset(
    {Unit.NUMBER, Unit.FRAMES, Unit.SECONDS, Unit.MINUTES, Unit.HOURS, Unit.DECIMAL}
)


@dataclass(frozen=True, slots=True)
class Scale:
    """What turns frames into time and film: the rate and the gauge of the production."""

    rate: FrameRate
    gauge: Gauge


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column.

    key: its name in CSV and JSON, unique in the table. heading: its name for people.
    edition: the least edition that sees it. places: decimals, for units that have them.
    adds_up: the total under it is the sum of its values. nothing: what stands for no figure.
    head: a heading over several columns that stand side by side.
    """

    key: str
    heading: str
    unit: Unit = Unit.TEXT
    edition: Edition = Edition.PUBLIC
    places: int = 0
    adds_up: bool = False
    nothing: str = NOTHING
    head: str = ""

    @property
    def is_number(self) -> bool:
        """Tell whether its values are figures, which stand at the right."""
        return self.unit not in WORDS


def columns(
    unit: Unit = Unit.TEXT,
    edition: Edition = Edition.PUBLIC,
    places: int = 0,
    adds_up: bool = False,
    nothing: str = NOTHING,
    **headings: str,
) -> tuple[Column, ...]:
    """Return columns that are alike, each of its key and its heading; the rest is as in Column."""
    own: dict[str, Any] = {"places": places, "adds_up": adds_up, "nothing": nothing}
    return tuple(
        Column(key=key, heading=heading, unit=unit, edition=edition, **own)
        for key, heading in headings.items()
    )


def _cut(value: Any, edition: Edition) -> Any:
    """Cut what a cell holds; frames are a figure, all of which its column's edition sees."""
    return value if isinstance(value, Frames) else cut_to(value, edition)


def _cut_column(values: tuple[Any, ...], edition: Edition) -> tuple[Any, ...]:
    """Cut what the cells of a column hold; they are returned as they are if all is seen."""
    others = values
    if Frames in set(map(type, values)):
        others = tuple([value for value in values if not isinstance(value, Frames)])
    if cut_to(others, edition) is others:
        return values
    return tuple([_cut(value, edition) for value in values])


@dataclass(frozen=True, slots=True, kw_only=True)
class Marked(SeenInParts):
    """A value of a column that does not add up, with what its cell has beside it.

    note: small words after the value. sort: what it sorts by instead of its text. anchor: the id
    by which other places lead to it.
    """

    value: Any
    note: str = ""
    sort: int | str | None = None
    anchor: str = ""

    def seen_by(self, edition: Edition) -> Marked:
        """Return it with the parts of the value that the edition sees."""
        seen = _cut(self.value, edition)
        return self if seen is self.value else replace(self, value=seen)


@dataclass(frozen=True, slots=True)
class PrintedCell(SeenInParts):
    """A cell as it is shown. text: a text, or for units of words the value itself.

    sort: what the column sorts by where the text does not say it; else None. note and anchor: as
    in Marked.
    """

    text: Any
    unit: Unit = Unit.TEXT
    sort: int | str | None = None
    note: str = ""
    anchor: str = ""

    @property
    def shows_order(self) -> bool:
        """Tell whether its text is a plain figure, which sorts by itself."""
        return self.unit in PLAIN_FIGURES and self.sort != ""

    @property
    def is_number(self) -> bool:
        """Tell whether it is a figure, which stands at the right."""
        return self.unit not in WORDS

    @property
    def is_day(self) -> bool:
        """Tell whether it is a day, or the first and the last day of a stretch."""
        return self.unit is Unit.DAY

    def seen_by(self, edition: Edition) -> PrintedCell:
        """Return the cell; a name in it is cut to what the edition sees of it."""
        seen = cut_to(self.text, edition)
        return self if seen is self.text else replace(self, text=seen)


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedColumn:
    """A column of a table in texts.

    values: those that are printed. units: of a column that adds up the whole units that its rows
    show; of another None. total: what stands under it; empty where nothing does.
    """

    column: Column
    values: Sequence[Any]
    scale: Scale | None
    units: tuple[int, ...] | None
    total: PrintedCell

    @property
    def rounded(self) -> Sequence[Any]:
        """Return the values; of a column that adds up the units that are shown, None for none."""
        if self.units is None:
            return self.values
        pairs = zip(self.values, self.units, strict=True)
        return [None if value is None else units for value, units in pairs]

    @property
    def cells(self) -> list[PrintedCell]:
        """Print every value."""
        column = self.column
        if self.units is None:
            return [printed(value, column, self.scale) for value in self.values]
        _, write = _way_of(column, self.scale)
        nothing = _no_figure(column.nothing, column)
        return [
            nothing if units is None else PrintedCell(write(units), column.unit, units)
            for units in self.rounded
        ]


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedTable:
    """A table in texts.

    total: empty where there is none. grouped: as in Table. units: of each column that adds up the
    whole units that its rows show, to which a table of the parts of a row can be made to add up.
    """

    caption: str
    columns: tuple[Column, ...]
    printed_columns: tuple[PrintedColumn, ...]
    total: tuple[PrintedCell, ...]
    grouped: bool = False

    @property
    def rows(self) -> tuple[tuple[PrintedCell, ...], ...]:
        """Print every row."""
        return tuple(zip(*(own.cells for own in self.printed_columns), strict=True))

    @property
    def units(self) -> Mapping[str, tuple[int, ...]]:
        """Return the whole units of the columns that add up, by their keys."""
        found = ((own.column.key, own.units) for own in self.printed_columns)
        return {key: units for key, units in found if units is not None}

    @property
    def heads(self) -> tuple[tuple[str, int], ...]:
        """Return the headings over columns, each with how many it stands over; else nothing."""
        found = groupby(self.columns, key=lambda column: column.head)
        heads = tuple((head, len(list(own))) for head, own in found)
        return heads if any(head for head, _ in heads) else ()

    @property
    def label_span(self) -> int:
        """Count the columns that the label of the total reaches over: up to the first total."""
        filled = (at for at, cell in enumerate(self.total) if at and cell.text != "")
        return next(filled, len(self.total))

    @property
    def groups(self) -> tuple[tuple[tuple[PrintedCell, ...], ...], ...]:
        """Return the rows in groups of one first value; in one group without groups."""
        if not self.grouped:
            return (self.rows,)
        return tuple(tuple(rows) for _, rows in groupby(self.rows, key=lambda row: row[0]))


@dataclass(frozen=True, slots=True, kw_only=True)
class Table(SeenInParts):
    """Columns and rows of values, and how they add up.

    rows: a value for each column; None where there is nothing. scale: for units that need it.
    label: what stands in the first column of the total; empty: the table has no total.
    totals: of columns that do not add up, the value that stands in the total all the same.
    shown_totals: of columns that add up, the whole units that the total shows already elsewhere.
    grouped: rows with the same first value stand together beside it, and are not sorted.
    """

    caption: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Any, ...], ...]
    scale: Scale | None = None
    label: str = ""
    totals: Mapping[str, Any] = field(default_factory=dict)
    shown_totals: Mapping[str, int] = field(default_factory=dict)
    grouped: bool = False

    @classmethod
    def of(
        cls,
        caption: str,
        columns: Iterable[Column],
        rows: Iterable[tuple[Any, ...]],
        scale: Scale | None = None,
        label: str = "",
    ) -> Table:
        """Return a table of rows that are made one by one."""
        return cls(
            caption=caption, columns=tuple(columns), rows=tuple(rows), scale=scale, label=label
        )

    def __post_init__(self) -> None:
        wide = len(self.columns)
        if not {wide}.issuperset(map(len, self.rows)):
            raise ValueError(f"{self.caption}: a row has not {wide} values")
        if len({column.key for column in self.columns}) != wide:
            raise ValueError(f"{self.caption}: two columns have one key")

    def __bool__(self) -> bool:
        return bool(self.rows)

    def column(self, key: str) -> tuple[Any, ...]:
        """Return the values of one column, in the order of the rows. KeyError for another key."""
        return tuple(map(itemgetter(self._place(key)), self.rows))

    def _values(self) -> tuple[tuple[Any, ...], ...]:
        """Return the values of each column."""
        return tuple(zip(*self.rows, strict=True)) if self.rows else ((),) * len(self.columns)

    def _place(self, key: str) -> int:
        return {column.key: place for place, column in enumerate(self.columns)}[key]

    def seen_by(self, edition: Edition) -> Table:
        """Return the table with the columns, and of each value the parts, that the edition sees."""
        kept = self._with_columns(lambda column: edition.sees(column.edition))
        values = kept._values()
        seen = tuple([_cut_column(own, edition) for own in values])
        if all(map(is_, values, seen)):
            return kept
        return replace(kept, rows=tuple(zip(*seen, strict=True)))

    def without(self, *keys: str) -> Table:
        """Return the table without the columns of these keys."""
        return self._with_columns(lambda column: column.key not in keys)

    def without_empty(self, *keys: str) -> Table:
        """Return the table without those of the columns in which no row has anything."""
        return self.without(*(key for key in keys if not any(self.column(key))))

    def _with_columns(self, wanted: Callable[[Column], bool]) -> Table:
        places = [at for at, column in enumerate(self.columns) if wanted(column)]
        if len(places) == len(self.columns):
            return self
        keys = {self.columns[at].key for at in places}
        values = self._values()
        rows = tuple(zip(*[values[at] for at in places], strict=True))
        return replace(
            self,
            columns=tuple(self.columns[at] for at in places),
            rows=rows if places else ((),) * len(self.rows),
            totals={key: value for key, value in self.totals.items() if key in keys},
            shown_totals={key: units for key, units in self.shown_totals.items() if key in keys},
        )

    def with_values(self, key: str, change: Callable[[Any], Any]) -> Table:
        """Return the table with every value of one column changed, such as a code to a name."""
        values = list(self._values())
        place = self._place(key)
        values[place] = tuple(map(change, values[place]))
        return replace(self, rows=tuple(zip(*values, strict=True)))

    def printed(self) -> PrintedTable:
        """Print every value; columns that add up are rounded by the largest remainder."""
        printed_columns = tuple(map(self._printed_column, self.columns, self._values()))
        total = [own.total for own in printed_columns]
        if self.label and total:
            total[0] = PrintedCell(self.label)
        return PrintedTable(
            caption=self.caption,
            columns=self.columns,
            printed_columns=printed_columns,
            total=tuple(total) if self.label else (),
            grouped=self.grouped,
        )

    def _printed_column(self, column: Column, values: Sequence[Any]) -> PrintedColumn:
        if not column.adds_up:
            total = printed(self.totals.get(column.key), column, self.scale, nothing="")
            return PrintedColumn(
                column=column, values=values, scale=self.scale, units=None, total=total
            )
        size, write = _way_of(column, self.scale)
        whole = self.shown_totals.get(column.key)
        units = tuple(_units([each or 0 for each in values], size, whole))
        shown = sum(units)
        total = PrintedCell(write(shown), column.unit, shown)
        return PrintedColumn(
            column=column, values=values, scale=self.scale, units=units, total=total
        )


def _no_figure(nothing: str, column: Column) -> PrintedCell:
    """Return the cell of no figure: it sorts as an empty one whatever stands in it."""
    return PrintedCell(nothing, column.unit, "" if nothing else None)


def _units(values: Sequence[Exact], size: Fraction, whole: int | None) -> list[int]:
    """Round to whole units whose sum is the rounded sum, or what is shown of it elsewhere."""
    if whole is None:
        return largest_remainder(values, size)
    return apportion(values, whole if sum(values) else 0)


def _decimals(units: int, places: int) -> str:
    whole, point, part = decimal_text(Fraction(units, 10**places), places).partition(".")
    return f"{int(whole):,}{point}{part}"


def _way_of(column: Column, scale: Scale | None) -> tuple[Fraction, Callable[[int], str]]:
    """Return the size of one shown unit in the measure of the values, and how units are written.

    ValueError where frames are to be turned into time or film and the table has no scale.
    """
    if column.unit in WHOLE:
        return _ONE, "{:,}".format
    step = Fraction(1, 10**column.places)
    decimals = partial(_decimals, places=column.places)
    if column.unit in (Unit.DECIMAL, Unit.HOURS):
        return step * (60 if column.unit is Unit.HOURS else 1), decimals
    if column.unit is Unit.PERCENT:
        return step / 100, lambda units: f"{decimals(units)} %"
    if scale is None:
        raise ValueError(f"{column.key}: {column.unit} need the rate and the gauge")
    if column.unit is Unit.SECONDS:
        return step * scale.rate.per_second, decimals
    if column.unit is Unit.RUNNING:
        return scale.rate.per_second, clock_text
    if column.unit is Unit.FEET and scale.gauge.whole_feet:
        return _ONE, partial(feet_text, gauge=scale.gauge)
    if column.unit is Unit.FEET:
        return scale.gauge.frames_per_foot / DECIMAL_FEET, partial(_decimals, places=2)
    raise ValueError(f"{column.key}: {column.unit} are words, and do not add up")


def printed(
    value: Any, column: Column, scale: Scale | None = None, nothing: str | None = None
) -> PrintedCell:
    """Print one value that stands alone; figures are rounded half up.

    nothing: what stands for no figure, where it is not what the column says. No figure, and
    words among figures and days, sort last.
    """
    kind = type(value)
    if kind is PrintedCell:
        return value  # type: ignore[no-any-return]
    if kind is Marked:
        cell = printed(value.value, column, scale, nothing)
        sort = cell.sort if value.sort is None else value.sort
        return PrintedCell(cell.text, cell.unit, sort, value.note, value.anchor)
    if value is None:
        if not column.is_number:
            return PrintedCell("", column.unit)
        return _no_figure(column.nothing if nothing is None else nothing, column)
    if column.unit is Unit.DAY and isinstance(value, date):
        return PrintedCell(day_text(value), column.unit, value.isoformat())
    if column.unit is Unit.DAY and isinstance(value, tuple):
        return PrintedCell(days_between(*value), column.unit, value[0].isoformat())
    if isinstance(value, str) and (column.is_number or column.unit is Unit.DAY):
        return PrintedCell(value, column.unit, "")
    if column.unit is Unit.RANGES and isinstance(value, Frames):
        return PrintedCell(value.shown, column.unit, value.first if value else 0)
    if not column.is_number:
        return PrintedCell(value, column.unit)
    size, write = _way_of(column, scale)
    units = half_up(value if size is _ONE else Fraction(value) / size)
    return PrintedCell(write(units), column.unit, units)
