"""Entries: what a row may say, and what it says together with the tables."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest
from given_tables import film, loaded, plan, problems

from credits.model.facts import Work
from credits.model.log import Verb
from credits.units.frames import Frames


def test_every_column_of_an_entry_is_read(tmp_path: Path) -> None:
    text = """
        ref,craft,person,character,puppet,part,sequence,shot,take,frames,poses_on,share,started_on,finished_on,minutes,wait_minutes,stage,note,private,logged_by
        7,ANIMATION,Ana,wick,WICK-1,gloves,010,010-020,2,"1-20,25-48",2,1/2,2026-03-01,2026-03-02,540,15,a,**good**,yes,Cora
    """
    (line,) = plan(tmp_path, film(tmp_path), entries=text).batch.lines
    assert line.work == Work(
        craft="animation",
        person="ana",
        character="wick",
        puppet="wick-1",
        part="gloves",
        sequence="010",
        shot="010-020",
        take=2,
        frames=Frames.parse("1-20,25-48"),
        poses_on=2,
        share=Fraction(1, 2),
        started_on=date(2026, 3, 1),
        finished_on=date(2026, 3, 2),
        minutes=540,
        wait_minutes=15,
        stage="A",
        note="**good**",
        private=True,
    )
    assert (line.verb, line.ref, line.logged_by) == (Verb.RECORD, "7", "Cora")
    assert line.source == "entries.csv row 2"


@pytest.mark.parametrize(
    ("header", "row", "said"),
    [
        ("craft,person", "animation,ana", "character: the entry names no character, puppet or"),
        ("craft,person", "sculpt,ana", "character: the entry names no character, puppet or part"),
        ("craft,person,part", "animation,ana,gloves", "character: part gloves belongs to no"),
        (
            "craft,person,character,puppet",
            "animation,ana,brine,wick-1",
            "puppet 'wick-1': is a puppet of wick, not of brine. Correct the puppet or the",
        ),
        (
            "craft,person,character,part",
            "faces,ana,brine,wick-face-012",
            "part 'wick-face-012': is a part of wick, not of brine.",
        ),
        (
            "craft,person,puppet,part",
            "repair,ana,brine-1,wick-face-012",
            "part 'wick-face-012': is a part of wick, not of brine.",
        ),
        (
            "craft,person,character,take",
            "animation,ana,wick,2",
            "take '2': the entry names no shot",
        ),
        (
            "craft,person,character,frames",
            "animation,ana,wick,1-12",
            "frames '1-12': the entry names no shot. Name the shot they are in.",
        ),
        (
            "craft,person,character,sequence,shot",
            "animation,ana,wick,020,010-020",
            "sequence '020': shot 010-020 is in sequence 010. Write 010, or leave it empty.",
        ),
        (
            "craft,person,character,started_on,finished_on",
            "animation,ana,wick,2026-03-02,2026-03-01",
            "finished_on '2026-03-01': lies before started_on (2026-03-02).",
        ),
        (
            "craft,person,character",
            "animation,anna,wick",
            "person 'anna': there is no such person. Write ana, or add anna to the people table.",
        ),
        (
            "craft,person,character",
            "animaton,ana,wick",
            "craft 'animaton': there is no such craft.",
        ),
        ("craft,person,character", "animation,,wick", "person: is empty."),
        ("craft,person,character,minutes", "paint,ana,wick,-5", "minutes '-5': is not a length"),
    ],
)
def test_an_entry_that_cannot_be_is_refused(
    tmp_path: Path, header: str, row: str, said: str
) -> None:
    found = problems(tmp_path, film(tmp_path), entries=f"{header}\n{row}")
    assert len(found) == 1
    assert found[0].startswith(f"entries.csv row 2: {said}")


@pytest.mark.parametrize(
    ("header", "row"),
    [
        ("craft,person,part", "costume,ana,gloves"),
        ("craft,person,puppet", "animation,ana,wick-1"),
        ("craft,person,part", "animation,ana,wick-face-012"),
        ("craft,person,character,part", "animation,ana,wick,gloves"),
        ("craft,person,puppet,shot", "repair,ana,wick-1,010-020"),
        ("craft,person,character,shot,frames", "animation,ana,wick,010-020,40-60"),
        ("craft,person,character,poses_on,share", "paint,ana,wick,2,3"),
    ],
)
def test_an_entry_that_can_be_is_taken(tmp_path: Path, header: str, row: str) -> None:
    log = loaded(tmp_path, film(tmp_path), entries=f"{header}\n{row}")
    assert len(log.lines) == 1


def test_nothing_is_concluded_from_a_cell_that_cannot_be_read(tmp_path: Path) -> None:
    text = "craft,person,character,shot,frames\nanimation,ana,wikc,010-02,1-12"
    found = problems(tmp_path, film(tmp_path), entries=text)
    assert [f.split(": there")[0] for f in found] == [
        "entries.csv row 2: character 'wikc'",
        "entries.csv row 2: shot '010-02'",
    ]


def test_nothing_is_concluded_from_a_column_with_a_wrong_name(tmp_path: Path) -> None:
    text = "craft,person,charakter\nanimation,ana,wick\nsculpt,ben,brine"
    found = problems(tmp_path, film(tmp_path), entries=text)
    assert len(found) == 1
    assert "column 'charakter': is not a column of this table. Rename it character" in found[0]


def test_entries_may_come_with_the_people_and_puppets_they_name(tmp_path: Path) -> None:
    log = loaded(
        tmp_path,
        film(tmp_path),
        people="person,credit_name\nCai,Cai",
        puppets="puppet,character\nbrine-2,brine",
        entries="craft,person,puppet\nfabrication,cai,BRINE-2",
    )
    (line,) = log.lines
    assert line.work == Work(craft="fabrication", person="Cai", puppet="brine-2")


def test_an_entry_is_judged_by_the_tables_as_they_will_stand(tmp_path: Path) -> None:
    found = problems(
        tmp_path,
        film(tmp_path),
        puppets="puppet,character\nwick-2,brine",
        entries="craft,person,character,puppet\nanimation,ana,wick,wick-2",
    )
    assert found[0].startswith("entries.csv row 2: puppet 'wick-2': is a puppet of brine, not of")
