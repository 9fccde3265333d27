"""The law of pages that stay: a site built step by step is the site that is built at once."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import fields, replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from credits.app import site
from credits.app.site import build_sites
from credits.editions import Edition
from credits.model.log import Batch, WrittenLog
from credits.site.publish import exchange
from credits.store.beside.figures_db import forget
from tests.drawn import FULL
from tests.laws.strategies import CRAFTS, PRODUCTION, cast, stages_and_shots
from tests.laws.test_kept_laws import (
    DEPTHS,
    empty_production,
    looked_at,
    new_cuts,
    new_lines,
    new_rows,
    written,
)


def files_in(folder: Path) -> dict[str, bytes]:
    files = (path for path in folder.rglob("*") if path.is_file())
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in files}


@contextmanager
def drawn_production(data: st.DataObject) -> Iterator[tuple[Path, WrittenLog]]:
    """A production with its tables, and nothing logged yet."""
    bare = WrittenLog(
        production=PRODUCTION,
        crafts=CRAFTS,
        **data.draw(cast()),
        **data.draw(stages_and_shots()),
    )
    people = tuple(replace(person, same_as=None) for person in bare.people)
    fitted = tuple(f for f in bare.fittings if f.to_on is None or f.from_on <= f.to_on)
    bare = replace(bare, people=people, fittings=fitted, engagements=(), lines=(), cut=None)
    tables = {
        each.name: getattr(bare, each.name) for each in fields(Batch) if hasattr(bare, each.name)
    }
    with empty_production() as folder:
        written(lambda *_: Batch(**tables))(folder)
        yield folder, bare


@contextmanager
def put_ahead() -> Iterator[dict[Path, bytes]]:
    """The pages that are put into a site before the others, and what they say then."""
    seen: dict[Path, bytes] = {}

    def noted(folder: Path, path: str, content: bytes) -> bool:
        seen[folder / path] = content
        return exchange(folder, path, content)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(site, "exchange", noted)
        yield seen


@settings(max_examples=60 if FULL else 10, deadline=None)
@given(data=st.data())
def test_a_site_built_step_by_step_is_the_site_built_at_once(data: st.DataObject) -> None:
    with drawn_production(data) as (folder, bare):
        lines = new_lines(bare)
        few = st.lists(lines, min_size=1, max_size=3)
        for step in data.draw(few):
            step(folder)
        if data.draw(st.booleans()):
            data.draw(new_cuts(bare))(folder)
        edition = data.draw(st.sampled_from(Edition))
        (built,) = build_sites(folder, [edition])
        looks = st.builds(looked_at, st.sampled_from(DEPTHS), st.sampled_from((None, 0, 1, 40)))
        rare = st.one_of(new_rows(bare), new_cuts(bare), st.just(forget))
        other = st.one_of(lines, lines, lines, looks, rare)
        is_watched = data.draw(st.booleans())
        for step in data.draw(st.lists(other, min_size=1, max_size=4)):
            step(folder)
            with put_ahead() as ahead:
                build_sites(folder, [edition], ahead=is_watched)
            assert {path: path.read_bytes() for path in ahead} == ahead
        (fresh,) = build_sites(folder, [edition], folder / "fresh")
        assert files_in(built.folder) == files_in(fresh.folder)
