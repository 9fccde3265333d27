"""The markup and the style sheet are without errors by the Nu HTML checker (a Java program)."""

from __future__ import annotations

import json
import os
import re
import subprocess
from collections.abc import Mapping
from pathlib import Path

import pytest

from credits.editions import Edition
from tests.site.pages_on_disk import of_each_kind

# The checker does not know container units and queries yet (CSS Containment Module Level 3): they
# are read as those of the window. Nor in which order a letter is painted (SVG 2).
NEWER = (
    (re.compile(r"(?<=\d)cq(?=[wh]\b)"), "v"),
    (re.compile(r"@container (?=\()"), "@media "),
    (re.compile(r"\b(container-type|paint-order):[^;}]*;"), ""),
)

JAR = Path(".tools/nu/node_modules/vnu-jar/build/dist/vnu.jar")


def checked(pytestconfig: pytest.Config, files: list[Path], *options: str) -> list[str]:
    """What the checker says is wrong with the files."""
    jar = Path(os.environ.get("CREDITS_NU", pytestconfig.rootpath / JAR))
    assert jar.is_file(), "No Nu HTML checker here. `make test` brings one; CREDITS_NU names one."
    done = subprocess.run(
        ["java", "-Xss4m", "-jar", str(jar), "--stdout", "--exit-zero-always", "--format", "json",
         "--errors-only", *options, *map(str, files)],
        capture_output=True, text=True, check=True, timeout=240,
    )  # fmt: skip
    return [
        f"{Path(said['url']).name}:{said.get('lastLine')}: {said['message']}"
        for said in json.loads(done.stdout)["messages"]
    ]


def as_known(site: Path, path: str, folder: Path) -> Path:
    """A copy of a file of the site, called after its place, in words that the checker knows."""
    text = (site / path).read_text(encoding="utf-8")
    for newer, known in NEWER:
        text = newer.sub(known, text)
    copy = folder / f"{site.name}-{path.replace('/', '-')}"
    copy.write_text(text, encoding="utf-8")
    return copy


def test_the_checker_finds_what_is_wrong(tmp_path: Path, pytestconfig: pytest.Config) -> None:
    page = tmp_path / "wrong.html"
    page.write_text("<!doctype html><html lang=en><title>A</title><i id=a></i><b id=a></b>")
    sheet = tmp_path / "wrong.css"
    sheet.write_text("p { colour: red }")
    assert checked(pytestconfig, [page])
    assert checked(pytestconfig, [sheet], "--css")


def test_each_kind_of_page_in_each_edition(
    example_sites: Mapping[Edition, Path], pytestconfig: pytest.Config, tmp_path: Path
) -> None:
    files = [
        as_known(site, path, tmp_path)
        for site in example_sites.values()
        for paths in of_each_kind(site).values()
        for path in sorted(set(paths))
    ]
    assert len(files) > 50
    assert checked(pytestconfig, files) == []


def test_the_style_sheet_and_the_pictures(
    example_sites: Mapping[Edition, Path], pytestconfig: pytest.Config, tmp_path: Path
) -> None:
    site = example_sites[Edition.OFFICE]
    assert checked(pytestconfig, [as_known(site, "style.css", tmp_path)], "--css") == []
    pictures = sorted((site / "pictures").glob("*.svg"))
    assert len(pictures) > 10
    assert checked(pytestconfig, pictures, "--svg") == []
