"""Nothing tells who asked not to be named: whoever it is, others read the same bytes.

Two productions are alike but for the code, the name and the sort name of two people. One asked from
the beginning not to be named; the other stands in a proof, and asked afterwards. A third is like
the first but for everything that only the office may see, or nobody: no byte that others read is
made of it, neither a word nor an order nor a digest, so nobody can try out what it might be.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path

import pytest

from credits.app.site import build_sites
from credits.cli.main import run
from credits.editions import Edition
from tests import canary_production
from tests.canary_bytes import read_all
from tests.canary_production import TABLES
from tests.canary_table import CANARIES
from tests.conftest import made_once

FORMS = ("text", "csv", "xlsx", "pdf", "json", "prov", "jsonld")
PROOFS = ("text", "csv", "xlsx", "pdf", "json")
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


def _private_words() -> dict[str, str]:
    """Other words and numbers for what neither public nor crew may have, some longer."""
    others = {}
    for canary in CANARIES:
        kind, _, number = canary.name.rpartition(" ")
        of_a_file = canary.name == "zqcutfile"
        if canary.least in (None, Edition.OFFICE) and not (canary.in_proofs or of_a_file):
            if canary.name.startswith("zq") and "hidden" not in canary.name:
                others[canary.name] = f"other{len(others)}" * (1 + len(others) % 3)
            elif kind and number.isdigit():
                others[number] = str(int(number) + 22)
    return others


def _with_other_words(patch: pytest.MonkeyPatch, others: Mapping[str, str]) -> None:
    """Have the production made of other words, wherever they are written."""
    any_word = re.compile("|".join(sorted(others, key=len, reverse=True)), re.IGNORECASE)

    def changed(text: str) -> str:
        return any_word.sub(lambda found: others[found[0].lower()], text)

    tables = {name: changed(table) for name, table in canary_production.TABLES.items()}
    patch.setattr(canary_production, "TABLES", tables)
    patch.setattr(canary_production, "PLAN", changed(canary_production.PLAN))
    done = canary_production._done
    patch.setattr(
        canary_production, "_done", lambda folder, *words: done(folder, *map(changed, words))
    )


def _make(folder: Path) -> None:
    for name, people in (("one", ONE_PERSON), ("another", ANOTHER), ("private", ONE_PERSON)):
        own = folder / name
        own.mkdir(parents=True)
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(canary_production, "TABLES", _of_these(people))
            if name == "private":
                _with_other_words(patch, _private_words())
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
        # The crew's proof names who asked afterwards; the public one is not written.
        (own / "proofs").mkdir()
        for form in PROOFS:
            out = own / "proofs" / f"proof.{'txt' if form == 'text' else form}"
            words = ("export", form, "--proof", "1", "--edition", "crew", "--out", str(out))
            assert run([*words, *here]) == 0


@pytest.fixture(scope="module")
def made(shared_folder: Path) -> Path:
    """The sites and exports of both productions."""
    return made_once(shared_folder / "uncredited", _make)


def _files(folder: Path, *under: str) -> dict[str, bytes]:
    every = (path for name in under for path in (folder / name).rglob("*") if path.is_file())
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in every}


def test_whoever_is_uncredited_others_read_the_same(made: Path) -> None:
    one, another = _files(made / "one", "made"), _files(made / "another", "made")
    assert len(one) > 100
    assert {edition.value for edition in READERS} < {name.split("/")[1] for name in one}
    assert sorted(one.keys() ^ another.keys()) == []
    assert [name for name, content in one.items() if another[name] != content] == []


def test_no_byte_that_others_read_is_made_of_what_they_may_not_see(made: Path) -> None:
    one, private = (_files(made / name, "made", "proofs") for name in ("one", "private"))
    assert len([name for name in one if name.startswith("proofs/")]) == len(PROOFS)
    assert sorted(one.keys() ^ private.keys()) == []
    assert [name for name, content in one.items() if private[name] != content] == []


def test_the_other_words_are_in_the_log(made: Path) -> None:
    """So that the test before would see what it looks for."""
    # Four figures stand somewhere among the seals of any log.
    others = [word for word in _private_words() if not word.isdigit()]
    assert len(others) > 35
    kept = [(made / name / "film" / "production.db").read_bytes() for name in ("one", "private")]
    written = [word for word in others if word.encode() in kept[0]]
    assert len(written) > 25
    assert [word for word in written if word.encode() in kept[1]] == []


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
