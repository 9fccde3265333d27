"""A power cut at any moment: the log and the site are the old or the new, and nothing is left.

``benchmarks/kills.py`` kills every command a thousand times; here each is killed once,
one of those that write alike.
"""

from __future__ import annotations

import signal
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from benchmarks.kills import (
    ENTRY,
    Campaign,
    Result,
    Task,
    called,
    left_in,
    make_bases,
    preload,
    tasks,
    units_of,
)
from credits.store.file import LOG_NAME
from tests.drawn import FULL

SEED = 8
TASKS = {task.name: task for task in tasks()}
SLOW = ("review",)  # it sets type
ALIKE = () if FULL else ("load more", "amend", "void", "answer", "confirm")
"""They write lines of the log as ``load`` and ``log`` do."""
QUICK = [task for task in TASKS.values() if task.often > 1 and task.name not in (*SLOW, *ALIKE)]
FILM = TASKS["log"]


@pytest.fixture(scope="module")
def top() -> Iterator[Path]:
    """The folders in which commands begin."""
    preload()
    with TemporaryDirectory() as place:
        make_bases(Path(place), [task.base for task in QUICK])
        yield Path(place)


@pytest.fixture(scope="module")
def campaign(top: Path) -> Campaign:
    return Campaign(top, SEED)


@pytest.mark.parametrize("task", QUICK, ids=lambda task: task.name)
def test_a_command_that_is_killed_did_all_of_it_or_nothing(task: Task, campaign: Campaign) -> None:
    result = Result(task)
    campaign.kill(task, result)
    assert result.harms == []
    assert result.kills == 1


def test_every_way_into_the_log_is_killed() -> None:
    """A command that writes is a line of the table."""
    called_ = {task.words[0] for task in TASKS.values()}
    assert called_ >= {
        *("start", "load", "log", "amend", "void", "cut", "roll", "answer", "confirm", "backup"),
        *("merge", "restore", "export", "review", "site", "desk"),
    }


# --- the campaign itself sees what it is to see


def copied(top: Path, campaign: Campaign) -> Path:
    folder = campaign.fresh(FILM)
    assert folder.parent == top
    return folder


def test_an_entry_that_is_gone_would_be_seen(top: Path, campaign: Campaign) -> None:
    folder = copied(top, campaign)
    before = units_of(folder)
    ended, _ = called(folder, ENTRY)
    assert (ended.status, ended.out.startswith("A-81: ")) == (0, True)
    after = units_of(folder)
    assert after[LOG_NAME] != before[LOG_NAME]
    with closing(sqlite3.connect(folder / LOG_NAME)) as raw:
        raw.execute("DROP TRIGGER entries_removed")
        raw.execute("DELETE FROM entries WHERE number = 81")
        raw.commit()
    assert units_of(folder)[LOG_NAME] != after[LOG_NAME]


def test_a_command_is_killed_at_the_step_that_is_meant(top: Path, campaign: Campaign) -> None:
    folder = copied(top, campaign)
    whole, _ = called(folder, ("backup", "copy.db"))
    at = whole.steps.index("os.link")
    killed, _ = called(folder, ("backup", "again.db"), at_step=at)
    assert killed.status == -signal.SIGKILL
    assert not (folder / "again.db").exists()
    assert len(left_in(folder)) == 1
