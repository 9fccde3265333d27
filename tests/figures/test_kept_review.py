"""Reviews of what is kept: of any period, they are those that the whole log makes."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from credits.app.review import review_of
from credits.figures.snapshot import Snapshot
from credits.model.replay import replay
from credits.review.review import Reviews
from credits.store.log import open_log
from credits.units.film_time import Period
from tests.productions import production_from, written_tables

# A week from Monday, 2 March 2026; days before it and behind it, and one that nobody wrote down.
TABLES = {
    "people": "person,credit_name\n"
    + "\n".join(f"{code},{code.title()} Lind" for code in ("ana", "ben", "cai", "dov")),
    "characters": "character,name\nwick,Wick",
    "puppets": "puppet,character\nwick-1,wick",
    "sequences": "sequence\n010\n020",
    "shots": "shot,sequence,frames\n010-010,010,120\n020-010,020,400",
    "takes": "shot,take,purpose,decision\n010-010,1,block,\n010-010,2,shoot,accepted",
    "entries": """craft,person,puppet,shot,take,frames,finished_on,minutes,wait_minutes
        animation,ana,wick-1,010-010,1,1-24,2026-02-27,100,
        animation,ana,wick-1,010-010,2,1-24,2026-03-02,200,
        animation,ana,wick-1,020-010,1,1-30,2026-03-04,300,
        animation,ana,wick-1,,,,2026-03-08,30,
        animation,ben,wick-1,010-010,2,25-60,2026-03-03,,
        animation,ben,wick-1,020-010,1,31-60,2026-03-08,400,
        animation,cai,wick-1,010-010,2,20-90,2026-03-02,,
        animation,cai,wick-1,020-010,1,61-90,2026-03-11,,
        animation,dov,wick-1,020-010,1,91-200,2026-03-05,50,
        animation,dov,wick-1,020-010,1,241-250,,60,
        repair,ben,wick-1,,,,2026-03-03,30,15
        repair,ben,wick-1,020-010,,,2026-03-09,30,45""",
}
DAYS = (date(2026, 2, 27), date(2026, 3, 2), date(2026, 3, 4), date(2026, 3, 8), date(2026, 3, 11))
PERIODS = [
    *(Period(first, last) for first in DAYS for last in DAYS if first <= last),
    *(Period(None, day) for day in DAYS),
    *(Period(day, None) for day in DAYS),
    Period(),
]


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A film of two shots whose figures are kept."""
    own = tmp_path_factory.mktemp("periods")
    return production_from(own / "film", [written_tables(own / "tables", TABLES)])


def test_a_review_of_part_of_a_week_is_that_of_the_log(film: Path) -> None:
    with open_log(film) as log:
        computed = Snapshot(replay(log.read()))
    reviews = Reviews(computed.ledger, computed.poses, computed.footage)
    for period in PERIODS:
        for person in ("ana", "ben"):
            kept = review_of(film, person, period)
            assert kept.review == reviews.of(person, period), (person, period)
            assert kept.expectation == reviews.expectation(person, period)


def test_the_days_of_a_week_that_lie_in_a_period_are_those_that_count(film: Path) -> None:
    whole = review_of(film, "ana", Period(date(2026, 3, 2), date(2026, 3, 8)))
    part = review_of(film, "ana", Period(date(2026, 3, 2), date(2026, 3, 4)))
    assert whole.review.ranges["stage_days"].high == 2  # Ben, on the 3rd and the 8th
    assert (part.review.others, part.review.ranges) == (2, {})  # Dov worked on the 5th
