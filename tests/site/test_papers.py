"""What goes out on paper or to one person: day sheets, sheets that ask how names are spelled."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from credits.cli.main import run
from tests.canary_bytes import Read, places, read_all
from tests.canary_production import canary_production
from tests.canary_table import CANARIES, Canary
from tests.conftest import made_once

SHEETS = {
    "stage": ("--date", "1971-05-03", "--stage", "zqstage"),
    "later": ("--date", "1971-05-06", "--stage", "zqstage"),
    "workshop": ("--date", "1965-06-04", "--workshop", "Puppets"),
}
PEOPLE = {
    "ana": "Ana Lind",
    "ben": "Ben Moor",
    "cai": "Cai Holm",
    "dee": "Dee Ford",
    "eli": "Eli Marsh",
}
# What a stage reads and fills in: who is there to choose from, what it is on, what it has logged.
ON_A_DAY_SHEET = {
    "zqheldcode", "zqheldname", "zqhiddencode", "zqhiddenname", "zqshot", "zqstage", "zqordinary",
    "zqrepairnote", "entry", "any day",
}  # fmt: skip


def _make(folder: Path) -> None:
    film = canary_production(folder / "film")
    here = ("--production", str(film))
    for name, words in SHEETS.items():
        (folder / name).mkdir()
        out = folder / name / "sheet.xlsx"
        assert run(["sheet", *words, "--out", str(out), *here]) == 0
    for name, more in (("each", ()), ("legal", ("--legal",))):
        assert run(["export", "confirmations", "--each", str(folder / name), *more, *here]) == 0
    for name, more in (("all", ()), ("all-legal", ("--legal",))):
        (folder / name).mkdir()
        out = folder / name / "names.xlsx"
        assert run(["export", "confirmations", "--out", str(out), *more, *here]) == 0


@pytest.fixture(scope="module")
def papers(shared_folder: Path) -> Path:
    """Folders of what was made of the production of canaries."""
    return made_once(shared_folder / "papers", _make)


def _found(files: tuple[Read, ...]) -> dict[str, Canary]:
    return {canary.name: canary for canary in CANARIES if places(files, canary)}


@pytest.mark.parametrize("name", SHEETS)
def test_a_day_sheet_holds_what_a_place_fills_in_and_nothing_else(papers: Path, name: str) -> None:
    found = _found(read_all(papers / name))
    figures = {each for each in found if not each.startswith("zq")} - ON_A_DAY_SHEET
    said = ("minutes", "wait", "frames", "length", "animated", "finished")
    assert {each for each in figures if not each.startswith(said)} == set()
    assert {each for each in found if each.startswith("zq")} <= ON_A_DAY_SHEET
    assert "zqheldname" in found


@pytest.mark.parametrize("folder", ["each", "legal"])
def test_a_sheet_for_one_person_holds_nothing_of_another(
    papers: Path, folder: str, tmp_path: Path
) -> None:
    days = {"name confirmed on in 1961", "confirmed", "any day"}
    sheets = [path for path in (papers / folder).iterdir() if path.suffix in (".xlsx", ".pdf")]
    assert {path.stem for path in sheets} == PEOPLE.keys()
    for path in sheets:
        own = tmp_path / path.name
        own.mkdir()
        shutil.copy(path, own)
        files = read_all(own)
        legal = {"zqlegal"} if folder == "legal" and path.stem == "ana" else set()
        assert _found(files).keys() - days == legal, path.name
        texts = " ".join(file.text for file in files if not file.binary)
        for code, name in PEOPLE.items():
            assert (name.lower() in texts) is (code == path.stem), (path.name, name)


def test_the_sheet_for_all_asks_nobody_who_is_not_printed(papers: Path) -> None:
    days = {"name confirmed on in 1961", "confirmed", "any day"}
    assert _found(read_all(papers / "all")).keys() <= days
    assert _found(read_all(papers / "all-legal")).keys() - days == {"zqlegal"}
