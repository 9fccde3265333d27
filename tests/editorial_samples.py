"""Editorial files that others wrote: the samples in the source distributions of two libraries.

``python -m tests.editorial_samples`` fetches them with pip into ``.tools/editorial``; what is there
already is left. They are Apache-2.0 and are not kept in this repository.
"""

from __future__ import annotations

import subprocess
import sys
import tarfile
import tempfile
from pathlib import Path, PurePosixPath

FOLDER = Path(__file__).resolve().parent.parent / ".tools" / "editorial"
SOURCES = {"opentimelineio": "0.18.1", "otio-cmx3600-adapter": "1.0.0"}
SUFFIXES = (".otio", ".edl")
HOW = "python -m tests.editorial_samples"


def sample(source: str, name: str) -> Path:
    """The path of a sample. Raises FileNotFoundError that says how to fetch it."""
    path = FOLDER / f"{source}-{SOURCES[source]}" / name
    if not path.is_file():
        raise FileNotFoundError(f"{name} of {source} is not here. Fetch it: {HOW}")
    return path


def fetch() -> None:
    """Fetch what is missing. Raises SystemExit with words when pip cannot."""
    for source, version in SOURCES.items():
        folder = FOLDER / f"{source}-{version}"
        if not folder.is_dir():
            _fetch(source, version, folder)


def _fetch(source: str, version: str, folder: Path) -> None:
    folder.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=folder.parent) as name:
        work = Path(name)
        pip = [sys.executable, "-m", "pip", "download", "--quiet", "--disable-pip-version-check"]
        ways = ["--no-deps", "--no-binary", source, "--dest", str(work)]
        if subprocess.run([*pip, *ways, f"{source}=={version}"], check=False).returncode:
            raise SystemExit(f"The source distribution of {source} {version} could not be fetched.")
        (archive,) = work.glob("*.tar.gz")
        samples = work / "samples"
        samples.mkdir()
        with tarfile.open(archive) as files:
            for member in files:
                path = PurePosixPath(member.name)
                if path.parts[1:3] == ("tests", "sample_data") and path.suffix in SUFFIXES:
                    taken = files.extractfile(member)
                    assert taken is not None
                    (samples / path.name).write_bytes(taken.read())
        samples.replace(folder)


if __name__ == "__main__":
    fetch()
