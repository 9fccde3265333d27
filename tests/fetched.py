"""Files that others publish, from the source distributions of libraries: editorial samples, and the
vocabulary of schema.org as its keepers release it.

``python -m tests.fetched`` fetches them with pip into ``.tools/fetched``; what is there already is
left. They are under their own licences (Apache-2.0; CC BY-SA 3.0) and are not kept in this
repository.
"""

from __future__ import annotations

import subprocess
import sys
import tarfile
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

FOLDER = Path(__file__).resolve().parent.parent / ".tools" / "fetched"
HOW = "python -m tests.fetched"


@dataclass(frozen=True, slots=True)
class Source:
    """A source distribution, and which of its files are taken."""

    version: str
    takes: Callable[[PurePosixPath], bool]


def _editorial(path: PurePosixPath) -> bool:
    return path.parts[1:3] == ("tests", "sample_data") and path.suffix in {".otio", ".edl"}


def _vocabulary(path: PurePosixPath) -> bool:
    released = path.parts[-3:-1] == ("releases", "12.0")
    return released and path.name.startswith("schemaorg-all-https-") and path.suffix == ".csv"


SOURCES = {
    "opentimelineio": Source("0.18.1", _editorial),
    "otio-cmx3600-adapter": Source("1.0.0", _editorial),
    "schemaorg": Source("0.1.1", _vocabulary),
}


def _folder(source: str) -> Path:
    return FOLDER / f"{source}-{SOURCES[source].version}"


def sample(source: str, name: str) -> Path:
    """The path of a fetched file. Raises FileNotFoundError that says how to fetch it."""
    path = _folder(source) / name
    if not path.is_file():
        raise FileNotFoundError(f"{name} of {source} is not here. Fetch it: {HOW}")
    return path


def fetch() -> None:
    """Fetch what is missing. Raises SystemExit with words when pip cannot."""
    for source in SOURCES:
        if not _folder(source).is_dir():
            _fetch(source)


def _fetch(source: str) -> None:
    FOLDER.mkdir(parents=True, exist_ok=True)
    wanted = f"{source}=={SOURCES[source].version}"
    with tempfile.TemporaryDirectory(dir=FOLDER) as name:
        work = Path(name)
        pip = [sys.executable, "-m", "pip", "download", "--quiet", "--disable-pip-version-check"]
        ways = ["--no-deps", "--no-binary", source, "--dest", str(work)]
        if subprocess.run([*pip, *ways, wanted], check=False).returncode:
            raise SystemExit(f"The source distribution {wanted} could not be fetched.")
        (archive,) = work.glob("*.tar.gz")
        samples = work / "samples"
        samples.mkdir()
        with tarfile.open(archive) as files:
            for member in files:
                path = PurePosixPath(member.name)
                if member.isfile() and SOURCES[source].takes(path):
                    taken = files.extractfile(member)
                    assert taken is not None
                    (samples / path.name).write_bytes(taken.read())
        samples.replace(_folder(source))


if __name__ == "__main__":
    fetch()
