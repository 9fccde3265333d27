"""figures.db beside a log: whatever happens to it, the answers are those of the log."""

from __future__ import annotations

import gc
import os
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from contextlib import closing
from datetime import date
from pathlib import Path

import pytest

from credits.app.answers import look_at_checks
from credits.app.deliver import account_for, write_pack
from credits.app.end_credits.credits import read_credits
from credits.app.end_credits.plan import first_plan_text
from credits.app.figures import footage_of
from credits.app.logs.verified import verify_production
from credits.app.production import open_snapshot
from credits.app.review import review_of
from credits.app.site import build_sites
from credits.app.work.day import day_at_a_glance
from credits.billing import compile as compiling
from credits.editions import Edition
from credits.errors import ReadElsewhereError
from credits.figures import cases, renewing
from credits.figures.keep import kept_footage, open_figures, renew_figures
from credits.figures.kept_hands import kept_reach
from credits.figures.lookups import kept_ledger
from credits.figures.renewal import Depth
from credits.figures.snapshot import Snapshot
from credits.footage.table import By, footage_rows
from credits.model import facts
from credits.model.log import Batch, NewLine, Verb
from credits.model.replay import replay
from credits.store.beside.figures_db import FIGURES_NAME, forget
from credits.store.beside.kept import FiguresFile
from credits.store.log import open_log
from credits.units.film_time import Period
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


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A film of two shots."""
    own = tmp_path_factory.mktemp("two-shots")
    return production_from(own / "film", [written_tables(own / "tables", TABLES)])


@pytest.fixture
def film(made: Path, tmp_path: Path) -> Path:
    """A copy of it whose figures are kept."""
    folder = Path(shutil.copytree(made, tmp_path / "film"))
    forget(folder)
    open_figures(folder, Depth.EVERYTHING).close()
    return folder


def log_one(folder: Path, person: str = "ana", frames: str = "31-60") -> None:
    """Log one more entry, and renew nothing."""
    work = facts.Work(
        craft="animation",
        person=person,
        puppet="wick-1",
        shot="010-020",
        frames=facts.Frames.parse(frames),
    )
    with open_log(folder) as log, log.writing() as writer:
        writer.write(Batch(lines=(NewLine(verb=Verb.RECORD, work=work),)))


def assert_right(folder: Path) -> None:
    """The answers are those of the log as it is now."""
    with open_log(folder) as log:
        computed = Snapshot(replay(log.read()))
    snapshot = open_snapshot(folder)
    assert snapshot.footage == computed.footage
    assert snapshot.reach == computed.reach
    assert snapshot.checks == computed.checks
    assert tuple(snapshot.ledger.entries) == computed.ledger.entries


def figures(folder: Path) -> Path:
    return folder / FIGURES_NAME


def test_what_is_kept_is_read_and_not_computed_again(
    film: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(renewing, "claim_runs", None)
    monkeypatch.setattr(renewing, "StandingEntries", None)
    assert open_snapshot(film).footage.total.by_shot.kept == 48


def test_one_entry_computes_its_own_shot_alone(film: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[list[str]] = []
    of = renewing.claim_runs
    monkeypatch.setattr(
        renewing, "claim_runs", lambda ledger, own: (asked.append(list(own)), of(ledger, own))[1]
    )
    log_one(film)
    renew_figures(film)
    assert {shot for shots in asked for shot in shots} == {"010-020"}
    assert_right(film)


def test_a_day_waits_for_no_credits_and_reads_no_other_days_questions(
    film: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(*_: object) -> None:
        raise AssertionError("not for a day")

    read: list[str] = []
    case = cases.read_case
    monkeypatch.setattr(compiling, "compile_credits", refused)
    monkeypatch.setattr(cases, "read_case", lambda *own: (read.append(own[0]), case(*own))[1])
    assert [each.kind for each in day_at_a_glance(film, date(2026, 2, 1)).questions] == read[:1]
    assert not day_at_a_glance(film, date(2026, 1, 1)).questions
    assert set(read) == {"no-engagement"}


def test_footage_is_summed_and_its_cells_are_not_read(
    film: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    expected = open_snapshot(film).footage.by(lambda cell: cell.person)
    read, tables = FiguresFile.rows, list[str]()
    monkeypatch.setattr(FiguresFile, "rows", lambda f, n: (tables.append(n), read(f, n))[1])
    ledger, footage = footage_of(film)
    rows = footage_rows(footage, ledger, (By.PERSON,))
    assert {row.key[0]: row.totals for row in rows} == expected
    assert "cells" not in tables


@pytest.mark.parametrize(
    "ask",
    [
        lambda film: first_plan_text(film),
        lambda film: read_credits(film).snapshot.credits.lines,
        lambda film: look_at_checks(film).open,
        lambda film: day_at_a_glance(film, date(2026, 3, 2)),
        lambda film: review_of(film, "ana", Period()).expectation,
        lambda film: account_for(film, "film", Edition.CREW),
        lambda film: write_pack(review_of(film, "ana", Period()), str(film.parent / "pack")),
        lambda film: build_sites(film, [Edition.CREW], film.parent / "site"),
    ],
)
def test_the_files_are_closed_when_nobody_has_the_answer_any_more(
    film: Path, ask: Callable[[Path], object]
) -> None:
    """Without a search for garbage: nothing that reads later may keep itself alive."""
    gc.collect()
    gc.disable()
    try:
        ask(film)
        assert not [name.name for name in film.iterdir() if name.name.endswith(("-shm", "-wal"))]
    finally:
        gc.enable()


@pytest.mark.parametrize("part", ["", "-wal", "-shm"])
def test_a_part_of_it_that_is_deleted_changes_nothing(film: Path, part: str) -> None:
    log_one(film)
    holder = open_figures(film)
    Path(f"{figures(film)}{part}").unlink(missing_ok=True)
    log_one(film, "ben")
    assert_right(film)
    holder.close()
    assert_right(film)


def test_it_is_deleted_while_somebody_reads_it(film: Path) -> None:
    with open_log(film) as log:
        before = Snapshot(replay(log.read()))
    file = open_figures(film, Depth.EVERYTHING)
    ledger = kept_ledger(file)
    forget(film)
    log_one(film)
    assert_right(film)
    assert kept_footage(file, ledger) == before.footage
    assert kept_reach(file, ledger) == before.reach
    assert tuple(ledger.entries) == before.ledger.entries


def spoilt(write: Callable[[Path], object]) -> Callable[[Path], None]:
    def spoil(folder: Path) -> None:
        for ending in ("-wal", "-shm"):
            Path(f"{figures(folder)}{ending}").unlink(missing_ok=True)
        write(figures(folder))

    return spoil


@pytest.mark.parametrize(
    "spoil",
    [
        spoilt(lambda file: file.write_bytes(b"")),
        spoilt(lambda file: file.write_bytes(b"not a database at all" * 500)),
        spoilt(lambda file: file.write_bytes(file.read_bytes()[:20_000])),
        spoilt(lambda file: (file.unlink(), sqlite3.connect(file).execute("CREATE TABLE t (a)"))),
    ],
    ids=["empty", "no database", "cut off", "of somebody else"],
)
def test_a_file_that_is_not_whole_is_made_anew(film: Path, spoil: Callable[[Path], None]) -> None:
    spoil(film)
    assert_right(film)
    log_one(film)
    assert_right(film)


def test_pages_inside_it_are_damaged(film: Path) -> None:
    """It is found out while it is read: the answer is to ask again, and then it is right."""
    file = figures(film)
    with closing(sqlite3.connect(file)) as driver:
        driver.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        page = driver.execute(
            "SELECT rootpage FROM sqlite_master WHERE name = 'worked'"
        ).fetchone()[0]
        size = driver.execute("PRAGMA page_size").fetchone()[0]
    said = bytearray(file.read_bytes())
    said[(page - 1) * size : page * size] = b"\x5a" * size
    file.write_bytes(said)
    asked = [sys.executable, "-m", "credits", "footage", "--production", str(film)]
    first, second = (subprocess.run(asked, capture_output=True, text=True) for _ in range(2))
    assert first.returncode == 1
    assert "figures.db was damaged and was removed" in first.stderr
    assert "Nothing was written." in first.stderr
    assert second.returncode == 0
    assert_right(film)


def test_a_folder_stands_where_the_file_should(film: Path) -> None:
    forget(film)
    figures(film).mkdir()
    assert_right(film)


def test_another_log_is_put_in_its_place(film: Path, tmp_path: Path) -> None:
    """A copy that went its own way, with as many lines: the figures are not of this one."""
    shutil.copytree(film, tmp_path / "copy")
    log_one(film, "ana")
    renew_figures(film)
    log_one(tmp_path / "copy", "ben")
    shutil.copyfile(tmp_path / "copy" / "production.db", film / "production.db")
    assert_right(film)


def test_a_backup_is_put_back(film: Path, tmp_path: Path) -> None:
    shutil.copyfile(film / "production.db", tmp_path / "backup.db")
    log_one(film)
    renew_figures(film)
    shutil.copyfile(tmp_path / "backup.db", film / "production.db")
    assert_right(film)
    log_one(film, "ben", "1-12")
    assert_right(film)


def test_an_older_program_made_it(film: Path) -> None:
    with sqlite3.connect(figures(film)) as file:
        file.execute("UPDATE state SET value = 'another' WHERE name = 'program'")
        file.execute("DELETE FROM cells")
    assert_right(film)


def test_settings_that_checks_rest_on_change(film: Path) -> None:
    work = facts.Work(craft="sculpt", person="ben", puppet="wick-1", minutes=700)
    with open_log(film) as log, log.writing() as writer:
        writer.write(Batch(lines=(NewLine(verb=Verb.RECORD, work=work),)))
    assert_right(film)
    kinds = {check.kind for check in open_snapshot(film).checks}
    settings = film / "production.toml"
    said = settings.read_text("utf-8")
    settings.write_text(said.replace("day_minutes = 600", "day_minutes = 60"), "utf-8")
    assert_right(film)
    more = {check.kind for check in open_snapshot(film).checks} - kinds
    assert more == {"longer-than-a-day"}


def test_a_folder_that_may_not_be_written_is_answered_from_memory(
    film: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    forget(film)

    def refused(*_: object) -> None:
        raise OSError(30, "Read-only file system")

    monkeypatch.setattr("credits.store.beside.figures_db._alone_in", refused)
    assert open_snapshot(film).footage.total.by_shot.kept == 48
    assert not figures(film).exists()


def test_two_programs_renew_at_once(film: Path) -> None:
    forget(film)
    log_one(film)
    asked = [sys.executable, "-m", "credits", "footage", "--json", "--production", str(film)]
    running = [subprocess.Popen(asked, stdout=subprocess.PIPE, text=True) for _ in range(4)]
    said = {process.communicate()[0] for process in running}
    assert [process.returncode for process in running] == [0] * 4
    assert len(said) == 1
    assert_right(film)


def test_who_writes_the_log_does_not_wait_for_who_renews(film: Path) -> None:
    file = open_figures(film)
    file.end(keep=False)
    file.begin(writing=True)
    log_one(film)
    file.end(keep=False)
    file.close()
    assert_right(film)


@pytest.mark.parametrize(
    "harm",
    [
        "UPDATE cells SET shot_kept = shot_kept + 1 WHERE shot = '010-010'",
        "UPDATE standing SET person = 'ben' WHERE person = 'ana'",
        "UPDATE reached SET frames = 1",
        "DELETE FROM claimed",
    ],
)
def test_verify_finds_figures_that_are_not_those_of_the_log(film: Path, harm: str) -> None:
    assert verify_production(film) == ()
    with sqlite3.connect(figures(film)) as file:
        file.execute(harm)
    (found,) = verify_production(film)
    assert "does not hold what the log makes" in str(found)
    assert not figures(film).exists()
    assert verify_production(film) == ()
    assert_right(film)


def told_by_a_copy(ask: Callable[[], object]) -> bytes:
    """What a second process answers that begins as a copy of this one."""
    reads, writes = os.pipe()
    copy = os.fork()
    if not copy:
        try:
            os.write(writes, repr(ask()).encode())
        except ReadElsewhereError:
            os.write(writes, b"refused")
        finally:
            os._exit(0)
    os.close(writes)
    with os.fdopen(reads, "rb") as told:
        answer = told.read()
    os.waitpid(copy, 0)
    return answer


@pytest.mark.skipif(not hasattr(os, "fork"), reason="this system has no fork")
def test_a_copy_of_the_process_does_not_read_through_the_same_connection(film: Path) -> None:
    file = open_figures(film)
    assert told_by_a_copy(file.numbers) == b"refused"
    assert file.numbers()
    file.close()


@pytest.mark.skipif(not hasattr(os, "fork"), reason="this system has no fork")
def test_a_copy_that_may_read_opens_the_files_for_itself(film: Path) -> None:
    file = open_figures(film, Depth.REACH)
    file.let_copies_read()
    assert told_by_a_copy(file.numbers) == repr(file.numbers()).encode()
    file.close()


@pytest.mark.skipif(not hasattr(os, "fork"), reason="this system has no fork")
@pytest.mark.parametrize("change", [log_one, forget], ids=["entry", "figures"])
def test_a_copy_reads_nothing_of_another_moment(
    film: Path, change: Callable[[Path], object]
) -> None:
    file = open_figures(film, Depth.REACH)
    file.let_copies_read()
    change(film)
    assert told_by_a_copy(file.numbers) == b"refused"
    assert file.numbers()
    file.close()
