"""The libraries that the product installs: their licences, and what the guide says of them."""

from __future__ import annotations

import ast
import re
import tomllib
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from types import ModuleType

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parents[1]
# The name under which a library is imported, where that is another.
IMPORTED = {
    "python-calamine": "python_calamine", "python-stdnum": "stdnum", "fonttools": "fontTools",
    "pillow": "PIL", "xlsxwriter": "xlsxwriter", "pyicu": "icu",
}  # fmt: skip


@pytest.fixture(scope="module")
def libraries() -> ModuleType:
    spec = spec_from_file_location("libraries", ROOT / ".ci" / "libraries.py")
    assert spec is not None
    assert spec.loader is not None
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
# A library of the system, or one that is built where it is installed: who wants it brings it.
OF_THE_SYSTEM = {
    canonicalize_name(Requirement(text).name)
    for text in PROJECT["optional-dependencies"]["alphabet"]
}


def asked_for() -> set[str]:
    """The libraries that the product asks for by name."""
    texts = [*PROJECT["dependencies"], *PROJECT["optional-dependencies"]["postgres"]]
    return {canonicalize_name(Requirement(text).name) for text in texts}


def told() -> dict[str, str]:
    """The rows of the guide's table: the library, and behind what it stands."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    table = text.partition("## Libraries")[2].partition("\n## ")[0]
    rows = [line.strip("| ").split(" | ") for line in table.splitlines() if line.startswith("| ")]
    return {canonicalize_name(row[0]): row[5] for row in rows[2:]}


def test_every_licence_goes_with_ours(libraries: ModuleType) -> None:
    found = libraries.installed()
    assert asked_for() <= set(found)
    said = {name: libraries.licence(own) for name, own in found.items()}
    assert {name: text for name, text in said.items() if not libraries.fits(text)} == {}
    assert not any(libraries.fits(text) for text in ("", "Proprietary", "GNU General Public"))


def test_the_guide_tells_of_every_library_and_of_no_other() -> None:
    assert set(told()) == asked_for() | OF_THE_SYSTEM


@pytest.mark.parametrize("name", sorted(asked_for() | OF_THE_SYSTEM))
def test_a_library_stands_behind_what_the_guide_says(name: str) -> None:
    module = IMPORTED.get(name, name)
    imports = re.compile(
        rf"^\s*(?:import|from) {module}\b|import_(?:module|for_good)\(\"{module}\b", re.MULTILINE
    )
    places = re.findall(r"`([^`]+)`", told()[name])
    for path in sorted((ROOT / "credits").rglob("*.py")):
        text = path.read_text(encoding="utf-8")
        if imports.search(text):
            ast.parse(text)
            at = path.relative_to(ROOT / "credits").as_posix()
            named = [place for place in places if _covers(place, at)]
            assert named, f"{at} imports {name}"


def _covers(place: str, path: str) -> bool:
    if place.endswith("/"):
        return path.startswith(place)
    if "*" in place:
        return Path(path).match(place)
    return path == place or path.endswith(f"/{place}")
