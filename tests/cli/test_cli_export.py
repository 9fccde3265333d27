"""credits export: open standards into one file or to standard output, cut to an edition."""

from __future__ import annotations

import json
import stat
from pathlib import Path

import pytest
from prov.model import ProvAgent, ProvDocument

from tests.cli.conftest import Command

pytestmark = pytest.mark.usefixtures("film_with_cut")


def test_prov_json_to_standard_output_is_the_document_alone(credits_: Command) -> None:
    answer = credits_("export", "prov", "--for", "wick")
    document = ProvDocument.deserialize(content=answer.out, format="json")
    assert {str(agent.identifier) for agent in document.get_records(ProvAgent)} == {
        "person:ana", "person:ben", "person:cai",
    }  # fmt: skip
    assert answer.status == 0
    assert "legal department clears it" in answer.err


def test_prov_n_is_for_people(credits_: Command) -> None:
    answer = credits_("export", "prov", "--for", "010-020", "--edition", "crew", "--format", "n")
    assert answer.out.startswith("document\n")
    assert answer.out.endswith("endDocument\n")
    assert "used(work:A-1, puppet:wick-1, -)" in answer.out


def test_json_ld_of_the_film(credits_: Command) -> None:
    movie = credits_("export", "jsonld", "--out", "-").json
    assert (movie["@type"], movie["name"]) == ("Movie", "The Small Film")
    assert "hasPart" not in movie


def test_the_public_edition_is_meant_when_none_is_named(credits_: Command) -> None:
    assert credits_("export", "prov").out == credits_("export", "prov", "--edition", "public").out
    assert credits_("export", "prov").out != credits_("export", "prov", "--edition", "crew").out


def test_a_file_is_written_whole_and_the_same_again(credits_: Command, tmp_path: Path) -> None:
    target = tmp_path / "wick.json"
    answer = credits_("export", "prov", "--for", "WICK", "--out", target)
    assert answer.out == f"Wrote {target}: The Small Film, public edition.\n"
    first = target.read_bytes()
    assert json.loads(first)["entity"]["character:wick"]
    target.write_bytes(first[:-100])  # what was written before, of an earlier log
    target.chmod(0o640)
    assert credits_("export", "prov", "--for", "character=wick", "--out", target).status == 0
    assert target.read_bytes() == first
    assert stat.S_IMODE(target.stat().st_mode) == 0o640
    assert [path.name for path in tmp_path.glob("*.json")] == ["wick.json"]
    assert list(tmp_path.glob(".*")) == []


def test_a_link_keeps_pointing_at_what_is_written(credits_: Command, tmp_path: Path) -> None:
    (tmp_path / "real.json").write_text("")
    (tmp_path / "link.json").symlink_to("real.json")
    assert credits_("export", "jsonld", "--out", tmp_path / "link.json").status == 0
    assert (tmp_path / "link.json").is_symlink()
    assert json.loads((tmp_path / "real.json").read_text())["@type"] == "Movie"


@pytest.mark.parametrize(
    ("out", "said"),
    [
        ("folder", "is a folder, not a file"),
        ("nowhere/wick.json", "is no folder to write to"),
        ("/dev/null", "is no ordinary file"),
        ("n" * 300, "File name too long"),
    ],
)
def test_where_nothing_can_be_written(
    credits_: Command, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, out: str, said: str
) -> None:
    (tmp_path / "folder").mkdir()
    monkeypatch.setenv("CREDITS_PRODUCTION", str(tmp_path / "film"))
    monkeypatch.chdir(tmp_path)
    before = sorted(tmp_path.iterdir())
    answer = credits_("export", "jsonld", "--out", out)
    assert (answer.status, answer.out) == (2, "")
    assert said in answer.err
    assert sorted(tmp_path.iterdir()) == before


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["prov", "--for", "010-020"], "the public edition shows no shots. Write --edition crew"),
        (["prov", "--for", "wik"], "no character and no shot has this code. Did you mean wick"),
        (["prov", "--for", "zzzzz"], "See `credits find`."),
        (["prov", "--for", "shot=wick"], "no character and no shot has this code"),
        (["jsonld", "--format", "n"], "jsonld has one form"),
        (["xml"], "'xml' is not one of"),
    ],
)
def test_calls_that_cannot_be_answered(credits_: Command, words: list[str], said: str) -> None:
    answer = credits_("export", *words)
    assert (answer.status, answer.out) == (2, "")
    assert said in answer.err


def test_a_code_that_is_a_character_and_a_shot_is_asked_about(
    credits_: Command, tmp_path: Path
) -> None:
    (tmp_path / "characters.csv").write_text("character,name\n010-020,The Shot\nfilm,The Film\n")
    assert credits_("load", tmp_path / "characters.csv").status == 0
    answer = credits_("export", "prov", "--for", "010-020", "--edition", "crew")
    assert answer.status == 2
    assert "Write character=010-020 or shot=010-020." in answer.err
    for word in ("character=010-020", "shot=010-020", "character=film", "film"):
        assert credits_("export", "prov", "--for", word, "--edition", "crew").status == 0


def test_standard_output_is_utf_8_whatever_the_terminal_speaks(
    shell: Command, credits_: Command, tmp_path: Path
) -> None:
    (tmp_path / "people.csv").write_text("person,credit_name\nana,Åse 灯🔥\n", encoding="utf-8")
    assert credits_("load", tmp_path / "people.csv").status == 0
    env = {"PYTHONIOENCODING": "latin-1", "PYTHONUTF8": "0"}
    answer = shell("export", "jsonld", cwd=tmp_path / "film", **env)
    assert "Åse 灯🔥" in answer.out
