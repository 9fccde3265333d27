"""Nothing tells who asked not to be named: whoever it is, others read the same bytes.

Two productions are alike but for the code, the name and the sort name of two people. One asked from
the beginning not to be named; the other stands in a proof, and asked afterwards.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest

from credits.app.site import build_sites
from credits.cli.main import run
from credits.editions import Edition
from tests import canary_production
from tests.canary_bytes import read_all
from tests.canary_production import TABLES
from tests.conftest import made_once

FORMS = ("text", "csv", "xlsx", "pdf", "json", "prov", "jsonld")
READERS = (Edition.PUBLIC, Edition.CREW)
ONE_PERSON = {
    "zqhiddencode": "aaa", "Zqhiddenname": "Aaron Aab", "Zqhiddensort": '"Aab, Aaron"',
    "later": "abe", "Later Name": "Abe First",
}  # fmt: skip
ANOTHER = {
    "zqhiddencode": "zzz-a-longer-code", "Zqhiddenname": "Дмитрий Ящ", "Zqhiddensort": "Ящ",
    "later": "葉", "Later Name": "Zoe Last-Of-All Of Them",
}  # fmt: skip
# Eli, in these two, is the one who asked after the proof.
AS_LATER = (('eli,Eli Marsh,"Marsh, Eli"', "later,Later Name,"), (",eli,", ",later,"))


def _of_these(people: Mapping[str, str]) -> dict[str, str]:
    """The tables of the canaries, of these people."""
    made = {}
    for name, table in TABLES.items():
        for old, new in (*AS_LATER, *people.items()):
            table = table.replace(old, new)
        made[name] = table
    return made


def _make(folder: Path) -> None:
    for name, people in (("one", ONE_PERSON), ("another", ANOTHER)):
        own = folder / name
        own.mkdir(parents=True)
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(canary_production, "TABLES", _of_these(people))
            film = canary_production.canary_production(own / "film")
        here = ("-p", str(film))
        asked = ("correct", "people", people["later"], "credit_wish=uncredited", "--why", "asked")
        assert run([*asked, *here]) == 0
        build_sites(film, READERS, own / "made" / "sites")
        for edition in READERS:
            (own / "made" / edition).mkdir(parents=True)
            for form in FORMS:
                out = own / "made" / edition / f"credits.{'txt' if form == 'text' else form}"
                words = ("export", form, "--edition", edition.value, "--out", str(out))
                assert run([*words, *here]) == 0


@pytest.fixture(scope="module")
def made(shared_folder: Path) -> Path:
    """The sites and exports of both productions."""
    return made_once(shared_folder / "uncredited", _make)


def _files(folder: Path) -> dict[str, bytes]:
    every = (path for path in (folder / "made").rglob("*") if path.is_file())
    return {path.relative_to(folder / "made").as_posix(): path.read_bytes() for path in every}


def test_whoever_is_uncredited_others_read_the_same(made: Path) -> None:
    one, another = _files(made / "one"), _files(made / "another")
    assert len(one) > 100
    assert {edition.value for edition in READERS} < {name.partition("/")[0] for name in one}
    assert sorted(one.keys() ^ another.keys()) == []
    assert [name for name, content in one.items() if another[name] != content] == []


def test_nobody_of_them_is_named(made: Path) -> None:
    for name, people in (("one", ONE_PERSON), ("another", ANOTHER)):
        files = read_all(made / name / "made")
        texts = [file.text for file in files if not file.binary]
        for told in (people["Zqhiddenname"], people["Later Name"]):
            assert [each for each in texts if told.lower() in each] == []
        assert any("dee ford" in text for text in texts)


def test_they_are_told_from_nobody_in_the_public_edition_but_as_uncredited_in_the_crews(
    made: Path,
) -> None:
    public = read_all(made / "one" / "made" / "sites" / "public")
    crew = read_all(made / "one" / "made" / "sites" / "crew")
    assert sum("uncredited" in page.text for page in crew) > 5
    names = {page.name for page in public if "uncredited" in page.text}
    assert names <= {"counted.html"}  # which says what the word means
