"""What the desk answers: nothing that is private to a person, wherever it is asked."""

from __future__ import annotations

from pathlib import Path

import pytest

from credits.store.log import open_log
from tests.canary_production import canary_production
from tests.canary_table import CANARIES
from tests.conftest import made_once
from tests.desk.conftest import client_of, come_in

# What the crew list says of people beside how they are called and what they do.
PRIVATE = {"zqlegal", "zqsamelegal", "zqhiddenlegal", "zqmail", "zqpersonnote", "zqguaranteed"}


@pytest.fixture(scope="module")
def answers(shared_folder: Path) -> str:
    """Everything that the desk answers about the production of canaries."""

    def make(folder: Path) -> None:
        canary_production(folder / "film")

    film = made_once(shared_folder / "at-the-desk", make) / "film"
    with open_log(film) as log:
        works = [line.work for line in log.read().lines if line.work is not None]
    days = sorted({str(work.day) for work in works if work.day is not None})
    assert len(days) > 5
    http = come_in(client_of(film))
    asked = ["/", "/words"]
    for path in ("/day/", "/since?day=", "/questions?day="):
        asked += [f"{path}{day}" for day in days]
    told = [http.get(path) for path in asked]
    assert {answer.status_code for answer in told} <= {200, 303, 307}
    return "\n".join(answer.text for answer in told)


def test_the_desk_tells_nothing_private(answers: str) -> None:
    assert [name for name in sorted(PRIVATE) if name in answers] == []
    assert set(PRIVATE) <= {canary.name for canary in CANARIES}


def test_the_desk_tells_what_was_logged(answers: str) -> None:
    """So that the test before would see what it looks for."""
    assert {"zqstage", "zqordinary", "zqheldcode"} <= {
        canary.name for canary in CANARIES if canary.name in answers
    }
