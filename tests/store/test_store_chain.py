"""The chain of seals: what is altered, taken out, put in or moved behind the program is found."""

from __future__ import annotations

import hashlib
import json
import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from credits.app.logs.verified import sealed
from credits.errors import ProblemsFound, WrongCall
from credits.model.facts import (
    Character,
    Cut,
    CutClip,
    NewConfirmation,
    NewSettlement,
    Person,
    Work,
)
from credits.model.log import Batch, NewLine, NewProof, RowCorrection, Verb
from credits.store.log import open_log
from credits.store.production import back_up
from credits.store.schema.records import RECORDS, WITH_HISTORY
from credits.store.seals.chain import MOMENTS, SEALED, SEALS
from credits.store.seals.verify import verify, verify_file
from tests.drawn import drawn
from tests.raw_log import raw_log, read_raw, unguarded

NOON = datetime(2026, 3, 9, 12, 0, tzinfo=UTC)
RECORD = NewLine(verb=Verb.RECORD, work=Work(craft="voice", person="ana", character="wick"))
CLIP = CutClip(
    order=1, film_first=1, shown=8, shot="010-020", take=None, source_first=1, source_last=8
)
CUT = Cut(version=0, source="reel.edl", length=8, clips=(CLIP,))
PROOF = NewProof(content='{"format":3}', plan="[[section]]", lines=1, people=1)
ANSWER = NewSettlement(
    check="no-engagement", subjects=(("person", "ana"),), facts="f", why="a guest", settled_by="Bo"
)
WORD = NewConfirmation(person="ana", name="Ana", confirmed_on=NOON.date(), is_right=True)


@pytest.fixture
def whole(film: Path) -> Path:
    """A log with rows in every table, written in three transactions."""
    ben, benno = Person(code="ben", credit_name="Ben"), Person(code="ben", credit_name="Benno")
    batches = (
        Batch(lines=(RECORD, RECORD, RECORD), cut=CUT),
        Batch(lines=(RECORD,), settlements=(ANSWER,), confirmations=(WORD,), proof=PROOF),
        Batch(corrections=(RowCorrection(table="people", row=ben, instead=benno, why="so"),)),
    )
    with open_log(film, clock=lambda: NOON) as log:
        for batch in batches:
            with log.writing() as pen:
                pen.write(batch)
    return film


def said(folder: Path) -> list[str]:
    return [finding.what for finding in verify(folder)]


def test_there_is_a_row_of_every_table_and_nothing_is_found(whole: Path) -> None:
    assert all(read_raw(whole, f"SELECT 1 FROM {name}") for name in (*SEALED, SEALS, MOMENTS))
    assert said(whole) == []


def test_the_seals_are_made_as_the_module_says(whole: Path) -> None:
    """Made once more from the text of ``chain.py`` alone, with nothing of the program."""
    columns = [name for name in RECORDS["entries"].columns if name != "line"]
    seal = hashlib.sha256(b"entries A").digest()
    seals = []
    for row in read_raw(whole, f"SELECT {', '.join(columns)} FROM entries ORDER BY number"):
        kept = {n: value for n, value in zip(columns, row, strict=True) if value is not None}
        text = json.dumps(kept, ensure_ascii=False, separators=(",", ":"))
        seal = hashlib.sha256(seal + hashlib.sha256(text.encode()).digest()).digest()
        seals.append(seal.hex())
    found = "SELECT last_row, seal FROM seals WHERE chain = 'entries A' ORDER BY first_row"
    assert read_raw(whole, found) == [(3, seals[2]), (4, seals[3])]
    moment = ""
    for number, kept in read_raw(whole, "SELECT moment, seal FROM moments ORDER BY moment"):
        grown = read_raw(
            whole,
            f"SELECT chain, last_row, seal FROM seals WHERE moment = {number} ORDER BY chain",
        )
        lines = [json.dumps(each, separators=(",", ":")) for each in grown]
        moment = hashlib.sha256("\n".join([moment, *lines]).encode()).hexdigest()
        assert moment == kept


@pytest.mark.sqlite
@pytest.mark.parametrize("table", SEALED)
def test_a_row_that_was_altered_is_named(whole: Path, table: str) -> None:
    key = RECORDS[table].key
    (last,) = read_raw(whole, f"SELECT max({key}) FROM {table}")[0]
    (column,) = [n for n in RECORDS[table].columns if n != key][-1:]
    with unguarded(whole) as raw:
        raw.execute("PRAGMA ignore_check_constraints = ON")
        raw.execute(f"UPDATE {table} SET {column} = ? WHERE {key} = ?", ("9", last))
    found = said(whole)
    named = {"entries": f"-{last} ", "proofs": f"proof {last} "}.get(table, f"row {last} of")
    assert any(named in what for what in found) or any("is damaged" in what for what in found)


@pytest.mark.sqlite
@settings(
    max_examples=drawn(60),
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(data=st.data())
def test_any_other_value_of_any_row_is_found(whole: Path, data: st.DataObject) -> None:
    """Of every table, lists included; what was there is put back for the next example."""
    table = data.draw(st.sampled_from((*SEALED, *WITH_HISTORY)))
    record = RECORDS[table]
    rows = read_raw(whole, f"SELECT {record.key} FROM {table}")
    assume(rows)
    (place,) = data.draw(st.sampled_from(rows))
    column = data.draw(st.sampled_from(record.said_columns))
    select = f"SELECT {column} FROM {table} WHERE {record.key} = ?"
    other = data.draw(st.one_of(st.none(), st.integers(-9, 9), st.text("ab-12:", max_size=8)))
    change = f"UPDATE {table} SET {column} = ? WHERE {record.key} = ?"
    with unguarded(whole) as raw:
        (before,) = raw.execute(select, (place,)).fetchone()
        raw.execute("PRAGMA ignore_check_constraints = ON")
        try:
            raw.execute(change, (other, place))
        except sqlite3.IntegrityError:  # a text where whole numbers are, or NULL where none may be
            return
        (now,) = raw.execute(select, (place,)).fetchone()
    assert (said(whole) != []) == (now != before)
    with unguarded(whole) as raw:
        raw.execute(change, (before, place))
    assert said(whole) == []


def test_a_line_that_was_altered_is_named_and_no_other(whole: Path) -> None:
    with unguarded(whole) as raw:
        raw.execute("UPDATE entries SET person = 'ben' WHERE number = 2")
    assert said(whole) == ["line A-2 was altered after it was written"]


def test_lines_that_change_places_are_found(whole: Path) -> None:
    with unguarded(whole) as raw:
        raw.execute("UPDATE entries SET number = 99 WHERE number = 1")
        raw.execute("UPDATE entries SET number = 1, logged_by = 'x' WHERE number = 2")
        raw.execute("UPDATE entries SET number = 2 WHERE number = 99")
    assert said(whole)[0] == "line A-1 was altered after it was written"


def test_the_last_line_taken_out_is_missed(whole: Path) -> None:
    with unguarded(whole) as raw:
        raw.execute("DELETE FROM entries WHERE number = 4")
    assert said(whole) == ["line A-4 is missing"]


def test_what_another_program_has_written_has_no_seal(whole: Path) -> None:
    with closing(raw_log(whole)) as raw:
        raw.execute(
            "INSERT INTO entries (origin, number, verb, logged_at, craft, person, private)"
            " VALUES ('A', 5, 'record', '2026-03-09T12:00:00.000000+00:00', 'voice', 'ben', 0)"
        )
        raw.execute("INSERT INTO people (person, credit_name, credit_wish, person_key)"
                    " VALUES ('zed', 'Zed', 'credited', 'zed')")  # fmt: skip
    unsealed = ["line A-5 has no seal: another program wrote it"]
    rows = read_raw(whole, "SELECT max(position) FROM history")
    unsealed.append(f"row {rows[0][0]} of history has no seal: another program wrote it")
    assert said(whole) == unsealed
    # What is written afterwards does not take it for its own.
    with open_log(whole) as log, log.writing() as pen:
        pen.write(Batch(lines=(RECORD,), characters=(Character(code="brine", name="Brine"),)))
    assert said(whole) == unsealed


def test_a_list_that_is_not_as_its_history_says_is_found(whole: Path) -> None:
    with unguarded(whole) as raw:
        raw.execute("UPDATE people SET credit_name = 'Anna' WHERE person = 'ana'")
        raw.execute("DELETE FROM stages")
    assert sorted(said(whole)) == [
        "ana of people is not as the history of the list says",
        "people have not what the history of the list says of ana",
        "stages have not what the history of the list says of stage-1",
    ]


def test_seals_that_were_altered_are_found(whole: Path) -> None:
    with unguarded(whole) as raw:
        raw.execute("UPDATE seals SET seal = ? WHERE moment = 3", ("0" * 64,))
    assert any("do not fit their seal: seals were altered" in what for what in said(whole))
    assert "moment 3 does not fit its seal: seals were altered" in said(whole)


def test_a_batch_that_fails_leaves_no_seal(whole: Path) -> None:
    before = read_raw(whole, "SELECT * FROM moments")
    refused = NewLine(verb=Verb.RECORD, work=Work(craft="voice", person="nobody"))
    with open_log(whole) as log, pytest.raises(ProblemsFound), log.writing() as pen:
        pen.write(Batch(lines=(RECORD, refused)))
    assert read_raw(whole, "SELECT * FROM moments") == before
    assert said(whole) == []


# --- against an earlier seal


def test_a_log_that_grew_continues_its_earlier_seals(whole: Path) -> None:
    first = sealed(whole).now
    with open_log(whole) as log, log.writing() as pen:
        pen.write(Batch(lines=(RECORD, RECORD)))
    own = sealed(whole, against=first.seal)
    assert own.then == first
    assert (own.now.lines, first.lines) == (6, 4)
    on_paper = " ".join(first.seal[at : at + 8].upper() for at in range(0, 64, 8))
    assert sealed(whole, against=on_paper).then == first


def test_last_lines_taken_out_with_their_seals_are_noticed_against_an_earlier_seal(
    whole: Path,
) -> None:
    with open_log(whole, clock=lambda: NOON) as log, log.writing() as pen:
        pen.write(Batch(lines=(RECORD,)))
    on_the_wall = sealed(whole).now.seal
    with unguarded(whole) as raw:
        (last,) = raw.execute("SELECT max(moment) FROM moments").fetchone()
        raw.execute("DELETE FROM entries WHERE number = 5")
        raw.execute("DELETE FROM seals WHERE moment = ?", (last,))
        raw.execute("DELETE FROM moments WHERE moment = ?", (last,))
    assert said(whole) == []  # nothing in the file knows of it any more
    assert sealed(whole, against=on_the_wall).then is None


def test_a_backup_has_the_seal_of_its_log(whole: Path, tmp_path: Path) -> None:
    copy = back_up(whole, tmp_path / "copy.db")
    assert verify_file(copy) == ()
    assert sealed(tmp_path, copy).now == sealed(whole).now


@pytest.mark.parametrize("text", ["", "abc", "g" * 64, "0" * 63, "'; DROP TABLE seals"])
def test_what_cannot_be_a_seal_is_refused(whole: Path, text: str) -> None:
    with pytest.raises(WrongCall, match="is no seal"):
        sealed(whole, against=text)


# --- an older log


@pytest.mark.sqlite
def test_an_older_log_is_sealed_as_it_is_found(whole: Path) -> None:
    with unguarded(whole, gone=(SEALS, MOMENTS)) as raw:
        raw.execute("DROP TABLE seals")
        raw.execute("DROP TABLE moments")
        raw.execute("UPDATE alembic_version SET version_num = '0006'")
        raw.execute("UPDATE people SET note = 'filled in by a migration' WHERE person = 'ana'")
    open_log(whole).close()
    assert said(whole) == []
    assert read_raw(whole, "SELECT count(*) FROM moments") == [(1,)]
    with unguarded(whole) as raw:
        raw.execute("UPDATE entries SET person = 'ben' WHERE number = 2")
    assert said(whole) == ["line A-2 was altered after it was written"]


@pytest.mark.parametrize("text", ["no JSON", "[1]", "7"])
def test_a_history_that_holds_no_row_is_named_by_its_seal(whole: Path, text: str) -> None:
    with unguarded(whole) as raw:
        raw.execute("UPDATE history SET new_row = ? WHERE position = 3", (text,))
    assert "row 3 of history was altered after it was written" in said(whole)
