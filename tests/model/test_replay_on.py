"""A ledger is carried on with what is new: the same as one that is made anew."""

from __future__ import annotations

from dataclasses import replace

import pytest

from credits.model.facts import Stage
from credits.model.grown import replay_on
from credits.model.replay import replay
from tests.small_log import WORKED_EXAMPLE, small_log

CORRECTED = """
    [lines]
    verb, corrects, craft, person, character, shot, frames, finished_on, why
    amend, A-2, animation, ben, wick, 010-020, 31-48, 2026-03-04,
    void, A-7, , , , , , , twice
    record, , animation, cai, wick, 010-020, 40-48, 2026-03-09,
    amend, A-8, animation, ben, wick, 010-020, 31-47, 2026-03-04,
"""


@pytest.mark.parametrize("known", range(12))
@pytest.mark.parametrize("step", [0, 1, 3, 12])
def test_a_log_that_has_grown_gives_the_same_ledger(known: int, step: int) -> None:
    log = small_log(WORKED_EXAMPLE + CORRECTED)
    before = replace(log, lines=log.lines[:known])
    after = replace(log, lines=log.lines[: known + step])
    assert replay_on(replay(before), before, after) == replay(after)


def test_a_table_that_has_changed_is_looked_at_anew() -> None:
    log = small_log(WORKED_EXAMPLE)
    before = replace(log, lines=log.lines[:3])
    after = replace(log, stages=(Stage(code="S9"),))
    assert replay_on(replay(before), before, after) == replay(after)


def test_lines_of_another_unit_stand_in_the_order_of_their_numbers() -> None:
    log = small_log(WORKED_EXAMPLE)
    turned = replace(log, lines=log.lines[::-1])
    before = replace(turned, lines=turned.lines[:3])
    assert replay_on(replay(before), before, turned) == replay(turned)
