"""The deliberate faults: each still fits the code, and the campaign counts what it finds."""

from __future__ import annotations

from pathlib import Path

import pytest

from benchmarks import faults
from benchmarks.fault_list import FAULTS
from benchmarks.fault_list.fault import Fault
from benchmarks.faults import Outcome, Tried, by_room, per_cent_caught

ROOT = Path(__file__).resolve().parent.parent
TESTS = ROOT / "tests"


def test_every_fault_still_fits_the_code_and_could_be_run() -> None:
    for fault in FAULTS:
        faulty = fault.applied_to((ROOT / "credits" / fault.path).read_text("utf-8"))
        compile(faulty, fault.path, "exec")
        assert fault.text != fault.instead, fault.harm
        assert fault.harm
        assert fault.tests, fault.harm
        assert all((TESTS / name).exists() for name in fault.tests), fault.harm


def test_no_fault_stands_twice_and_every_room_has_some() -> None:
    assert len({(each.path, each.text, each.instead) for each in FAULTS}) == len(FAULTS) >= 200
    rooms = {path.name for path in (ROOT / "credits").iterdir() if (path / "__init__.py").exists()}
    assert {each.room for each in FAULTS} == rooms | {"ground"}


@pytest.mark.parametrize("text", ["gone", "a"])
def test_a_fault_whose_text_does_not_stand_there_once_is_refused(text: str) -> None:
    fault = Fault("some.py", text, "b", "harm", ())
    with pytest.raises(ValueError, match=r"stands there once"):
        fault.applied_to("a = a\n")


def test_a_fault_is_in_the_tree_while_it_is_tried_and_not_afterwards(tmp_path: Path) -> None:
    path = tmp_path / "credits/some.py"
    path.parent.mkdir()
    path.write_text("a = 1\n", "utf-8")
    with faults.at_fault(tmp_path, Fault("some.py", "1", "2", "harm", ())):
        assert path.read_text("utf-8") == "a = 2\n"
    assert path.read_text("utf-8") == "a = 1\n"


@pytest.mark.parametrize(
    ("said", "outcome", "asked"),
    [
        ([1], Outcome.FIRST, 1),
        ([0, 1], Outcome.ROOM, 2),
        ([0, 0], Outcome.MISSED, 2),
        ([0, faults.NO_TEST_LEFT], Outcome.MISSED, 2),
        ([None], Outcome.TOO_LONG, 1),
        ([-9], Outcome.FIRST, 1),
    ],
)
def test_the_tests_that_know_most_are_asked_before_those_of_the_room(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    said: list[int | None],
    outcome: Outcome,
    asked: int,
) -> None:
    (tmp_path / "credits/billing").mkdir(parents=True)
    (tmp_path / "credits/billing/some.py").write_text("a = 1\n", "utf-8")
    calls: list[tuple[str, ...]] = []

    def ask(_tree: Path, tests: tuple[str, ...], *_: object) -> int | None:
        calls.append(tests)
        return said[len(calls) - 1]

    monkeypatch.setattr(faults, "ask", ask)
    fault = Fault("billing/some.py", "1", "2", "harm", ("billing/test_some.py",))
    assert faults.outcome_of(tmp_path, fault) is outcome
    assert calls == [("billing/test_some.py",), faults.ROOMS["billing"]][:asked]


def test_what_changes_nothing_is_counted_apart() -> None:
    fault = Fault("billing/some.py", "1", "2", "harm", ("billing",))
    outcomes = (Outcome.FIRST, Outcome.ROOM, Outcome.MISSED, Outcome.NOTHING, Outcome.TOO_LONG)
    found = [Tried(number, fault, outcome, 1.0) for number, outcome in enumerate(outcomes, 1)]
    assert per_cent_caught(found) == 50
    *_, room, everything = by_room(found)
    assert room == "| billing | 5 | 1 | 1 | 1 | 1 | 1 |"
    assert everything == "| all | 5 | 1 | 1 | 1 | 1 | 1 |"


def test_tests_that_cannot_be_run_catch_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "credits").mkdir()
    (tmp_path / "credits/some.py").write_text("a = 1\n", "utf-8")
    monkeypatch.setattr(faults, "ask", lambda *_: 4)
    with pytest.raises(RuntimeError, match=r"could not run test_gone\.py"):
        faults.outcome_of(tmp_path, Fault("some.py", "1", "2", "harm", ("test_gone.py",)))
