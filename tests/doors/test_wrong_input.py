"""Wrong input of every kind at every door: each says the same of it, and writes nothing."""

from __future__ import annotations

import shutil
import unicodedata
from datetime import date
from pathlib import Path

import pytest

from credits.app.work.entries import doubts
from credits.app.work.rows import read_row
from credits.desk.page import finding_text
from credits.model.grown import entry_of
from credits.model.replay import replay
from credits.store.log import open_log
from tests.desk.conftest import TABLES, lines_of
from tests.doors.one_day import DeskClient
from tests.doors.wrong_rows import DAY, DOORS, RIGHT
from tests.productions import production_from, written_tables

SCRIPT, FORMULA = "<script>alert(1)</script>", "=cmd()"
NO_LENGTH = (
    "Is not a length in minutes. Write whole minutes such as 90, or a length such as 1:30, 1.5 h "
    "or 1/2 day."
)
NOBODY = "No person has this code or name. Add it to the people table, or correct the code."

WRONG = {
    "frames backwards": ("frames", "30-1", "A range runs backwards. Write 1-30, or correct"),
    "frames in words": ("frames", "one to ten", "Is not a list of frames. Write 1-48, or"),
    "frames from 0": ("frames", "0-5", "Shot frames count from 1. Begin at 1."),
    "take 0": ("take", "0", "Is too low. The lowest number here is 1."),
    "take in words": ("take", "two", "Is not a whole number. Write it in digits, such as 12."),
    "minutes in words": ("minutes", "eight", NO_LENGTH),
    "minutes below nothing": ("minutes", "-5", NO_LENGTH),
    "minutes that are a formula": ("minutes", FORMULA, NO_LENGTH),
    "waiting in words": ("wait_minutes", "often", NO_LENGTH),
    "share 0": ("share", "0", "A share is positive. Write 1, 2 or 1/2."),
    "share of nothing": ("share", "1/0", "A share is positive. Write 1, 2 or 1/2."),
    "poses on 0": ("poses_on", "0", "Is too low. The lowest number here is 1."),
    "a note too long": ("note", "x" * 20_001, "Has 20001 characters. Shorten it to 20000."),
}
"""What is wrong, however a row came; how every door says it begins."""

UNKNOWN = {
    "craft": ("craft", "animaton", "No craft has this code or name. Did you mean animation"),
    "person": ("person", "anna", "No person has this code or name. Did you mean ana (Ana Lind)?"),
    "shot": ("shot", "010-02", "No shot has this code or name. Did you mean 010-020 or 010-030?"),
    "name of two": ("person", "Sam Roe", "Is the name of 2 people. Write the code of one: sam"),
    "script": ("person", SCRIPT, NOBODY),
    "formula": ("person", FORMULA, NOBODY),
    "200 signs": ("person", "x" * 200, NOBODY),
    "20,000 signs": ("person", "x" * 20_000, NOBODY),
    "right to left": ("person", "عربى", NOBODY),
    "emoji": ("person", "🎬", NOBODY),
}
"""Codes and names that nothing has. A table holds codes alone, and says so in its own words."""

TAKEN = {
    "script": SCRIPT,
    "formula": FORMULA,
    "200 signs": "x" * 200,
    "20,000 signs": "x" * 20_000,
    "right to left": "عربى \u202etxt",
    "emoji": "🎬👩🏽‍🎨",
    "markup": "| a | *b* {{ 7*7 }} '; DROP TABLE entries; --",
}
"""Notes that are odd and right."""


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small production."""
    own = tmp_path_factory.mktemp("small")
    return production_from(own / "film", [written_tables(own / "tables", TABLES)])


@pytest.fixture
def film(made: Path, tmp_path: Path) -> Path:
    """A copy of it."""
    return Path(shutil.copytree(made, tmp_path / "film"))


@pytest.fixture(scope="module")
def still(made: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of it in which no test writes anything."""
    return Path(shutil.copytree(made, tmp_path_factory.mktemp("still") / "film"))


def offered(
    film: Path, door: str, row: dict[str, str], capsys: pytest.CaptureFixture[str]
) -> list[str]:
    """Offer a row; what is said of it. A command's text is told apart by what is wrong."""
    capsys.readouterr()
    said = sorted(DOORS[door](film, row))
    shown = capsys.readouterr()
    assert "Traceback" not in shown.err + shown.out
    if door != "log" or not said:
        return said
    with open_log(film) as log:
        written = log.read()
    findings = read_row(row, written, date.fromisoformat(DAY)).findings
    told = " ".join(shown.err.split())
    for finding in findings:
        assert finding.what in told
        assert finding.hint in told
    return sorted(map(finding_text, findings))


@pytest.mark.parametrize("door", DOORS)
@pytest.mark.parametrize("case", WRONG)
def test_every_door_says_the_same_of_what_is_wrong_and_writes_nothing(
    still: Path, door: str, case: str, capsys: pytest.CaptureFixture[str]
) -> None:
    column, text, wanted = WRONG[case]
    before = lines_of(still)
    (said,) = offered(still, door, {**RIGHT, column: text}, capsys)
    assert said.startswith(wanted)
    assert lines_of(still) == before


@pytest.mark.parametrize("door", [door for door in DOORS if door != "table"])
@pytest.mark.parametrize("case", UNKNOWN)
def test_every_door_for_people_says_the_same_of_a_name_that_nothing_has(
    still: Path, door: str, case: str, capsys: pytest.CaptureFixture[str]
) -> None:
    column, text, wanted = UNKNOWN[case]
    before = lines_of(still)
    (said,) = offered(still, door, {**RIGHT, column: text}, capsys)
    assert said.startswith(wanted)
    assert lines_of(still) == before


@pytest.mark.parametrize("case", UNKNOWN)
def test_a_table_holds_codes_and_says_so(
    still: Path, case: str, capsys: pytest.CaptureFixture[str]
) -> None:
    column, text, _ = UNKNOWN[case]
    before = lines_of(still)
    (said,) = offered(still, "table", {**RIGHT, column: text}, capsys)
    assert said.startswith((f"There is no such {column}", "A code "))
    assert lines_of(still) == before


@pytest.mark.parametrize("door", DOORS)
@pytest.mark.parametrize("case", TAKEN)
def test_every_door_takes_an_odd_note_as_it_is(
    film: Path, door: str, case: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert offered(film, door, {**RIGHT, "note": TAKEN[case]}, capsys) == []
    work = lines_of(film)[-1].work
    assert work is not None
    assert work.note == TAKEN[case]


@pytest.mark.parametrize("door", [door for door in DOORS if door != "day sheet"])
def test_a_control_character_is_refused(
    still: Path, door: str, capsys: pytest.CaptureFixture[str]
) -> None:
    before = lines_of(still)
    (said,) = offered(still, door, {**RIGHT, "note": "a\x07b"}, capsys)
    assert said == "Holds a control character (U+0007). Take it out."
    assert lines_of(still) == before


@pytest.mark.parametrize("door", [door for door in DOORS if door != "table"])
def test_a_decomposed_name_is_the_name(
    film: Path, door: str, capsys: pytest.CaptureFixture[str]
) -> None:
    name = unicodedata.normalize("NFD", "Ben Ødegård")
    assert offered(film, door, {**RIGHT, "person": name}, capsys) == []
    work = lines_of(film)[-1].work
    assert work is not None
    assert work.person == "ben"


@pytest.mark.parametrize("door", ["table", "log", "session"])
def test_a_date_of_no_calendar_is_refused(
    still: Path, door: str, capsys: pytest.CaptureFixture[str]
) -> None:
    before = lines_of(still)
    (said,) = offered(still, door, {**RIGHT, "finished_on": "2026-02-30"}, capsys)
    assert said == "There is no such day. Correct the month or the day."
    assert lines_of(still) == before


def test_a_date_of_no_calendar_is_refused_in_a_correction_at_the_desk(film: Path) -> None:
    desk = DeskClient.at(film, date.fromisoformat(DAY))
    answer = desk.post("/amend", number="A-4", fields={"finished_on": "2026-02-30"})
    wrong = answer["rows"][0]["wrong"]
    assert wrong == {"finished_on": "There is no such day. Correct the month or the day."}
    assert len(lines_of(film)) == 4


ASKED = {
    "frames beyond the shot": ({"frames": "100-130"}, "frames-beyond-shot"),
    "a day to come": ({"finished_on": "2100-01-04"}, "day-in-the-future"),
    "a take that the table does not have": ({"take": "7"}, "take-unknown"),
}


@pytest.mark.parametrize("door", DOORS)
@pytest.mark.parametrize("case", ASKED)
def test_what_may_be_right_is_written_and_asked_about(
    film: Path, door: str, case: str, capsys: pytest.CaptureFixture[str]
) -> None:
    cells, kind = ASKED[case]
    assert offered(film, door, {**RIGHT, **cells}, capsys) == []
    with open_log(film) as log:
        written = log.read()
    entry = entry_of(written, written.lines[-1].number)
    assert entry is not None
    assert kind in {check.kind for check in doubts(replay(written), entry)}
    assert len(written.lines) == 5


@pytest.mark.parametrize("door", DOORS)
def test_an_empty_row_is_no_entry(
    still: Path, door: str, capsys: pytest.CaptureFixture[str]
) -> None:
    before = lines_of(still)
    empty = {**dict.fromkeys(RIGHT, ""), "finished_on": DAY, "stage": "S1"}
    if door == "table":
        empty = dict.fromkeys(RIGHT, "")
    said = DOORS[door](still, empty)
    assert bool(said) == (door in ("log", "session", "desk"))
    assert "Traceback" not in capsys.readouterr().err
    assert lines_of(still) == before
