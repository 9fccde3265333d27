"""A small invented film, for the tests of the log."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from credits.model.facts import Character, Person, Puppet, Sequence, Shot, Stage
from credits.model.log import Batch
from credits.store.log import open_log
from credits.store.production import create_production
from tests.postgres_server import PostgresServer

FILM = Batch(
    people=(Person(code="ana", credit_name="Ana"), Person(code="ben", credit_name="Ben")),
    characters=(Character(code="wick", name="Wick"),),
    puppets=(Puppet(code="wick-1", character="wick"),),
    sequences=(Sequence("010"),),
    shots=(Shot(code="010-020", sequence="010", length=48),),
    stages=(Stage("stage-1"),),
)

ENGINES = ("sqlite", pytest.param("postgres", marks=pytest.mark.postgres))


IN_A_FILE = {"film_0001", "older", "second"}
"""Logs that are files: of versions that SQLite alone has had, or that are taken into another."""


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """What is said of a log is asked of both engines; what looks into SQLite's own file is marked
    ``sqlite``, function or module, and asks that one alone; what is said of
    a server is marked ``postgres``."""
    if "engine" in metafunc.fixturenames:
        alone = any(metafunc.definition.iter_markers("sqlite")) or IN_A_FILE & {
            *metafunc.fixturenames
        }
        engines = ENGINES[:1] if alone else ENGINES
        if any(metafunc.definition.iter_markers("postgres")):
            engines = ENGINES[1:]
        metafunc.parametrize("engine", engines, indirect=True)


@pytest.fixture
def engine(request: pytest.FixtureRequest) -> str:
    """The engine that keeps the log of a test: ``sqlite`` or ``postgres``."""
    return str(request.param)


def written(folder: Path) -> Path:
    """The folder of a log, with the small film in it."""
    with open_log(folder) as log, log.writing() as pen:
        pen.write(FILM)
    return folder


@pytest.fixture(scope="session")
def first_empty(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A production in which nothing was ever written: a copy is quicker than another."""
    return create_production(tmp_path_factory.mktemp("first") / "empty", "The Lamplighter")


@pytest.fixture(scope="session")
def first_film(first_empty: Path) -> Path:
    """The small film: a copy is quicker than another."""
    return written(Path(shutil.copytree(first_empty, first_empty.with_name("film"))))


@pytest.fixture
def empty(tmp_path: Path, engine: str, request: pytest.FixtureRequest) -> Path:
    """The folder of a production in which nothing was ever written."""
    if engine == "sqlite":
        first = request.getfixturevalue("first_empty")
        return Path(shutil.copytree(first, tmp_path / "film"))
    server: PostgresServer = request.getfixturevalue("on_server")
    return server.new_log(tmp_path / "film")


@pytest.fixture
def film(tmp_path: Path, engine: str, request: pytest.FixtureRequest) -> Path:
    """Ana and Ben, Wick with his puppet wick-1, and shot 010-020 of 48 frames on stage-1."""
    if engine == "sqlite":
        first = request.getfixturevalue("first_film")
        return Path(shutil.copytree(first, tmp_path / "film"))
    return written(request.getfixturevalue("empty"))
