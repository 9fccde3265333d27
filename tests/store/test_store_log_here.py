"""What is kept here of a log on a server is that log, whatever was written to it."""

from __future__ import annotations

import os
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from credits.app.site import build_sites
from credits.editions import Edition
from credits.model.facts import Person, Shot, Work
from credits.model.log import Batch, NewLine, RowCorrection, Verb
from credits.store.beside.figures_db import FIGURES_NAME
from credits.store.beside.kept import FiguresFile
from credits.store.beside.log_here import MOST_CODES, NAME
from credits.store.log import open_log
from credits.store.place import log_of, opened_log
from credits.store.schema.records import RECORDS
from tests.raw_log import unguarded
from tests.store.test_store_server import EVERYTHING

pytestmark = pytest.mark.postgres

ANA, BEN = (Person(code=code, credit_name=code.title()) for code in ("ana", "ben"))
RECORD = NewLine(verb=Verb.RECORD, work=Work(craft="voice", person="ana", character="wick"))
SHOTS = tuple(Shot(code=f"020-{at:03}", sequence="010", length=24) for at in range(MOST_CODES + 50))


def write(folder: Path, *batches: Batch) -> None:
    with open_log(folder) as log, log.writing() as pen:
        for batch in batches:
            pen.write(batch)


def rows(folder: Path) -> dict[str, list[tuple[Any, ...]]]:
    """Every row of every table, as the server has it."""
    with closing(opened_log(log_of(folder))) as log:
        return {
            name: log.execute(f"SELECT {', '.join(record.columns)} FROM {name}"
                              f" ORDER BY {record.key}").fetchall()
            for name, record in RECORDS.items()
        }  # fmt: skip


def rows_here(figures: FiguresFile) -> dict[str, list[tuple[Any, ...]]]:
    """Every row of every table, as it is kept here."""
    return {
        name: figures.driver.execute(
            f"SELECT {', '.join(record.columns)} FROM production.{name} ORDER BY {record.key}"
        ).fetchall()
        for name, record in RECORDS.items()
    }


STEPS: dict[str, Callable[[Path], None]] = {
    "everything": lambda film: write(film, *EVERYTHING),
    "a line": lambda film: write(film, Batch(lines=(RECORD,))),
    "a name": lambda film: write(film, Batch(people=(replace(ANA, credit_name="Ana Quist"),))),
    "another code": lambda film: write(
        film,
        Batch(
            corrections=(
                RowCorrection(table="people", row=BEN, instead=replace(BEN, code="cai"), why="so"),
            )
        ),
    ),
    "many shots": lambda film: write(film, Batch(shots=SHOTS)),
    "all of them longer": lambda film: write(
        film, Batch(shots=tuple(replace(shot, length=25) for shot in SHOTS))
    ),
    "a row taken out": lambda film: write(
        film, Batch(corrections=(RowCorrection(table="shots", row=SHOTS[7], why="cut"),))
    ),
}


def test_after_every_step_it_is_the_log(film: Path) -> None:
    with closing(FiguresFile(film)) as figures:
        for name, step in STEPS.items():
            step(film)
            figures.begin()
            assert rows_here(figures) == rows(film), name
            figures.end(keep=False)
    with closing(FiguresFile(film)) as figures:  # and what a new program finds there
        assert rows_here(figures) == rows(film)


def test_one_moment_is_read_until_it_is_asked_for_another(film: Path) -> None:
    with closing(FiguresFile(film)) as figures:
        figures.begin()
        before = figures.position()
        write(film, Batch(lines=(RECORD,)))
        assert figures.position() == before
        figures.end(keep=False)
        figures.begin()
        assert figures.line_count() == 1
        figures.end(keep=False)


def test_another_log_at_the_same_address_is_read_anew(film: Path) -> None:
    write(film, Batch(lines=(RECORD,) * 3))
    with closing(FiguresFile(film)) as figures:
        assert figures.line_count() == 3
    with unguarded(film) as raw:  # as a backup that was put back
        for name in ("seals", "moments", "entries"):
            raw.execute(f"DELETE FROM {name}")
    write(film, Batch(lines=(RECORD,) * 4))
    with closing(FiguresFile(film)) as figures:
        assert rows_here(figures) == rows(film)


@pytest.mark.parametrize(
    "content", [b"", b"no database at all", b"SQLite format 3\0" + b"x" * 9000]
)
def test_a_file_that_is_damaged_is_made_anew(film: Path, content: bytes) -> None:
    write(film, Batch(lines=(RECORD,)))
    (film / NAME).write_bytes(content)
    with closing(FiguresFile(film)) as figures:
        assert figures.line_count() == 1


def test_a_file_that_is_deleted_meanwhile_is_made_anew(film: Path) -> None:
    with closing(FiguresFile(film)) as figures:
        for file in film.glob(f"{NAME}*"):
            file.unlink()
        write(film, Batch(lines=(RECORD,)))
        figures.begin()
        assert figures.line_count() == 1
        figures.end(keep=False)
    assert (film / NAME).is_file()


def test_whoever_may_not_read_the_log_may_not_read_what_is_kept_of_it(film: Path) -> None:
    """Who may connect the server knows; the files here are of the user who was let in."""
    FiguresFile(film).close()
    modes = {path.name: path.stat().st_mode & 0o077 for path in film.glob("figures*")}
    assert {*modes} >= {NAME, "figures.db"}
    assert set(modes.values()) == {0}


def test_where_nothing_can_be_written_it_lies_elsewhere_for_as_long_as_it_is_used(
    film: Path,
) -> None:
    (film / NAME).mkdir()
    with closing(FiguresFile(film)) as figures:
        assert figures.line_count() == 0
        (file,) = {
            row[2] for row in figures.driver.execute("PRAGMA database_list") if NAME in row[2]
        }
        assert Path(file).parent != film
    assert not Path(file).exists()


def test_what_is_kept_here_is_this_users_alone_and_so_is_the_office_site(film: Path) -> None:
    before = os.umask(0o022)
    try:
        with closing(FiguresFile(film)) as figures:
            assert figures.line_count() == 0
        build_sites(film, (Edition.OFFICE, Edition.PUBLIC))
    finally:
        os.umask(before)
    for name in (NAME, FIGURES_NAME):
        assert (film / name).stat().st_mode & 0o077 == 0
    modes = {each.name: each.stat().st_mode & 0o777 for each in (film / "site").iterdir()}
    assert modes == {"office": 0o700, "public": 0o755}
