"""The figures of many shots, which two processes compute where there are two processors."""

from __future__ import annotations

import os
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from credits.figures import renewing
from credits.figures.keep import kept_footage, open_figures
from credits.figures.kept_claims import kept_poses, kept_runs
from credits.figures.lookups import kept_ledger
from credits.figures.renewal import Depth
from credits.figures.snapshot import Snapshot
from credits.model import facts
from credits.model.log import Batch, NewLine, Verb
from credits.model.replay import replay
from credits.store.beside.kept import FiguresFile
from credits.store.log import open_log
from credits.store.production import create_production
from credits.two_processes import LEAST
from credits.units.frames import Frames

SHOTS = [f"010-{number:04}" for number in range(LEAST + 20)]


@pytest.fixture
def many_shots(tmp_path: Path) -> Path:
    """In every shot ana and ben share frames on one day, and ben goes on the next day."""
    folder = tmp_path / "film"
    create_production(folder, "The Long Film")
    lines = [
        NewLine(
            verb=Verb.RECORD,
            work=facts.Work(
                craft="animation",
                person=person,
                character="wick",
                shot=shot,
                frames=Frames.span(first, 24),
                poses_on=2,
                finished_on=date(2026, 3, day),
            ),
        )
        for at, shot in enumerate(SHOTS)
        for person, first, day in (("ana", 1, 2), ("ben", 1 + at % 20, 2), ("ben", 13, 3))
    ]
    clips = tuple(
        facts.CutClip(
            order=at, film_first=1 + at * 10, shown=10, shot=shot, take=None,
            source_first=1, source_last=10,
        )
        for at, shot in enumerate(SHOTS, 1)
    )  # fmt: skip
    batch = Batch(
        people=tuple(facts.Person(code=code, credit_name=code) for code in ("ana", "ben")),
        characters=(facts.Character(code="wick", name="Wick"),),
        sequences=(facts.Sequence("010"),),
        shots=tuple(facts.Shot(code=shot, sequence="010", length=24) for shot in SHOTS),
        lines=tuple(lines),
        cut=facts.Cut(version=1, source="cut.csv", length=10 * len(SHOTS), clips=clips),
    )
    with open_log(folder) as log, log.writing() as writer:
        writer.write(batch)
    return folder


@pytest.mark.parametrize("depth", [Depth.FOOTAGE, Depth.REACH, Depth.EVERYTHING])
def test_figures_of_many_shots_are_those_computed_at_once(
    many_shots: Path, monkeypatch: pytest.MonkeyPatch, depth: Depth
) -> None:
    """The second process reads nothing: what is open belongs to the first."""
    parent, at_work = os.getpid(), set()
    claims_of = renewing._claims_of

    def noted(*args: Any) -> tuple[list[Any], ...]:
        rows = claims_of(*args)
        at_work.add(rows[0][0])
        return rows

    def only_here(name: str) -> None:
        method = getattr(FiguresFile, name)

        def called(self: FiguresFile, *args: object, **names: object) -> object:
            assert os.getpid() == parent, name
            return method(self, *args, **names)

        monkeypatch.setattr(FiguresFile, name, called)

    for kind in FiguresFile.__mro__[:-1]:
        for name, value in vars(kind).items():
            if callable(value) and not name.startswith("__"):
                only_here(name)
    monkeypatch.setattr(os, "cpu_count", lambda: 2)
    monkeypatch.setattr(renewing, "_claims_of", noted)
    with open_log(many_shots) as log:
        computed = Snapshot(replay(log.read()))
    file = open_figures(many_shots, depth)
    try:
        ledger = kept_ledger(file)
        assert kept_footage(file, ledger) == computed.footage
        assert sorted(kept_poses(file)) == sorted(computed.poses)
        assert dict(kept_runs(file, ledger)) == computed.runs
    finally:
        file.close()
    if hasattr(os, "fork"):
        assert 0 < len(at_work) < len(SHOTS)
