"""Two units, one film: what each logs comes to the other, once; what is in doubt is asked."""

from __future__ import annotations

import csv
import shutil
import sqlite3
from collections import Counter
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from credits.cli.main import run
from credits.store.log import open_log
from credits.store.logs.merge_read import MergeReader
from tests.cli.conftest import ROOT, Answer, Command, files_in
from tests.conftest import made_once

Row = dict[str, str]


@pytest.fixture(scope="session")
def second_units(shared_folder: Path, films: Path) -> Path:
    """The folder of a second unit, ``second``, which has taken in what the first had logged."""

    def make(folder: Path) -> None:
        shutil.copytree(films / "film", folder / "film")
        second = folder / "second"
        assert run(["start", "The Small Film", str(second), "--origin", "B"]) == 0
        shutil.rmtree(second / "tables")
        assert run(["merge", str(folder / "film"), "-p", str(second)]) == 0

    return made_once(shared_folder / "second-units", make)


@pytest.fixture
def second(film: Path, second_units: Path) -> Path:
    """A second unit, which has taken in what the first had logged."""
    return Path(shutil.copytree(second_units / "second", film.parent / "second"))


def test_a_second_unit_is_told_what_comes_next(tmp_path: Path, credits_: Command) -> None:
    said = credits_("start", "The Small Film", tmp_path / "unit", "--origin", "b").out
    assert "credits merge OTHER" in said
    refused = credits_("start", "The Small Film", tmp_path / "other", "--origin", "B1")
    assert refused.status == 1
    assert "origin 'B1': is not an origin" in refused.err


def logged(credits_: Command, folder: Path, *words: str) -> str:
    done = credits_("log", *words, "--json", "-p", folder)
    assert done.status == 0, done.err
    return str(done.json["entry"])


def merged(credits_: Command, folder: Path, other: Path, *words: object) -> Answer:
    done = credits_("merge", other, "-p", folder, *words)
    assert done.status == 0, done.err
    return done


def answers(folder: Path, credits_: Command) -> tuple[Any, ...]:
    """What the commands answer of a production."""
    asked = (("footage",), ("roll",), ("reach",), ("check",), ("hands", "010-020"))
    return tuple(credits_(*words, "--json", "-p", folder).json for words in asked)


def listed(folder: Path, table: str) -> list[tuple[Any, ...]]:
    with closing(sqlite3.connect(folder / "production.db")) as log:
        return log.execute(f"SELECT * FROM {table} ORDER BY 1").fetchall()


def corrected(credits_: Command, folder: Path, *words: str) -> None:
    done = credits_("correct", *words, "--why", "Told so.", "-p", folder)
    assert done.status == 0, done.err


def decisions_in(sheet: Path) -> list[Row]:
    with sheet.open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


def fill_in(sheet: Path, **keep: str) -> None:
    """Fill in the sheet: by the column of a question, what is kept."""
    rows = decisions_in(sheet)
    with sheet.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows({**row, "keep": keep.get(row["column"], "")} for row in rows)


def test_a_second_unit_begins_with_the_lists_and_the_lines_of_the_first(
    film: Path, second: Path, credits_: Command
) -> None:
    assert answers(second, credits_) == answers(film, credits_)
    assert logged(credits_, second, "paint", "ben", "wick-1", "--on", "2026-03-04") == "B-1"
    assert credits_("verify", "-p", second).status == 0


def test_each_takes_in_what_the_other_has_logged_under_its_own_number(
    film: Path, second: Path, credits_: Command
) -> None:
    ours = logged(credits_, film, "paint", "ben", "wick-2", "--on", "2026-03-05")
    theirs = logged(credits_, second, "paint", "cai", "wick-1", "--on", "2026-03-04")
    assert credits_("amend", "A-1", "--frames", "1-28", "-p", second).status == 0
    said = merged(credits_, film, second).out
    assert said.startswith("Taken in: 2 lines of B.")
    merged(credits_, second, film)
    assert answers(film, credits_) == answers(second, credits_)
    for number in (ours, theirs, "A-1"):
        found = [credits_("find", number, "--json", "-p", each).json for each in (film, second)]
        assert found[0] == found[1]
    assert "1-28" in credits_("find", "A-1", "-p", film).out
    for folder in (film, second):
        assert credits_("verify", "-p", folder).status == 0


def test_merging_twice_writes_nothing(film: Path, second: Path, credits_: Command) -> None:
    logged(credits_, second, "paint", "cai", "wick-1", "--on", "2026-03-04")
    merged(credits_, film, second)
    before = {name: listed(film, name) for name in ("entries", "history", "moments", "seals")}
    again = merged(credits_, film, second)
    assert again.out.startswith("Nothing new")
    assert before == {name: listed(film, name) for name in before}


def test_a_dry_run_writes_nothing_and_says_what_would_come(
    film: Path, second: Path, credits_: Command
) -> None:
    logged(credits_, second, "paint", "cai", "wick-1", "--on", "2026-03-04")
    before = listed(film, "entries")
    said = merged(credits_, film, second, "--dry-run", "--json").json
    assert (said["lines"], said["written"]) == ({"B": 1}, False)
    assert listed(film, "entries") == before


def test_the_other_log_is_only_read(film: Path, second: Path, credits_: Command) -> None:
    logged(credits_, second, "paint", "cai", "wick-1", "--on", "2026-03-04")
    before = {path: path.read_bytes() for path in files_in(second) if path.suffix != ".db-shm"}
    merged(credits_, film, second)
    assert before == {path: path.read_bytes() for path in before}
    assert files_in(second) == sorted(before)


@pytest.mark.parametrize("how", ["the log itself", "a backup"])
def test_a_log_or_a_backup_is_taken_in_as_a_folder_is(
    film: Path, second: Path, credits_: Command, how: str
) -> None:
    logged(credits_, second, "paint", "cai", "wick-1", "--on", "2026-03-04")
    other = second / "production.db"
    if how == "a backup":
        other = second / "copy.db"
        assert credits_("backup", other, "-p", second).status == 0
    assert "1 line of B" in merged(credits_, film, other).out


def test_a_change_of_a_list_by_one_unit_alone_is_no_conflict(
    film: Path, second: Path, credits_: Command
) -> None:
    corrected(credits_, second, "people", "ana", "credit_name=Ana Berg")
    corrected(credits_, film, "people", "ana", "email=ana@example.org")
    corrected(credits_, film, "shots", "010-020", "frames=50")
    merged(credits_, film, second)
    merged(credits_, second, film)
    [ana] = [row for row in listed(film, "people") if "ana" in row]
    assert "Ana Berg" in ana
    assert "ana@example.org" in ana
    assert answers(film, credits_) == answers(second, credits_)
    # Back again, after both knew it: the one who goes back knows what was there.
    corrected(credits_, second, "people", "ana", "credit_name=Ana")
    merged(credits_, film, second)
    assert "Ana Berg" not in str(listed(film, "people"))


def test_what_both_have_changed_is_shown_side_by_side_and_asked_once(
    film: Path, second: Path, tmp_path: Path, credits_: Command
) -> None:
    corrected(credits_, film, "people", "ana", "credit_name=Ana Berg")
    corrected(credits_, second, "people", "ana", "credit_name=Ana Bergh")
    logged(credits_, second, "paint", "cai", "wick-1", "--on", "2026-03-04")
    before = listed(film, "entries")
    asked = credits_("merge", second, "-p", film)
    assert asked.status == 1
    assert "people\tana\tcredit_name\tAna Berg\tAna Bergh\tours or theirs" in asked.out
    assert "Nothing was written" in asked.err
    assert listed(film, "entries") == before

    sheet = tmp_path / "decisions.csv"
    assert credits_("merge", second, "-p", film, "--decide", sheet).status == 1
    [row] = decisions_in(sheet)
    assert (row["ours"], row["theirs"], row["keep"]) == ("Ana Berg", "Ana Bergh", "")
    fill_in(sheet, credit_name="theirs")
    merged(credits_, film, second, "--decide", sheet, "--by", "Mo", "--why", "She signed so.")
    history = credits_("correct", "people", "ana", "--history", "-p", film).out
    assert "credit_name 'Ana Bergh' is kept, not 'Ana Berg'. She signed so. (Mo)" in history
    for ours, theirs in ((film, second), (second, film), (film, second)):
        assert credits_("merge", theirs, "-p", ours).status == 0  # nobody is asked again
    assert answers(film, credits_) == answers(second, credits_)


def test_a_sheet_that_is_filled_in_by_and_by_keeps_what_it_says(
    film: Path, second: Path, tmp_path: Path, credits_: Command
) -> None:
    for folder, end in ((film, "g"), (second, "gh")):
        corrected(credits_, folder, "people", "ana", f"credit_name=Ana Ber{end}")
        corrected(credits_, folder, "people", "ana", f"email=ana{end}@example.org")
    sheet = tmp_path / "decisions.csv"
    assert credits_("merge", second, "-p", film, "--decide", sheet).status == 1
    fill_in(sheet, credit_name="theirs")
    again = credits_("merge", second, "-p", film, "--decide", sheet)
    assert again.status == 1
    assert "email" in again.out
    assert "credit_name" not in again.out
    kept = {row["column"]: row["keep"] for row in decisions_in(sheet)}
    assert kept == {"credit_name": "theirs", "email": ""}
    fill_in(sheet, **{**kept, "email": "ours"})
    merged(credits_, film, second, "--decide", sheet)
    said = str(listed(film, "people"))
    assert "Ana Bergh" in said
    assert "anag@example.org" in said


def test_all_that_is_in_doubt_may_be_decided_at_once(
    film: Path, second: Path, credits_: Command
) -> None:
    corrected(credits_, film, "people", "ana", "credit_name=Ana Berg")
    corrected(credits_, second, "people", "ana", "credit_name=Ana Bergh")
    merged(credits_, film, second, "--keep", "ours")
    merged(credits_, second, film)
    assert "Ana Bergh" not in str(listed(second, "people"))
    assert credits_("merge", second, "-p", film, "--keep", "their").status == 2


def add(credits_: Command, folder: Path, table: str, text: str) -> None:
    path = folder / f"{table}.csv"
    path.write_text(text)
    done = credits_("load", path, "-p", folder)
    path.unlink()
    assert done.status == 0, done.err


def test_a_person_written_differently_is_asked_about_and_becomes_one(
    film: Path, second: Path, tmp_path: Path, credits_: Command
) -> None:
    add(credits_, film, "people", "person,credit_name\ndora,Dora Lindt\n")
    add(credits_, second, "people", "person,credit_name\nd-lindt,Dora Lint\neve,Eve Marsh\n")
    logged(credits_, second, "paint", "d-lindt", "wick-1", "--on", "2026-03-04")
    asked = credits_("merge", second, "-p", film)
    assert asked.status == 1
    assert "dora (Dora Lindt)\td-lindt (Dora Lint)\tboth or same" in asked.out
    assert "Eve" not in asked.out
    sheet = tmp_path / "decisions.csv"
    credits_("merge", second, "-p", film, "--decide", sheet)
    fill_in(sheet, alike="same")
    merged(credits_, film, second, "--decide", sheet)
    merged(credits_, second, film)  # who takes it in is not asked
    history = credits_("correct", "people", "dora", "--history", "-p", second).out
    assert "Merged with B: the same person as d-lindt." in history
    for folder in (film, second):
        assert (
            credits_("why", "dora", "-p", folder).out
            == credits_("why", "d-lindt", "-p", folder).out
        )
    assert answers(film, credits_) == answers(second, credits_)


def test_a_puppet_written_differently_is_asked_about_and_copies_are_not(
    film: Path, second: Path, credits_: Command
) -> None:
    add(credits_, film, "puppets", "puppet,character\nwick-12,wick\nwick-3,wick\n")
    add(credits_, second, "puppets", "puppet,character\nwick_3b,wick\nWick_0012,wick\nwik-4,wick\n")
    asked = credits_("merge", second, "-p", film, "--json").json["questions"]
    assert [each["row"] for each in asked] == ["wick-12 Wick_0012"]
    assert asked[0]["answers"] == ["both", "same"]
    merged(credits_, film, second, "--both")
    assert len(listed(film, "puppets")) == 3 + 2 + 3
    assert merged(credits_, film, second).out.startswith("Nothing new")


def decided(credits_: Command, film: Path, other: Path, sheet: Path, **keep: str) -> Answer:
    """Take in what another has, with these words on a new sheet of decisions."""
    credits_("merge", other, "-p", film, "--decide", sheet)
    fill_in(sheet, **keep)
    return credits_("merge", other, "-p", film, "--decide", sheet)


def test_a_puppet_that_nobody_has_worked_on_becomes_the_one_that_is_meant(
    film: Path, second: Path, tmp_path: Path, credits_: Command
) -> None:
    """Whatever list named it names the other; who worked on the other has worked on both."""
    add(credits_, film, "puppets", "puppet,character,note\nwick-12,wick,Blue coat\n")
    logged(credits_, film, "paint", "ana", "wick-12", "--on", "2026-03-04")
    add(credits_, second, "puppets", "puppet,character\nwick12,wick\n")
    add(credits_, second, "parts", "part,kind,character\ncoat-1,costume,wick\n")
    add(credits_, second, "fittings", "part,puppet,from_on\ncoat-1,wick12,2026-03-01\n")
    done = decided(credits_, film, second, tmp_path / "decisions.csv", alike="same")
    assert done.status == 0, done.err
    assert "puppet 'wick12': is wick-12: one puppet, in every list." in done.err
    merged(credits_, second, film)  # who takes it in is not asked
    for folder in (film, second):
        assert ("wick12" in str(listed(folder, "puppets"))) is False
        assert "Blue coat" in str(listed(folder, "puppets"))
        [fitting] = listed(folder, "fittings")
        assert "wick-12" in fitting
        assert credits_("verify", "-p", folder).status == 0
        history = credits_("correct", "puppets", "wick-12", "--history", "-p", folder).out
        assert "Merged with B: the same puppet as wick-12." in history
    assert answers(film, credits_) == answers(second, credits_)
    assert merged(credits_, film, second).out.startswith("Nothing new")


def test_our_own_row_goes_where_entries_name_the_other(
    film: Path, second: Path, tmp_path: Path, credits_: Command
) -> None:
    add(credits_, film, "stages", "stage,unit\nS-61,Second\n")
    add(credits_, second, "stages", "stage,unit\nS61,Second\n")
    logged(credits_, second, "paint", "ben", "wick-1", "--on", "2026-03-04", "--stage", "S61")
    sheet = tmp_path / "decisions.csv"
    assert decided(credits_, film, second, sheet, alike="same").status == 0
    merged(credits_, second, film)
    for folder in (film, second):
        assert "S-61" not in str(listed(folder, "stages"))
        assert "S61" in str(listed(folder, "stages"))
    assert answers(film, credits_) == answers(second, credits_)


def test_what_two_rows_that_are_one_say_differently_is_asked_next(
    film: Path, second: Path, tmp_path: Path, credits_: Command
) -> None:
    add(credits_, film, "characters", "character,name,note\nold-tom,Old Tom,A cat\n")
    add(credits_, second, "characters", "character,name,note\nold_tom,Old Tom,A dog\n")
    add(credits_, second, "puppets", "puppet,character\ntom-1,old_tom\n")
    sheet = tmp_path / "decisions.csv"
    asked = decided(credits_, film, second, sheet, alike="same")
    assert asked.status == 1
    assert "characters\told-tom\tnote\tA cat\tA dog\tours or theirs" in asked.out
    assert [row["keep"] for row in decisions_in(sheet)] == ["same", ""]
    assert "old_tom" not in str(listed(film, "characters"))
    fill_in(sheet, alike="same", note="theirs")
    merged(credits_, film, second, "--decide", sheet)
    merged(credits_, second, film)
    for folder in (film, second):
        assert "A dog" in str(listed(folder, "characters"))
        assert "old_tom" not in str(listed(folder, "characters"))
        assert "old-tom" in str(listed(folder, "puppets"))
    assert answers(film, credits_) == answers(second, credits_)


@pytest.mark.parametrize("kept", ["A cat", "A dog"])
def test_both_may_decide_on_one_night_that_two_rows_are_one(
    film: Path, second: Path, tmp_path: Path, credits_: Command, kept: str
) -> None:
    """Each then knows whatever the other knew, as often."""
    said = {film: ("old-tom", "A cat"), second: ("old_tom", "A dog")}
    for folder, (code, note) in said.items():
        add(credits_, folder, "characters", f"character,name,note\n{code},Tom,{note}\n")
    before = {folder: shutil.copytree(folder, f"{folder}-before") for folder in said}
    for folder, other in ((film, second), (second, film)):
        sheet = tmp_path / f"{folder.name}.csv"
        decided(credits_, folder, Path(before[other]), sheet, alike="same")
        fill_in(sheet, alike="same", note="ours" if said[folder][1] == kept else "theirs")
        merged(credits_, folder, Path(before[other]), "--decide", sheet)
    for folder in (film, second):
        assert kept in str(listed(folder, "characters"))
        assert "old_tom" not in str(listed(folder, "characters"))
    assert known_of_characters(film) == known_of_characters(second)


def known_of_characters(folder: Path) -> dict[Any, Counter[Any]]:
    """How often a log knows each value of each row."""
    with open_log(folder) as log:
        pasts = MergeReader(log).lists["characters"]
    return {key: Counter(past.values) for key, past in pasts.items()}


@pytest.mark.parametrize(
    ("table", "header", "codes", "why"),
    [
        (
            "puppets",
            "puppet,character\n{},wick\n",
            ("wick-12", "wick12"),
            "Entries name both, and what was logged is never rewritten.",
        ),
        (
            "shots",
            "shot,sequence,frames\n{},010,24\n",
            ("010-090", "010_090"),
            "Shots are not joined: frames and takes are counted within each.",
        ),
        (
            "crafts",
            "craft,name,department,kind\n{},Wigs,Puppets,build\n",
            ("wig-making", "wigmaking"),
            "Crafts are not joined: each says for itself what its entries count.",
        ),
    ],
)
def test_what_cannot_be_one_is_said_with_the_reason(
    film: Path,
    second: Path,
    tmp_path: Path,
    credits_: Command,
    table: str,
    header: str,
    codes: tuple[str, str],
    why: str,
) -> None:
    for folder, code in zip((film, second), codes, strict=True):
        add(credits_, folder, table, header.format(code))
        if table == "puppets":
            logged(credits_, folder, "paint", "ana", code, "--on", "2026-03-04")
    asked = credits_("merge", second, "-p", film)
    assert asked.out.rstrip().endswith("both")
    assert why in " ".join(asked.err.split())
    refused = decided(credits_, film, second, tmp_path / "decisions.csv", alike="same")
    assert refused.status == 1
    assert f"'same': is no answer to this. {why} If both are one: " in refused.err
    merged(credits_, film, second, "--both")


def test_of_three_that_are_alike_none_are_joined(
    film: Path, second: Path, credits_: Command
) -> None:
    add(credits_, film, "stages", "stage\nS-61\n")
    add(credits_, second, "stages", "stage\nS61\nS.61\n")
    asked = credits_("merge", second, "-p", film, "--json").json["questions"]
    assert [each["answers"] for each in asked] == [["both"], ["both"]]


def test_a_code_in_other_letters_is_the_same_code(
    film: Path, second: Path, credits_: Command
) -> None:
    """Lines that name it come in as ours spell it, night after night."""
    add(credits_, film, "characters", "character,name\ntansy,Tansy\n")
    add(credits_, second, "characters", "character,name\nTANSY,Tansy\n")
    for day in ("2026-03-04", "2026-03-05"):
        logged(credits_, second, "voice", "ana", "TANSY", "--on", day)
        merged(credits_, film, second)
        merged(credits_, second, film)
        assert credits_("verify", "-p", film).status == 0
    assert answers(film, credits_)[0] == answers(second, credits_)[0]


def test_a_row_that_one_has_voided_stays_where_the_other_has_logged_on_it(
    film: Path, second: Path, credits_: Command
) -> None:
    add(credits_, film, "puppets", "puppet,character\nwick-9,wick\nwick-8,wick\n")
    merged(credits_, second, film)
    logged(credits_, second, "paint", "ben", "wick-9", "--on", "2026-03-04")
    for puppet in ("wick-9", "wick-8"):
        done = credits_("correct", "puppets", puppet, "--void", "--why", "Never made.", "-p", film)
        assert done.status == 0
    said = merged(credits_, film, second)
    assert "puppet 'wick-9': was voided in one log, and the other names it: it stays." in said.err
    merged(credits_, second, film)
    for folder in (film, second):
        codes = [row[1] for row in listed(folder, "puppets")]
        assert "wick-9" in codes
        assert "wick-8" not in codes
    assert merged(credits_, film, second).out.startswith("Nothing new")


def test_two_cuts_are_asked_about_and_one_is_taken(
    film: Path, second: Path, tmp_path: Path, credits_: Command
) -> None:
    for folder, clip in ((film, "010-020,9,40"), (second, "010-020,9,44")):
        cut = tmp_path / f"{folder.name}.csv"
        cut.write_text(f"shot,first,last\n{clip}\n")
        assert credits_("cut", cut, "-p", folder).status == 0
    asked = credits_("merge", second, "-p", film)
    assert asked.status == 1
    assert "36 frames" in asked.out
    said = merged(credits_, film, second, "--keep", "theirs")
    assert "The cut in use is version 2." in said.out
    merged(credits_, second, film)
    ours, theirs = (answers(each, credits_) for each in (film, second))
    assert ours[1:] == theirs[1:]
    assert {**ours[0], "cut": 0} == {**theirs[0], "cut": 0}  # each numbers its own imports
    for one, other in ((film, second), (second, film)):
        assert merged(credits_, one, other).out.startswith("Nothing new")


def test_a_proof_stays_in_the_log_that_made_it(film: Path, second: Path, credits_: Command) -> None:
    for folder in (film, second):
        assert credits_("roll", "--save", "--note", folder.name, "-p", folder).status == 0
    said = merged(credits_, film, second)
    assert "1 of its proofs stay in the other log; each log has a proof 1 of its own" in said.err
    assert len(listed(film, "proofs")) == 1


def test_a_copied_folder_that_went_on_by_itself_is_refused(
    film: Path, tmp_path: Path, credits_: Command
) -> None:
    other = Path(shutil.copytree(film, tmp_path / "other"))
    logged(credits_, film, "paint", "ben", "wick-1", "--on", "2026-03-04")
    logged(credits_, other, "paint", "cai", "wick-2", "--on", "2026-03-04")
    before = listed(film, "entries")
    refused = credits_("merge", other, "-p", film)
    assert refused.status == 1
    assert "line A-8 is 'paint ben wick-1 2026-03-04' here and 'paint cai wick-2" in refused.err
    assert "--origin B" in refused.err
    assert listed(film, "entries") == before


def test_a_copied_folder_in_which_one_alone_went_on_is_taken_in(
    film: Path, tmp_path: Path, credits_: Command
) -> None:
    other = Path(shutil.copytree(film, tmp_path / "other"))
    logged(credits_, other, "paint", "cai", "wick-2", "--on", "2026-03-04")
    said = merged(credits_, film, other)
    assert "1 line of A" in said.out
    assert "both logs number their lines with A" in said.err
    assert merged(credits_, other, film).out.startswith("Nothing new")


def test_another_film_is_refused(film: Path, tmp_path: Path, credits_: Command) -> None:
    other = tmp_path / "other"
    credits_("start", "Another Film", other, "--origin", "B", "--rate", "25")
    refused = credits_("merge", other, "-p", film)
    assert refused.status == 1
    assert "code 'another-film': the-small-film here" in refused.err
    assert "frame_rate '25': 24 here" in refused.err


def test_a_sheet_that_came_to_both_units_is_told(
    film: Path, second: Path, credits_: Command
) -> None:
    """Nothing is dropped, but nobody counts it twice unsaid: once, and what was voided is not."""
    text = "craft,person,puppet,finished_on\n" + "".join(
        f"paint,ben,wick-1,2026-04-{day:02}\n" for day in (1, 2, 3)
    )
    for folder in (film, second):
        add(credits_, folder, "entries", text)
    assert credits_("void", "B-2", "--why", "Twice.", "-p", second).status == 0
    asked = merged(credits_, film, second, "--dry-run", "--json").json["again"]
    assert asked == [{"entry": "B-1", "like": "A-8"}, {"entry": "B-3", "like": "A-10"}]
    said = merged(credits_, film, second).err
    assert "2 lines of the other log say word for word what is here: B-1 is like A-8 and" in said
    assert "credits void B-1 --why TEXT" in said
    assert "word for word" not in merged(credits_, film, second).err


def test_settings_that_count_otherwise_are_told(
    film: Path, second: Path, credits_: Command
) -> None:
    settings = second / "production.toml"
    settings.write_text(settings.read_text().replace("600", "540"))
    assert "day_minutes '540': 600 here" in merged(credits_, film, second).err


def test_a_log_that_was_altered_is_not_taken_in(
    film: Path, second: Path, credits_: Command
) -> None:
    logged(credits_, second, "paint", "cai", "wick-1", "--on", "2026-03-04")
    with closing(sqlite3.connect(second / "production.db")) as raw:
        raw.execute("DROP TRIGGER entries_changed")
        raw.execute("UPDATE entries SET note = 'another' WHERE origin = 'B'")
        raw.commit()
    refused = credits_("merge", second, "-p", film)
    assert refused.status == 1
    assert "cannot be merged" in refused.err


def test_what_is_no_log_is_said(film: Path, tmp_path: Path, credits_: Command) -> None:
    (tmp_path / "notes.txt").write_text("no log")
    for other, words in (
        (film, "is the log itself"),
        (tmp_path / "nowhere", "is not there"),
        (tmp_path / "notes.txt", "is not a log"),
    ):
        refused = credits_("merge", other, "-p", film)
        assert refused.status != 0
        assert words in refused.err


def test_a_sheet_of_decisions_that_cannot_be_read_is_said(
    film: Path, second: Path, tmp_path: Path, credits_: Command
) -> None:
    corrected(credits_, film, "people", "ana", "credit_name=Ana Berg")
    corrected(credits_, second, "people", "ana", "credit_name=Ana Bergh")
    sheet = tmp_path / "decisions.csv"
    credits_("merge", second, "-p", film, "--decide", sheet)
    fill_in(sheet, credit_name="their")
    refused = credits_("merge", second, "-p", film, "--decide", sheet)
    assert refused.status == 1
    assert "decisions.csv row 2: keep 'their': is no answer to this. Did you mean theirs?" in (
        refused.err
    )
    sheet.write_text("a,b\n1,2\n")
    refused = credits_("merge", second, "-p", film, "--decide", sheet)
    assert "the column list is missing" in refused.err


def test_an_older_log_is_taken_in_and_stays_as_it_is(
    film: Path, tmp_path: Path, credits_: Command
) -> None:
    older = tmp_path / "older.db"
    with closing(sqlite3.connect(older)) as log:
        text = (ROOT / "tests/store/log_0003.sql").read_text(encoding="utf-8")
        log.executescript(text)
    before = older.read_bytes()
    folder = tmp_path / "new"
    credits_("start", "The Small Film", folder, "--origin", "Z")
    merged(credits_, folder, older)
    assert older.read_bytes() == before
    with closing(sqlite3.connect(older)) as log:
        lines = log.execute("SELECT count(*) FROM entries").fetchone()[0]
    assert len(listed(folder, "entries")) == lines > 0
    assert credits_("verify", "-p", folder).status == 0
    assert credits_("verify", "-p", film).status == 0


def test_figures_that_are_kept_notice_that_another_log_took_the_place(
    film: Path, tmp_path: Path, credits_: Command
) -> None:
    """Two copies went on apart, and then took the same lines into the same places."""
    third = tmp_path / "third"
    credits_("start", "The Small Film", third, "--origin", "C")
    merged(credits_, third, film)
    copy = Path(shutil.copytree(film, tmp_path / "copy"))
    for folder, frames in ((film, "1-5"), (copy, "1-9")):
        logged(credits_, folder, "animation", "ana", "wick", "010-020", frames)
    rows = "".join(f"paint,ben,wick-1,{at}\n" for at in range(1, 71))
    add(credits_, third, "entries", f"craft,person,puppet,minutes\n{rows}")  # more than a glance
    for folder in (film, copy):
        merged(credits_, folder, third)
    before = credits_("footage", "--json", "-p", film).json
    expected = credits_("footage", "--json", "-p", copy).json
    assert before != expected
    assert credits_("backup", tmp_path / "copy.db", "-p", copy).status == 0
    for name in ("production.db-wal", "production.db-shm"):
        (film / name).unlink(missing_ok=True)
    shutil.copy(tmp_path / "copy.db", film / "production.db")
    assert credits_("footage", "--json", "-p", film).json == expected
