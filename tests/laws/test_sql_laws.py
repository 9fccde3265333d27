"""A law: footage by person is what a query in SQL, over every frame written out, makes of it."""

from __future__ import annotations

from fractions import Fraction

import duckdb
from hypothesis import given, settings

from benchmarks.footage_sql import footage_by_person
from benchmarks.sql_tables import fill
from credits.footage.footage import MEASURES, FootageTotals
from credits.model.log import WrittenLog
from credits.model.replay import replay
from tests.computed import footage_of
from tests.drawn import drawn
from tests.laws.strategies import productions


def figures(totals: FootageTotals) -> tuple[Fraction, ...]:
    """The five measures of character footage, then those of shot footage."""
    both = (totals.character, totals.by_shot)
    return tuple(Fraction(each.of(measure)) for each in both for measure in MEASURES)


@settings(max_examples=drawn(60), deadline=None)
@given(log=productions())
def test_footage_by_person_is_that_of_the_query(log: WrittenLog) -> None:
    _, _, footage = footage_of(replay(log))
    ours = footage.by(lambda cell: cell.person)
    with duckdb.connect() as database:
        fill(database, log)
        assert footage_by_person(database) == {
            person: figures(totals) for person, totals in ours.items()
        }
