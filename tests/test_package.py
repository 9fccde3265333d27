"""What people install: the source archive, the wheel, and a run of it outside the checkout."""

from __future__ import annotations

import os
import subprocess
import sys
import sysconfig
import tarfile
import tomllib
import venv
import zipfile
from itertools import chain
from pathlib import Path

import pytest

import credits

pytestmark = pytest.mark.slow

CHECKOUT = Path(credits.__file__).parent.parent
DATA = ("site_templates/base.html", "site_templates/style.css", "site_templates/site.js",
        "db/env.py", "db/versions/0001_the_log.py")  # fmt: skip


def run(*command: str | Path, cwd: Path) -> str:
    """What a command prints; the test fails with everything it said when it fails."""
    environ = {key: value for key, value in os.environ.items() if not key.startswith("PYTHON")}
    done = subprocess.run(
        [str(part) for part in command], cwd=cwd, env=environ, capture_output=True, text=True,
        check=False,
    )  # fmt: skip
    assert done.returncode == 0, f"{command}\n{done.stdout}\n{done.stderr}"
    return done.stdout


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder with the source archive, and the wheel that was built from it."""
    out = tmp_path_factory.mktemp("dist")
    run(
        sys.executable, "-m", "build", "--no-isolation", "--outdir", out, CHECKOUT,
        cwd=out,
    )  # fmt: skip
    return out


@pytest.fixture(scope="module")
def wheel(built: Path) -> Path:
    (found,) = built.glob("*.whl")
    return found


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The programs of a fresh environment with the wheel; its libraries are those of this run."""
    folder = tmp_path_factory.mktemp("installed")
    venv.create(folder, with_pip=False, symlinks=os.name != "nt")
    (site,) = folder.glob("lib/python*/site-packages")
    with zipfile.ZipFile(wheel) as packed:
        packed.extractall(site)
    libraries = Path(sysconfig.get_path("purelib"))
    # Links, not a path: a path would bring this checkout's editable install along.
    for entry in libraries.iterdir():
        ours = entry.name.startswith(("performance_credits", "_performance_credits", "credits"))
        if not ours and entry.suffix != ".pth" and not (site / entry.name).exists():
            (site / entry.name).symlink_to(entry)
    return folder / "bin"


def test_the_wheel_carries_its_data_under_the_package(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as packed:
        names = set(packed.namelist())
    assert {f"credits/_data/{name}" for name in DATA} <= names
    assert any(name.startswith("credits/_data/examples/") for name in names)
    tops = {name.partition("/")[0] for name in names}
    assert {top for top in tops if not top.endswith(".dist-info")} == {"credits"}
    strays = [n for n in names if "__pycache__" in n or "_cache" in n or n.endswith(".pyc")]
    assert strays == []


def test_the_source_archive_holds_the_same_files_as_the_checkout(built: Path) -> None:
    (archive,) = built.glob("*.tar.gz")
    with tarfile.open(archive) as packed:
        names = {name.partition("/")[2] for name in packed.getnames()}
    assert {*DATA, "pyproject.toml", "README.md", "LICENSE", "Makefile", "constraints.txt"} <= names
    assert "tests/conftest.py" in names
    assert not {name for name in names if "__pycache__" in name or "_cache/" in name}


def test_the_installed_program_runs_far_from_the_checkout(installed: Path, tmp_path: Path) -> None:
    python = installed / "python"
    where = run(python, "-c", "import credits; print(credits.__file__)", cwd=tmp_path)
    assert str(CHECKOUT) not in where
    program = (python, "-c", "import sys; from credits.cli.main import run; sys.exit(run())")
    assert run(*program, "--version", cwd=tmp_path).strip() == f"credits {credits.__version__}"
    first, *pages = run(*program, "demo", "demo", cwd=tmp_path).splitlines()
    assert first.startswith("The Tardy Echo in demo: 69 people, 12 characters, 80 shots")
    assert "cut version 1 runs" in first
    assert [Path(page).parent.name for page in pages] == ["public", "crew", "office"]
    assert all((tmp_path / page).is_file() for page in pages)
    assert any((tmp_path / "demo" / "pictures").iterdir())
    run(*program, "verify", "--production", "demo", cwd=tmp_path)


def test_the_installed_program_has_its_migrations(installed: Path, tmp_path: Path) -> None:
    program = """
from pathlib import Path
from credits import (files)
from credits.store.log import open_log
from credits.store.production import create_production
from credits.store.seals.verify import verify
assert "_data" in files.shipped("db").parts and "_data" in files.shipped("site_templates").parts
folder = create_production(Path("film"), "The Small Film")
open_log(folder).close()
print(verify(folder))
"""
    assert run(installed / "python", "-c", program, cwd=tmp_path).strip() == "()"


def test_the_wheel_declares_its_command_and_its_libraries(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as packed:
        (points,) = [n for n in packed.namelist() if n.endswith("entry_points.txt")]
        (about,) = [n for n in packed.namelist() if n.endswith(".dist-info/METADATA")]
        assert "credits = credits.__main__:main" in packed.read(points).decode()
        metadata = packed.read(about).decode()
    assert f"Version: {credits.__version__}" in metadata
    assert "Requires-Dist: sqlmodel" in metadata


def test_an_editable_install_reads_the_checkout_and_leaves_no_copy(tmp_path: Path) -> None:
    run(
        sys.executable, "-c",
        f"import os, hatchling.build as b; os.chdir({str(CHECKOUT)!r});"
        f" print(b.build_editable({str(tmp_path)!r}))",
        cwd=tmp_path,
    )  # fmt: skip
    (editable,) = tmp_path.glob("*.whl")
    with zipfile.ZipFile(editable) as packed:
        names = packed.namelist()
    assert not [name for name in names if "_data" in name]
    assert not (CHECKOUT / "credits/_data").exists()


def test_the_pins_name_no_address_and_cover_every_library() -> None:
    pins = (CHECKOUT / "constraints.txt").read_text(encoding="utf-8")
    assert "://" not in pins
    assert " @ " not in pins
    pinned = {line.partition("==")[0] for line in pins.splitlines()}
    project = tomllib.loads((CHECKOUT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = chain.from_iterable(project["optional-dependencies"].values())
    asked = [*project["dependencies"], *extras]
    names = {line.partition(">")[0].partition("[")[0].lower().replace("_", "-") for line in asked}
    assert names <= pinned
