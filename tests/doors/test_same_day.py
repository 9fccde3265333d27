"""A working day of the example, through every door: the log says the same."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from credits.formats.tables.day_sheet import ON_A_STAGE
from tests.doors.one_day import (
    DOORS,
    NOT_ON_SHEETS,
    OneDay,
    by_session,
    footage_of,
    hands_of,
    one_day,
    view,
)
from tests.drawn import FULL
from tests.terminal import terminal

DAYS = ["2026-01-12", "2026-03-17", *(["2026-03-12"] if FULL else [])]
"""A day of parts, shares, waiting, a note for the office; one of work over days; an ordinary one,
which has nothing that the others have not."""

LINES: dict[str, list[str]] = {}
"""What is typed in the session on each of them, where that was found out already."""

Days = Callable[[str], tuple[OneDay, OneDay]]


@pytest.fixture(scope="module")
def days(example_tables: Path, tmp_path_factory: pytest.TempPathFactory) -> Days:
    """Days of the example, each as it was on the evening before and as it was in the end."""
    made: dict[str, tuple[OneDay, OneDay]] = {}

    def day(on: str) -> tuple[OneDay, OneDay]:
        if on not in made:
            folder, when = tmp_path_factory.mktemp(on), date.fromisoformat(on)
            made[on] = (
                one_day(example_tables, when, folder / "before"),
                one_day(example_tables, when, folder / "after", done=True),
            )
        return made[on]

    return day


@cache
def known(folder: Path, asked: Callable[..., Any], *words: Any) -> Any:
    """What is known of a log in which nothing is written any more."""
    return asked(folder, *words)


@pytest.mark.parametrize("door", DOORS)
@pytest.mark.parametrize("on", DAYS)
def test_a_day_says_the_same_through_every_door(
    days: Days, tmp_path: Path, on: str, door: str
) -> None:
    before, after = days(on)
    folder = before.copy(tmp_path / "film")
    assert not known(before.folder, view, before.on)
    typed = DOORS[door](before, folder)
    if door == "session":
        LINES[on] = typed.lines
    without = NOT_ON_SHEETS if door == "day sheets" else ()
    logged = view(folder, before.on, without)
    assert logged == known(after.folder, view, before.on, without)
    assert logged.total() == len(before.rows) >= 15
    shots = frozenset(row["shot"] for row in before.rows if "shot" in row)
    for figures in (footage_of, hands_of):
        assert figures(folder, shots) == known(after.folder, figures, shots)


def test_the_lines_of_the_session_say_the_same_at_a_real_terminal(
    days: Days, tmp_path: Path
) -> None:
    before, after = days(DAYS[0])
    folder = before.copy(tmp_path / "film")
    lines = LINES.get(DAYS[0]) or by_session(before, before.copy(tmp_path / "rehearsal")).lines
    with terminal(folder, "day", before.on.isoformat(), "--stage", "") as at:
        at.until("> ")
        for line in lines:
            at.type(f"{line}\n")
            at.until("> ")
        at.type("\n")
        assert at.end() == 0
    assert view(folder, before.on) == known(after.folder, view, before.on)


def test_a_day_sheet_has_a_cell_for_everything_else(days: Days) -> None:
    said = {name for on in DAYS for row in days(on)[0].rows for name in row}
    given = {"ref", "logged_by", "finished_on", "stage"}
    assert said - given - set(ON_A_STAGE) == set(NOT_ON_SHEETS)
