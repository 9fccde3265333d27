"""A log of version 0003, as its own program wrote it: opened, copied, brought up, still the same.

``log_0003.sql`` is a dump of that log: five people, two characters, a cut, answers, words on
spellings, a proof, a line amended and one voided.
"""

from __future__ import annotations

import json
import sqlite3
import subprocess
import sys
from contextlib import closing
from datetime import UTC, date, datetime
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest

from credits.cli.main import run
from credits.model.facts import Confirmation, EntryNumber, ProofMark
from credits.model.replay import replay
from credits.store.log import open_log
from credits.store.seals.seal import fits_its_seal
from credits.store.seals.verify import verify

DUMP = Path(__file__).with_name("log_0003.sql")
KEPT_TABLES = (
    "entries", "history", "people", "shots", "takes", "replacements", "cut_clips", "settlements",
    "confirmations", "proofs",
)  # fmt: skip

pytestmark = pytest.mark.sqlite


@pytest.fixture
def film_0003(empty: Path) -> Path:
    """The production that the dump is of."""
    path = empty / "production.db"
    path.unlink()
    with closing(sqlite3.connect(path)) as raw:
        raw.executescript(DUMP.read_text(encoding="utf-8"))
    return empty


def contents(path: Path) -> dict[str, list[tuple[object, ...]]]:
    """The rows of each table, in the columns of the dump: later ones stand behind them."""
    with closing(sqlite3.connect(":memory:")) as dump, closing(sqlite3.connect(path)) as raw:
        dump.executescript(DUMP.read_text(encoding="utf-8"))
        columns = {
            name: ", ".join(row[1] for row in dump.execute(f"PRAGMA table_info({name})"))
            for name in KEPT_TABLES
        }
        return {
            name: raw.execute(f"SELECT {own} FROM {name}").fetchall()
            for name, own in columns.items()
        }


def answer(command: str, folder: Path, capsys: pytest.CaptureFixture[str]) -> Any:
    """What a command answers in JSON."""
    assert run([command, "--json", "-p", str(folder)]) == 0
    return json.loads(capsys.readouterr().out)


def test_it_is_copied_and_brought_up_with_all_its_rows(film_0003: Path) -> None:
    path, copy = film_0003 / "production.db", film_0003 / "production.db.before-0003"
    before = contents(path)
    open_log(film_0003).close()
    after = contents(path)
    # Version 0004 filled a column of the crafts behind the history, which says so since 0007.
    *history, filled = after["history"]
    assert {**after, "history": history} == contents(copy) == before
    assert filled[1:4] == ("crafts", "repair", "update")
    assert [len(rows) for rows in before.values()] == [12, 44, 5, 2, 2, 1, 2, 3, 2, 1]
    with closing(sqlite3.connect(copy)) as raw:
        assert raw.execute("SELECT version_num FROM alembic_version").fetchall() == [("0003",)]
    assert verify(film_0003) == ()


def test_its_figures_are_those_that_its_own_program_gave(
    film_0003: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    footage = answer("footage", film_0003, capsys)
    assert footage["cut"] == 1
    assert {row["person"]: row["shot_frames"] for row in footage["rows"]} == {
        "cai": {"shot": "39", "kept": "24", "accepted": "24", "cut": "22", "screen": "22"},
        "ana": {"shot": "99", "kept": "84", "accepted": "24", "cut": "34", "screen": "46"},
    }
    assert footage["total"]["character_frames"] == {
        "shot": "156", "kept": "156", "accepted": "96", "cut": "100", "screen": "112",
    }  # fmt: skip
    roll = answer("roll", film_0003, capsys)
    assert [
        (section["heading"], line["name"], line["role"])
        for section in roll["sections"]
        for line in section["lines"]
    ] == [
        ("Lead animator", "Ana Quist", None),
        ("Voice", "דב לוי", "Wick"),
        ("Animation", "Ana Quist", None),
        ("Armature making", "Ben Ode", None),
        ("Puppet painting", "Ben Ode", None),
        ("Puppet repair", "Ben Ode", None),
        ("Puppets", "Ben Ode", "Puppet maker"),
        ("Voices", "דב לוי", "Voice"),
    ]
    assert [held["person"] for held in roll["held"]] == ["cai"]


def test_its_repair_is_a_repair(film_0003: Path) -> None:
    with open_log(film_0003) as log:
        ledger = replay(log.read())
    assert [craft.code for craft in ledger.crafts.values() if craft.repair] == ["repair"]
    assert [str(e.number) for e in ledger.entries if ledger.is_repair(e)] == ["A-8"]


def test_its_answers_and_words_are_read_as_they_were_given(film_0003: Path) -> None:
    with open_log(film_0003) as log:
        written = log.read()
    given = written.settlements
    guest, ben = (("person", "cai"),), (("person", "ben"),)
    assert [(s.check, s.subjects, s.why, s.settled_by, s.taken_back) for s in given] == [
        ("no-engagement", guest, "A guest of one day.", "Bo", False),
        ("sort-name-missing", ben, "Files as written.", "Bo", False),
        ("sort-name-missing", ben, None, None, True),
    ]
    assert given[0].facts[:8] == "6c70bad5"
    assert given[0].settled_at == datetime(2026, 11, 26, 7, 58, 9, 941849, UTC)
    assert written.confirmations == (
        Confirmation(
            person="ana",
            name="Ana Quist",
            confirmed_on=date(2026, 3, 2),
            is_right=True,
            confirmed_by=None,
            written_at=datetime(2026, 11, 26, 7, 58, 2, 637000, UTC),
        ),
        Confirmation(
            person="ben",
            name="Ben Ode",
            confirmed_on=date(2026, 3, 6),
            is_right=True,
            confirmed_by="Bo",
            written_at=datetime(2026, 11, 26, 7, 58, 12, 5138, UTC),
        ),
    )


def test_its_proof_is_read_as_it_was_frozen(film_0003: Path) -> None:
    with open_log(film_0003) as log:
        proof = log.proof(1)
        (filled,) = log.changes_since(proof.mark)
    assert (filled.table, filled.key, filled.columns) == ("crafts", "repair", {"repair": (None, 1)})
    assert proof.mark == ProofMark(
        number=1,
        saved_at=datetime(2026, 11, 26, 7, 58, 14, 236478, UTC),
        saved_by="Bo",
        note="First round",
        plan="built-in plan",
        cut=1,
        last_line=EntryNumber("A", 11),
        log_lines=11,
        changes=44,
        lines=7,
        people=3,
        seal="ce5a58f26870c3c7d0ac986391d615595c6412b0562ba439de6f2db2dd1917d6",
    )
    assert fits_its_seal(proof)
    content = json.loads(proof.content)
    assert [section["heading"] for section in content["sections"]] == [
        "Lead animator", "Voice", "Animation", "Armature making", "Puppet repair", "Puppets",
        "Voices",
    ]  # fmt: skip
    assert content["sections"][1]["lines"][0]["name"] == "דב לוי"
    assert len(proof.content) == 2648


def test_its_lines_know_the_sheet_that_they_came_in(film_0003: Path) -> None:
    with open_log(film_0003) as log:
        lines = log.read().lines
    sheets = {(line.source is not None, line.sheet) for line in lines}
    assert sheets == {(True, "entries"), (False, None)}


@pytest.mark.parametrize(
    ("source", "sheet"),
    [
        ("entries.csv row 2", "entries"),
        ("week 11/entries 2.csv row 14", "entries 2"),
        ("march.xlsx sheet Entries row 3", "march/Entries"),
        ("march.v2.xlsx sheet entries row 4 row 3", "march.v2/entries row 4"),
        ("the stage's own book", None),
    ],
)
def test_the_sheet_is_in_the_source(source: str, sheet: str | None) -> None:
    migration = import_module("db.versions.0005_sheets_and_corrected_lists")
    assert migration.sheet_of(source) == sheet


KILLED = """
import os, signal, sys
from pathlib import Path
from credits.store.schema import migrate
migrate.upgrade = lambda *_: os.kill(os.getpid(), signal.SIGKILL)
migrate.bring_up_to_date(Path(sys.argv[1]))
"""


def test_one_copy_is_kept_of_a_log_whose_upgrade_was_stopped(film_0003: Path) -> None:
    path = film_0003 / "production.db"
    before = contents(path)
    for _ in range(2):
        words = [sys.executable, "-c", KILLED, str(path)]
        assert subprocess.run(words, check=False).returncode == -9
        assert contents(path) == before
    with open_log(film_0003):
        pass
    assert [copy.name for copy in film_0003.glob("*.before-*")] == ["production.db.before-0003"]
    assert [name for name in film_0003.iterdir() if name.name.startswith(".")] == []


def test_a_copy_of_another_log_of_that_version_is_no_copy_of_this_one(film_0003: Path) -> None:
    other = film_0003 / "production.db.before-0003"
    other.write_bytes(b"another")
    with open_log(film_0003):
        pass
    assert other.read_bytes() == b"another"
    assert (film_0003 / "production.db.before-0003-2").is_file()
