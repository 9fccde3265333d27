"""What `credits why` tells: reasons, and nothing of people that no reason needs.

It is asked where the log lies, so it tells what the office may see: who is held, what contracts
guarantee, who asked to be uncredited. Legal names, addresses, notes and who logged what it never
tells, unless somebody asks by that very name.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pytest

from credits.cli.main import run
from tests.canary_bytes import Read
from tests.canary_production import canary_production
from tests.canary_table import CANARIES, NOBODY
from tests.conftest import made_once

PEOPLE = ("ana", "ben", "cai", "dee", "eli", "zqheldcode", "zqhiddencode", "zqsamecode")
HEADINGS = (
    "By contract", "Voices", "Animators", "Animators of Brine", "On the stage", "Makers",
    "Menders", "Thanks",
)  # fmt: skip
QUESTIONS = (
    *PEOPLE,
    *(f"heading={heading}" for heading in HEADINGS),
    "character=wick",
    "character=brine",
    "--not-printed",
)
TOLD = {
    "zqplanname", "zqjobtitle", "zqguaranteed", "billing number 7883", "zqheldcode", "zqheldname",
    "held, the reason", "threshold 7841", "zqhiddencode", "zqhiddenname", "zqhiddenjob",
    "zqhiddenguarantee", "billing number 7879", "asked to be uncredited", "entry", "any day",
    "begun in 1964", "finished in 1965", "animated in 1971", "the last day of all",
}  # fmt: skip
"""Canaries that reasons are made of. No other is in any answer."""


@pytest.fixture(scope="module")
def film(shared_folder: Path) -> Path:
    def make(folder: Path) -> None:
        canary_production(folder / "film")

    return made_once(shared_folder / "asked-why", make) / "film"


def told(film: Path, capfd: pytest.CaptureFixture[str], *words: str) -> tuple[int, set[str]]:
    """Whether it is answered, and every canary of the answer."""
    capfd.readouterr()
    status = run(["why", *words, "--production", str(film)])
    answer = Read("", " ".join(capfd.readouterr()).lower())
    return status, {canary.name for canary in CANARIES if answer.has(canary)}


def test_every_answer_tells_reasons_and_nothing_private(
    film: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    found = set[str]()
    for question in QUESTIONS:
        for form in ((), ("--json",)):
            status, canaries = told(film, capfd, question, *form)
            assert status == 0
            assert canaries <= TOLD, (question, form)
            found |= canaries
    assert found == TOLD


def test_who_is_asked_about_is_told_of_and_of_nobody_else_what_was_agreed(
    film: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    agreed = {
        "ben": {"zqguaranteed", "billing number 7883", "zqjobtitle"},
        "zqhiddencode": {
            "zqhiddenguarantee", "billing number 7879", "zqhiddenjob", "zqhiddenname",
            "zqhiddencode", "asked to be uncredited",
        },
        "zqheldcode": {"zqheldname", "zqheldcode", "held, the reason", "threshold 7841"},
    }  # fmt: skip
    for person in PEOPLE:
        others = set[str]().union(*(names for code, names in agreed.items() if code != person))
        for form in ((), ("--json",)):
            _, canaries = told(film, capfd, person, *form)
            assert canaries & others == set(), (person, form)


@pytest.mark.parametrize(
    ("asked", "name"),
    [("zqlegal", "zqlegal"), ("ZQSAMELEGAL", "zqsamelegal"), ("zqhiddenlegal", "zqhiddenlegal")],
)
def test_a_legal_name_is_told_to_whoever_asks_by_it(
    film: Path, capfd: pytest.CaptureFixture[str], asked: str, name: str
) -> None:
    for form in ((), ("--json",)):
        status, canaries = told(film, capfd, asked, *form)
        assert status == 0
        assert canaries - TOLD == {name}


@pytest.mark.parametrize(
    "asked",
    [
        ("zqlega",), ("zqhiddenlega",), ("zqmai",), ("mail@a.example",), ("zqpersonnot",),
        ("zqhiddenpersonnot",), ("zqhiddenprivat",), ("zqproofb",), ("person=zqlega",),
        ("0000 0001 2281 955",), ("zqloggedb",), ("zqsamelega", "--episode", "zqepisode"),
    ],
)  # fmt: skip
def test_nobody_is_helped_to_guess_what_is_private(
    film: Path, capfd: pytest.CaptureFixture[str], asked: Sequence[str]
) -> None:
    """What is nearly it is not completed, nor is it said that there is something like it."""
    for form in ((), ("--json",)):
        status, canaries = told(film, capfd, *asked, *form)
        assert status != 0
        private = {canary.name for canary in CANARIES if canary.least is NOBODY}
        private |= {"zqpersonnote", "zqhiddenpersonnote", "zqhiddenprivate", "zqproofby", "isni"}
        assert canaries & private <= {"zqepisode"} & set(asked)
