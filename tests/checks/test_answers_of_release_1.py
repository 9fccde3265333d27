"""Answers that the first release wrote: its log is read with every one of them.

release_1.sql is a log that it made: a production in which all checks ask something that can be
asked, with every question answered. release_1.json is what its ``credits check --json`` said of it.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import closing
from dataclasses import fields, replace
from datetime import date, timedelta
from enum import StrEnum
from pathlib import Path
from typing import Any

import pytest

from credits.checks.answers import FORMAT, WorksOf, fingerprint, fingerprint_1
from credits.checks.checks import CHECKS
from credits.checks.rule import Check
from credits.figures.snapshot import Snapshot
from credits.model.facts import EntryNumber, Fitting, Settlement
from credits.model.ledger import Ledger
from credits.model.replay import replay
from credits.model.words import Named, NamedPart, NamedPuppet
from credits.store.log import open_log
from credits.store.production import create_production
from credits.units.frames import Frames, union

HERE = Path(__file__).parent
SAID: list[dict[str, Any]] = json.loads((HERE / "release_1.json").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def ledger(tmp_path_factory: pytest.TempPathFactory) -> Ledger:
    """The ledger of the log that the first release wrote."""
    folder = tmp_path_factory.mktemp("release") / "film"
    create_production(folder, "The Small Film")
    log = folder / "production.db"
    log.unlink()
    with closing(sqlite3.connect(log)) as database:
        database.executescript((HERE / "release_1.sql").read_text(encoding="utf-8"))
    with open_log(folder) as written:
        return replay(written.read())


@pytest.fixture(scope="module")
def results(ledger: Ledger) -> Snapshot:
    return Snapshot(ledger)


def subjects_of(said: Mapping[str, Any]) -> list[tuple[str, str]]:
    return [
        (kind, code)
        for kind, codes in said["subjects"].items()
        for code in (codes if isinstance(codes, list) else [codes])
    ]


OF_RELEASE_1 = {said["check"] for said in SAID}


def asked(results: Snapshot) -> list[Check]:
    """What the checks of that release ask today; those that came later are left out."""
    return [check for check in results.checks if check.kind in OF_RELEASE_1]


def test_its_log_asks_everything_that_a_log_can_ask() -> None:
    # Twenty of its twenty-one checks: only a fault of the program leaves anybody out.
    assert len(OF_RELEASE_1) == 20
    assert {check.kind for check in CHECKS} >= OF_RELEASE_1


def test_every_message_is_as_it_was(results: Snapshot) -> None:
    """A message that is to be reworded moves as it is to fingerprint_1 first."""
    assert [(check.kind, str(check.severity), check.message) for check in asked(results)] == [
        (said["check"], said["severity"], said["message"]) for said in SAID
    ]
    assert [(list(check.subjects), list(map(str, check.entries))) for check in asked(results)] == [
        (subjects_of(said), said["entries"]) for said in SAID
    ]


def test_every_answer_holds(results: Snapshot) -> None:
    answers = {settled.check: settled.answer.why for settled in results.settled}
    assert len(answers) > 40
    assert [answers.get(check) for check in asked(results)] == [said["why"] for said in SAID]
    assert all(":" not in settled.answer.facts for settled in results.settled)


def test_an_answer_is_asked_again_when_a_fact_changes(ledger: Ledger) -> None:
    ana = replace(ledger.people["ana"], credit_name="Ana M. Lind")
    found = Snapshot(replace(ledger, people={**ledger.people, "ana": ana}))
    about_ana = {check for check in found.checks if ("person", "ana") in check.subjects}
    assert len(about_ana) > 4
    assert about_ana <= set(found.open_checks)


def answered_again(check: Check, ledger: Ledger, **changes: Any) -> Snapshot:
    """The ledger with a line of today behind the answers, about the facts of a check."""
    first = ledger.settlements[0]
    facts = fingerprint(check, WorksOf(ledger))
    line = Settlement(
        check=check.kind,
        subjects=check.subjects,
        facts=facts,
        settled_at=first.settled_at,
        **changes,
    )
    return Snapshot(replace(ledger, settlements=(*ledger.settlements, line)))


def test_an_old_answer_is_taken_back_and_given_anew(results: Snapshot) -> None:
    check = results.settled[0].check
    assert check in answered_again(check, results.ledger, taken_back=True).open_checks
    anew = answered_again(check, results.ledger, why="Asked again.").settled[0]
    assert (anew.check, anew.answer.why) == (check, "Asked again.")


# --- fingerprints: of facts, never of words


def reworded(check: Check) -> Check:
    """The same facts, said otherwise."""
    kind = type(check)
    words = {"message": property(lambda _: "Other words."), "hint": property(lambda _: "Others.")}
    other: type[Check] = type(kind.__name__, (kind,), {"__slots__": (), **words})
    return other(**{fact.name: getattr(check, fact.name) for fact in fields(check)})


def test_a_message_that_is_reworded_changes_no_fingerprint(results: Snapshot) -> None:
    works = WorksOf(results.ledger)
    for check in asked(results):
        other = reworded(check)
        assert other.message != check.message
        assert fingerprint(other, works) == fingerprint(check, works)
        assert fingerprint_1(other, works) != fingerprint_1(check, works)


def others(value: Any) -> Iterator[Any]:
    """The value otherwise: of a person or thing each of its fields."""
    match value:
        case Frames():
            yield union([value, Frames.span(9_001, 9_002)])
        case Named() | NamedPuppet() | NamedPart() | Fitting():
            for field in fields(value):
                for other in others(getattr(value, field.name)):
                    yield replace(value, **{field.name: other})
        case StrEnum():
            yield from (other for other in type(value) if other is not value)
        case EntryNumber():
            yield EntryNumber("B", value.number)
        case tuple():
            yield (*value, EntryNumber("B", 1))
        case date():
            yield value + timedelta(1)
        case bool():
            yield not value
        case int():
            yield value + 1
        case _:
            yield f"{value or ''}x"


def test_another_fact_makes_another_fingerprint(results: Snapshot) -> None:
    works = WorksOf(results.ledger)
    prints = {check: fingerprint(check, works) for check in asked(results)}
    assert len(set(prints.values())) == len(prints)
    for check, now in prints.items():
        assert now.startswith(FORMAT)
        for fact in fields(check):
            for value in others(getattr(check, fact.name)):
                other = replace(check, **{fact.name: value})
                assert fingerprint(other, works) != now, other


def test_fingerprints_stay_as_they_are(results: Snapshot) -> None:
    """A field that is renamed would ask everything again: the answers in logs rest on these."""
    works = WorksOf(results.ledger)
    kept = (HERE / "fingerprints_2.txt").read_text(encoding="utf-8").splitlines()
    assert [f"{check.kind} {fingerprint(check, works)}" for check in asked(results)] == kept


def test_what_an_entry_says_is_a_fact_of_the_checks_that_rest_on_it(results: Snapshot) -> None:
    works = WorksOf(results.ledger)
    for check in asked(results):
        for number in works.keys() & set(check.entries):
            amended = {**works, number: replace(works[number], note="An afterthought.")}
            assert fingerprint(check, amended) != fingerprint(check, works)
