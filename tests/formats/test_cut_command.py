"""``credits cut`` with timelines: what it says, and the cut written out again."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from cut_files import clip, gap, row, saved

from credits.cli.main import run
from tests.productions import production_from, written_tables


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    tables = written_tables(
        tmp_path / "tables",
        {
            "sequences": "sequence\n010",
            "shots": "shot,sequence,frames\n010-010,010,48\n010-020,010,48",
        },
    )
    return production_from(tmp_path / "film", sorted(tables.iterdir()))


def credits(folder: Path, *words: object) -> int:
    return run(["cut", *(str(word) for word in words), "--production", str(folder)])


def test_it_says_what_was_understood(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    titles = [clip(f"TITLE {n}", (0, 24)) for n in range(30)]
    file = saved(tmp_path / "a.otio", row(clip("010-010", (1, 48)), gap(24), *titles))
    assert credits(folder, file) == 0
    told = capsys.readouterr()
    assert told.out == "Cut version 1: 1 clip of 1 shot, 792 frames (0:33).\n"
    assert len(told.err.splitlines()) == 31
    assert credits(folder, file) == 0
    assert capsys.readouterr().out == "Nothing new: cut version 1 is the same.\n"


def test_the_cut_in_use_is_written_out(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out.otio"
    assert credits(folder, "--save", out) == 1
    assert "there is no cut yet. Import one" in capsys.readouterr().err
    tracks = row(clip("010-010", (3, 4), -1.0, media=(1, 48)), gap(2), clip("010-020", (1, 4), 0.5))
    assert credits(folder, saved(tmp_path / "in.otio", tracks)) == 0
    assert credits(folder, "--save", out) == 0
    assert credits(folder, "--save", tmp_path / "out.edl") == 2
    capsys.readouterr()
    assert credits(folder, out, "--json") == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer == {
        "cut": 1,
        "new": False,
        "clips": 2,
        "shots": 2,
        "length": 10,
        "not_understood": [],
    }


def test_handles_are_told_and_the_first_frame_that_is_given_counts(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The media begins eight frames before the shot: its frame 1 is number 1009."""
    file = saved(tmp_path / "in.otio", row(clip("010-010", (1009, 48), media=(1001, 64))))
    assert credits(folder, file) == 0
    assert "its media has 64 frames (1001 to 1064)" in capsys.readouterr().err
    assert credits(folder, file, "--first-frame", "1009") == 0
    told = capsys.readouterr()
    assert (told.out, told.err) == ("Cut version 2: 1 clip of 1 shot, 48 frames (0:02).\n", "")


def test_what_is_wrong_is_told_and_nothing_is_written(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = saved(tmp_path / "a.otio", row(clip("010-010", (1, 4), rate=25.0)))
    assert credits(folder, file) == 1
    assert "25 frames a second, but the production has 24" in capsys.readouterr().err
    assert credits(folder, "--list", "--json") == 0
    assert json.loads(capsys.readouterr().out) == {"cuts": []}
