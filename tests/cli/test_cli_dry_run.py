"""log, amend and void with --dry-run: they say everything and write nothing."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.conftest import Command

LOG = ["log", "animation", "ben", "wick-1", "010-020", "1-12", "--on", "2026-03-04"]


@pytest.fixture(autouse=True)
def _in_the_worked_example(film: Path) -> None:
    """Every test here stands in the worked example."""


@pytest.mark.parametrize(
    "words",
    [LOG, ["amend", "A-1", "--frames", "1-24"], ["void", "A-1", "--why", "Logged twice."]],
    ids=["log", "amend", "void"],
)
def test_a_dry_run_says_what_the_run_then_does(credits_: Command, words: list[str]) -> None:
    def lines() -> list[object]:
        return [credits_("find", f"A-{n}", "--json").json["history"] for n in (1, 7)]

    before = lines()
    dry = credits_(*words, "--dry-run")
    assert dry.status == 0
    assert dry.err.endswith("Nothing was written: this was a dry run.\n")
    assert lines() == before
    assert credits_("find", "A-8").status == 1
    done = credits_(*words)
    assert dry.out == done.out
    assert dry.err.removesuffix("Nothing was written: this was a dry run.\n") == done.err
    assert credits_("find", "A-8").status == 0 or words[0] != "log"


def test_json_says_that_nothing_is_written_and_what_would_be(credits_: Command) -> None:
    assert credits_(*LOG, "--dry-run", "--json").json == {
        "entry": "A-8",
        "written": False,
        "says": {
            "craft": "animation",
            "person": "ben",
            "puppet": "wick-1",
            "shot": "010-020",
            "frames": "1-12",
            "finished_on": "2026-03-04",
        },
    }
    amended = credits_("amend", "A-1", "--frames", "1-24", "--dry-run", "--json").json
    assert (amended["entry"], amended["written"]) == ("A-8", False)
    assert amended["changes"] == {"frames": ["1-30", "1-24"]}
    voided = credits_("void", "A-1", "--why", "x", "--dry-run", "--json").json
    assert voided == {"entry": "A-8", "corrects": "A-1", "written": False, "says": None}


def test_doubts_are_said_before_anything_is_written(credits_: Command) -> None:
    answer = credits_(*(word.replace("1-12", "40-60") for word in LOG), "--dry-run")
    assert "question: Frames 49-60 of take 1 of shot 010-020 are claimed" in answer.err


def test_what_is_refused_is_refused_in_a_dry_run_too(credits_: Command) -> None:
    assert credits_("log", "animation", "nobody", "wick-1", "--dry-run").status == 2
    credits_("void", "A-1", "--why", "x")
    assert credits_("void", "A-1", "--why", "x", "--dry-run").status == 1


def test_not_one_byte_of_the_log_changes(credits_: Command, film: Path) -> None:
    before = (film / "production.db").read_bytes()
    assert credits_(*LOG, "--dry-run").status == 0
    assert (film / "production.db").read_bytes() == before
