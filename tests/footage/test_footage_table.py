"""The footage table: exact figures, and columns that add up when they are printed."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from credits.footage.footage import MEASURES
from credits.footage.table import (
    By,
    Filters,
    FootageRow,
    footage_column,
    footage_rows,
    footage_table,
)
from credits.model.ledger import Ledger
from credits.units.table import Column, Unit
from tests.computed import footage_of
from tests.small_log import WORKED_EXAMPLE, small_ledger

KINDS = ("", "_seconds", "_feet", "_character")
FIGURES = [footage_column(f"{measure}{kind}", measure) for kind in KINDS for measure in MEASURES]


def rows_of(ledger: Ledger, *by: By, filters: Filters | None = None) -> tuple[FootageRow, ...]:
    return footage_rows(footage_of(ledger)[2], ledger, by, filters or Filters())


def printed_of(
    ledger: Ledger, *by: By, filters: Filters | None = None
) -> dict[str, dict[str, str]]:
    """What each row and the total say, by column."""
    name = Column(key="name", heading="name")
    rows = [((row.key[0],), row.totals) for row in rows_of(ledger, *by, filters=filters)]
    shown = footage_table("Footage", [name], FIGURES, rows, ledger.production).printed()
    keys = [column.key for column in FIGURES]
    return {
        row[0].text: dict(zip(keys, (cell.text for cell in row[1:]), strict=True))
        for row in (*shown.rows, shown.total)
    }


def test_the_worked_example() -> None:
    shown = printed_of(small_ledger(WORKED_EXAMPLE), By.PERSON)
    by_shot = {name: [row[measure] for measure in MEASURES] for name, row in shown.items()}
    assert by_shot == {
        "ana": ["30", "18", "18", "10", "10"],
        "ben": ["12", "12", "12", "8", "8"],
        "cai": ["24", "18", "18", "14", "14"],
        "total": ["66", "48", "48", "32", "32"],
    }
    character = {
        name: [row[f"{measure}_character"] for measure in MEASURES] for name, row in shown.items()
    }
    assert character == {
        "ana": ["30", "24", "24", "16", "16"],
        "ben": ["24", "24", "24", "16", "16"],
        "cai": ["36", "36", "36", "28", "28"],
        "total": ["90", "84", "84", "60", "60"],
    }
    # 48 frames at 24 a second are 2 s, and 3 feet of 35 mm 4-perf (16 frames a foot)
    assert (shown["total"]["kept_seconds"], shown["total"]["kept_feet"]) == ("2.00", "3+00")


THIRDS = """
    [people]
    person, sort_name
    ana, "Zander, Ana"
    ben, "Aldous, Ben"
    cai, "Morrow, Cai"

    [characters]
    character
    wick

    [sequences]
    sequence
    010
    020

    [stages]
    stage
    S2
    S1

    [shots]
    shot, sequence, frames
    020-010, 020, 10
    010-010, 010, 10

    [entries]
    craft, person, character, shot, frames, finished_on, stage
    animation, ana, wick, 020-010, 1-10, 2026-03-02, S1
    animation, ben, wick, 020-010, 1-10, 2026-03-02, S2
    animation, cai, wick, 020-010, 1-10, 2026-03-02,
    animation, ana, wick, 010-010, 1-4, 2026-03-09, S1
    animation, ana, wick, 010-010, 5-7, ,
"""


def test_people_stand_by_sort_name_and_a_column_of_thirds_adds_up() -> None:
    only = Filters(shots=frozenset({"020-010"}))
    shown = printed_of(small_ledger(THIRDS), By.PERSON, filters=only)
    # Three times 10/3: the missing frame goes to the earlier row.
    assert [(name, row["kept"]) for name, row in shown.items()] == [
        ("ben", "4"), ("cai", "3"), ("ana", "3"), ("total", "10"),
    ]  # fmt: skip
    exact = rows_of(small_ledger(THIRDS), By.PERSON, filters=only)
    assert {str(row.totals.by_shot.kept) for row in exact} == {"10/3"}
    assert [row["kept_seconds"] for row in shown.values()] == ["0.14", "0.14", "0.14", "0.42"]
    assert shown["total"]["kept_feet"] == "0+10"


def test_shots_and_stages_stand_as_in_their_tables_undated_weeks_first() -> None:
    ledger = small_ledger(THIRDS)
    keys = {by: [row.key[0] for row in rows_of(ledger, by)] for by in By}
    assert keys[By.SHOT] == ["020-010", "010-010"]
    assert keys[By.STAGE] == ["S2", "S1", None]
    assert keys[By.WEEK] == [None, "2026-W10", "2026-W11"]
    assert keys[By.CHARACTER] == ["wick"]


def test_words_nest() -> None:
    rows = rows_of(small_ledger(THIRDS), By.SHOT, By.PERSON)
    assert [row.key for row in rows] == [
        ("020-010", "ben"),
        ("020-010", "cai"),
        ("020-010", "ana"),
        ("010-010", "ana"),
    ]


def test_footage_by_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="summed by something"):
        rows_of(small_ledger(THIRDS))


@pytest.mark.parametrize(
    ("filters", "kept"),
    [
        (Filters(), 17),
        (Filters(from_on=date(2026, 3, 9)), 4),
        (Filters(to_on=date(2026, 3, 8)), 10),  # undated work has no day, so it is in no period
        (Filters(from_on=date(2026, 3, 2), to_on=date(2026, 3, 2)), 10),
        (Filters(sequences=frozenset({"010"})), 7),
        (Filters(characters=frozenset({"brine"})), 0),
        (Filters(persons=frozenset({"ana"}), sequences=frozenset({"010"})), 7),
    ],
)
def test_filters(filters: Filters, kept: int) -> None:
    rows = rows_of(small_ledger(THIRDS), By.PERSON, filters=filters)
    assert sum(row.totals.by_shot.kept for row in rows) == kept


def test_65_mm_is_shown_in_decimal_feet_that_add_up() -> None:
    ledger = small_ledger(
        THIRDS + "\n[production]\ntitle, code, gauge\nThe Small Film, small, 65mm-5perf\n"
    )
    only = Filters(shots=frozenset({"020-010"}))
    *feet, total = (
        row["kept_feet"] for row in printed_of(ledger, By.PERSON, filters=only).values()
    )
    # 10 frames at 12.8 a foot are 0.78125 feet; a third of them 0.2604
    assert total == "0.78"
    assert sum(map(Decimal, feet)) == Decimal("0.78")


def test_an_empty_production_has_an_empty_table() -> None:
    shown = printed_of(small_ledger("[people]\nperson\nana\n"), By.PERSON)
    assert list(shown) == ["total"]
    total = [shown["total"][key] for key in ("kept", "kept_seconds", "kept_feet")]
    assert total == ["0", "0.00", "0+00"]


entries = st.lists(
    st.tuples(
        st.sampled_from(["ana", "ben", "cai"]),
        st.sampled_from(["wick", "brine"]),
        st.integers(1, 40),
        st.integers(1, 40),
        st.one_of(st.none(), st.integers(0, 20)),
        st.sampled_from(["", "1/2", "3"]),
    ),
    max_size=8,
)


@given(entries, st.lists(st.sampled_from(list(By)), min_size=1, max_size=3, unique=True))
def test_every_printed_column_adds_up(rows: list[tuple[object, ...]], by: list[By]) -> None:
    text = "[people]\nperson\nana\nben\ncai\n[characters]\ncharacter\nwick\nbrine\n"
    text += "[sequences]\nsequence\n010\n[shots]\nshot, sequence, frames\n010-020, 010, 40\n"
    text += "[entries]\ncraft, person, character, shot, frames, finished_on, share\n"
    for person, character, first, last, day, share in rows:
        frames = f"{min(first, last)}-{max(first, last)}"  # type: ignore[type-var]
        on = "" if day is None else date(2026, 2, 20) + timedelta(days=day)  # type: ignore[arg-type]
        text += f"animation, {person}, {character}, 010-020, {frames}, {on}, {share}\n"
    ledger = small_ledger(text)
    found = rows_of(ledger, *by)
    name = Column(key="name", heading="name")
    rows = [((row.key,), row.totals) for row in found]
    shown = footage_table("Footage", [name], FIGURES, rows, ledger.production).printed()
    for place, column in enumerate(FIGURES, 1):
        if column.unit is not Unit.FEET:
            texts = [Decimal(row[place].text) for row in shown.rows]
            assert sum(texts, Decimal()) == Decimal(shown.total[place].text)
    exact = sum(row.totals.by_shot.kept for row in found)
    assert exact == footage_of(ledger)[2].total.by_shot.kept
