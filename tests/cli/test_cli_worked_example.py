"""The shapes of the JSON answers, with the figures of the worked example."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.conftest import Command


@pytest.fixture(autouse=True)
def _in_the_worked_example(film_with_cut: Path) -> None:
    """Every test here stands in the worked example."""


def _five(shot: str, kept: str, accepted: str, cut: str) -> dict[str, str]:
    # The cut shows every frame once: on screen is what is in the cut.
    return {"shot": shot, "kept": kept, "accepted": accepted, "cut": cut, "screen": cut}


def test_footage_by_person(credits_: Command) -> None:
    assert credits_("footage", "--json").json == {
        "by": "person",
        "measures": ["shot", "kept", "accepted", "cut", "screen"],
        "cut": 1,
        "rows": [
            {
                "person": "ana",
                "character_frames": _five("30", "24", "24", "16"),
                "shot_frames": _five("30", "18", "18", "10"),
                "seconds": {
                    "shot": 1.25, "kept": 0.75, "accepted": 0.75, "cut": 0.42, "screen": 0.42
                },
            },
            {
                "person": "ben",
                "character_frames": _five("24", "24", "24", "16"),
                "shot_frames": _five("12", "12", "12", "8"),
                "seconds": {
                    "shot": 0.5, "kept": 0.5, "accepted": 0.5, "cut": 0.33, "screen": 0.33
                },
            },
            {
                "person": "cai",
                "character_frames": _five("36", "36", "36", "28"),
                "shot_frames": _five("24", "18", "18", "14"),
                "seconds": {
                    "shot": 1.0, "kept": 0.75, "accepted": 0.75, "cut": 0.58, "screen": 0.58
                },
            },
        ],
        "total": {
            "character_frames": _five("90", "84", "84", "60"),
            "shot_frames": _five("66", "48", "48", "32"),
            "seconds": {
                "shot": 2.75, "kept": 2.0, "accepted": 2.0, "cut": 1.33, "screen": 1.33
            },
        },
    }  # fmt: skip


@pytest.mark.parametrize(
    ("by", "keys"),
    [
        ("shot", [{"shot": "010-020"}]),
        ("character", [{"character": "wick"}, {"character": "brine"}]),
        ("week", [{"week": "2026-W10"}]),
        ("stage", [{"stage": None}]),
        ("person,shot", [{"person": p, "shot": "010-020"} for p in ("ana", "ben", "cai")]),
        ("week,character", [{"week": "2026-W10", "character": c} for c in ("wick", "brine")]),
    ],
)
def test_footage_by_other_things(credits_: Command, by: str, keys: list[dict[str, str]]) -> None:
    answer = credits_("footage", "--by", by, "--json").json
    figures = ("character_frames", "shot_frames", "seconds")
    assert answer["by"] == by
    assert [{k: v for k, v in row.items() if k not in figures} for row in answer["rows"]] == keys
    assert answer["total"]["shot_frames"]["kept"] == "48"


@pytest.mark.parametrize(
    ("options", "kept"),
    [
        (["--person", "Ana"], "18"),
        (["--person", "ana,ben"], "30"),
        (["--person", "ana", "--person", "ben"], "30"),
        (["--character", "brine"], "18"),
        (["--sequence", "010"], "48"),
        (["--to", "2026-03-02"], "18"),
        (["--from", "2026-03-03"], "30"),
        (["--from", "2026-03-04"], "0"),
    ],
)
def test_footage_of_a_part(credits_: Command, options: list[str], kept: str) -> None:
    answer = credits_("footage", *options, "--json")
    assert answer.json["total"]["shot_frames"]["kept"] == kept
    assert answer.status == 0


def _hands(credits_: Command, frame: int) -> set[tuple[str, str, str, str | None]]:
    answer = credits_("hands", "010-020", "--frame", frame, "--character", "wick", "--json").json
    assert (answer["shot"], answer["take"]) == ("010-020", 1)
    (run,) = answer["frames"]
    assert (run["first"], run["last"]) == (frame, frame)
    return {(h["person"], h["craft"], h["via"], h["puppet"]) for h in run["hands"]}


def test_hands_in_frame_9(credits_: Command) -> None:
    assert _hands(credits_, 9) == {
        ("ana", "animation", "frame", "wick-1"),
        ("ana", "voice", "character", None),
        ("cai", "sculpt", "character", None),
    }


def test_hands_in_frame_25(credits_: Command) -> None:
    assert _hands(credits_, 25) == {
        ("ben", "animation", "frame", "wick-1"),
        ("ana", "voice", "character", None),
        ("ana", "repair", "puppet", "wick-1"),
        ("cai", "sculpt", "character", None),
    }


def test_hands_of_the_whole_shot_in_runs(credits_: Command) -> None:
    answer = credits_("hands", "010-020", "--json").json
    runs = [(run["first"], run["last"]) for run in answer["frames"]]
    assert runs == [(1, 12), (13, 24), (25, 48)]
    first = answer["frames"][0]["hands"][0]
    assert first == {
        "person": "ana", "craft": "animation", "character": "wick", "via": "frame",
        "puppet": "wick-1", "part": None, "entries": ["A-1"],
    }  # fmt: skip


def test_reach(credits_: Command) -> None:
    both = {"shots": 1, "characters": ["wick", "brine"]}
    assert credits_("reach", "--json").json == {
        "rows": [
            {"person": "ana", "frames": 32, "screen_frames": 32, "seconds": 1.33, "shots": 1,
             "characters": ["wick"]},
            {"person": "ben", "frames": 16, "screen_frames": 16, "seconds": 0.67, "shots": 1,
             "characters": ["wick"]},
            {"person": "cai", "frames": 32, "screen_frames": 32, "seconds": 1.33, **both},
        ]
    }  # fmt: skip


def test_check(credits_: Command) -> None:
    answer = credits_("check", "--json")
    assert answer.status == 0  # questions, nothing that cannot be true
    found = {check["check"]: check for check in answer.json["checks"]}
    assert set(found) == {"nobody-voices", "no-engagement", "name-unconfirmed"}
    voice = found["nobody-voices"]
    assert voice["severity"] == "question"
    assert voice["subjects"]["character"] == "brine"
    assert set(voice) == {"check", "severity", "subjects", "entries", "message", "hint", "mend"}


def test_check_with_something_wrong_exits_1(credits_: Command, tmp_path: Path) -> None:
    (tmp_path / "puppets.csv").write_text("puppet,character,retired_on\nwick-1,wick,2026-02-01\n")
    assert credits_("load", tmp_path / "puppets.csv").status == 0
    answer = credits_("check", "--json")
    assert answer.status == 1
    assert "puppet-after-retirement" in {c["check"] for c in answer.json["checks"]}
    assert credits_("check").status == 1


def test_roll(credits_: Command) -> None:
    answer = credits_("roll", "--json").json
    assert answer["proof"] is None
    assert answer["order_of_appearance"] == ["wick", "brine"]
    sections = {s["heading"]: [line["name"] for line in s["lines"]] for s in answer["sections"]}
    assert sections["Animation"] == ["Ana", "Ben", "Cai"]
    (voice,) = next(s["lines"] for s in answer["sections"] if s["heading"] == "Voice")
    assert (voice["person"], voice["name"], voice["role"]) == ("ana", "Ana", "Wick")
    assert voice["because"]["entries"] == ["A-6"]
    assert set(voice["because"]) == {"rule", "threshold", "figures", "entries"}
    assert answer["held"] == []
    assert "legal department clears it" in answer["caution"]


def test_held_people_are_said_with_the_reason(credits_: Command, tmp_path: Path) -> None:
    (tmp_path / "people.csv").write_text("person,credit_name,credit_wish\nben,Ben,uncredited\n")
    credits_("load", tmp_path / "people.csv")
    (held,) = credits_("roll", "--json").json["held"]
    assert (held["person"], held["reason"]) == ("ben", "asked to be uncredited")
    assert held["figures"] == {"entries": 2, "engagements": 0}


def test_log(credits_: Command) -> None:
    answer = credits_("log", "paint", "ana", "wick-2", "--json")
    assert answer.json == {"entry": "A-8"}


def test_load(credits_: Command, tmp_path: Path) -> None:
    (tmp_path / "people.csv").write_text(
        "person,credit_name\nana,Ana\nben,Ben Lind\ndov,Dov\neva,Eva\n"
    )
    answer = credits_("load", tmp_path / "people.csv", "--json")
    counts = {"people": {"new": 2, "changed": 1, "same": 1}}
    assert answer.json["tables"] == counts
    assert (answer.json["problems"], answer.json["notes"]) == ([], [])
    assert answer.json["written"]
    assert [(c["key"], c["columns"]) for c in answer.json["lists"]] == [
        ("ben", {"credit_name": ["Ben", "Ben Lind"]})
    ]


def test_reports_for_people_say_the_same_figures(credits_: Command) -> None:
    lines = [line.split("\t") for line in credits_("footage").out.splitlines()]
    assert lines[0][:7] == ["person", "name", "shot", "kept", "accepted", "cut", "screen"]
    assert lines[1][:7] == ["ana", "Ana", "30", "18", "18", "10", "10"]
    # 48 frames of 35 mm 4-perf are 3 feet (16 frames a foot, 7-sources)
    assert lines[-1][-3:] == ["2.00", "3+00", "84"]
    assert "32\t32\t1.33\t2+00\t1" in credits_("reach").out
    assert "Wick\tBen\tAnimation\tframe\tA-2" in credits_("hands", "010-020").out
    assert "Animation\tAna\t\tspelling not confirmed" in credits_("roll").out
