"""A small campaign of wrong input, and what the large one found."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import opentimelineio as otio
import pytest

from benchmarks import mutants, mutations, readers
from credits.app.work.filled import plan_sheets
from credits.app.work.named import number_meant
from credits.billing.setting.fixed_text import blocks_of
from credits.errors import ProblemsFound, WrongCall
from credits.formats.cut.edl import edit_list
from credits.formats.cut.otio import rate_text
from credits.formats.cut.read import read_cut
from credits.formats.plan.read import read_plan_text
from credits.formats.plan.write import read_threshold
from credits.formats.tables.cells import Unreadable
from credits.formats.tables.sheets import read_tables
from credits.model.replay import replay
from credits.site.markdown import markdown, markdown_line
from tests.small_log import WORKED_EXAMPLE, small_ledger, small_log

FEW = dict.fromkeys(readers.KINDS, 12) | {"xls": 2, "command": 6, "desk": 6}


def test_no_mutant_crashes_hangs_or_takes_much_room() -> None:
    found = mutants.campaign(FEW, seed=7)
    assert {kind: tally.crashes for kind, tally in found.items() if tally.crashes} == {}
    assert sum(tally.mutants for tally in found.values()) == sum(FEW.values())
    assert sum(tally.refused for tally in found.values()) > 100
    assert sum(tally.accepted for tally in found.values()) > 30


def test_what_is_broken_was_right_before(tmp_path: Path) -> None:
    readers.begin(tmp_path)
    for name in readers.KINDS.keys() - {"command", "desk", "line"}:
        kind = readers.KINDS[name]
        assert [seed for seed in kind.seeds() if not kind.read(seed)] == [], name


def test_the_same_number_makes_the_same_mutant() -> None:
    for kind in readers.KINDS:
        first, again, other = (mutants.mutant(kind, 1, number) for number in (3, 3, 4))
        assert first == again
        assert first != other


def test_a_crash_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    """A reader that ends the process, one that raises, and one that takes ever more room."""

    def harm(content: mutations.Content) -> bool:
        if content == "end":
            os._exit(3)
        if content == "raise":
            raise KeyError("x")
        return bool(bytearray(2_000_000_000)) if content == "room" else True

    for number, what in enumerate(("end", "raise", "room", "right")):
        monkeypatch.setattr(mutants, "mutant", lambda *_, what=what: what)
        kind = readers.Kind(mutations.broken_words, lambda: ["right"], harm, 1)
        monkeypatch.setitem(readers.KINDS, "harm", kind)
        tally = mutants.campaign({"harm": 1}, seed=number)["harm"]
        assert bool(tally.crashes) is (what != "right"), (what, tally)


# --- Found cases


NOTES = {
    "pictures that are never closed": "![" * 2_000,
    "links that are never closed": "[a](" * 5_000,
    "brackets": "[" * 5_000,
    "lists in lists": "1. " * 3_000,
    "quotes in quotes": "> " * 5_000 + "x",
    "a list from a number of many digits": "9" * 5_000 + ". x\n",
}


@pytest.mark.parametrize("case", NOTES)
def test_a_note_without_end_is_shown_as_it_was_typed(case: str) -> None:
    for write in (markdown, markdown_line):
        assert write(NOTES[case])
    assert blocks_of(NOTES[case])


def test_a_table_of_thousands_of_columns_is_refused_at_once(tmp_path: Path) -> None:
    table = tmp_path / "entries.csv"
    table.write_text("craft,person," + "1-48," * 3_000 + "\nanimation,ana\n")
    sheets = read_tables([table])
    log = small_log(WORKED_EXAMPLE)
    assert "columns; 200 are read" in str(sheets.problems[0])
    assert plan_sheets(sheets, log, None, "A", replay(log).last_day).problems


def _track(*items: otio.core.Composable) -> otio.schema.Track:
    return otio.schema.Track("picture", children=list(items), kind="Video")


def _of_frames(first: int, length: int) -> otio.opentime.TimeRange:
    rate = 24
    start = otio.opentime.RationalTime(first, rate)
    return otio.opentime.TimeRange(start, otio.opentime.RationalTime(length, rate))


LONG = 9_000_000


def _nest_at_another_speed() -> otio.schema.Timeline:
    inside = _track(otio.schema.Clip("010-020", source_range=_of_frames(1, LONG)))
    slow = [otio.schema.LinearTimeWarp(time_scalar=0.5)]
    nest = otio.schema.Stack("nest", [inside], _of_frames(0, LONG), effects=slow)
    return otio.schema.Timeline("film", tracks=[_track(nest)])


def _clip_that_begins_between_frames() -> otio.schema.Timeline:
    slow = [otio.schema.LinearTimeWarp(time_scalar=0.3333)]
    below = otio.schema.Clip("010-020", source_range=_of_frames(1, LONG), effects=slow)
    above = otio.schema.Clip("010-030", source_range=_of_frames(1, 1))
    return otio.schema.Timeline("film", tracks=[_track(below), _track(above)])


@pytest.mark.parametrize("make", [_nest_at_another_speed, _clip_that_begins_between_frames])
def test_a_small_timeline_of_days_at_another_speed_is_refused_at_once(
    make: Callable[[], otio.schema.Timeline], tmp_path: Path
) -> None:
    cut = tmp_path / "cut.otio"
    cut.write_text(make().to_json_string())
    with pytest.raises(ProblemsFound, match="more than 100,000 frames"):
        read_cut(cut, small_log(WORKED_EXAMPLE))


EDITS = {
    "spaces": "001  010-020" + " " * 30_000 + "V  C  00:00:00:08 00:00:01:16 01:00:00:00 01:00:01",
    "spaces of a speed": "M2   010-020" + " " * 30_000 + "x",
    "spaces of a remark": "*" + " " * 30_000 + "FREEZE",
    "words": "001 " + "C " * 30_000,
    "timecodes": "001 A V C " + "1:1 " * 30_000,
}


@pytest.mark.parametrize("case", EDITS)
def test_an_edit_without_end_is_no_edit(case: str) -> None:
    first = "001  A  V  C  00:00:00:08 00:00:01:16 01:00:00:00 01:00:01:08\n"
    events, problems, _ = edit_list(first + EDITS[case], "cut.edl")
    assert len(events) == 1
    assert len(problems) == (case in ("words", "timecodes"))


@pytest.mark.parametrize("rate", [1e-320, 1e-7, 1e-6, 1e308, 9_999.9999999])
def test_a_rate_of_next_to_nothing_is_told(rate: float) -> None:
    assert rate_text(rate)


NINES = "9" * 5_000


@pytest.mark.parametrize("text", [NINES, f"A-{NINES}", f"A-{'9' * 25}", "9" * 25])
def test_an_entry_of_a_number_of_many_digits_is_no_entry(text: str) -> None:
    with pytest.raises(WrongCall, match="is not the number of an entry"):
        number_meant(text, "A")


@pytest.mark.parametrize("least", [NINES, f"1/{NINES}", f"1.{NINES}"])
def test_a_threshold_of_many_digits_is_none(least: str) -> None:
    with pytest.raises(Unreadable):
        read_threshold(f"{least} seconds on screen")


def test_a_fixed_text_has_an_end() -> None:
    plan = 'name = "x"\n[[section]]\nheading = "Thanks"\ntext = "' + "a " * 30_000 + '"'
    with pytest.raises(ProblemsFound, match="has 60,000 characters"):
        read_plan_text(plan, small_ledger(WORKED_EXAMPLE))
