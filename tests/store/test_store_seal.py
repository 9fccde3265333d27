"""The seal of a proof: what is altered behind the program is found, whatever it is."""

from __future__ import annotations

import hashlib
import json
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from credits.model.facts import Cut, CutClip, Person, Work
from credits.model.log import Batch, NewLine, NewProof, Verb
from credits.store.log import open_log
from credits.store.schema.records import RECORDS
from credits.store.seals.seal import SEALED, fits_its_seal, seal_of
from credits.store.seals.verify import verify
from tests.drawn import drawn
from tests.raw_log import raw_log, read_raw, unguarded

NOON = datetime(2026, 3, 9, 12, 0, tzinfo=UTC)
CONTENT = (
    '{"format":3,"plan":"a plan","title":"The Snail","sections":[{"heading":"Voices",'
    '"lines":[{"person":"ana","name":"Ana"}]}]}'
)
PROOF = NewProof(
    content=CONTENT, plan="[[section]]", lines=1, people=1, saved_by="Bo", note="Round 1 – עדן"
)
CLIP = CutClip(
    order=1, film_first=1, shown=8, shot="010-020", take=None, source_first=1, source_last=8
)
CUT = Cut(version=0, source="reel.edl", length=8, clips=(CLIP,))
RECORD = NewLine(verb=Verb.RECORD, work=Work(craft="voice", person="ana", character="wick"))
# What stands in each column, and something else that it could hold.
OTHER = {
    "number": 2,
    "saved_at": "2026-03-09T12:00:00.000001+00:00",
    "saved_by": None,
    "note": "Round 1",
    "plan_text": "built-in plan",
    "cut": None,
    "last_line": None,
    "log_lines": 0,
    "changes": 0,
    "lines": 2,
    "people": 0,
    "content": "{}",
    "episode": "102",
    "seal": "0" * 64,
}


@pytest.fixture
def sealed(film: Path) -> Path:
    """A production with a line, a cut and a proof."""
    with open_log(film, clock=lambda: NOON) as log, log.writing() as pen:
        pen.write(Batch(lines=(RECORD,), cut=CUT))
        pen.write(Batch(proof=PROOF))
    return film


def alter(folder: Path, statement: str, *values: object) -> None:
    """Write to the proofs without their triggers, and put these back."""
    with unguarded(folder) as raw:
        raw.execute(statement, values)


def said(folder: Path) -> list[str]:
    return [str(finding) for finding in verify(folder)]


def test_the_seal_is_the_sha_256_of_what_the_row_says(sealed: Path) -> None:
    with open_log(sealed) as log:
        proof = log.proof(1)
    columns = RECORDS["proofs"].columns
    (values,) = read_raw(sealed, f"SELECT {', '.join(columns)} FROM proofs")
    row = dict(zip(columns, values, strict=True))
    seal = row.pop("seal")
    text = json.dumps(row, ensure_ascii=False, separators=(",", ":"))
    assert seal == hashlib.sha256(text.encode()).hexdigest() == seal_of(row)
    assert proof.mark.seal == seal
    assert fits_its_seal(proof)
    assert said(sealed) == []


def test_every_column_but_the_seal_is_sealed() -> None:
    assert {*SEALED, "seal"} == set(RECORDS["proofs"].columns) == set(OTHER)


@pytest.mark.parametrize("column", OTHER)
def test_a_column_that_was_altered_is_found(sealed: Path, column: str) -> None:
    alter(sealed, f"UPDATE proofs SET {column} = ?", OTHER[column])
    number = 2 if column == "number" else 1
    found = f"proof {number} does not fit its seal: it was altered after it was made"
    assert any(found in each for each in said(sealed))


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('"format":3', '"format":2'),
        ("The Snail", "The Slug"),
        ('"name":"Ana"', '"name":"Anna"'),
        ('"heading":"Voices"', '"heading":"Voices "'),
        ('{"format"', '{ "format"'),
    ],
)
def test_a_letter_of_what_was_frozen_is_found(sealed: Path, old: str, new: str) -> None:
    alter(sealed, "UPDATE proofs SET content = replace(content, ?, ?)", old, new)
    assert ["does not fit its seal" in each for each in said(sealed)] == [True]
    with open_log(sealed) as log:
        assert not fits_its_seal(log.proof(1))


@settings(
    max_examples=drawn(60),
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(data=st.data())
def test_any_other_value_of_any_column_is_another_seal(sealed: Path, data: st.DataObject) -> None:
    with closing(raw_log(sealed)) as raw:
        row = dict(
            zip(
                SEALED,
                raw.execute(f"SELECT {', '.join(SEALED)} FROM proofs").fetchone(),
                strict=True,
            )
        )
    column = data.draw(st.sampled_from(SEALED))
    value = data.draw(st.one_of(st.none(), st.integers(), st.text()))
    assert (seal_of({**row, column: value}) == seal_of(row)) == (
        value == row[column] and type(value) is type(row[column])
    )


def test_a_proof_without_a_seal_is_found(sealed: Path) -> None:
    alter(sealed, "UPDATE proofs SET seal = NULL")
    assert len(said(sealed)) == 1


def test_what_is_written_later_breaks_no_seal(sealed: Path) -> None:
    with open_log(sealed) as log, log.writing() as pen:
        pen.write(Batch(people=(Person(code="ana", credit_name="Ana Quist"),), lines=(RECORD,)))
        pen.write(Batch(proof=PROOF))
    assert said(sealed) == []
