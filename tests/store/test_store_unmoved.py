"""Writing what was worked out from a log, while others may write too."""

from __future__ import annotations

from pathlib import Path

import pytest

from credits.model.facts import Person, Work
from credits.model.log import Batch, NewLine, Verb, WrittenLog
from credits.store.log import LONG_WORK, MOST_OVERTAKEN, open_log
from credits.store.production import create_production

ANA, BEN = Person(code="ana", credit_name="Ana"), Person(code="ben", credit_name="Ben")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return create_production(tmp_path / "film", "The Small Film")


def people_of(folder: Path) -> list[str]:
    with open_log(folder) as log:
        return [person.code for person in log.read().people]


def write(folder: Path, person: Person) -> None:
    with open_log(folder) as log, log.writing() as writer:
        writer.write(Batch(people=(person,)))


def test_what_was_made_of_the_log_is_written(folder: Path) -> None:
    read = []

    def ana(written: WrittenLog) -> tuple[Batch, str]:
        read.append(len(written.people))
        return Batch(people=(ANA,)), "made"

    with open_log(folder) as log:
        known, receipt = log.write_if_unmoved(ana)
    assert (known, receipt.counts["people"].new, read) == ("made", 1, [0])
    assert people_of(folder) == ["ana"]


def test_it_is_made_again_when_somebody_wrote_in_between(folder: Path) -> None:
    read = []

    def ben(written: WrittenLog) -> tuple[Batch, int]:
        read.append([person.code for person in written.people])
        if len(read) == 1:
            write(folder, ANA)  # nobody is kept from writing while this is worked out
        return Batch(people=(BEN,)), len(read)

    with open_log(folder) as log:
        assert log.write_if_unmoved(ben)[0] == 2
    assert read == [[], ["ana"]]
    assert people_of(folder) == ["ana", "ben"]


@pytest.mark.parametrize("others", [1, 3, 7])
def test_long_work_is_done_again_without_keeping_others_from_writing(
    folder: Path, others: int
) -> None:
    line = NewLine(verb=Verb.RECORD, work=Work(craft="voice", person="ana"))
    read = []

    def voices(written: WrittenLog) -> tuple[Batch, int]:
        read.append(len(written.people))
        if len(read) <= min(others, MOST_OVERTAKEN + 1):  # then it is done under the lock
            write(folder, Person(code=f"p{len(read)}", credit_name="P"))
        return Batch(people=(ANA,), lines=(line,) * (LONG_WORK + 1)), len(read)

    with open_log(folder) as log:
        times, receipt = log.write_if_unmoved(voices)
    last = min(others, MOST_OVERTAKEN + 1)
    assert (times, read) == (last + 1, list(range(last + 1)))
    assert len(receipt.numbers) == LONG_WORK + 1
    assert len(people_of(folder)) == last + 1


def test_nothing_is_written_when_somebody_has_written_the_same(folder: Path) -> None:
    def ana(written: WrittenLog) -> tuple[Batch | None, bool]:
        if written.people:
            return None, True
        write(folder, ANA)
        return Batch(people=(ANA,)), False

    with open_log(folder) as log:
        known, receipt = log.write_if_unmoved(ana)
    assert (known, receipt.counts) == (True, {})


def test_an_error_leaves_the_log_as_it_was(folder: Path) -> None:
    def fails(_: WrittenLog) -> tuple[Batch, None]:
        raise ValueError

    with open_log(folder) as log, pytest.raises(ValueError, match=r"^$"):
        log.write_if_unmoved(fails)
    assert people_of(folder) == []
