"""The versions of the editors' cut."""

from __future__ import annotations

from datetime import UTC, date, datetime
from fractions import Fraction
from pathlib import Path

import pytest

from credits.errors import WrongCall
from credits.model.facts import Cut, CutClip
from credits.model.log import Batch, CutVersion
from credits.store.log import open_log

CLIPS = (
    CutClip(
        order=1, film_first=1, shown=32, shot="010-020", take=None, source_first=9, source_last=40
    ),
    CutClip(
        order=2,
        film_first=33,
        shown=16,
        shot="010-020",
        take=2,
        source_first=1,
        source_last=8,
        speed=Fraction(1, 2),
    ),
    CutClip(
        order=3,
        film_first=49,
        shown=8,
        shot="010-020",
        take=2,
        source_first=1,
        source_last=8,
        speed=Fraction(-1),
    ),
    CutClip(
        order=4,
        film_first=57,
        shown=12,
        shot="010-020",
        take=1,
        source_first=48,
        source_last=48,
        speed=Fraction(0),
    ),
)
FIRST = Cut(version=0, source="cut-1.edl", length=72, clips=CLIPS, brought_in_on=date(2026, 3, 2))
SECOND = Cut(version=0, source="cut-2.edl", length=32, clips=CLIPS[:1])


def test_a_cut_comes_back_under_its_version(film: Path) -> None:
    with open_log(film) as log:
        with log.writing() as pen:
            assert pen.write(Batch(cut=FIRST)).cut_version == 1
        assert log.cut(1) == Cut(
            version=1, source="cut-1.edl", length=72, clips=CLIPS, brought_in_on=date(2026, 3, 2)
        )
        assert log.read().cut == log.cut(1)


def test_a_new_cut_is_the_current_one_and_the_earlier_one_stays(film: Path) -> None:
    noon = datetime(2026, 3, 9, 12, tzinfo=UTC)
    with open_log(film, clock=lambda: noon) as log:
        with log.writing() as pen:
            pen.write(Batch(cut=FIRST))
            assert pen.write(Batch(cut=SECOND)).cut_version == 2
        assert log.cut_versions() == (
            CutVersion(
                version=1,
                source="cut-1.edl",
                clips=4,
                length=72,
                brought_in_on=date(2026, 3, 2),
                current=False,
            ),
            CutVersion(
                version=2,
                source="cut-2.edl",
                clips=1,
                length=32,
                brought_in_on=date(2026, 3, 9),
                current=True,
            ),
        )
        assert log.read().cut_versions == log.cut_versions()
        assert log.cut(1).clips == CLIPS


def test_an_earlier_cut_can_be_made_the_current_one_again(film: Path) -> None:
    with open_log(film) as log:
        with log.writing() as pen:
            pen.write(Batch(cut=FIRST))
            pen.write(Batch(cut=SECOND))
            pen.use_cut(1)
            pen.use_cut(1)
        written = log.read()
    assert written.cut is not None
    assert written.cut.source == "cut-1.edl"
    assert [version.current for version in written.cut_versions] == [True, False]


def test_a_version_that_is_not_there_is_refused_with_those_that_are(film: Path) -> None:
    with open_log(film) as log:
        with pytest.raises(WrongCall, match="credits cut FILE"):
            log.cut(1)
        with log.writing() as pen:
            pen.write(Batch(cut=FIRST))
            with pytest.raises(WrongCall, match=r"'7': is not a version of the cut\. The versions"):
                pen.use_cut(7)
        assert log.cut_versions()[0].current


def test_a_cut_keeps_a_clip_whose_shot_the_log_does_not_have(film: Path) -> None:
    strange = Cut(
        version=0,
        source="x.edl",
        length=77,
        clips=(
            *CLIPS,
            CutClip(
                order=5,
                film_first=69,
                shown=9,
                shot="010-999",
                take=None,
                source_first=1,
                source_last=9,
            ),
        ),
    )
    with open_log(film) as log:
        with log.writing() as pen:
            pen.write(Batch(cut=strange))
        assert log.cut(1).clips[-1].shot == "010-999"


def test_a_cut_without_clips_is_a_cut(film: Path) -> None:
    with open_log(film) as log:
        with log.writing() as pen:
            pen.write(Batch(cut=Cut(version=0, source="black.edl", length=24, clips=())))
        assert log.cut(1).clips == ()
