"""Where the log stands: a batch that was computed before is written when nothing came between."""

from __future__ import annotations

from pathlib import Path

import pytest

from credits.model.facts import Cut, CutClip, NewConfirmation, NewSettlement, Person, Work
from credits.model.log import Batch, NewLine, NewProof, Verb
from credits.store.log import open_log

LINE = Batch(
    lines=(NewLine(verb=Verb.RECORD, work=Work(craft="voice", person="ana", character="wick")),)
)
CUT = Batch(
    cut=Cut(
        version=0,
        source="reel.edl",
        length=8,
        clips=(
            CutClip(
                order=1,
                film_first=1,
                shown=8,
                shot="010-020",
                take=None,
                source_first=1,
                source_last=8,
            ),
        ),
    )
)


@pytest.mark.parametrize(
    "batch",
    [
        LINE,
        CUT,
        Batch(people=(Person(code="cai", credit_name="Cai"),)),
        Batch(people=(Person(code="ana", credit_name="Ana Quist"),)),
        Batch(
            settlements=(
                NewSettlement(
                    check="no-engagement", subjects=(("person", "ana"),), facts="f1", why="So."
                ),
            )
        ),
        Batch(confirmations=(NewConfirmation(person="ana", name="Ana"),)),
        Batch(proof=NewProof(content="{}", plan="built-in plan", lines=0, people=0)),
    ],
    ids=["line", "cut", "new row", "changed row", "answer", "confirmation", "proof"],
)
def test_whatever_is_written_moves_the_position(film: Path, batch: Batch) -> None:
    with open_log(film) as log, open_log(film) as other:
        before = log.position()
        with other.writing() as writer:
            assert writer.position() == before
            writer.write(batch)
            assert log.position() == before != writer.position()
        assert log.position() != before


def test_using_an_earlier_cut_again_moves_the_position(film: Path) -> None:
    with open_log(film) as log:
        with log.writing() as writer:
            writer.write(CUT)
            writer.write(CUT)
        before = log.position()
        with log.writing() as writer:
            writer.use_cut(1)
        assert log.position() != before


def test_reading_and_what_fails_leave_the_position(film: Path) -> None:
    with open_log(film) as log:
        before = log.position()
        log.read()
        with pytest.raises(ZeroDivisionError), log.writing() as writer:
            int(writer.write(LINE).numbers[0].number / 0)
        with log.writing() as writer:
            writer.write(Batch(people=(Person(code="ana", credit_name="Ana"),)))
        assert log.position() == before
