"""The footage table: exact figures, and columns that add up when they are printed."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from credits.figures.results import footage_of
from credits.footage.footage import MEASURES
from credits.footage.table import By, Filters, FootageTable, footage_rows
from credits.model.ledger import Ledger
from tests.small_log import WORKED_EXAMPLE, small_ledger


def table_of(ledger: Ledger, *by: By, filters: Filters | None = None) -> FootageTable:
    return footage_rows(footage_of(ledger)[2], ledger, by, filters or Filters())


def test_the_worked_example() -> None:
    table = table_of(small_ledger(WORKED_EXAMPLE), By.PERSON)
    shown = {row.key[0]: (row.character.frames, row.by_shot.frames) for row in table.rows}
    assert shown == {
        "ana": ((30, 24, 24, 16, 16), (30, 18, 18, 10, 10)),
        "ben": ((24, 24, 24, 16, 16), (12, 12, 12, 8, 8)),
        "cai": ((36, 36, 36, 28, 28), (24, 18, 18, 14, 14)),
    }
    assert table.cut == 1
    # 48 frames at 24 a second are 2 s, and 3 feet of 35 mm 4-perf (16 frames a foot)
    assert table.total.by_shot.at("kept") == (48, "2.00", "3+00")


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
    table = table_of(small_ledger(THIRDS), By.PERSON, filters=only)
    assert [row.key for row in table.rows] == [("ben",), ("cai",), ("ana",)]
    # Three times 10/3: the missing frame goes to the earlier row.
    assert [row.by_shot.at("kept")[0] for row in table.rows] == [4, 3, 3]
    assert {str(row.totals.by_shot.kept) for row in table.rows} == {"10/3"}
    assert [row.by_shot.at("kept")[1] for row in table.rows] == ["0.14", "0.14", "0.14"]
    assert table.total.by_shot.at("kept") == (10, "0.42", "0+10")


def test_shots_and_stages_stand_as_in_their_tables_undated_weeks_first() -> None:
    ledger = small_ledger(THIRDS)
    keys = {by: [row.key[0] for row in table_of(ledger, by).rows] for by in By}
    assert keys[By.SHOT] == ["020-010", "010-010"]
    assert keys[By.STAGE] == ["S2", "S1", None]
    assert keys[By.WEEK] == [None, "2026-W10", "2026-W11"]
    assert keys[By.CHARACTER] == ["wick"]


def test_words_nest() -> None:
    table = table_of(small_ledger(THIRDS), By.SHOT, By.PERSON)
    assert [row.key for row in table.rows] == [
        ("020-010", "ben"),
        ("020-010", "cai"),
        ("020-010", "ana"),
        ("010-010", "ana"),
    ]


def test_footage_by_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="summed by something"):
        table_of(small_ledger(THIRDS))


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
    total = table_of(small_ledger(THIRDS), By.PERSON, filters=filters).total
    assert total.totals.by_shot.kept == kept


def test_65_mm_is_shown_in_decimal_feet_that_add_up() -> None:
    ledger = small_ledger(
        THIRDS + "\n[production]\ntitle, code, gauge\nThe Small Film, small, 65mm-5perf\n"
    )
    only = Filters(shots=frozenset({"020-010"}))
    table = table_of(ledger, By.PERSON, filters=only)
    feet = [row.by_shot.at("kept")[2] for row in table.rows]
    # 10 frames at 12.8 a foot are 0.78125 feet; a third of them 0.2604
    assert table.total.by_shot.at("kept")[2] == "0.78"
    assert sum(map(Decimal, feet)) == Decimal("0.78")


def test_an_empty_production_has_an_empty_table() -> None:
    table = table_of(small_ledger("[people]\nperson\nana\n"), By.PERSON)
    assert table.rows == ()
    assert table.cut is None
    assert table.total.by_shot.at("kept") == (0, "0.00", "0+00")


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
    table = table_of(small_ledger(text), *by)
    for place in range(len(MEASURES)):
        for kind in ("character", "by_shot"):
            shown = [getattr(row, kind) for row in table.rows]
            total = getattr(table.total, kind)
            assert sum(each.frames[place] for each in shown) == total.frames[place]
            seconds = sum((Decimal(each.seconds[place]) for each in shown), Decimal())
            assert seconds == Decimal(total.seconds[place])
    exact = sum(row.totals.by_shot.kept for row in table.rows)
    assert exact == table.total.totals.by_shot.kept
