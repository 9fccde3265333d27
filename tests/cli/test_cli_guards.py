"""What is asked at once when an entry is logged, and by check when it was loaded."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.conftest import Command


@pytest.fixture(autouse=True)
def _takes(film: Path, credits_: Command, tmp_path: Path) -> Path:
    (tmp_path / "takes.csv").write_text(
        "shot,take,purpose,decision\n010-020,1,shoot,accepted\n010-020,2,block,open\n"
    )
    assert credits_("load", tmp_path / "takes.csv").status == 0
    return film


CASES = [
    ("take-unknown", "animation ana wick-1 010-020/22 1-4 --on 2026-03-02", "If take 2 was meant"),
    (
        "take-missing",
        "animation ana wick-1 010-020 1-4 --on 2026-03-02",
        "no take, and the shot has takes 1 (shoot) and 2 (block)",
    ),
    ("footage-without-shot", "animation ana wick-1 --on 2026-03-02", "without a shot"),
    ("day-in-the-future", "paint ana wick-1 --on 2199-03-02", "dated 2199-03-02"),
    (
        "longer-than-a-day",
        "paint ana wick-1 --from 2026-03-02 --on 2026-03-03 --minutes 9000",
        "150 h 00 min",
    ),
]


@pytest.mark.parametrize(("check", "words", "said"), CASES)
def test_it_is_asked_when_it_is_logged_and_in_check(
    credits_: Command, check: str, words: str, said: str
) -> None:
    logged = credits_("log", *words.split())
    assert logged.status == 0
    assert [line for line in logged.err.splitlines() if line.startswith("question: ")]
    assert said in logged.err
    found = [each for each in credits_("check", "--json").json["checks"] if each["check"] == check]
    assert any("A-8" in each["entries"] for each in found)
    assert all(each["severity"] == "question" for each in found)


@pytest.mark.parametrize(
    ("check", "row"),
    [
        ("take-unknown", "animation,ana,wick-1,010-020,22,1-4,,2026-03-02,"),
        ("take-missing", "animation,ana,wick-1,010-020,,1-4,,2026-03-02,"),
        ("footage-without-shot", "animation,ana,wick-1,,,,,2026-03-02,"),
        ("day-in-the-future", "paint,ana,wick-1,,,,,2199-03-02,"),
        ("longer-than-a-day", "paint,ana,wick-1,,,,2026-03-02,2026-03-03,9000"),
    ],
)
def test_it_is_asked_of_what_was_loaded(
    credits_: Command, tmp_path: Path, check: str, row: str
) -> None:
    header = "craft,person,puppet,shot,take,frames,started_on,finished_on,minutes"
    (tmp_path / "entries-day.csv").write_text(f"{header}\n{row}\n")
    assert credits_("load", tmp_path / "entries-day.csv").status == 0
    found = [each for each in credits_("check", "--json").json["checks"] if each["check"] == check]
    assert any("A-8" in each["entries"] for each in found)


def test_the_last_frame_of_a_shot_is_in_it_and_the_next_one_is_not(credits_: Command) -> None:
    for frame in ("1", "48"):
        assert credits_("hands", "010-020", "--frame", frame).status == 0
    answer = credits_("hands", "010-020", "--frame", "49")
    assert answer.status == 2
    assert "--frame '49': shot 010-020 has 48 frames. Name a frame from 1 to 48." in answer.err
