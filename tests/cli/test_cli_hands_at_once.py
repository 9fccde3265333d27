"""Eight people log at once while others read: every entry is there once, and nobody is refused.

``benchmarks/hands_at_once.py`` does it for longer, with a load, a watch and a desk beside, and says
how long an entry took.
"""

from __future__ import annotations

from pathlib import Path

from benchmarks.hands_at_once import at_once
from benchmarks.kills import make_bases
from tests.drawn import FULL

WRITERS, ENTRIES = 8, 4 if FULL else 2


def test_every_acknowledged_entry_is_there_once_and_readers_see_one_moment(tmp_path: Path) -> None:
    make_bases(tmp_path, ["film"])
    found = at_once(tmp_path / "film", WRITERS, ENTRIES, whole=False)
    assert found.harms == []
    assert len(set(found.acknowledged)) == WRITERS * ENTRIES
    assert found.readings > 1
    assert 0 < found.typical <= found.slowest
