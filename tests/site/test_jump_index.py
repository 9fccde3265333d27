"""What the jump box knows: every kind of place, and people of one name told apart."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from credits.app.production import open_snapshot
from credits.editions import Edition
from credits.site.jump import jump_file
from credits.site.source import PageSource
from tests.productions import production_from, written_tables

TABLES = {
    "people": """person,credit_name,sort_name
        ana,Ana Lind,
        ana-b,Ana  LIND,
        ana-c,Ana Lind,
        ana-d,Ana Lind,
        ben,Ксения Полуденко,"Zqformer, Ксения\"""",
    "characters": "character,name\nwick,Wick",
    "puppets": "puppet,character\nwick-1,wick",
    "parts": "part,kind,character\nhat-1,hat,wick\ncup-1,cup,\nrag-1,rag,",
    "fittings": "part,puppet,from_on\ncup-1,wick-1,2026-01-01",
    "sequences": "sequence,name\n010,The Quay\n020,Nothing yet",
    "shots": "shot,sequence,frames,description\n010-010,010,48,Wick *runs* for the boat.",
    "stages": "stage,unit\nnorth,Main unit\nsouth,",
    "entries": """craft,person,puppet,shot,frames,finished_on,stage
        animation,ana,wick-1,010-010,1-20,2026-03-02,north
        animation,ben,wick-1,010-010,21-30,2026-03-10,north
        sculpt,ana-b,wick-1,,,2026-01-05,
        paint,ana-c,wick-1,,,2026-01-06,
        paint,ana-d,wick-1,,,2026-01-07,""",
}


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("jump")
    return production_from(folder / "film", [written_tables(folder / "tables", TABLES)])


def rows(film: Path, edition: Edition) -> list[tuple[str, ...]]:
    """The rows of the index as a program reads them."""
    (file,) = jump_file(PageSource(open_snapshot(film), edition))
    text = file.content.decode("ascii")
    read = json.loads(text.partition("window.CREDITS_JUMP = ")[2].rstrip().rstrip(";"))
    return [tuple(row) for row in read]


def of_kind(film: Path, edition: Edition, kind: str) -> list[tuple[str, ...]]:
    return [row[1:] for row in rows(film, edition) if row[0] == kind]


def test_people_of_one_name_are_told_apart_by_craft_and_then_by_code(film: Path) -> None:
    apart = {row[2]: row[1] for row in of_kind(film, Edition.PUBLIC, "person")}
    assert apart == {
        "people/ana.html": "Animation",
        "people/ana-b.html": "Puppet sculpting",
        "people/ana-c.html": "Puppet painting, ana-c",
        "people/ana-d.html": "Puppet painting, ana-d",
        "people/ben.html": "",
    }


def test_what_the_public_does_not_see_is_not_searched(film: Path) -> None:
    (crew,) = (row for row in of_kind(film, Edition.CREW, "person") if "ben" in row[2])
    (public,) = (row for row in of_kind(film, Edition.PUBLIC, "person") if "ben" in row[2])
    assert crew[3] == "Zqformer, Ксения ksiniya poludinko zqformer ksiniya ben"
    assert public[3] == "ksiniya poludinko"


def test_the_crew_finds_shots_by_what_happens_in_them(film: Path) -> None:
    assert of_kind(film, Edition.CREW, "shot") == [
        ("010-010", "The Quay: Wick runs for the boat.", "shots/010-010.html", "")
    ]
    (sequence,) = of_kind(film, Edition.CREW, "sequence")  # the other has no place on the page
    assert sequence == ("010, The Quay", "", "shots/index.html#s-010", "")


def test_stages_lead_to_the_last_week_at_work_and_weeks_say_their_days(film: Path) -> None:
    assert of_kind(film, Edition.CREW, "stage") == [
        ("Stage north", "Main unit, last at work in week 2026-W11", "weeks/2026-w11.html", ""),
        ("Stage south", "", "weeks/index.html", ""),
    ]
    weeks = of_kind(film, Edition.CREW, "week")
    assert [row[:2] for row in weeks][-1] == ("Week 2026-W11", "9–15 March 2026")


def test_a_part_leads_to_its_character_or_to_the_puppet_that_wore_it(film: Path) -> None:
    hat = ("hat hat-1", "Wick", "characters/wick.html", "")
    assert of_kind(film, Edition.CREW, "part") == [
        hat,
        ("cup cup-1", "", "puppets/wick-1.html", ""),
    ]
    assert of_kind(film, Edition.PUBLIC, "part") == [hat]


def test_the_public_index_has_no_shots_weeks_and_stages(film: Path) -> None:
    kinds = {row[0] for row in rows(film, Edition.PUBLIC)}
    assert kinds == {"character", "person", "puppet", "part", "craft"}
