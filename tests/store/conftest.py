"""A small invented film, for the tests of the log."""

from __future__ import annotations

from pathlib import Path

import pytest

from credits.model.facts import Character, Person, Puppet, Sequence, Shot, Stage
from credits.model.log import Batch
from credits.store.log import open_log
from credits.store.production import create_production


@pytest.fixture
def empty(tmp_path: Path) -> Path:
    """The folder of a production in which nothing was ever written."""
    return create_production(tmp_path / "film", "The Lamplighter")


@pytest.fixture
def film(empty: Path) -> Path:
    """Ana and Ben, Wick with his puppet wick-1, and shot 010-020 of 48 frames on stage-1."""
    tables = Batch(
        people=(Person(code="ana", credit_name="Ana"), Person(code="ben", credit_name="Ben")),
        characters=(Character(code="wick", name="Wick"),),
        puppets=(Puppet(code="wick-1", character="wick"),),
        sequences=(Sequence("010"),),
        shots=(Shot(code="010-020", sequence="010", length=48),),
        stages=(Stage("stage-1"),),
    )
    with open_log(empty) as log, log.writing() as pen:
        pen.write(tables)
    return empty
