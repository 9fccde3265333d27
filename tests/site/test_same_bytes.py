"""The same log makes the same bytes: no clock, no chance, nothing of the machine is in a site."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path

import pytest

from credits.app.site import build_sites
from credits.editions import Edition

# A second process that could not read would leave its pages to the first; here it ends the build.
BUILD = """
import os, sys
from pathlib import Path
from credits import two_processes
from credits.app.site import build_sites
from credits.editions import Edition
from credits.errors import ReadElsewhereError

class Told(ReadElsewhereError):
    pass

two_processes.ReadElsewhereError = Told
os.cpu_count = lambda: 2
built = build_sites(Path(sys.argv[1]), tuple(Edition), Path(sys.argv[2]))
print(*(site.published.pages > two_processes.LEAST for site in built))
"""


def digests(folder: Path) -> dict[str, str]:
    """Every file with the digest of its bytes."""
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


@pytest.mark.slow
def test_another_process_another_day_another_place_makes_the_same_bytes_and_reads_nothing_more(
    example_production: Path, example_sites: Mapping[Edition, Path], tmp_path: Path
) -> None:
    as_built = digests(example_sites[Edition.PUBLIC].parent)
    assert len(as_built) > 500
    elsewhere = {
        **os.environ,
        "PYTHONHASHSEED": "4242",
        "SOURCE_DATE_EPOCH": "1",
        "TZ": "Pacific/Kiritimati",
        "LC_ALL": "C",
    }
    done = subprocess.run(
        [sys.executable, "-c", BUILD, str(example_production), str(tmp_path / "sites")],
        env=elsewhere, check=True, stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert done.stdout.split() == ["False", "True", "True"]  # pages enough for two processes
    assert digests(tmp_path / "sites") == as_built


@pytest.mark.slow
def test_building_again_writes_nothing(example_production: Path, tmp_path: Path) -> None:
    (first,) = build_sites(example_production, (Edition.PUBLIC,), tmp_path)
    before = {path: path.stat().st_mtime_ns for path in first.folder.rglob("*") if path.is_file()}
    (again,) = build_sites(example_production, (Edition.PUBLIC,), tmp_path)
    assert (again.published.written, again.published.removed) == (0, 0)
    assert again.published.unchanged == first.published.written == len(before)
    assert {path: path.stat().st_mtime_ns for path in before} == before
