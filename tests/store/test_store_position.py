"""Where the log stands: a batch that was computed before is written when nothing came between."""

from __future__ import annotations

from pathlib import Path

import pytest

from credits.model.facts import Cut, CutClip, Person, Work
from credits.model.log import Batch, NewConfirmation, NewLine, NewProof, NewSettlement, Verb
from credits.store import open_log

LINE = Batch(lines=(NewLine(Verb.RECORD, Work("voice", "ana", "wick")),))
CUT = Batch(cut=Cut(0, "reel.edl", 8, (CutClip(1, 1, 8, "010-020", None, 1, 8),)))


@pytest.mark.parametrize(
    "batch",
    [
        LINE,
        CUT,
        Batch(people=(Person("cai", "Cai"),)),
        Batch(people=(Person("ana", "Ana Quist"),)),
        Batch(settlements=(NewSettlement("no-engagement", (("person", "ana"),), "f1", "So."),)),
        Batch(confirmations=(NewConfirmation("ana", "Ana"),)),
        Batch(proof=NewProof("{}", "built-in plan", 0, 0)),
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
            writer.write(Batch(people=(Person("ana", "Ana"),)))
        assert log.position() == before
