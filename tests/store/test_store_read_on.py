"""A log is read on from what is known of it: only new lines are read, and nothing is missed."""

from __future__ import annotations

from pathlib import Path

import pytest

from credits.model.facts import BUILT_IN_CRAFTS, Character, Person, Stage, Work
from credits.model.log import Batch, NewLine, Verb
from credits.store.log import Log, open_log
from credits.store.production import create_production

WORK = Work(craft=BUILT_IN_CRAFTS[0].code, person="ana", character="wick")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A production with somebody to log."""
    folder = create_production(tmp_path / "film", "The Small Film")
    write(folder, Batch(people=(Person(code="ana", credit_name="Ana"),)))
    write(folder, Batch(characters=(Character(code="wick", name="Wick"),)))
    return folder


def write(folder: Path, batch: Batch) -> None:
    """Write as another program does."""
    with open_log(folder) as log, log.writing() as writer:
        writer.write(batch)


BATCHES = {
    "a line": Batch(lines=(NewLine(verb=Verb.RECORD, work=WORK),)),
    "two lines": Batch(lines=(NewLine(verb=Verb.RECORD, work=WORK),) * 2),
    "a row of a list": Batch(stages=(Stage(code="S1"),)),
    "a changed row": Batch(people=(Person(code="ana", credit_name="Ana Lind"),)),
    "both": Batch(stages=(Stage(code="S2"),), lines=(NewLine(verb=Verb.RECORD, work=WORK),)),
}


@pytest.mark.parametrize("batch", BATCHES.values(), ids=BATCHES)
def test_what_was_written_since_is_there(folder: Path, batch: Batch) -> None:
    write(folder, BATCHES["a line"])
    with open_log(folder) as log:
        known = log.read_on()
        write(folder, batch)
        position, written = log.read_on(known)
        assert (position, written) == (log.position(), log.read())
        assert log.read_on((position, written))[1] is written


def test_only_new_lines_are_read(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with open_log(folder) as log:
        known = log.read_on()
        write(folder, BATCHES["two lines"])
        monkeypatch.setattr(Log, "read", None)
        assert len(log.read_on(known)[1].lines) == 2


def test_changed_settings_are_there_too(folder: Path) -> None:
    with open_log(folder) as log:
        known = log.read_on()
        path = folder / "production.toml"
        path.write_text(path.read_text().replace("The Small Film", "Another"))
        assert log.read_on(known)[1].production.title == "Another"


def test_a_write_on_what_is_known_sees_what_came_in_between(folder: Path) -> None:
    with open_log(folder) as log:
        known = log.read_on()
        write(folder, BATCHES["a line"])
        told, receipt = log.write_if_unmoved(
            lambda written: (BATCHES["a line"], len(written.lines)), known
        )
    assert told == 1
    assert [number.number for number in receipt.numbers] == [2]
