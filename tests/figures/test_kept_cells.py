"""Footage is kept exactly, however finely frames are divided."""

from __future__ import annotations

from datetime import date, timedelta
from fractions import Fraction
from math import lcm
from pathlib import Path

import pytest

from credits.app.review import review_of
from credits.figures.keep import kept_footage, open_figures
from credits.figures.kept_claims import kept_poses
from credits.figures.lookups import kept_ledger
from credits.figures.renewal import WIDEST, Depth
from credits.figures.snapshot import Snapshot
from credits.footage.footage import Footage, FootageTotals
from credits.model import facts
from credits.model.log import Batch, NewLine, Verb
from credits.model.replay import replay
from credits.review.review import Reviews
from credits.store.log import open_log
from credits.store.production import create_production
from credits.units.film_time import Period
from credits.units.frames import Frames

SHARES = (10007, 10009, 10037, 10039, 10061, 10067, 10069, 10079, 10091, 10093)
DAY = date(2026, 3, 2)


def animation(
    person: str, frames: Frames, share: Fraction, shot: str = "010-020", day: date = DAY
) -> NewLine:
    work = facts.Work(
        craft="animation",
        person=person,
        character="wick",
        shot=shot,
        frames=frames,
        share=share,
        finished_on=day,
    )
    return NewLine(verb=Verb.RECORD, work=work)


def test_fractions_with_more_figures_than_the_engine_keeps_are_kept_exactly(tmp_path: Path) -> None:
    """Ana shares each stretch of her 200 frames with somebody else, by another odd share."""
    folder = tmp_path / "film"
    create_production(folder, "The Finely Shared Film")
    others = [f"p{at}" for at in range(len(SHARES))]
    batch = Batch(
        people=tuple(facts.Person(code=code, credit_name=code) for code in ("ana", *others)),
        characters=(facts.Character(code="wick", name="Wick"),),
        sequences=(facts.Sequence("010"),),
        shots=(facts.Shot(code="010-020", sequence="010", length=200),),
        lines=(
            animation("ana", Frames.span(1, 200), Fraction(1)),
            *(
                animation(code, Frames.span(at * 20 + 1, at * 20 + 19), Fraction(share, 7))
                for at, (code, share) in enumerate(zip(others, SHARES, strict=True))
            ),
        ),
    )
    with open_log(folder) as log, log.writing() as writer:
        writer.write(batch)
    with open_log(folder) as log:
        computed = Snapshot(replay(log.read()))
    assert max(cell.den for cell in computed.footage.cells) > WIDEST
    assert max(max(own.ratio) for own in computed.poses) > WIDEST
    file = open_figures(folder, Depth.FOOTAGE)
    try:
        kept = kept_footage(file, kept_ledger(file))
        assert kept == computed.footage
        assert sorted(kept_poses(file)) == sorted(computed.poses)
        assert by_person(kept.summed_by("person")) == by_person(computed.footage)
    finally:
        file.close()
    assert kept.total.by_shot.kept == 200
    # Ana's figures are in the ranges of the others.
    reviews = Reviews(computed.ledger, computed.poses, computed.footage)
    assert review_of(folder, "p0", Period()).review == reviews.of("p0")


def by_person(footage: Footage) -> dict[str, FootageTotals]:
    return footage.by(lambda cell: cell.person)


@pytest.mark.parametrize("count", range(1, len(SHARES) + 1))
def test_sums_are_exact_whether_or_not_the_engine_can_hold_them(tmp_path: Path, count: int) -> None:
    """Ana shares each of some shots with Ben, by another odd share: each take has a denominator
    that the engine keeps, and that of all takes together soon has too many figures."""
    folder = tmp_path / "film"
    create_production(folder, "The Finely Shared Film")
    shots = tuple(facts.Shot(code=f"010-{at}", sequence="010", length=200) for at in range(count))
    stretches = (Frames.span(1, 90), Frames.span(100, 190))
    batch = Batch(
        people=tuple(facts.Person(code=code, credit_name=code) for code in ("ana", "ben")),
        characters=(facts.Character(code="wick", name="Wick"),),
        sequences=(facts.Sequence("010"),),
        shots=shots,
        lines=tuple(
            animation(person, frames, share, shot.code, DAY + timedelta(days=at))
            for shot, odd in zip(shots, SHARES, strict=False)
            for at, frames in enumerate(stretches)
            for person, share in (("ana", Fraction(1)), ("ben", Fraction(odd, 7)))
        ),
    )
    with open_log(folder) as log, log.writing() as writer:
        writer.write(batch)
    with open_log(folder) as log:
        computed = Snapshot(replay(log.read())).footage
    assert max(cell.den for cell in computed.cells) < WIDEST
    file = open_figures(folder, Depth.FOOTAGE)
    try:
        found = kept_footage(file, kept_ledger(file)).summed_by("person")
        assert by_person(found) == by_person(computed)
        if lcm(*(cell.den for cell in computed.cells)) < WIDEST // 1000:
            assert len(found.cells) == 2
        else:
            assert len(found.cells) in (2, len(computed.cells))
        assert count < len(SHARES) or len(found.cells) == len(computed.cells)
    finally:
        file.close()
