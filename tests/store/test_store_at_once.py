"""Many who write at once, servers that are killed, and connections that are lost and found."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from pathlib import Path
from threading import Event

import psycopg
import pytest

from credits.errors import CreditsError, LogUnusable, ProblemsFound
from credits.model.facts import EntryNumber, Person, Work
from credits.model.log import Batch, NewLine, Verb
from credits.store.beside.kept import FiguresFile
from credits.store.log import open_log
from credits.store.news import LogNews
from credits.store.seals.verify import verify
from tests.postgres_server import PostgresServer

TWO = Batch(
    lines=(NewLine(verb=Verb.RECORD, work=Work(craft="voice", person="ana", character="wick")),) * 2
)
PATIENT = 60_000  # milliseconds


def write_two(folder: Path) -> tuple[EntryNumber, ...]:
    with open_log(folder, busy_milliseconds=PATIENT) as log, log.writing() as pen:
        return pen.write(TWO).numbers


def numbers(folder: Path) -> list[int]:
    with open_log(folder) as log:
        return [line.number.number for line in log.read().lines]


def all_at_once(count: int, do: Callable[[int], None]) -> None:
    with ThreadPoolExecutor(count) as pool:
        for done in [pool.submit(do, at) for at in range(count)]:
            done.result()


def test_eight_who_write_at_once_leave_no_hole_and_no_number_twice(film: Path) -> None:
    given: list[tuple[EntryNumber, ...]] = []

    def write(_: int) -> None:
        given.extend(write_two(film) for _ in range(4))

    all_at_once(8, write)
    assert numbers(film) == list(range(1, 65))
    assert sorted(number for pair in given for number in pair) == [
        EntryNumber("A", number) for number in range(1, 65)
    ]
    assert all(second.number == first.number + 1 for first, second in given)
    assert verify(film) == ()


def test_who_waits_too_long_for_another_writer_is_told_so(film: Path) -> None:
    with open_log(film) as log, log.writing() as pen:
        pen.write(TWO)
        with (
            open_log(film, busy_milliseconds=50) as other,
            pytest.raises(LogUnusable, match="is being written by another program"),
            other.writing(),
        ):
            pass
    assert numbers(film) == [1, 2]


def test_a_batch_that_is_not_written_takes_no_number(film: Path) -> None:
    with open_log(film) as log:
        with pytest.raises(ProblemsFound), log.writing() as pen:  # noqa: PT012 - two batches
            pen.write(TWO)
            pen.write(Batch(lines=(NewLine(verb=Verb.VOID),)))
        with log.writing() as pen:
            pen.write(TWO)
    assert numbers(film) == [1, 2]
    assert verify(film) == ()


@pytest.mark.postgres
def test_twenty_sites_at_once_see_one_log(tmp_path: Path, on_server: PostgresServer) -> None:
    """Each with a folder and figures of its own; the log is everybody's."""
    first = on_server.new_log(tmp_path / "site-0")
    with open_log(first) as log, log.writing() as pen:
        pen.write(Batch(people=(Person(code="ana", credit_name="Ana"),)))
    line = NewLine(verb=Verb.RECORD, work=Work(craft="voice", person="ana"))
    sites = [first, *(tmp_path / f"site-{at}" for at in range(1, 20))]
    for site in sites[1:]:
        site.mkdir()
        (site / "production.toml").write_bytes((first / "production.toml").read_bytes())

    def work(at: int) -> None:
        with open_log(sites[at], busy_milliseconds=PATIENT) as log:
            for _ in range(2):
                with log.writing() as pen:
                    pen.write(Batch(lines=(line,)))
        with closing(FiguresFile(sites[at], in_memory=True)) as figures:
            assert figures.line_count() >= 2

    all_at_once(20, work)
    assert numbers(first) == list(range(1, 41))
    assert verify(first) == ()
    with open_log(first) as log:
        whole = log.read()
    for site in sites:
        with closing(FiguresFile(site, in_memory=True)) as figures:
            assert figures.read() == whole


@pytest.mark.postgres
def test_a_server_that_is_killed_under_a_load_has_what_it_said_it_wrote(tmp_path: Path) -> None:
    server = PostgresServer()
    try:
        folder = server.new_log(tmp_path / "film")
        with open_log(folder) as log, log.writing() as pen:
            pen.write(Batch(people=(Person(code="ana", credit_name="Ana"),)))
        written: list[EntryNumber] = []
        unknown: list[str] = []
        under_way = Event()

        def write(_: int) -> None:
            while True:
                try:
                    with open_log(folder, busy_milliseconds=PATIENT) as log, log.writing() as pen:
                        receipt = pen.write(FAR)
                except CreditsError as error:
                    unknown.extend([str(error)] * ("nobody can say" in str(error)))
                    return
                written.extend(receipt.numbers)
                if len(written) > 40:
                    under_way.set()

        with ThreadPoolExecutor(4) as pool:
            writers = [pool.submit(write, at) for at in range(4)]
            assert under_way.wait(60)
            server.kill()
            for writer in writers:
                writer.result()
        server.start()
        there = numbers(folder)
        assert there == list(range(1, len(there) + 1))
        assert {number.number for number in written} <= set(there)
        assert len(there) - len(written) <= 2 * len(unknown)
        assert verify(folder) == ()
    finally:
        server.stop()


@pytest.fixture
def cut_off(on_server: PostgresServer) -> Callable[[Path], None]:
    """Cuts every connection to the log of a production."""
    return on_server.cut_off


@pytest.fixture
def far(tmp_path: Path, on_server: PostgresServer) -> Path:
    """A production on a server, with Ana in it and two entries."""
    folder = on_server.new_log(tmp_path / "far")
    with open_log(folder) as log, log.writing() as pen:
        pen.write(Batch(people=(Person(code="ana", credit_name="Ana"),)))
        pen.write(FAR)
    return folder


FAR = Batch(lines=(NewLine(verb=Verb.RECORD, work=Work(craft="voice", person="ana")),) * 2)


@pytest.mark.postgres
def test_whoever_reads_again_reads_on_a_new_connection(
    far: Path, cut_off: Callable[[Path], None]
) -> None:
    with open_log(far) as log:
        before = log.read()
        cut_off(far)
        assert log.read() == before
        cut_off(far)
        assert log.position()
        cut_off(far)
        with log.writing() as pen:
            pen.write(FAR)
        assert len(log.read().lines) == 4


@pytest.mark.postgres
def test_a_connection_that_is_lost_while_writing_leaves_nothing_and_says_so(
    far: Path, cut_off: Callable[[Path], None]
) -> None:
    with open_log(far) as log:
        with (  # noqa: PT012 - it is lost in between
            pytest.raises(LogUnusable, match="lost: nothing of this was written"),
            log.writing() as pen,
        ):
            pen.write(FAR)
            cut_off(far)
            pen.write(FAR)
        assert len(log.read().lines) == 2
        with (  # noqa: PT012 - it is lost in between
            pytest.raises(LogUnusable, match="lost: nothing of this was written"),
            log.writing() as pen,
        ):
            pen.write(FAR)
            pen.seal()
            cut_off(far)
        with log.writing() as pen:
            pen.write(FAR)
    assert numbers(far) == [1, 2, 3, 4]
    assert verify(far) == ()


@pytest.mark.postgres
def test_a_connection_that_is_lost_as_the_writing_ends_is_asked_about(
    far: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The server has written, and the word of it never came: it is written once, and said so."""
    commit = psycopg.Connection.commit

    def lost(connection: psycopg.Connection) -> None:
        monkeypatch.undo()
        commit(connection)
        connection.close()
        raise psycopg.OperationalError("server closed the connection unexpectedly")

    with open_log(far) as log:
        monkeypatch.setattr(psycopg.Connection, "commit", lost)
        with log.writing() as pen:
            receipt = pen.write(FAR)
        assert receipt.numbers == (EntryNumber("A", 3), EntryNumber("A", 4))
        assert log.has_written
        assert len(log.read().lines) == 4


@pytest.mark.postgres
def test_figures_are_read_on_after_the_connection_was_lost(
    far: Path, cut_off: Callable[[Path], None]
) -> None:
    with closing(FiguresFile(far)) as figures:
        cut_off(far)
        with open_log(far) as log, log.writing() as pen:
            pen.write(FAR)
        figures.begin()
        assert figures.line_count() == 4
        figures.end(keep=False)


@pytest.mark.postgres
def test_who_waits_hears_what_others_write(far: Path, cut_off: Callable[[Path], None]) -> None:
    news = LogNews(far)
    assert news.hears
    assert not news.wait(0.01)
    with open_log(far) as log, log.writing() as pen:
        pen.write(FAR)
    assert news.wait(60)
    assert not news.wait(0)
    cut_off(far)
    assert news.wait(1)  # something may have been written meanwhile
    news.wait(0)
    with open_log(far) as log, log.writing() as pen:
        pen.write(FAR)
    assert news.wait(60)
    news.close()


def test_of_a_file_nobody_tells_anything(tmp_path: Path) -> None:
    news = LogNews(tmp_path)
    assert not news.hears
    assert not news.wait(0)
