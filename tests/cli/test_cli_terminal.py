"""What a person at a terminal sees: aligned columns, questions, long lists cut; and clean text."""

from __future__ import annotations

import os
import pty
import re
import subprocess
import sys
import unicodedata
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from credits.cli.terminal import printing
from tests.cli.conftest import ROOT, Command
from tests.terminal import terminal


def _at_a_terminal(cwd: Path, *words: str, typed: str = "") -> tuple[int, str]:
    """Run a command with a terminal for all three streams; its status and what was seen."""
    main, other = pty.openpty()
    process = subprocess.Popen(
        [sys.executable, "-m", "credits", *words],
        stdin=other,
        stdout=other,
        stderr=other,
        cwd=cwd,
        env={**os.environ, "PYTHONPATH": str(ROOT), "TERM": "xterm", "COLUMNS": "200"},
        close_fds=True,
    )
    os.close(other)
    os.write(main, typed.encode())
    seen = b""
    while True:
        try:
            piece = os.read(main, 65536)
        except OSError:  # the other end is closed
            break
        if not piece:
            break
        seen += piece
    os.close(main)
    text = seen.decode().replace("\r\n", "\n")
    text = re.sub(r"(\r\x1b\[K[^\r\n]+)+\r\x1b\[K", "", text)  # what was at work, taken away again
    assert "Traceback" not in text
    return process.wait(timeout=60), text


def test_columns_are_aligned_and_headings_bold(film: Path) -> None:
    status, seen = _at_a_terminal(film, "footage")
    assert status == 0
    lines = seen.splitlines()
    assert lines[0].startswith("\x1b[1mperson  name  shot")
    plain = re.sub(r"\x1b\[\d*m", "", lines[0])
    ends = {line.rfind("kept by character") for line in [plain]}
    assert ends != {-1}
    figures = lines[1:5]
    assert {len(line) for line in figures} == {len(plain)}
    assert figures[-1].startswith("total")


def test_wide_characters_take_two_columns(film: Path, credits_: Command, tmp_path: Path) -> None:
    (tmp_path / "people.csv").write_text("person,credit_name\nana,影山\n", encoding="utf-8")
    credits_("load", tmp_path / "people.csv")
    _, seen = _at_a_terminal(film, "footage")
    ben, _, ana = seen.splitlines()[1:4]  # Han characters sort behind Latin ones
    assert ben.startswith("ben     Ben     12")
    assert ana.startswith("ana     影山    30")


def test_what_is_missing_is_asked_for(film: Path, credits_: Command) -> None:
    status, seen = _at_a_terminal(film, "log", "paint", typed="cai\nwick-1\n\n\n")
    assert status == 0
    assert "Person (ana, or ana+ben): " in seen
    assert "A-8: Cai painted Wick (wick-1), today" in seen
    status, seen = _at_a_terminal(film, "void", "A-8", typed="not yet done\n")
    assert (status, "Why: not yet done." in seen) == (0, True)
    assert credits_("find", "A-8", "--json").json["history"][-1]["why"] == "not yet done"


def test_each_answer_is_checked_before_the_next_question(film: Path, credits_: Command) -> None:
    answers = ["animate", "animation", "ana+beni", "ana+ben", "wik", "wick-1", "010-020"]
    answers += ["30-1", "1-12", "31 feb", "2 mar 2026", "8x", "8:30"]
    status, seen = _at_a_terminal(film, "log", typed="".join(f"{each}\n" for each in answers))
    assert status == 0
    asked = ("Craft", "Person", "On what", "Frames", "Day", "How long")
    assert [seen.count(f"{question}") for question in asked] == [2] * len(asked)
    assert "Did you mean animation (Animation)" in seen
    assert "Did you mean ben (Ben)?" in seen
    assert "a range runs backwards" in seen
    assert credits_("find", "A-9", "--json").json["history"][0]["says"] == {
        "craft": "animation", "person": "ben", "puppet": "wick-1", "shot": "010-020",
        "frames": "1-12", "finished_on": "2026-03-02", "minutes": "510",
    }  # fmt: skip


def test_a_shot_of_several_takes_asks_which_and_offers_the_last(
    film: Path, credits_: Command, tmp_path: Path
) -> None:
    (tmp_path / "takes.csv").write_text("shot,take,purpose\n010-020,2,shoot\n")
    credits_("load", tmp_path / "takes.csv")
    words = ("log", "animation", "ana", "wick-1", "010-020", "1-12", "--minutes", "8h")
    _, seen = _at_a_terminal(film, *words, typed="\n\n")
    assert "Take (there are 1, 2) [2]: " in seen
    assert "in 010-020 take 2, frames 1-12, today" in seen


@pytest.mark.parametrize(("leave", "exit_status"), [("Ctrl-D", 1), ("Ctrl-C", 130)])
def test_leaving_the_questions_writes_nothing_and_says_so(
    film: Path, credits_: Command, leave: str, exit_status: int
) -> None:
    with terminal(film, "log", "paint", "cai") as at:
        at.until("On what")
        at.type("wick-1\n")
        at.until("Day [today]: ")
        at.leave(leave)
        assert at.end() == exit_status
    assert at.seen.endswith("Nothing was written.\n")
    assert credits_("find", "A-8").status == 1


def test_nothing_is_asked_when_the_answer_is_for_a_program(film: Path) -> None:
    status, seen = _at_a_terminal(film, "log", "paint", "--json")
    assert status == 2
    assert "PERSON is missing" in seen


def test_a_long_list_of_problems_is_cut_at_a_terminal(
    film: Path, credits_: Command, tmp_path: Path
) -> None:
    rows = "".join(f"paint,nobody-{n},wick\n" for n in range(60))
    (tmp_path / "entries.csv").write_text("craft,person,character\n" + rows)
    status, seen = _at_a_terminal(film, "load", str(tmp_path / "entries.csv"))
    assert status == 1
    assert seen.count("there is no such person") == printing.SHOWN_PROBLEMS
    assert "… and 10 more." in seen
    assert "60 problems. Nothing was written." in seen
    everything = credits_("load", tmp_path / "entries.csv", "--json")
    assert len(everything.json["problems"]) == 60


def test_parts_have_headings_at_a_terminal(film: Path) -> None:
    _, seen = _at_a_terminal(film, "roll")
    assert "\x1b[1mAnimation\x1b[0m\n  Ana" in seen
    _, seen = _at_a_terminal(film, "hands", "010-020")
    assert "\x1b[1m1-12\x1b[0m\n  Wick" in seen


@given(st.text())
def test_cleaned_text_holds_no_control_and_stays_on_one_line(text: str) -> None:
    shown = printing.clean(text)
    assert not {unicodedata.category(c) for c in shown} & {"Cc", "Cs", "Zl", "Zp"}
    assert len(shown.splitlines()) <= 1
    assert printing.clean(shown) == shown


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("plain", "plain"),
        ("two\nlines\tand a tab", "two lines and a tab"),
        ("\x1b[31mred\x1b[0m", "\ufffd[31mred\ufffd[0m"),
        ("exe\u202egpj", "exegpj"),
        ("أمينة", "أمينة"),
        ("👩‍🎨", "👩‍🎨"),
    ],
)
def test_clean(text: str, shown: str) -> None:
    assert printing.clean(text) == shown


@pytest.mark.parametrize(("text", "columns"), [("Ana", 3), ("影山", 4), ("Zoe\u0308", 3), ("", 0)])
def test_cells(text: str, columns: int) -> None:
    assert printing.cells(text) == columns
