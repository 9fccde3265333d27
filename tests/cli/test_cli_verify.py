"""credits verify: the log, a backup, the seal of today, and what continues an earlier one."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from tests.cli.conftest import Command

pytestmark = pytest.mark.usefixtures("film_with_cut")
SOUND = "The log is sound: every line is there and can be read.\n"


def seal(credits_: Command, *args: object) -> str:
    text: str = credits_("verify", "--seal", "--json", *args).json["seal"]
    return text


def test_the_seal_is_printed_and_continued(credits_: Command) -> None:
    first = seal(credits_)
    answer = credits_("verify", "--seal")
    assert (answer.status, answer.out) == (0, f"{SOUND}Its seal, with 7 lines: {first}\n")
    assert credits_("log", "ana", "animation", "wick", "010-020", "1-2").status == 0
    answer = credits_("verify", "--against", first)
    assert answer.status == 0
    assert "It continues what had the other seal on " in answer.out
    assert "1 line came since." in answer.out
    found = credits_("verify", "--against", first, "--json").json
    assert (found["continues"], found["lines"], found["then"]["lines"]) == (True, 8, 7)
    assert found["then"]["seal"] == first
    assert found["seal"] == seal(credits_) != first


def test_the_seal_of_another_log_is_not_continued(credits_: Command) -> None:
    answer = credits_("verify", "--against", "0" * 64)
    assert (answer.status, answer.out) == (1, SOUND)
    assert "It does not continue what had the other seal" in answer.err
    found = credits_("verify", "--against", "0" * 64, "--json")
    assert (found.status, found.json["continues"], found.json["then"]) == (1, False, None)


def test_a_backup_is_looked_at_without_a_production(
    credits_: Command, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    copy = tmp_path / "copy.db"
    assert credits_("backup", copy).status == 0
    own = seal(credits_)
    monkeypatch.chdir(tmp_path)
    assert seal(credits_, copy) == own
    with closing(sqlite3.connect(copy)) as raw:
        raw.execute("DROP TRIGGER entries_changed")
        raw.execute("UPDATE entries SET person = 'cai' WHERE number = 2")
        raw.commit()
    answer = credits_("verify", copy, "--seal")
    assert answer.status == 1
    assert "copy.db: line A-2 was altered after it was written" in answer.err
    assert "Its seal" not in answer.out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("gone.db",), "'gone.db': is not there. Name a file made with `credits backup`."),
        ((".",), "'.': is not a file."),
        (("people.csv",), "'people.csv': is not a copy of a log."),
        (("--against", "12ab"), "--against '12ab': is no seal. Write the 64 digits"),
    ],
)
def test_calls_that_cannot_be(
    credits_: Command,
    film_with_cut: Path,
    monkeypatch: pytest.MonkeyPatch,
    words: tuple[str, ...],
    said: str,
) -> None:
    monkeypatch.chdir(film_with_cut)
    (film_with_cut / "people.csv").write_text("person\n")
    answer = credits_("verify", *words)
    assert (answer.status, answer.out) == (2, "")
    assert said in answer.err
