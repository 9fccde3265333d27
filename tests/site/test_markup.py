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
from tests.site.conftest import LOOKED_AT
from tests.site.pages_on_disk import of_each_kind

# The checker does not know container units and queries yet (CSS Containment Module Level 3): they
# are read as those of the window. Nor in which order a letter is painted (SVG 2).
NEWER = (
    (re.compile(r"(?<=\d)cq(?=[wh]\b)"), "v"),
    (re.compile(r"@container (?=\()"), "@media "),
    (re.compile(r"\b(container-type|paint-order):[^;}]*;"), ""),
)

JAR = Path(".tools/nu/node_modules/vnu-jar/build/dist/vnu.jar")


# The checker is a program of a few seconds: its compiler need not make the fastest code of it.
JAVA = ("java", "-XX:TieredStopAtLevel=1", "-XX:+UseSerialGC", "-Xss4m", "-jar")
ASKED = ("--stdout", "--exit-zero-always", "--format", "json", "--errors-only")
EVERY_KIND = ("--also-check-css", "--also-check-svg")
WRONG = {
    "wrong.html": "<!doctype html><html lang=en><title>A</title><i id=a></i><b id=a></b>",
    "wrong.css": "p { colour: red }",
    "wrong.svg": '<svg xmlns="http://www.w3.org/2000/svg"><rect widht="1"/></svg>',
}


def as_known(site: Path, path: str, folder: Path) -> Path:
    """A copy of a file of the site, called after its place, in words that the checker knows."""
    text = (site / path).read_text(encoding="utf-8")
    for newer, known in NEWER:
        text = newer.sub(known, text)
    copy = folder / f"{site.name}-{path.replace('/', '-')}"
    copy.write_text(text, encoding="utf-8")
    return copy


@pytest.fixture(scope="module")
def checked(
    example_sites: Mapping[Edition, Path],
    pytestconfig: pytest.Config,
    tmp_path_factory: pytest.TempPathFactory,
) -> dict[str, list[str]]:
    """What the checker says is wrong, by file: each kind of page of each edition, the style sheet,
    the pictures, and three that are wrong. It looks at all of them at once."""
    jar = Path(os.environ.get("CREDITS_NU", pytestconfig.rootpath / JAR))
    assert jar.is_file(), "No Nu HTML checker here. `make test` brings one; CREDITS_NU names one."
    folder = tmp_path_factory.mktemp("markup")
    files = [
        as_known(site, path, folder)
        for edition, site in example_sites.items()
        for paths in of_each_kind(site).values()
        for path in sorted(set(paths if edition in LOOKED_AT else paths[1:]))
    ]
    office = example_sites[Edition.OFFICE]
    files += [as_known(office, "style.css", folder), *sorted((office / "pictures").glob("*.svg"))]
    for name, text in WRONG.items():
        files.append(folder / name)
        files[-1].write_text(text, encoding="utf-8")
    done = subprocess.run(
        [*JAVA, str(jar), *ASKED, *EVERY_KIND, *map(str, files)],
        capture_output=True, text=True, check=True, timeout=240,
    )  # fmt: skip
    found: dict[str, list[str]] = {file.name: [] for file in files}
    for said in json.loads(done.stdout)["messages"]:
        name = Path(said["url"]).name
        found[name].append(f"{name}:{said.get('lastLine')}: {said['message']}")
    return found


@pytest.mark.parametrize("name", WRONG)
def test_the_checker_finds_what_is_wrong(checked: Mapping[str, list[str]], name: str) -> None:
    assert checked[name]


@pytest.mark.parametrize(
    ("ending", "least"), [(".html", 50), (".css", 0), (".svg", 10)], ids=["pages", "style", "drawn"]
)
def test_nothing_is_wrong_with_a_site(
    checked: Mapping[str, list[str]], ending: str, least: int
) -> None:
    """Each kind of page in each edition; the style sheet; the pictures."""
    own = {name: said for name, said in checked.items() if name.endswith(ending)}
    assert len(own.keys() - WRONG.keys()) > least
    assert [one for name, said in own.items() if name not in WRONG for one in said] == []
