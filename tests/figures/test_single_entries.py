"""Single entries written beside figures that are kept: no line of the log is read for them."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from credits.app.find import join_people
from credits.app.work.entries import (
    Logged,
    amend_entries,
    doubts,
    effect,
    log_entries,
    void_entries,
)
from credits.app.work.opened import EntryLog
from credits.errors import Finding, LogUnusable, ProblemsFound
from credits.figures import opened, renewing
from credits.figures.keep import open_figures
from credits.figures.lines import KeptLines
from credits.figures.renewal import Depth
from credits.model.log import Batch, NewLine, Verb, WrittenLog
from credits.store.beside.figures_db import FIGURES_NAME
from credits.store.beside.kept import FiguresFile
from credits.store.beside.lists import KeptLists
from credits.store.log import open_log
from credits.store.reading import LogReader
from tests.productions import production_from, written_tables

TABLES = {
    "people": "person,credit_name\nana,Ana Lind\nben,Ben Oss",
    "characters": "character,name\nwick,Wick",
    "puppets": "puppet,character\nwick-1,wick\nwick-2,wick",
    "sequences": "sequence,name\n010,One",
    "shots": "shot,sequence,frames\n010-010,010,48\n010-020,010,60",
    "entries": """craft,person,puppet,shot,frames,finished_on
        animation,ana,wick-1,010-010,1-30,2026-03-02
        animation,ben,wick-2,010-010,25-48,2026-03-03
        sculpt,ben,wick-1,,,2026-02-01""",
}
ANA = {"craft": "animation", "person": "ana", "puppet": "wick-1", "shot": "010-020"}
ONE = {**ANA, "frames": "1-20", "finished_on": "2026-03-04"}


@pytest.fixture
def film(tmp_path: Path) -> Path:
    """A film of two shots whose figures are kept."""
    folder = production_from(tmp_path / "film", [written_tables(tmp_path / "tables", TABLES)])
    open_figures(folder, Depth.EVERYTHING).close()
    return folder


@pytest.fixture
def long_film(film: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The film, as if it were too long: reading all lines or a long table, or making figures
    anew, fails."""
    table = KeptLists._list

    def short(self: KeptLists, known: dict[str, Any], name: str) -> tuple[Any, ...]:
        assert name in ("crafts", "characters"), f"all {name} are read"
        return table(self, known, name)

    def whole(*_: object) -> None:
        raise AssertionError("every entry is read")

    monkeypatch.setattr(LogReader, "read", whole)
    monkeypatch.setattr(KeptLists, "_list", short)
    monkeypatch.setattr(FiguresFile, "clear", whole)
    monkeypatch.setattr(FiguresFile, "every_standing", whole)
    return film


def log_one(folder: Path, cells: Mapping[str, str], *, write: bool = True) -> Logged:
    (logged,) = log_entries(folder, lambda *_: cells, write=write)
    return logged


def told(logged: Logged) -> str:
    """What is said of a line, with what is asked."""
    assert logged.entry is not None
    asked = [check.kind for check in doubts(logged.ledger, logged.entry)]
    return " ".join([effect(logged.in_brief, logged.entry), *asked])


def test_an_entry_its_correction_and_its_void_read_what_is_near(long_film: Path) -> None:
    logged = log_one(long_film, ONE)
    assert told(logged).startswith("Wick in 010-020: Ana Lind now 20 of 20 kept frames.")
    (amended,) = amend_entries(long_film, [str(logged.number)], {"frames": "1-24"})
    assert told(amended).startswith("Wick in 010-020: Ana Lind now 24 of 24 kept frames.")
    (voided,) = void_entries(long_film, ["last"], "logged twice")
    assert voided.entry is None
    with pytest.raises(ProblemsFound, match="was voided"):
        amend_entries(long_film, [str(logged.number)], {"frames": "1-30"})


def test_a_repair_says_how_many_shots_it_reaches(long_film: Path) -> None:
    repair = {"craft": "repair", "person": "ben", "puppet": "wick-1"}
    assert told(log_one(long_film, {**repair, "finished_on": "2026-03-01"})).startswith(
        "It reaches 1 shot so far."
    )
    assert told(log_one(long_film, {**repair, "finished_on": "2026-03-09"})).startswith(
        "It reaches 0 shots so far."
    )


def test_a_dry_run_says_what_would_be_and_writes_nothing(long_film: Path) -> None:
    tried = log_one(long_film, ONE, write=False)
    assert told(tried) == told(log_one(long_film, ONE))
    again = log_one(long_film, ONE)
    assert again.line is None
    assert again.number == tried.number


def test_what_was_written_is_in_the_figures_when_the_call_ends(
    film: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    log_one(film, ONE)
    join_people(film, "ben", "ana")
    log_one(film, {**ONE, "frames": "21-30"})
    monkeypatch.setattr(renewing, "StandingEntries", None)
    open_figures(film, Depth.FOOTAGE).close()


def test_where_figures_cannot_be_kept_an_entry_is_written_as_well(film: Path) -> None:
    for ending in ("", "-wal", "-shm"):
        (film / f"{FIGURES_NAME}{ending}").unlink(missing_ok=True)
    (film / FIGURES_NAME).mkdir()
    assert told(log_one(film, ONE)).startswith("Wick in 010-020: Ana Lind now 20 of 20")
    join_people(film, "ben", "ana")
    with open_log(film) as log:
        assert len(log.read().lines) == 4


def test_an_entry_is_written_though_the_figures_cannot_be_renewed(
    film: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(*_: object) -> None:
        raise LogUnusable(Finding("is locked"))

    log_one(film, ONE)
    monkeypatch.setattr(opened, "_renew", refused)
    assert log_one(film, {**ONE, "frames": "21-30"}).line is not None


def test_what_somebody_writes_in_between_is_looked_up_too(film: Path) -> None:
    asked: list[int] = []
    with open_log(film) as log:

        def void_the_last(written: WrittenLog) -> tuple[Batch, None]:
            assert isinstance(written.lines, KeptLines)
            last = written.lines.last_entry(log.origin)
            assert last is not None
            asked.append(last.number.number)
            if len(asked) == 1:
                log_one(film, ONE)
            return Batch(lines=(NewLine(verb=Verb.VOID, corrects=last.number, why="no"),)), None

        _, receipt, _ = EntryLog(log).write(void_the_last)
        lines = log.read().lines
    assert asked == [3, 4]
    assert [line.corrects and line.corrects.number for line in lines[3:]] == [None, 4]
    assert [number.number for number in receipt.numbers] == [5]
