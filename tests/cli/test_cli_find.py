"""credits find: by what is called so, was called so, and entries by day, stage, craft, person."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.conftest import Command

DAY = """craft,person,puppet,shot,frames,stage,finished_on,note
animation,ana,wick-1,010-020,1-8,S1,2026-03-09,
animation,ben,brine-1,010-020,1-8,S1,2026-03-09,The scarf slipped
repair,cai,wick-2,,,S2,2026-03-10,Ça plie <b>mal</b>
repair,cai,wick-1,,,,,
"""


@pytest.fixture(autouse=True)
def day(film: Path, tmp_path: Path, credits_: Command) -> Path:
    """The worked example with two days on stages."""
    (tmp_path / "entries.csv").write_text(DAY, encoding="utf-8")
    assert credits_("load", tmp_path / "entries.csv").status == 0
    return film


def entries(credits_: Command, *words: str) -> list[str]:
    found = credits_("find", *words, "--json").json["found"]
    assert {each["kind"] for each in found} <= {"entry"}
    return [each["code"] for each in found]


def load(credits_: Command, folder: Path, table: str, text: str) -> None:
    (folder / f"{table}.csv").write_text(text, encoding="utf-8")
    assert credits_("load", folder / f"{table}.csv").status == 0


@pytest.mark.parametrize(
    ("words", "found"),
    [
        (("--on", "2026-03-09"), ["A-8", "A-9"]),
        (("--on", "9 mar 2026", "--person", "BEN"), ["A-9"]),
        (("--from", "2026-03-03", "--to", "2026-03-09"), ["A-2", "A-3", "A-7", "A-8", "A-9"]),
        (("--from", "2026-03-10"), ["A-10"]),
        (("--stage", "s1"), ["A-8", "A-9"]),
        (("--stage", "S1,S2", "--craft", "repair"), ["A-10"]),
        (("--craft", "repair"), ["A-7", "A-10", "A-11"]),
        (("--shot", "010-020", "--person", "cai"), ["A-3"]),
        (("scarf", "--on", "2026-03-09"), ["A-9"]),
        (("ca PLIE", "--person", "cai"), ["A-10"]),
        (("wick", "--stage", "S1"), ["A-8"]),
        (("brine-1", "--stage", "S1"), ["A-9"]),
        (("A-9", "--stage", "S1"), ["A-9"]),
        (("2026-03-10",), ["A-10"]),
        (("scarf",), ["A-9"]),
        (("--on", "1999-01-01"), []),
    ],
)
def test_entries_are_found(credits_: Command, words: tuple[str, ...], found: list[str]) -> None:
    assert entries(credits_, *words) == found


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((), "nothing is looked for"),
        (("--stage", "S9"), "no stage has this code"),
        (("--person", "anna"), "Did you mean ana (Ana)?"),
        (("--on", "someday"), "--on 'someday'"),
        (("--from", "2026-03-10", "--to", "2026-03-09"), "lies before --from"),
        (("--on", "today", "--from", "today"), "--from and --to mean several"),
    ],
)
def test_what_cannot_be_looked_for(credits_: Command, words: tuple[str, ...], said: str) -> None:
    answer = credits_("find", *words)
    assert (answer.status, answer.out) == (2, "")
    assert said in answer.err


def test_a_former_name_finds_what_is_called_otherwise_now(
    credits_: Command, tmp_path: Path
) -> None:
    for name in ("Ana Ødegård", "Ana Berg", "Ana <i>Lind</i>"):
        load(credits_, tmp_path, "people", f"person,credit_name\nana,{name}\n")
    (found,) = credits_("find", "odegard", "--json").json["found"]
    assert found == {
        "kind": "person", "code": "ana", "says": "Ana <i>Lind</i> (formerly Ana Ødegård)",
    }  # fmt: skip
    (found,) = credits_("find", "lind", "--json").json["found"]
    assert found["says"] == "Ana <i>Lind</i>"
    load(credits_, tmp_path, "people", "person,credit_name\nana,Ana Berg\n")
    (found,) = credits_("find", "berg", "--json").json["found"]
    assert found["says"] == "Ana Berg"


def test_what_was_described_otherwise_before_is_found(credits_: Command, tmp_path: Path) -> None:
    for text in ("The lamp falls", "The lamp hangs"):
        load(
            credits_, tmp_path, "shots",
            f"shot,sequence,frames,description\n010-020,010,48,{text}\n",
        )  # fmt: skip
    (found,) = credits_("find", "falls", "--json").json["found"]
    assert found["says"] == "The lamp hangs (formerly The lamp falls)"


def test_a_legal_name_is_found_and_marked_as_the_offices(credits_: Command, tmp_path: Path) -> None:
    load(
        credits_, tmp_path, "people", "person,credit_name,legal_name\nana,Ana,Anastasia Zábranská\n"
    )
    (found,) = credits_("find", "zabranska", "--json").json["found"]
    assert found["says"] == "Ana (legal name, for the office alone: Anastasia Zábranská)"


def test_notes_and_crafts_are_found(credits_: Command, tmp_path: Path) -> None:
    load(credits_, tmp_path, "people", "person,credit_name,note\nana,Ana,On loan from the opera\n")
    (found,) = credits_("find", "opera", "--json").json["found"]
    assert found["code"] == "ana"
    kinds = [each["kind"] for each in credits_("find", "puppet rep", "--json").json["found"]]
    assert kinds == ["craft", "heading"]


@pytest.mark.parametrize("text", ["<script>", "=cmd()", "'", '"', "😀", "%", "x" * 200, "\u202e"])
def test_nothing_is_found_by_odd_texts(credits_: Command, text: str) -> None:
    assert credits_("find", text).status == 1
    assert credits_("find", text, "--stage", "S1").status in (0, 1)


def test_many_words_are_looked_for_as_few_are(credits_: Command) -> None:
    few, many = (
        credits_("find", *(f"nothing-{at}" for at in range(count))) for count in (1, 3_000)
    )
    assert (many.status, many.out) == (few.status, few.out)
