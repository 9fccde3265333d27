"""Day sheets: made for a place and a day, filled in, and taken back by load."""

from __future__ import annotations

import shutil
from datetime import date, timedelta
from pathlib import Path

import pytest

from credits import apart
from credits.cli.main import run
from credits.units.frames import Frames
from tests.apart_here import read_here
from tests.cli.conftest import Answer, Command, files_in
from tests.conftest import made_once
from tests.filled_sheets import FILM, FilledSheet, standing, works
from tests.productions import written_tables

THURSDAY = "2026-03-05"


@pytest.fixture(scope="session")
def loaded_film(shared_folder: Path, films: Path) -> Path:
    """The folder of the small film, ``film``, loaded from the ``tables`` beside it."""

    def make(folder: Path) -> None:
        tables = written_tables(folder / "tables", FILM)
        shutil.copytree(films / "empty", folder / "film")
        assert run(["load", str(tables), "-p", str(folder / "film")]) == 0

    return made_once(shared_folder / "film-of-day-sheets", make)


@pytest.fixture
def film(empty: Path, tmp_path: Path, loaded_film: Path) -> Path:
    """The small film, loaded; the working folder. Seven lines of the log: A-1 to A-4."""
    shutil.copytree(loaded_film / "tables", tmp_path / "tables")
    shutil.copy(loaded_film / "film" / "production.db", empty)
    return empty


@pytest.fixture(autouse=True)
def workbooks_are_read_here(monkeypatch: pytest.MonkeyPatch) -> None:
    """Not in a process of its own each, in which one that is harmful would end."""
    monkeypatch.setattr(apart, "read_apart", read_here)


def made(
    credits_: Command, *words: object, name: str = "sheet.xlsx", day: str = THURSDAY
) -> FilledSheet:
    """A day sheet in a file of its own, opened."""
    answer = credits_("sheet", "--date", day, "--out", name, *words)
    assert answer.status == 0, answer.err
    return FilledSheet(Path(name).resolve())


def loaded(credits_: Command, path: Path, new: int = 0, changed: int = 0, same: int = 0) -> Answer:
    """Load a sheet: how many entries are new, changed, the same."""
    answer = credits_("load", path, "--json")
    assert answer.json["problems"] == []
    assert answer.json["tables"]["entries"] == {"new": new, "changed": changed, "same": same}
    return answer


def notes(answer: Answer) -> list[str]:
    """What a load says besides."""
    return [note["message"] for note in answer.json["notes"]]


def refused(credits_: Command, path: Path) -> list[str]:
    """The problems of a load that writes nothing."""
    answer = credits_("load", path, "--json")
    assert answer.status == 1
    return [problem["message"] for problem in answer.json["problems"]]


# --- What a sheet begins with


@pytest.mark.usefixtures("film")
def test_a_stage_begins_with_what_it_logged_and_what_it_was_on(credits_: Command) -> None:
    sheet = made(credits_, "--stage", "a")
    assert sheet.rows() == [
        {
            "craft": "animation · Animation", "person": "ana · Ana Lind",
            "character": "brine · Brine", "puppet": "brine-1 · copy 1",
            "shot": "010-030 · 48 frames", "take": 1, "frames": "1-12", "poses_on": 1,
            "minutes": 200, "entry": "A-4",
        },
        {
            "craft": "animation · Animation", "person": "ana · Ana Lind",
            "character": "wick · The Wick", "puppet": "wick-1 · copy 1",
            "shot": "010-020 · 60 frames", "take": 2, "frames": "31-", "poses_on": 2,
        },
        {
            "craft": "repair · Puppet repair", "person": "zoe · Zoë Ødegård",
            "character": "wick · The Wick", "puppet": "wick-1 · copy 1",
            "shot": "010-020 · 60 frames", "take": 2,
        },
    ]  # fmt: skip


@pytest.mark.usefixtures("film")
def test_a_workshop_has_its_own_columns_and_the_caution_of_its_materials(
    credits_: Command,
) -> None:
    sheet = made(credits_, "--workshop", "PUPPETS")
    (row,) = sheet.rows()
    assert (row["person"], row["puppet"]) == ("zoe · Zoë Ødegård", "wick-2 · copy 2")
    assert set(sheet.letters) - {"ref", "printed", "entry"} == {
        "craft", "person", "character", "puppet", "part", "share", "minutes", "note",
    }  # fmt: skip
    words = [str(cell.value) for row in sheet.sheet["A1:Z4"] for cell in row if cell.value]
    assert any("latex can cause severe allergy" in text for text in words)
    quiet = made(credits_, "--stage", "B", name="b.xlsx")
    texts = [str(cell.value) for row in quiet.sheet["A1:Z4"] for cell in row]
    assert not any("latex" in text for text in texts)
    assert quiet.rows() == []


@pytest.mark.usefixtures("film")
def test_all_is_a_workbook_for_every_place_at_work(credits_: Command) -> None:
    answer = credits_("sheet", "--all", "--date", THURSDAY, "--json")
    assert answer.json == {
        "sheets": [
            {
                "file": f"day-sheets-{THURSDAY}/{THURSDAY}-{name}.xlsx", "date": THURSDAY,
                "stage": stage, "department": department, "logged": logged, "begun": begun,
            }
            for name, stage, department, logged, begun in (
                ("A", "A", None, 1, 2),
                ("Puppets", None, "Puppets", 0, 1),
            )
        ]
    }  # fmt: skip
    assert [path.name for path in sorted(Path(f"day-sheets-{THURSDAY}").iterdir())] == [
        f"{THURSDAY}-A.xlsx",
        f"{THURSDAY}-Puppets.xlsx",
    ]
    assert credits_("load", f"day-sheets-{THURSDAY}", "--json").json["problems"] == []


@pytest.mark.usefixtures("film")
def test_a_sheet_that_is_there_is_not_written_over(credits_: Command) -> None:
    sheet = made(credits_, "--stage", "A")
    before = sheet.path.read_bytes()
    words = ("sheet", "--stage", "A", "--date", THURSDAY, "--out", sheet.path)
    answer = credits_(*words)
    assert answer.status == 2
    assert "somebody may have filled it in" in answer.err
    assert sheet.path.read_bytes() == before
    assert credits_(*words, "--force").status == 0
    assert sheet.path.read_bytes() != before


@pytest.mark.usefixtures("film")
@pytest.mark.parametrize(
    ("words", "said"),
    [
        ([], "say for which place"),
        (["--all", "--stage", "A"], "say for which place"),
        (["--stage", "C"], "there is no such stage. The stages are A and B."),
        (["--workshop", "Pupets"], "there is no such department. Did you mean Puppets"),
        (["--stage", "A", "--date", "2026-02-30"], "there is no such day"),
        (["--stage", "A", "--out", "sheet.csv"], "a day sheet is a workbook"),
        (["--stage", "A", "--out", "no-folder/sheet.xlsx"], "is no folder to write to"),
        (["--all", "--date", THURSDAY, "--out", "production.db"], "is a file, not a folder"),
    ],
)
def test_a_call_that_cannot_be_meant_is_refused(
    credits_: Command, words: list[str], said: str
) -> None:
    there = files_in(Path())
    answer = credits_("sheet", *words)
    assert (answer.status, answer.out) == (2, "")
    assert said in answer.err
    assert files_in(Path()) == there


@pytest.mark.usefixtures("empty")
def test_a_production_without_work_says_what_to_name(credits_: Command) -> None:
    answer = credits_("sheet", "--all")
    assert answer.status == 1
    assert "Name one: --stage CODE, or --workshop DEPARTMENT." in answer.err
    assert FilledSheet(made(credits_, "--workshop", "Puppets").path).rows() == []


@pytest.mark.usefixtures("film")
@pytest.mark.parametrize(("word", "days"), [("today", 0), ("tomorrow", 1), ("-1", -1)])
def test_a_day_may_be_said(credits_: Command, word: str, days: int) -> None:
    answer = credits_("sheet", "--stage", "B", "--date", word, "--out", "b.xlsx", "--json")
    on = date.today() + timedelta(days=days)
    assert answer.json["sheets"][0]["date"] == on.isoformat()


# --- And back


def test_a_sheet_nobody_filled_in_writes_nothing_and_says_so(film: Path, credits_: Command) -> None:
    sheet = made(credits_, "--stage", "A")
    before = works(film)
    answer = loaded(credits_, sheet.path, same=1)
    assert notes(answer) == ["sheet.xlsx sheet Stage A: 2 rows were not filled in."]
    assert works(film) == before
    assert "already there" not in credits_("load", sheet.path).err


def test_a_filled_in_sheet_is_known_whatever_it_is_called(film: Path, credits_: Command) -> None:
    sheet = made(credits_, "--stage", "A")
    sheet.sheet["M1"] = None
    sheet.fill(sheet.first_row + 1, frames="31-40", minutes=480)
    sheet.fill(sheet.first_row + 4, craft="Animation assistance", person="zoe odegard")
    sheet.fill(sheet.first_row + 4, character="WICK", shot="010-020", minutes="8h", take=2)
    path = sheet.save("people (copy 3).XLSX")
    answer = loaded(credits_, path, new=2, same=1)
    assert notes(answer) == ["people (copy 3).XLSX sheet Stage A: 1 row was not filled in."]
    *_, ana, zoe = works(film)
    assert (ana.person, ana.frames, ana.minutes) == ("ana", Frames.parse("31-40"), 480)
    assert (ana.stage, ana.finished_on, ana.poses_on) == ("A", date(2026, 3, 5), 2)
    assert (zoe.craft, zoe.person, zoe.character) == ("animation-assist", "zoe", "wick")
    assert (zoe.minutes, zoe.take, zoe.stage) == (480, 2, "A")
    loaded(credits_, path, same=3)
    shutil.copy(path, "entries again.xlsx")
    loaded(credits_, Path("entries again.xlsx"), same=3)


def test_who_filled_it_in_logged_the_rows(film: Path, credits_: Command) -> None:
    sheet = made(credits_, "--stage", "A")
    signed = next(cell for cell in sheet.sheet[1] if cell.value == "Filled in by")
    sheet.sheet.cell(1, signed.column + 1).value = "Ottilie"
    sheet.fill(sheet.first_row + 1, frames="31-40")
    loaded(credits_, sheet.save(), new=1, same=1)
    assert [line.logged_by for line in standing(film)] == [None] * 4 + ["Ottilie"]


def test_a_corrected_row_amends_its_own_entry(film: Path, credits_: Command) -> None:
    sheet = made(credits_, "--stage", "A")
    logged, begun = sheet.first_row, sheet.first_row + 1
    sheet.fill(begun, frames="31-40", minutes=480)
    loaded(credits_, sheet.save(), new=1, same=1)
    sheet.fill(begun, frames="31-42")
    sheet.fill(logged, minutes=240)
    loaded(credits_, sheet.save(), changed=2)
    loaded(credits_, sheet.save(), same=2)
    now = works(film)
    assert len(now) == 5
    assert now[4].frames == Frames.parse("31-42")
    assert (now[3].minutes, now[3].private) == (240, True)  # what the page does not show stays


def test_a_day_sheet_that_came_later_is_not_undone_by_the_earlier(
    film: Path, credits_: Command
) -> None:
    morning = made(credits_, "--stage", "A")
    morning.fill(morning.first_row + 1, frames="31-40", minutes=480)
    loaded(credits_, morning.save(), new=1, same=1)
    evening = made(credits_, "--stage", "A", name="evening.xlsx")
    at = next(r for r in range(evening.first_row, 30) if evening.row(r).get("entry") == "A-5")
    evening.fill(at, frames="31-44")
    loaded(credits_, evening.save(), changed=1, same=1)
    loaded(credits_, morning.path, same=2)
    loaded(credits_, evening.path, same=2)
    assert works(film)[4].frames == Frames.parse("31-44")


def test_a_copied_row_is_an_entry_of_its_own_and_stays_it(film: Path, credits_: Command) -> None:
    sheet = made(credits_, "--stage", "A")
    first, copy = sheet.first_row + 1, sheet.first_row + 8
    sheet.fill(first, frames="31-40", minutes=480)
    sheet.copy_row(first, copy)
    answer = loaded(credits_, sheet.save(), new=1, same=1)
    assert f"sheet.xlsx sheet Stage A row {copy}: repeats row {first} word for word" in str(
        notes(answer)
    )
    sheet.fill(copy, frames="41-50")
    answer = loaded(credits_, sheet.save(), new=1, same=2)
    assert f"row {copy}: was copied from row {first}, and is an entry of its own." in str(
        notes(answer)
    )
    sheet.fill(copy, frames="41-52")
    loaded(credits_, sheet.save(), changed=1, same=2)
    found = [work.frames.text for work in works(film)[4:] if work.frames]
    assert found == ["31-40", "41-52"]


def test_a_row_that_was_inserted_is_an_entry(film: Path, credits_: Command) -> None:
    sheet = made(credits_, "--stage", "A")
    sheet.sheet.insert_rows(sheet.first_row + 1)
    sheet.fill(sheet.first_row + 1, craft="animation", person="zoe", character="wick")
    sheet.fill(sheet.first_row + 1, shot="010-020", frames="31-33")
    below = sheet.sheet.max_row + 5
    sheet.fill(below, craft="animation", person="zoe", character="brine", shot="010-020")
    loaded(credits_, sheet.save(), new=2, same=1)
    loaded(credits_, sheet.path, same=3)
    sheet.fill(below, minutes=30)
    loaded(credits_, sheet.save(), changed=1, same=2)
    assert works(film)[-1].minutes == 30


def test_an_emptied_row_voids_nothing(film: Path, credits_: Command) -> None:
    sheet = made(credits_, "--stage", "A")
    begun = sheet.first_row + 1
    sheet.fill(begun, frames="31-40", minutes=480)
    loaded(credits_, sheet.save(), new=1, same=1)
    sheet.empty(begun)
    sheet.empty(sheet.first_row)
    said = notes(loaded(credits_, sheet.save()))
    assert said == [
        f"sheet.xlsx sheet Stage A row {begun - 1}: is empty now, but entry A-4 stands: nothing is "
        "voided by an empty row. If it was never done: credits void A-4 --why WHY.",
        f"sheet.xlsx sheet Stage A row {begun}: is empty now, but entry A-5 stands: nothing is "
        "voided by an empty row. If it was never done: credits void A-5 --why WHY.",
        "sheet.xlsx sheet Stage A: 1 row was not filled in.",
    ]
    assert len(works(film)) == 5


def test_what_was_corrected_by_hand_stays(film: Path, credits_: Command) -> None:
    sheet = made(credits_, "--stage", "A")
    logged, begun = sheet.first_row, sheet.first_row + 1
    sheet.fill(begun, frames="31-40")
    loaded(credits_, sheet.save(), new=1, same=1)
    credits_("amend", "A-4", "--minutes", "210", "--why", "counted again")
    credits_("amend", "A-5", "--frames", "31-39", "--why", "looked again")
    loaded(credits_, sheet.path, same=2)
    sheet.fill(logged, minutes=250)
    sheet.fill(begun, frames="31-41")
    said = notes(loaded(credits_, sheet.save()))
    assert [note.partition(": is")[2] for note in said[:2]] == [
        f" left out: entry A-{number} has been corrected since this sheet was made. "
        f"It stays as it is. To change it: credits amend A-{number}."
        for number in (4, 5)
    ]
    credits_("void", "A-5", "--why", "never done")
    said = notes(loaded(credits_, sheet.path))
    assert "entry A-5 has been voided since this sheet was made" in said[1]
    assert [work.minutes for work in works(film)] == [480, 30, 300, 210]


def test_a_row_from_another_table_is_not_counted_twice_after_a_day_sheet_corrected_it(
    film: Path, tmp_path: Path, credits_: Command
) -> None:
    sheet = made(credits_, "--stage", "A")
    sheet.fill(sheet.first_row, minutes=240)
    loaded(credits_, sheet.save(), changed=1)
    loaded(credits_, tmp_path / "tables" / "entries.csv", same=4)
    assert len(works(film)) == 4


def test_a_note_for_the_office_alone_is_not_on_the_sheet_and_stays(
    film: Path, credits_: Command
) -> None:
    credits_("amend", "A-4", "--note", "zq-secret", "--private")
    sheet = made(credits_, "--stage", "A")
    cells = [str(c.value) for page in sheet.book for row in page.iter_rows() for c in row]
    assert not any("zq-secret" in text for text in cells)
    loaded(credits_, sheet.path, same=1)
    sheet.fill(sheet.first_row, minutes=240)
    loaded(credits_, sheet.save(), changed=1)
    loaded(credits_, sheet.path, same=1)
    assert (works(film)[3].note, works(film)[3].minutes) == ("zq-secret", 240)
    sheet.fill(sheet.first_row, note="the arm was loose")
    assert refused(credits_, sheet.save()) == [
        f"sheet.xlsx sheet Stage A cell {sheet.place(sheet.first_row, 'note')}: Note 'the arm was "
        "loose': entry A-4 has a note for the office alone, which is not on this sheet. "
        "Leave the cell empty, or: credits amend A-4 --note TEXT."
    ]


def test_two_versions_of_one_sheet_in_one_load_are_refused(film: Path, credits_: Command) -> None:
    sheet = made(credits_, "--stage", "A")
    begun = sheet.first_row + 1
    sheet.fill(begun, frames="31-40")
    earlier = sheet.save()
    sheet.fill(begun, frames="31-42")
    later = sheet.save("later.xlsx")
    answer = credits_("load", earlier, later)
    assert answer.status == 1
    assert (
        f"later.xlsx sheet Stage A row {begun}: another file of this load has this row of the same "
        "sheet, filled in otherwise. Load only the later one." in answer.err
    )
    assert len(works(film)) == 4
    earlier.unlink()
    shutil.copy(later, earlier)
    answer = credits_("load", earlier, later, "--json")
    assert answer.json["tables"]["entries"]["new"] == 1


def test_problems_are_told_by_the_cell(film: Path, credits_: Command) -> None:
    sheet = made(credits_, "--stage", "A")
    at = sheet.first_row
    sheet.fill(at, person="ana · Ben Moss")
    sheet.fill(at + 1, frames="40-31", minutes="a day")
    sheet.fill(at + 2, minutes=30, character="brine · Brine")
    sheet.fill(at + 3, craft="animation", person="Ben Moss", character="wick", shot="010-020")
    sheet.fill(at + 3, frames="31-", minutes=10)
    sheet.fill(at + 4, craft="animation", person="anna", character="wick", minutes=10)
    sheet.fill(at + 5, person="ana", character="wick", minutes=10)
    before = works(film)
    where = "sheet.xlsx sheet Stage A cell "
    assert refused(credits_, sheet.save()) == [
        f"{where}{sheet.place(at, 'person')}: Who 'ana · Ben Moss': ana is Ana Lind, and Ben Moss"
        " is ben1. Write ana or ben1, whichever is meant.",
        f"{where}{sheet.place(at + 1, 'frames')}: Frames '40-31': a range runs backwards."
        " Write 31-40, or correct the numbers.",
        f"{where}{sheet.place(at + 1, 'minutes')}: Minutes worked 'a day': is not a length in"
        " minutes. Write whole minutes such as 90, or a length such as 1:30, 1.5 h or 1/2 day.",
        f"{where}{sheet.place(at + 2, 'puppet')}: Puppet 'wick-1': is a puppet of wick, not of"
        " brine. Correct the puppet or the character.",
        f"{where}{sheet.place(at + 3, 'person')}: Who 'Ben Moss': is the name of 2 people."
        " Write the code of one: ben1 (Ben Moss) or ben2 (Ben Moss).",
        f"{where}{sheet.place(at + 3, 'frames')}: Frames '31-': the last frame is missing."
        " Write it behind the dash, such as 31-40.",
        f"{where}{sheet.place(at + 4, 'person')}: Who 'anna': no person has this code or name."
        " Did you mean ana (Ana Lind)?",
        f"{where}{sheet.place(at + 5, 'craft')}: Craft: is empty. Every row of entries needs one.",
    ]
    assert works(film) == before


@pytest.mark.usefixtures("film")
def test_a_cell_that_shows_an_error_is_told_by_its_name(credits_: Command) -> None:
    sheet = made(credits_, "--stage", "A")
    place = sheet.place(sheet.first_row, "minutes")
    sheet.sheet[place].value = "#REF!"
    sheet.sheet[place].data_type = "e"
    assert refused(credits_, sheet.save())[0].startswith(
        f"sheet.xlsx sheet Stage A cell {place}: '#REF!': shows an error."
    )


@pytest.mark.usefixtures("film")
def test_a_workbook_may_hold_day_sheets_and_tables(credits_: Command) -> None:
    sheet = made(credits_, "--stage", "A")
    sheet.book.create_sheet("People").append(["person", "credit_name"])
    sheet.book["People"].append(["dov", "Dov"])
    sheet.book.create_sheet("Remarks").append(["the lamp flickers"])
    sheet.fill(sheet.first_row + 1, person="dov", frames="31-40")
    answer = credits_("load", sheet.save("week.xlsx"))
    assert answer.status == 0
    assert "people\t1\t0\t0\n" in answer.out
    assert "entries\t1\t0\t1\n" in answer.out
    assert "week.xlsx sheet Remarks: its name says no table, so it is left out." in answer.err
    del sheet.book["People"]
    answer = credits_("load", sheet.save("week.xlsx"))
    assert "week.xlsx sheet Remarks: its name says no table, so it is left out." in answer.err
    assert "lists" not in answer.err


@pytest.mark.usefixtures("film")
def test_a_row_that_only_began_differently_is_named(credits_: Command) -> None:
    sheet = made(credits_, "--stage", "A")
    begun = sheet.first_row + 1
    sheet.fill(begun, puppet="wick-2 · copy 2", take=3)
    assert notes(loaded(credits_, sheet.save(), same=1)) == [
        f"sheet.xlsx sheet Stage A row {begun}: says other things than before (Puppet and Take), "
        "but nothing that was done. Write frames, minutes or a note, if something was done.",
        "sheet.xlsx sheet Stage A: 2 rows were not filled in.",
    ]


@pytest.mark.usefixtures("film")
def test_a_sheet_of_another_production_is_refused(tmp_path: Path, credits_: Command) -> None:
    sheet = made(credits_, "--stage", "A")
    assert credits_("start", "Another One", tmp_path / "other").status == 0
    answer = credits_("load", sheet.path, "--production", tmp_path / "other")
    assert answer.status == 1
    assert "is a day sheet of another production" in answer.err


@pytest.mark.usefixtures("film")
@pytest.mark.parametrize(
    ("damage", "said"),
    [
        ("mark", "its hidden mark is damaged"),
        ("release", "was made by another release of credits"),
        ("names", "the hidden row with the names of the columns is gone"),
    ],
)
def test_a_sheet_whose_hidden_parts_are_gone_is_refused(
    credits_: Command, damage: str, said: str
) -> None:
    sheet = made(credits_, "--stage", "A")
    mark = str(sheet.sheet["A1"].value)
    if damage == "mark":
        sheet.sheet["A1"].value = mark[:40]
    elif damage == "release":
        sheet.sheet["A1"].value = mark.replace('"format": 1', '"format": 2')
    else:
        sheet.sheet.delete_rows(sheet.names_row)
    answer = credits_("load", sheet.save())
    assert answer.status == 1
    assert said in answer.err


def test_rows_and_columns_may_be_moved_and_hidden_cells_lost(film: Path, credits_: Command) -> None:
    sheet = made(credits_, "--stage", "A")
    begun = sheet.first_row + 1
    sheet.fill(begun, frames="31-40", minutes=480)
    sheet.sheet[sheet.place(begun, "printed")].value = "{torn"
    sheet.sheet.delete_cols(sheet.sheet[f"{sheet.letters['part']}1"].column)
    sheet.sheet.insert_rows(1, 2)
    loaded(credits_, sheet.save(), new=1, same=1)
    assert works(film)[-1].frames == Frames.parse("31-40")


def test_names_that_look_like_formulas_stay_names(film: Path, credits_: Command) -> None:
    sheet = made(credits_, "--stage", "A")
    cells = [cell for page in sheet.book.worksheets for row in page.iter_rows() for cell in row]
    assert {cell.data_type for cell in cells} <= {"s", "n"}
    label = next(str(c.value) for c in cells if str(c.value).startswith("evil"))
    assert label == 'evil · =HYPERLINK("http://x","<script>")'
    sheet.fill(sheet.first_row + 1, person=label, frames="31-40", note="=cmd()|' /C calc'!A0")
    loaded(credits_, sheet.save(), new=1, same=1)
    assert (works(film)[-1].person, works(film)[-1].note) == ("evil", "=cmd()|' /C calc'!A0")


@pytest.mark.usefixtures("empty")
def test_places_of_any_name_have_a_sheet_and_a_file(tmp_path: Path, credits_: Command) -> None:
    names = ["../up", "Köpfe & Hände: 1/2 [x]?*", "木" * 200, "<script>", "'quoted'", "a b", "a:b"]
    crafts = "\n".join(f'c{at},C{at},"{name}",build' for at, name in enumerate(names))
    entries = "\n".join(f"c{at},ana,wick,{THURSDAY}" for at in range(len(names)))
    tables = {
        "crafts": f"craft,name,department,kind\n{crafts}",
        "people": "person,credit_name\nana,Ana",
        "characters": "character,name\nwick,Wick",
        "entries": f"craft,person,character,finished_on\n{entries}",
    }
    assert credits_("load", written_tables(tmp_path / "odd", tables)).status == 0
    answer = credits_("sheet", "--all", "--date", THURSDAY, "--out", "sheets", "--json")
    files = [Path(sheet["file"]) for sheet in answer.json["sheets"]]
    assert len({path.name.casefold() for path in files}) == len(names)
    assert {path.parent for path in files} == {Path("sheets")}
    assert all(path.is_file() for path in files)
    loaded(credits_, Path("sheets"), same=len(names))
