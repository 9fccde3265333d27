"""What holds for day sheets whatever people do to them."""

from __future__ import annotations

import io
from datetime import date
from itertools import count

import openpyxl
from given_tables import after
from hypothesis import given
from hypothesis import strategies as st

from credits.app.work.filled import plan_sheets
from credits.app.work.sheet import form_of
from credits.footage.day import Workplace, day_of_work
from credits.formats.tables.cells import Cell
from credits.formats.tables.day_sheet import day_sheet, find_day_sheet
from credits.formats.tables.sheets import Sheets
from credits.model.log import WrittenLog
from credits.model.replay import current_lines, replay
from tests.small_log import small_log

THURSDAY = date(2026, 3, 5)
LOG = small_log(
    """
    [people]
    person, credit_name
    ana, Ana Lind
    zoe, Zoë Ødegård

    [characters]
    character, name
    wick, The Wick

    [sequences]
    sequence
    010

    [shots]
    shot, sequence, frames
    010-020, 010, 60

    [stages]
    stage
    A

    [entries]
    craft, person, character, shot, frames, finished_on, stage, minutes
    animation, ana, wick, 010-020, 1-10, 2026-03-04, A, 1
    animation, zoe, wick, 010-020, 11-20, 2026-03-04, A, 2
    animation, ana, wick, 010-020, 21-24, 2026-03-05, A, 3
    """
)

Grid = list[list[Cell]]


def grid_of(log: WrittenLog) -> Grid:
    """The cells of stage A's sheet of Thursday, as a workbook's reader gives them."""
    ledger = replay(log)
    places = {place.place: place for place in day_of_work(ledger, THURSDAY).places}
    made = day_sheet(form_of(ledger, places[Workplace(stage="A")], THURSDAY, "7f3a"))
    sheet = openpyxl.load_workbook(io.BytesIO(made)).worksheets[0]
    return [["" if c.value is None else str(c.value) for c in row] for row in sheet.iter_rows()]


GRID = grid_of(LOG)
NAMES = [str(cell) for cell in GRID[3]]
FIRST, ROWS = 5, 7  # three rows with something in them, four empty ones
MINUTES = NAMES.index("minutes")

places = st.integers(FIRST, FIRST + ROWS - 1)
STEP = st.one_of(
    st.tuples(st.just("fill"), places, places),
    st.tuples(st.just("copy"), places, places),
    st.tuples(st.just("swap"), places, places),
    st.tuples(st.just("delete"), places, places),
    st.tuples(st.just("insert"), places, places),
)


def edited(grid: Grid, steps: list[tuple[str, int, int]], fresh: count[int]) -> Grid:
    """The sheet after somebody has worked on it. Every amount of minutes is typed once."""
    rows = [list(row) for row in grid]
    for what, here, there in steps:
        if what == "fill":
            said = {"craft": "animation", "person": "Ana Lind", "character": "wick · The Wick",
                    "shot": "010-020", "frames": f"{here}-{there + 20}",
                    "minutes": str(next(fresh))}  # fmt: skip
            for column, text in said.items():
                rows[here][NAMES.index(column)] = text
        elif what == "copy":
            rows[there] = list(rows[here])
        elif what == "swap":
            rows[here], rows[there] = rows[there], rows[here]
        elif what == "delete":
            rows.append([""] * len(NAMES))
            del rows[here]
        else:
            rows.insert(here, [""] * len(NAMES))
    return rows


def load(grid: Grid, log: WrittenLog) -> WrittenLog:
    """The log after a load of the sheet, which holds no problem and is nothing new again."""
    found = find_day_sheet(grid, "a.xlsx sheet Stage A")
    assert found is not None
    read = Sheets(day_sheets=[found])
    plan = plan_sheets(read, log)
    assert plan.problems == ()
    loaded = after(log, plan.batch)
    again = plan_sheets(read, loaded)
    assert again.problems == ()
    assert again.changes_nothing
    return loaded


def minutes(log: WrittenLog) -> list[int]:
    """The minutes of every entry that stands."""
    lines = [holds for _, holds in current_lines(log.lines)[0]]
    return [line.work.minutes for line in lines if line.work and line.work.minutes is not None]


STEPS = st.lists(STEP, max_size=5)


@given(first=STEPS, second=STEPS)
def test_what_stands_on_the_sheet_stands_in_the_log_and_nothing_goes(
    first: list[tuple[str, int, int]], second: list[tuple[str, int, int]]
) -> None:
    fresh = count(100)
    log, grid = LOG, GRID
    for steps in (first, second):
        grid = edited(grid, steps, fresh)
        before = len(minutes(log))
        log = load(grid, log)
        assert len(minutes(log)) >= before
        typed = {int(str(row[MINUTES])) for row in grid[FIRST:] if row[MINUTES]}
        assert typed <= set(minutes(log))


@given(steps=STEPS, moved=st.permutations(range(ROWS)))
def test_rows_may_be_sorted(steps: list[tuple[str, int, int]], moved: list[int]) -> None:
    grid = edited(GRID, steps, count(100))
    log = load(grid, LOG)
    rows = [grid[FIRST + at] for at in moved]
    found = find_day_sheet([*grid[:FIRST], *rows, *grid[FIRST + ROWS :]], "sorted.xlsx sheet 1")
    assert found is not None
    assert plan_sheets(Sheets(day_sheets=[found]), log).changes_nothing
