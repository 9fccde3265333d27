"""Credits and proofs of an episode, on the command line."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.conftest import Command


@pytest.fixture
def series(tmp_path: Path, credits_: Command) -> Path:
    folder = tmp_path / "series"
    assert credits_("start", "The Series", folder).status == 0
    tables = tmp_path / "tables"
    tables.mkdir()
    (tables / "people.csv").write_text("person,credit_name\nana,Ana\nben,Ben\n")
    (tables / "characters.csv").write_text("character,name\nwick,Wick\n")
    (tables / "sequences.csv").write_text("sequence\n010\n")
    (tables / "shots.csv").write_text(
        "shot,sequence,frames,episode\n010-010,010,24,101\n010-020,010,24,102\n"
    )
    (tables / "entries.csv").write_text(
        "craft,person,character,shot,frames\n"
        "animation,ana,wick,010-010,1-24\nanimation,ben,wick,010-020,1-24\n"
    )
    assert credits_("load", tables, "-p", folder).status == 0
    return folder


def test_each_episode_has_its_credits_and_its_proofs(series: Path, credits_: Command) -> None:
    where = ("-p", series)
    one = credits_("roll", "--episode", "101", "--json", *where).json
    assert [line["name"] for section in one["sections"] for line in section["lines"]] == ["Ana"]
    for episode in ("101", "102", "101"):  # the third is the first again: nothing has changed
        assert credits_("roll", "--save", "--episode", episode, *where).status == 0
    assert credits_("roll", "--save", *where).status == 0
    proofs = credits_("roll", "--proofs", "--json", *where).json["proofs"]
    assert [proof["episode"] for proof in proofs] == ["101", "102", None]
    text = credits_("export", "text", "--episode", "102", *where).out
    assert text.startswith("The Series, 102")
    assert "Ben" in text
    assert "Ana" not in text
    assert credits_("export", "text", "--proof", "1", *where).out.startswith("The Series, 101")
    assert credits_("verify", *where).status == 0


def test_an_episode_that_no_shot_belongs_to_is_told(series: Path, credits_: Command) -> None:
    refused = credits_("roll", "--episode", "103", "-p", series)
    assert refused.status != 0
    assert "--episode '103': no shot belongs to this episode. There are 101 and 102." in refused.err


def test_why_answers_for_the_credits_of_an_episode(series: Path, credits_: Command) -> None:
    where = ("-p", series)
    assert len(credits_("why", "ana", "--json", *where).json["lines"]) == 1
    assert credits_("why", "ana", "--episode", "102", "--json", *where).json["lines"] == []
    assert credits_("why", "ana", "--episode", "9", *where).status == 2
