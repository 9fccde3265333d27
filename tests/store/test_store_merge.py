"""Another log is written into ours: its chains are the same there, and nothing is told twice."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from credits.app.kept import KeptLog
from credits.app.logs.merge import merge_logs
from credits.app.logs.merge_sheet import MergeChoices
from credits.app.site import build_sites, watched_state
from credits.editions import Edition
from credits.errors import LogUnusable
from credits.model.facts import (
    Cut,
    CutClip,
    EntryNumber,
    NewConfirmation,
    NewSettlement,
    Person,
    Sequence,
    Shot,
    Work,
)
from credits.model.log import REFERENCE_TABLES, Batch, NewLine, NewProof, RowCorrection, Verb
from credits.model.merging import Keep
from credits.model.replay import replay
from credits.store.log import open_log
from credits.store.production import create_production
from credits.store.seals.rewind import lists_then
from credits.store.seals.verify import verify

pytestmark = pytest.mark.sqlite  # another log is a file; on a server: tests/cli/test_cli_server.py

VOICE = Work(craft="voice", person="ana", character="wick")
ANA = Person(code="ana", credit_name="Ana")


@pytest.fixture
def second(film: Path, tmp_path: Path) -> Path:
    """A second unit that has taken in the film."""
    folder = create_production(tmp_path / "second", "The Lamplighter", origin="B")
    merge_logs(folder, film)
    return folder


def write(folder: Path, **what: object) -> None:
    with open_log(folder) as log, log.writing() as writer:
        writer.write(Batch(**what))  # type: ignore[arg-type]


def voiced(folder: Path, times: int = 1) -> None:
    write(folder, lines=tuple(NewLine(verb=Verb.RECORD, work=VOICE) for _ in range(times)))


def rows(folder: Path, query: str) -> list[tuple[object, ...]]:
    with closing(sqlite3.connect(folder / "production.db")) as log:
        return log.execute(query).fetchall()


def test_the_chain_of_an_origin_has_the_same_seal_in_both_logs(film: Path, second: Path) -> None:
    voiced(second, 3)
    voiced(second)
    merge_logs(film, second)
    last = "SELECT last_row, seal FROM seals WHERE chain = 'entries B' ORDER BY last_row DESC"
    assert rows(film, last)[0] == rows(second, last)[0]
    assert len(rows(film, last)) == 1  # one transaction, one moment
    assert verify(film) == verify(second) == ()


def test_a_correction_comes_in_behind_what_it_corrects(
    film: Path, second: Path, tmp_path: Path
) -> None:
    """Also where its own letters come before those of the line that it corrects."""
    voiced(second)
    merge_logs(film, second)
    amend = NewLine(verb=Verb.AMEND, corrects=EntryNumber("B", 1), work=replace(VOICE, minutes=5))
    write(film, lines=(amend,))
    third = create_production(tmp_path / "third", "The Lamplighter", origin="C")
    assert merge_logs(third, film).lines == {"A": 1, "B": 1}
    with open_log(third) as log:
        [entry] = replay(log.read()).entries
    assert (entry.number, entry.first, entry.work.minutes) == (("A", 1), ("B", 1), 5)


def test_a_merge_that_fails_writes_nothing(
    film: Path, second: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The last thing that is written is refused: nothing that came before it stays."""
    write(second, people=(Person(code="cai", credit_name="Cai"),))
    write(second, confirmations=(NewConfirmation(person="cai", name="Cai"),))
    voiced(second)
    before = rows(film, "SELECT * FROM moments"), rows(film, "SELECT * FROM people")

    def fail(*_: object) -> None:
        raise sqlite3.OperationalError("database or disk is full")

    monkeypatch.setattr("credits.store.logs.merge._write_words", fail)
    with pytest.raises(LogUnusable, match="the disk is full"):
        merge_logs(film, second)
    assert (rows(film, "SELECT * FROM moments"), rows(film, "SELECT * FROM people")) == before
    assert verify(film) == ()


def test_what_somebody_writes_meanwhile_is_not_lost(
    film: Path, second: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is planned again where the log has moved since it was read."""
    write(second, people=(replace(ANA, email="ana@example.org"),))
    begin, others = "credits.store.log.writing", iter([True])

    from credits.store import log as store_log

    write_as_always = store_log.writing

    def one_is_quicker(*given: object) -> object:
        if next(others, False):
            write(film, people=(replace(ANA, credit_name="Ana Berg"),))
        return write_as_always(*given)  # type: ignore[arg-type]

    monkeypatch.setattr(begin, one_is_quicker)
    done = merge_logs(film, second)
    assert done.is_written
    with open_log(film) as log:
        [ana] = (person for person in log.read().people if person.code == "ana")
    assert (ana.credit_name, ana.email) == ("Ana Berg", "ana@example.org")


def test_what_was_noted_of_the_other_log_is_no_change(film: Path, second: Path) -> None:
    """Neither for whoever reads the history, nor for whoever walks it back to a proof."""
    proof = NewProof(content="{}", plan="built-in plan", lines=0, people=0)
    write(film, people=(replace(ANA, credit_name="Ana Berg"),), proof=proof)
    write(second, people=(replace(ANA, credit_name="Ana Bergh"),))
    cai = Person(code="cai", credit_name="Cai")  # who was there for a moment, in the other log
    write(second, people=(cai,))
    write(second, corrections=(RowCorrection(table="people", row=cai, why="Nobody."),))
    with open_log(film) as log:
        before = log.read()
    merge_logs(film, second, MergeChoices(keep=Keep.OURS))
    assert rows(film, "SELECT count(*) FROM history WHERE old_row = new_row") == [(4,)]
    with open_log(film) as log:
        assert len(log.history("people", "ana")) == 2
        [mark] = log.proofs()
        assert log.changes_since(mark) == ()
        now = {name: getattr(log.read(), name) for name in REFERENCE_TABLES}
        then = lists_then(log, now, mark)
    assert then == {name: getattr(before, name) for name in REFERENCE_TABLES}
    assert verify(film) == ()


def test_the_last_word_on_a_name_is_the_last_in_both(film: Path, second: Path) -> None:
    """A day in the list makes each log write a word of its own, later than those people gave."""
    day = date(2026, 3, 2)
    write(second, people=(Person(code="cai", credit_name="Cai", name_confirmed_on=day),))
    word = NewConfirmation(person="cai", name="Cai", confirmed_on=day, is_right=False)
    write(second, confirmations=(word,))
    for ours, theirs in ((film, second), (second, film), (film, second)):
        merge_logs(ours, theirs)
    for folder in (film, second):
        with open_log(folder) as log:
            assert not replay(log.read()).confirmations["cai"].is_right
    assert not merge_logs(second, film).is_new


def test_of_two_answers_the_later_counts_in_both(film: Path, second: Path) -> None:
    """Whichever log it came from, and whenever it was taken in."""

    def answered(folder: Path, why: str) -> None:
        answer = NewSettlement(check="no-engagement", subjects=(), facts="standing:1", why=why)
        write(folder, settlements=(answer,))

    for folder, why in ((second, "first"), (film, "second"), (second, "third")):
        answered(folder, why)
    merge_logs(film, second)
    answered(film, "fourth")
    merge_logs(second, film)
    for folder in (film, second):
        with open_log(folder) as log:
            whys = [each.why for each in log.read().settlements]
        assert whys == ["first", "second", "third", "fourth"]


def test_a_desk_that_is_open_sees_what_came(film: Path, second: Path) -> None:
    desk = KeptLog(film)
    assert desk.now().ledger.entries == ()
    voiced(film)
    voiced(second, 2)
    assert len(desk.now().ledger.entries) == 1
    merge_logs(film, second)
    now = desk.now()
    assert len(now.ledger.entries) == 3
    assert now.ledger == replay(now.written)


def test_whoever_watches_builds_the_pages_that_a_fresh_build_has(
    film: Path, second: Path, tmp_path: Path
) -> None:
    voiced(film)
    build_sites(film, [Edition.CREW], tmp_path / "watched")
    before = watched_state(film)
    write(second, people=(replace(ANA, credit_name="Ana Berg"),))
    voiced(second, 2)
    merge_logs(film, second)
    assert watched_state(film) != before
    build_sites(film, [Edition.CREW], tmp_path / "watched")
    build_sites(film, [Edition.CREW], tmp_path / "fresh")
    watched, fresh = (
        {p.relative_to(own): p.read_bytes() for p in own.rglob("*.html")}
        for own in (tmp_path / "watched", tmp_path / "fresh")
    )
    assert watched == fresh
    assert any(b"Ana Berg" in page for page in fresh.values())


def test_a_line_of_one_origin_that_says_another_again_is_meant_so(film: Path, second: Path) -> None:
    """Somebody logged it twice on purpose; another unit that says the same may not know of it."""
    for _ in range(2):
        voiced(film)
        assert merge_logs(second, film).again == ()
    voiced(second)
    assert [like.origin for _, like in merge_logs(film, second).again] == ["A"]


def test_rows_that_were_voided_together_are_taken_out_together(film: Path, second: Path) -> None:
    sequence, shot = Sequence("099"), Shot(code="099-010", sequence="099", length=24)
    write(film, sequences=(sequence,), shots=(shot,))
    merge_logs(second, film)
    gone = [
        RowCorrection(table=table, row=row, instead=None, why="Cut.", corrected_by=None)
        for table, row in (("shots", shot), ("sequences", sequence))
    ]
    write(second, corrections=tuple(gone))
    merge_logs(film, second)
    assert rows(film, "SELECT 1 FROM sequences WHERE sequence = '099'") == []
    assert rows(film, "SELECT 1 FROM shots WHERE shot = '099-010'") == []
    assert verify(film) == ()


def test_a_cut_that_comes_in_was_used_when_the_other_unit_used_it(film: Path, second: Path) -> None:
    clip = CutClip(
        order=1, film_first=1, shown=8, shot="010-020", take=None, source_first=1, source_last=8
    )
    write(second, cut=Cut(version=0, source="cut.csv", length=8, clips=(clip,)))
    merge_logs(film, second)
    used = "SELECT used_at FROM cut_uses"
    assert rows(film, used) == rows(second, used)
