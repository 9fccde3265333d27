"""Tables of a log of which single facts are found: what is found is what the whole table says."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from credits.app.find import join_people
from credits.figures.keep import open_figures
from credits.figures.lookups import kept_ledger
from credits.formats.tables.columns import codes_of
from credits.model import lazy
from credits.model.ledger import Ledger
from credits.model.replay import replay
from credits.store.beside.lists import KeptLists
from credits.store.log import open_log
from tests.productions import production_from, written_tables

TABLES = {
    "people": "person,credit_name\nana,Ana Lind\nBen,Ben Oss\nana2,Ana Lind\ncai,Cai",
    "engagements": """person,department,job_title
        ana2,Puppets,Painter
        Ben,Animation,Animator
        ana,Animation,Animator""",
    "characters": "character,name\nwick,Wick\nbrine,Brine",
    "puppets": "puppet,character\nwick-1,wick\nwick-2,wick\nbrine-1,brine",
    "parts": "part,kind,character\near,ear,wick\nmouth-a,mouth,brine",
    "fittings": "part,puppet,from_on\near,wick-1,2026-03-01\near,wick-2,2026-03-05",
    "sequences": "sequence,name\n010,One\n020,Two",
    "shots": "shot,sequence,frames\n010-010,010,48\n010-020,010,60\n020-010,020,24",
    "takes": "shot,take,purpose\n010-010,1,rehearsal\n010-010,2,shoot\n020-010,1,shoot",
}
FIELDS = (
    "people", "engagements", "characters", "puppets", "parts", "sequences", "shots", "stages",
    "takes", "one_person", "puppets_of", "fittings_of_puppet", "fittings_of_part", "shots_of",
    "takes_of",
)  # fmt: skip
NOBODY: dict[str, Any] = {"takes": ("010-010", 9)}


@pytest.fixture
def film(tmp_path: Path) -> Path:
    folder = production_from(tmp_path / "film", [written_tables(tmp_path / "tables", TABLES)])
    join_people(folder, "ana", "ana2")
    return folder


def whole(film: Path) -> Ledger:
    with open_log(film) as log:
        return replay(log.read())


@pytest.mark.parametrize("few", [2, 1000])
@pytest.mark.parametrize("field", FIELDS)
def test_what_is_found_is_what_the_table_says(
    film: Path, monkeypatch: pytest.MonkeyPatch, field: str, few: int
) -> None:
    """few: after so many the whole table is read."""
    monkeypatch.setattr(lazy, "FEW", few)
    expected: Mapping[Any, Any] = getattr(whole(film), field)
    found: Mapping[Any, Any] = getattr(kept_ledger(open_figures(film)), field)
    assert NOBODY.get(field, "nobody") not in found
    assert "\udcff" not in found
    assert {key: found[key] for key in expected} == expected
    assert list(found) == list(expected)
    assert found.get(NOBODY.get(field, "nobody")) is None


def test_a_code_is_found_in_any_spelling_and_no_table_is_read(
    film: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(*_: object) -> None:
        raise AssertionError("a whole table is read")

    file = open_figures(film)
    monkeypatch.setattr(KeptLists, "_list", refused)
    codes = codes_of(file.tables())
    assert codes["people"].get("BEN") == "Ben"
    assert codes["people"].get("nobody") is None
    assert codes["shots"].get("010-020") == "010-020"


def test_a_table_is_read_once_and_again_where_it_has_changed(film: Path) -> None:
    file = open_figures(film)
    assert file.tables().people[0] is file.tables().people[0]
    again = open_figures(film)
    again.knows(file)
    assert again.tables().people[0] is file.tables().people[0]
    join_people(film, "ana", "ana2", undo=True)
    later = open_figures(film)
    later.knows(file)
    assert [person.same_as for person in later.tables().people] == [None] * 4
    assert [person.same_as for person in file.tables().people] == [None, None, "ana", None]
