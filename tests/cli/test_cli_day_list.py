"""credits day: what each stage and workshop logged, what and who is missing, what is asked."""

from __future__ import annotations

import os
import pty
import subprocess
import sys
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from tests.cli.conftest import ROOT, Command

TUESDAY = """craft,person,puppet,shot,frames,stage,finished_on,minutes
animation,ana,wick-1,010-020,1-8,S1,2026-03-09,480
animation,ben,brine-1,010-020,1-8,S1,2026-03-09,60
animation,ana,wick-1,010-020,9-16,S1,2026-03-10,480
animation,ana,wick-1,010-020,,S2,2026-03-10,
repair,cai,wick-2,,,,2026-03-10,30
repair,cai,wick-1,,,,,
"""
ENGAGED = """person,department,job_title
ana,Animation,Animator
ben,Animation,Animator
dov,Animation,Animator
eve,Catering,Cook
"""


@pytest.fixture(autouse=True)
def a_tuesday(film: Path, tmp_path: Path, credits_: Command) -> Path:
    """The worked example with a Tuesday, 10 March 2026."""
    folder = tmp_path / "day"
    folder.mkdir()
    (folder / "entries.csv").write_text(TUESDAY)
    (folder / "engagements.csv").write_text(ENGAGED)
    (folder / "people.csv").write_text("person,credit_name\ndov,Dov\neve,Eve\n")
    assert credits_("load", folder).status == 0
    return film


def shown(credits_: Command, *words: str) -> Any:
    return credits_("day", *words, "--json").json


def test_a_day_is_told_place_by_place(credits_: Command) -> None:
    found = shown(credits_, "2026-03-10")
    assert [(each["stage"], each["department"], each["entries"]) for each in found["places"]] == [
        ("S1", None, ["A-10"]),
        ("S2", None, ["A-11"]),
        (None, "Animation", []),
        (None, "Puppet hospital", ["A-12"]),
        (None, "Catering", []),
    ]
    assert found["day"] == found["last_day"] == "2026-03-10"
    first = found["entries"][0]
    assert (first["entry"], first["person"], first["shot"], first["frames"]) == (
        "A-10", "ana", "010-020", "9-16",
    )  # fmt: skip
    assert first["says"].startswith("Ana animated Wick (wick-1) in 010-020, frames 9-16, 10 March")


def test_what_is_missing_is_said(credits_: Command) -> None:
    found = shown(credits_, "2026-03-10")
    lacks = {each["entry"]: each["lacks"] for each in (*found["entries"], *found["undated"])}
    assert lacks["A-10"] == []
    assert lacks["A-11"] == ["frames", "minutes"]
    stage = found["places"][0]
    assert stage["before_on"] == "2026-03-09"
    assert [each["entry"] for each in stage["not_yet"]] == ["A-9"]  # Ana's Wick goes on
    idle = {each["stage"] or each["department"]: each["idle"] for each in found["places"]}
    assert idle["S1"] == [{"person": "ben", "name": "Ben"}]
    assert idle["Animation"] == [{"person": "dov", "name": "Dov"}]


def test_the_open_questions_of_the_day_stand_with_it(credits_: Command) -> None:
    kinds = [each["check"] for each in shown(credits_, "2026-03-10")["questions"]]
    assert "puppet-in-two-places" in kinds
    assert "person-in-two-places" in kinds
    credits_("answer", "puppet-in-two-places", "wick-1", "--why", "Carried over.")
    kinds = [each["check"] for each in shown(credits_, "2026-03-10")["questions"]]
    assert "puppet-in-two-places" not in kinds


def test_in_words(credits_: Command) -> None:
    lines = credits_("day", "10 mar 2026").out.splitlines()
    assert lines[0] == "Tuesday, 10 March 2026"
    assert "Stage S1" in lines
    assert "entry\tperson\tcraft\ton\tframes\tminutes" in lines
    assert "A-10\tAna\tAnimation\tWick (wick-1) in 010-020\t9-16\t480" in lines
    assert "A-11\tAna\tAnimation\tWick (wick-1) in 010-020\t–\tframes, minutes" in lines
    assert "Nothing yet of what was done on 9 March 2026:" in lines
    assert "  A-9: Ben animated Brine (brine-1) in 010-020, frames 1-8, 60 minutes" in lines
    assert "Engaged, and nothing logged: Ben" in lines
    assert "Catering: nothing logged by Eve" in lines
    assert lines[-1].startswith("3 entries, 1 incomplete, 2 people with nothing, ")


def test_one_stage_alone(credits_: Command) -> None:
    found = shown(credits_, "2026-03-10", "--stage", "s2")
    assert [each["stage"] for each in found["places"]] == ["S2"]
    assert [each["entry"] for each in found["entries"]] == ["A-11"]
    assert credits_("day", "--stage", "S9").status == 2


def test_a_day_without_entries_says_which_day_has_some(credits_: Command) -> None:
    answer = credits_("day", "2027-01-01")
    assert answer.status == 0
    assert answer.out.endswith("No entry of this day, 3 people with nothing.\n")
    assert "The last day with entries is 2026-03-10: credits day 2026-03-10" in answer.err


def test_what_was_written_down_today_without_a_day_is_listed_today(credits_: Command) -> None:
    assert [each["entry"] for each in shown(credits_)["undated"]] == ["A-13"]
    assert "Without a day, written down on this one" in credits_("day", "today").out


@pytest.mark.parametrize(
    "text", ["someday", "3/4/2026", "2026-02-30", "9999-12-31", "<script>", "=cmd()", "😀", " "]
)
def test_what_is_no_day_is_refused(credits_: Command, text: str) -> None:
    answer = credits_("day", text)
    assert (answer.status, answer.out) == (2, "")
    assert f"DATE '{text}'" in answer.err


def test_days_back_are_a_day_not_an_option(credits_: Command) -> None:
    yesterday = date.today() - timedelta(days=1)
    assert shown(credits_, "-1")["day"] == yesterday.isoformat()
    assert credits_("day", "-h").out.startswith("Usage: credits day")
    assert "DATE '--nonsense'" in credits_("day", "--nonsense").err


def test_the_first_day_there_is(credits_: Command) -> None:
    assert shown(credits_, "1 jan 0001")["entries"] == []


def test_lines_wrap_at_words_on_a_terminal(film: Path, credits_: Command, tmp_path: Path) -> None:
    odd = "Ana <script>alert(1)</script> =cmd() “Figgy” 影山 " + " ".join(["Wide"] * 40)
    (tmp_path / "people.csv").write_text(f'person,credit_name\nana,"{odd}"\n', encoding="utf-8")
    assert credits_("load", tmp_path / "people.csv").status == 0
    seen = at_80_columns(film, "day", "2026-03-10", "--list")
    lines = [line for line in seen.splitlines() if "Answer it:" not in line]
    assert max(len(line) for line in lines) <= 88  # headings are bold
    assert "<script>alert(1)</script> =cmd()" in " ".join(seen.split())
    assert "Missing: frames, minutes." in " ".join(seen.split())


def at_80_columns(folder: Path, *words: str) -> str:
    main, other = pty.openpty()
    env = {**os.environ, "PYTHONPATH": str(ROOT), "TERM": "xterm", "COLUMNS": "80"}
    command = [sys.executable, "-m", "credits", *words]
    with subprocess.Popen(
        command, stdin=subprocess.DEVNULL, stdout=other, stderr=other, cwd=folder, env=env
    ):
        os.close(other)
        seen = b""
        while True:
            try:
                seen += os.read(main, 65536)
            except OSError:  # the other end is closed
                break
    os.close(main)
    assert b"Traceback" not in seen
    return seen.decode().replace("\r\n", "\n")
