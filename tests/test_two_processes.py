"""Work that two processes share is as if one had done it."""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator

import pytest

from credits import two_processes
from credits.two_processes import LEAST, here_and_there, in_order

MANY = range(3 * LEAST)


@pytest.fixture(autouse=True)
def _two_processors(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "cpu_count", lambda: 2)


def test_everything_comes_in_order() -> None:
    assert list(in_order(MANY, str)) == list(map(str, MANY))


def test_two_processes_are_at_work_where_there_are_many_things() -> None:
    assert len(set(in_order(MANY, lambda _: os.getpid()))) == 2
    assert set(in_order(range(LEAST - 1), lambda _: os.getpid())) == {os.getpid()}


def test_things_that_belong_together_are_made_by_one_process_unless_they_are_many() -> None:
    most = two_processes.MOST_TOGETHER

    def family(thing: int) -> int | None:
        return thing // most if thing < 3 * most else None

    made = list(in_order(MANY, lambda thing: (thing, os.getpid()), family))
    assert [thing for thing, _ in made] == list(MANY)
    for of in range(3):
        assert len({process for thing, process in made if family(thing) == of}) == 1
    assert len({process for _, process in made}) == 2
    of_one = set(in_order(MANY, lambda _: os.getpid(), lambda _: "all"))
    assert len(of_one) == 2


def test_of_things_that_take_long_a_few_are_made_there() -> None:
    few, here = range(two_processes.LEAST_OF_FEW), os.getpid()
    made = list(here_and_there("ab", "c" * len(few), lambda thing: (thing, os.getpid())))
    assert [thing for thing, _ in made] == [*"ab", *"c" * len(few)]
    assert {process for thing, process in made if thing != "c"} == {here}
    assert here not in {process for thing, process in made if thing == "c"}
    assert set(here_and_there(few, few[1:], lambda _: os.getpid())) == {here}
    assert list(here_and_there((), few, str)) == list(map(str, few))


def test_without_fork_one_process_does_it_all(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delattr(os, "fork")
    assert set(in_order(MANY, lambda _: os.getpid())) == {os.getpid()}


@pytest.mark.parametrize("bad", [LEAST, LEAST + two_processes.STRETCH])
def test_an_error_of_either_process_is_raised_here(bad: int) -> None:
    def made(thing: int) -> int:
        if thing == bad:
            raise ValueError(f"{thing} is bad")
        return thing

    with pytest.raises(ValueError, match=f"{bad} is bad"):
        list(in_order(MANY, made))


def test_what_a_second_process_leaves_undone_this_one_does() -> None:
    here = os.getpid()

    def made(thing: int) -> int:
        if thing > LEAST and os.getpid() != here:
            os.kill(os.getpid(), signal.SIGKILL)
        return thing

    assert list(in_order(MANY, made)) == list(MANY)


def test_whoever_stops_reading_leaves_no_process_behind() -> None:
    first: Iterator[int] = in_order(MANY, lambda _: os.getpid())
    helper = next(process for process in first if process != os.getpid())
    first.close()  # type: ignore[attr-defined]
    with pytest.raises(ProcessLookupError):
        os.kill(helper, 0)
