"""The command that opens a day: a session at a real terminal, a list elsewhere."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.conftest import Command
from tests.terminal import Terminal, terminal


def _line(at: Terminal, line: str) -> str:
    """Type a line at the prompt; what is answered before the next one."""
    at.type(f"{line}\n")
    return at.until("S1> ")


def test_a_day_is_logged_in_short_lines(film: Path, credits_: Command) -> None:
    with terminal(film, "day", "2026-03-04", "--stage", "s1") as at:
        at.until("4 March 2026, S1> ")
        assert (
            "A-8: Ana animated Wick (wick-2) in 010-020, frames 1-12, 4 March 2026, stage S1"
            in (_line(at, "animation ana wick-2 010-020 1-12 4h"))
        )
        assert "A-9: Ana animated Wick (wick-2) in 010-020, frames 13-24" in _line(at, "ana 13-24")
        assert "frames: 13-24 -> 13-20" in _line(at, "amend A-9 frames 13-20")
        assert "frames: 13-20 -> 13-24" in _line(at, "undo")
        assert "Did you mean wick (Wick)" in _line(at, "ana wik 1-3")
        assert "A-12 voids A-8" in _line(at, "void A-8 logged twice")
        assert "A-11: Ana animated" in _line(at, "list")
        assert "on 'x':" in _line(at, "ana on x")
        assert "undo" in _line(at, "?")
        at.type("\n")
        assert at.end() == 0
    assert at.seen.endswith("Written: 3 lines, A-8 to A-12.\nS1: A-11 (ana) has no minutes.\n")
    assert credits_("find", "A-11", "--json").json["history"][-1]["says"]["frames"] == "13-24"


def test_day_and_stage_are_asked_and_the_tab_key_completes(film: Path) -> None:
    with terminal(film, "day") as at:
        at.until("Day [today]: ")
        at.type("someday\n")
        at.until("Day [today]: ")
        at.type("4 mar 2026\n")
        at.until("was): ")
        at.type("S9\n")
        at.until("was): ")
        at.type("\n")
        at.until("4 March 2026> ")
        at.type("track\tcai\tbrine-\t\n")
        assert "A-8: Cai read the track of Brine (brine-1)" in at.until("4 March 2026> ")
        at.type("\x04")
        assert at.end() == 0
    assert "Written: 1 line, A-8." in at.seen


def test_a_word_of_two_meanings_is_asked_about(
    film: Path, credits_: Command, tmp_path: Path
) -> None:
    (tmp_path / "people.csv").write_text("person,credit_name\nbrine,Brine Moor\n")
    credits_("load", tmp_path / "people.csv")
    with terminal(film, "day", "2026-03-04", "--stage", "") as at:
        at.until("> ")
        at.type("voice ana brine\n")
        assert "1  person brine\n  2  character brine" in at.until("Which (Enter: none): ")
        at.type("2\n")
        assert "A-8: Ana voiced Brine" in at.until("> ")
        at.type("voice ana brine\n")
        at.until("Which (Enter: none): ")
        at.type("\n")
        at.until("> ")
        at.leave("Ctrl-C")
        at.end()
    assert "Written: 1 line, A-8." in at.seen


@pytest.mark.parametrize(("leave", "exit_status"), [("Ctrl-D", 1), ("Ctrl-C", 130)])
def test_leaving_before_the_first_line_writes_nothing(
    film: Path, leave: str, exit_status: int
) -> None:
    with terminal(film, "day") as at:
        at.until("Day [today]: ")
        at.leave(leave)
        assert at.end() == exit_status
    assert "Nothing was written." in at.seen


@pytest.mark.usefixtures("film")
def test_without_a_terminal_the_day_is_printed(credits_: Command) -> None:
    answer = credits_("day", "3 mar 2026")
    assert answer.status == 0
    assert "A-2" in answer.out
    assert credits_("day", "3 mar 2026", "--stage", "").out == answer.out
    assert credits_("day", "someday").status == 2
