"""Proofs and words on spellings: kept as they were given; an older log comes to hold them."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from credits.errors import LogUnusable, ProblemsFound, WrongCall
from credits.model.facts import (
    Confirmation,
    Cut,
    CutClip,
    EntryNumber,
    NewConfirmation,
    Person,
    ProofMark,
    Work,
)
from credits.model.log import Batch, NewLine, NewProof, Verb
from credits.store.log import open_log
from credits.store.seals.verify import verify
from tests.raw_log import raw_log, read_raw, unguarded

SCHEMA_0001 = Path(__file__).with_name("schema_0001.sql")
NOON = datetime(2026, 3, 9, 12, 0, tzinfo=UTC)
RECORD = NewLine(verb=Verb.RECORD, work=Work(craft="voice", person="ana", character="wick"))
CUT = Cut(
    version=0,
    source="reel.edl",
    length=8,
    clips=(
        CutClip(
            order=1, film_first=1, shown=8, shot="010-020", take=None, source_first=1, source_last=8
        ),
    ),
)


def write(folder: Path, *batches: Batch) -> list[int | None]:
    with open_log(folder, clock=lambda: NOON) as log, log.writing() as pen:
        return [pen.write(batch).proof for batch in batches]


def words(folder: Path) -> list[tuple[str, str, date, bool]]:
    with open_log(folder) as log:
        return [
            (word.person, word.name, word.confirmed_on, word.is_right)
            for word in log.read().confirmations
        ]


# --- proofs


def test_a_proof_is_read_as_it_was_frozen_with_the_place_of_the_log(film: Path) -> None:
    proof = NewProof(
        content='{"sections":[]}',
        plan="built-in plan",
        lines=3,
        people=2,
        saved_by="Bo",
        note="First round.",
    )
    given = write(film, Batch(lines=(RECORD, RECORD), cut=CUT), Batch(proof=proof))
    assert given == [None, 1]
    with open_log(film) as log:
        found = log.proof(1)
        (mark,) = log.proofs()
    assert found.content == '{"sections":[]}'
    assert found.mark == mark
    ((changes,),) = read_raw(film, "SELECT count(*) FROM history")
    assert mark == ProofMark(
        number=1,
        saved_at=NOON,
        saved_by="Bo",
        note="First round.",
        plan="built-in plan",
        cut=1,
        last_line=EntryNumber("A", 2),
        log_lines=2,
        changes=changes,
        lines=3,
        people=2,
        seal=mark.seal,
    )
    assert len(mark.seal or "") == 64


def test_proofs_are_numbered_from_1_and_what_came_later_is_known(film: Path) -> None:
    proof = NewProof(content="{}", plan="[[section]]", lines=0, people=0)
    assert write(film, Batch(proof=proof), Batch(lines=(RECORD,)), Batch(proof=proof)) == [
        1, None, 2,
    ]  # fmt: skip
    write(film, Batch(people=(Person(code="ana", credit_name="Ana Quist"),)))
    with open_log(film) as log:
        first, second = log.proofs()
        assert (first.log_lines, first.last_line, first.cut) == (0, None, None)
        assert (second.log_lines, second.last_line) == (1, EntryNumber("A", 1))
        (change,) = log.changes_since(second)
        assert (change.table, change.key) == ("people", "ana")
        assert change.columns == {"credit_name": ("Ana", "Ana Quist")}
        with pytest.raises(WrongCall, match="numbered 1 to 2"):
            log.proof(3)


def test_an_entry_of_the_same_transaction_is_before_the_proof(film: Path) -> None:
    write(
        film,
        Batch(
            lines=(RECORD,), proof=NewProof(content="{}", plan="built-in plan", lines=0, people=0)
        ),
    )
    with open_log(film) as log:
        assert log.proofs()[0].log_lines == 1


@pytest.mark.parametrize(
    ("proof", "said"),
    [
        (NewProof(content="no JSON", plan="a plan", lines=0, people=0), "the content is an object"),
        (NewProof(content="[]", plan="a plan", lines=0, people=0), "the content is an object"),
        (NewProof(content="{}", plan=" ", lines=0, people=0), "the proof names its plan"),
    ],
)
def test_what_is_no_proof_is_refused_with_the_whole_batch(
    film: Path, proof: NewProof, said: str
) -> None:
    with pytest.raises(ProblemsFound, match=said):
        write(film, Batch(people=(Person(code="eva", credit_name="Eva"),), proof=proof))
    with open_log(film) as log:
        assert log.proofs() == ()
        assert "eva" not in [person.code for person in log.read().people]


def test_without_a_proof_there_is_none_to_read(film: Path) -> None:
    with open_log(film) as log, pytest.raises(WrongCall, match="credits roll --save"):
        log.proof(1)


def test_verify_finds_a_proof_that_was_taken_out(film: Path) -> None:
    proof = NewProof(content="{}", plan="built-in plan", lines=0, people=0)
    write(film, Batch(proof=proof), Batch(proof=proof))
    with unguarded(film) as raw:
        raw.execute("DELETE FROM proofs WHERE number = 1")
    assert [str(finding).partition(": ")[2] for finding in verify(film)] == [
        "proof 1 is missing. Put back a copy made with `credits backup`: credits restore FILE"
    ]


def test_a_proof_that_cannot_be_read_is_said_to_be_so(film: Path) -> None:
    with closing(raw_log(film)) as raw:
        raw.execute(
            "INSERT INTO proofs (number, saved_at, plan_text, log_lines, changes, lines, people,"
            " content) VALUES (1, 'no time', 'a plan', 0, 0, 0, 0, '{}')"
        )
    unsealed, unreadable = verify(film)
    assert "proof 1 does not fit its seal" in str(unsealed)
    assert "proof 1 cannot be read" in str(unreadable)
    with open_log(film) as log, pytest.raises(LogUnusable, match="cannot be read"):
        log.proofs()


# --- words on spellings


def test_a_word_is_read_as_it_was_given_and_dated_when_it_has_no_day(film: Path) -> None:
    given = (
        NewConfirmation(
            person="ana",
            name="Ana",
            confirmed_on=date(2026, 3, 2),
            is_right=True,
            confirmed_by="Bo",
        ),
        NewConfirmation(person="ben", name="Ben", is_right=False),
    )
    write(film, Batch(confirmations=given))
    with open_log(film) as log:
        assert log.read().confirmations == (
            Confirmation(
                person="ana",
                name="Ana",
                confirmed_on=date(2026, 3, 2),
                is_right=True,
                confirmed_by="Bo",
                written_at=NOON,
            ),
            Confirmation(
                person="ben",
                name="Ben",
                confirmed_on=date(2026, 3, 9),
                is_right=False,
                confirmed_by=None,
                written_at=NOON,
            ),
        )


@pytest.mark.parametrize(
    ("word", "said"),
    [
        (NewConfirmation(person="ana", name=" "), "the confirmed name has text"),
        (NewConfirmation(person="nobody", name="Ana"), "is not in the people table"),
    ],
)
def test_what_is_no_word_is_refused(film: Path, word: NewConfirmation, said: str) -> None:
    with pytest.raises(ProblemsFound, match=said):
        write(film, Batch(confirmations=(word,)))
    assert words(film) == []


def test_a_date_in_the_people_table_is_a_word_on_the_name_of_its_row(film: Path) -> None:
    march, april = date(2026, 3, 2), date(2026, 4, 1)
    confirmed = Person(code="ana", credit_name="Ana", name_confirmed_on=march)
    write(
        film,
        Batch(people=(confirmed, Person(code="eva", credit_name="Eva", name_confirmed_on=march))),
    )
    write(film, Batch(people=(confirmed,)))  # the same again says nothing new
    write(
        film, Batch(people=(Person(code="ana", credit_name="Ana Quist", name_confirmed_on=march),))
    )
    assert words(film) == [("ana", "Ana", march, True), ("eva", "Eva", march, True)]
    write(
        film, Batch(people=(Person(code="ana", credit_name="Ana Quist", name_confirmed_on=april),))
    )
    write(film, Batch(people=(Person(code="ana", credit_name="Ana Quist"),)))
    assert words(film)[2:] == [
        ("ana", "Ana Quist", april, True),
        ("ana", "Ana Quist", april, False),
    ]


# --- a log of an older version


@pytest.mark.sqlite
def test_the_dates_of_an_older_log_become_words_on_the_names_of_their_time(empty: Path) -> None:
    path = empty / "production.db"
    path.unlink()
    with closing(sqlite3.connect(path)) as raw:
        raw.executescript(SCHEMA_0001.read_text(encoding="utf-8"))
        raw.executescript("""
            INSERT INTO log VALUES (1, 'A', '2025-09-01');
            INSERT INTO people VALUES
                (1, 'ana', 'Ana', NULL, NULL, NULL, NULL, 'credited', '2026-03-02', NULL, NULL, 'ana'),
                (2, 'ben', 'Ben', NULL, NULL, NULL, NULL, 'credited', NULL, NULL, NULL, 'ben'),
                (3, 'cai', 'Cai', NULL, NULL, NULL, NULL, 'credited', '2026-03-03', NULL, NULL, 'cai');
            UPDATE people SET credit_name = 'Ana Quist' WHERE person = 'ana';
            UPDATE people SET name_confirmed_on = NULL WHERE person = 'cai';
        """)  # noqa: E501
        raw.commit()
    assert words(empty) == [
        ("ana", "Ana", date(2026, 3, 2), True),
        ("cai", "Cai", date(2026, 3, 3), True),
        ("cai", "Cai", date(2026, 3, 3), False),
    ]
    assert verify(empty) == ()
    write(empty, Batch(proof=NewProof(content="{}", plan="built-in plan", lines=0, people=0)))
    with closing(sqlite3.connect(path)) as raw:
        for table in ("proofs", "confirmations"):
            with pytest.raises(sqlite3.IntegrityError, match="append-only"):
                raw.execute(f"DELETE FROM {table}")
