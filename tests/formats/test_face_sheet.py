"""Face sheets as they are written on the stage."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest
import xlsxwriter
from given_tables import after, csv_text, film, loaded

from credits.formats.tables.faces import plan_face_sheet
from credits.formats.tables.load import LoadPlan
from credits.model.facts import Replacement
from credits.model.log import TableCount, WrittenLog
from credits.units.frames import Frames

SHEET = """
    frame,wick,Captain Brine
    1,12,brine-face-012
    2,"\"\"\"\"",
    3,13 + wick-lid-1,-
    4,WICK-FACE-012,012
"""


def sheet(folder: Path, log: WrittenLog, text: str, of: str = "010-020/1") -> LoadPlan:
    path = folder / "face-sheet-010-020.csv"
    path.write_text(csv_text(text), encoding="utf-8")
    return plan_face_sheet(path, of, log)


def problems(folder: Path, log: WrittenLog, text: str, of: str = "010-020/1") -> list[str]:
    return [str(problem) for problem in sheet(folder, log, text, of).problems]


def seen(character: str, part: str, frames: str, take: int | None = 1) -> Replacement:
    return Replacement(
        shot="010-020", take=take, character=character, part=part, frames=Frames.parse(frames)
    )


def test_codes_numbers_ditto_marks_and_several_parts_in_a_cell(tmp_path: Path) -> None:
    text = SHEET.replace('""""""', '""""')
    plan = sheet(tmp_path, film(tmp_path), text)
    assert plan.problems == ()
    assert plan.batch.cleared_face_sheets == (("010-020", 1),)
    assert plan.batch.replacements == (
        seen("wick", "wick-face-012", "1-2,4"),
        seen("wick", "wick-face-013", "3"),
        seen("wick", "wick-lid-1", "3"),
        seen("brine", "brine-face-012", "1,4"),
    )
    assert plan.counts == {"replacements": TableCount(new=4)}


def test_the_same_sheet_again_changes_nothing(tmp_path: Path) -> None:
    log = film(tmp_path)
    text = "frame,wick\n1,12\n2,13"
    log = after(log, sheet(tmp_path, log, text).batch)
    again = sheet(tmp_path, log, text)
    assert again.changes_nothing
    assert again.counts == {"replacements": TableCount(same=2)}


def test_a_new_sheet_takes_the_place_of_the_old_one(tmp_path: Path) -> None:
    log = film(tmp_path)
    log = after(log, sheet(tmp_path, log, "frame,wick\n1,12\n2,13").batch)
    plan = sheet(tmp_path, log, "frame,wick\n1,12\n2,12")
    assert after(log, plan.batch).replacements == (seen("wick", "wick-face-012", "1-2"),)
    assert plan.counts == {"replacements": TableCount(changed=2)}


def test_characters_without_a_column_and_other_takes_keep_their_parts(tmp_path: Path) -> None:
    log = film(tmp_path)
    log = after(log, sheet(tmp_path, log, "frame,wick,brine\n1,12,12").batch)
    log = after(log, sheet(tmp_path, log, "frame,wick\n1,12", "010-020/2").batch)
    log = after(log, sheet(tmp_path, log, "frame,wick\n1,13", "010-020").batch)
    log = after(log, sheet(tmp_path, log, "frame,wick\n1,13").batch)
    assert set(log.replacements) == {
        seen("wick", "wick-face-013", "1"),
        seen("brine", "brine-face-012", "1"),
        seen("wick", "wick-face-012", "1", 2),
        seen("wick", "wick-face-013", "1", None),
    }


def test_frames_may_be_missing_or_out_of_order_but_not_twice(tmp_path: Path) -> None:
    log = film(tmp_path)
    plan = sheet(tmp_path, log, "frame,wick\n9,12\n3,12")
    assert plan.batch.replacements == (seen("wick", "wick-face-012", "3,9"),)
    assert problems(tmp_path, log, "frame,wick\n3,12\n9,\n3,13\n0,12\n49,12\n,12") == [
        "face-sheet-010-020.csv row 4: frame '3': row 2 is the same frame. "
        "Correct one of the two rows.",
        "face-sheet-010-020.csv row 5: frame '0': is too low. The lowest number here is 1.",
        "face-sheet-010-020.csv row 6: frame '49': shot 010-020 has 48 frames. "
        "Take the row out, or correct the shot's length.",
        "face-sheet-010-020.csv row 7: frame: is empty. Every row needs its frame.",
    ]


def test_a_number_that_two_parts_end_in_names_both(tmp_path: Path) -> None:
    log = loaded(tmp_path, film(tmp_path), parts="part,kind,character\nwick-mouth-12,mouth,wick")
    assert problems(tmp_path, log, "frame,wick\n1,12") == [
        "face-sheet-010-020.csv row 2: wick '12': 2 parts of wick end in this number "
        "(wick-face-012, wick-mouth-12). Write the code of the one that is meant."
    ]


def test_parts_that_are_not_there_or_another_characters(tmp_path: Path) -> None:
    text = "frame,wick\n1,99\n2,brine-face-012\n3,wick-face-12\n4,gloves\n"
    assert problems(tmp_path, film(tmp_path), text) == [
        "face-sheet-010-020.csv row 2: wick '99': no part of wick ends in this number. "
        "Correct the number, or add the part to the parts table.",
        "face-sheet-010-020.csv row 3: wick 'brine-face-012': is a part of brine, not of wick. "
        "Write a part of wick.",
        "face-sheet-010-020.csv row 4: wick 'wick-face-12': there is no such part of wick. "
        "Write wick-face-012, or add wick-face-12 to the parts table.",
    ]


def test_a_ditto_mark_in_the_first_row_repeats_nothing(tmp_path: Path) -> None:
    (found,) = problems(tmp_path, film(tmp_path), "frame,wick\n1,〃\n2,12")
    assert "wick '〃': repeats the row above, but there is none. Write the part." in found


def test_headings_that_are_no_characters(tmp_path: Path) -> None:
    found = problems(tmp_path, film(tmp_path), "no,wik,brine,Captain Brine\n1,,,")
    assert [text.split(": column ")[1] for text in found] == [
        "'no': is no character's code or name. Write a character's code, or take it out.",
        "'wik': is no character's code or name. Write wick.",
        "'Captain Brine': brine has another column already. Keep one.",
        "'frame': this column is missing. Write frame over the frame numbers.",
    ]


def test_the_shot_and_take_must_be_there(tmp_path: Path) -> None:
    log = film(tmp_path)
    assert problems(tmp_path, log, "frame,wick\n1,12", "010-02") == [
        "shot '010-02': there is no such shot. Write 010-020, or add 010-02 to the shots table."
    ]
    assert problems(tmp_path, log, "frame,wick\n1,12", "010-020/x") == [
        "shot '010-020/x': the take is not a whole number from 1. Write it like 010-020/2."
    ]


def test_an_empty_sheet_clears_nothing(tmp_path: Path) -> None:
    log = film(tmp_path)
    log = after(log, sheet(tmp_path, log, "frame,wick\n1,12").batch)
    assert sheet(tmp_path, log, "").changes_nothing
    assert sheet(tmp_path, log, "frame,wick").changes_nothing
    cleared = sheet(tmp_path, log, "frame,wick\n1,-")
    assert after(log, cleared.batch).replacements == ()


def test_a_face_sheet_may_be_a_workbook(tmp_path: Path) -> None:
    path = tmp_path / "faces.xlsx"
    with xlsxwriter.Workbook(path) as book:
        page = book.add_worksheet("page 1")
        page.write_row(0, 0, ["Frame", "Wick"])
        page.write_row(1, 0, [1, 12])
        page.write_row(2, 0, [2, "″"])
    plan = plan_face_sheet(path, "010-020", film(tmp_path))
    assert plan.batch.replacements == (seen("wick", "wick-face-012", "1-2", None),)


def test_a_part_without_a_character_may_be_worn_by_any(tmp_path: Path) -> None:
    plan = sheet(tmp_path, film(tmp_path), "frame,wick\n4,GLOVES")
    assert plan.batch.replacements == (seen("wick", "gloves", "4"),)


def test_digits_without_end_are_no_part(tmp_path: Path) -> None:
    (found,) = problems(tmp_path, film(tmp_path), f"frame,wick\n1,{'9' * 5000}\n")
    assert "there is no such part of wick" in found


def test_the_second_page_leaves_the_first_as_it_is(tmp_path: Path) -> None:
    log = film(tmp_path)
    first = "frame,wick,brine\n1,12,12\n2,13,12\n3,13,"
    log = after(log, sheet(tmp_path, log, first).batch)
    plan = sheet(tmp_path, log, "frame,wick\n3,12\n4,13\n5,")
    assert set(after(log, plan.batch).replacements) == {
        seen("wick", "wick-face-012", "1,3"),
        seen("wick", "wick-face-013", "2,4"),
        seen("brine", "brine-face-012", "1-2"),
    }
    assert plan.faces is not None
    assert (plan.faces.replaced.text, plan.faces.kept.text) == ("3-5", "1-2")
    assert plan.counts == {"replacements": TableCount(changed=2)}
    log = after(log, plan.batch)
    assert sheet(tmp_path, log, "frame,wick\n3,12\n4,13\n5,").changes_nothing


def test_an_empty_cell_takes_a_part_out_of_its_frame_alone(tmp_path: Path) -> None:
    log = film(tmp_path)
    log = after(log, sheet(tmp_path, log, "frame,wick\n1,12\n2,12\n3,13").batch)
    plan = sheet(tmp_path, log, "frame,wick\n2,\n3,")
    assert after(log, plan.batch).replacements == (seen("wick", "wick-face-012", "1"),)


def pages(path: Path, **rows: list[list[object]]) -> Path:
    with xlsxwriter.Workbook(path) as book:
        for name, lines in rows.items():
            page = book.add_worksheet(name)
            for at, line in enumerate(lines):
                page.write_row(at, 0, line)
    return path


def test_every_sheet_of_a_workbook_with_a_column_frame_is_read(tmp_path: Path) -> None:
    path = pages(
        tmp_path / "faces.xlsx",
        one=[["frame", "wick"], [1, 12], [2, 13]],
        remarks=[["the left lid is loose"]],
        two=[["frame", "wick", "brine"], [3, 12, 12]],
    )
    plan = plan_face_sheet(path, "010-020/1", film(tmp_path))
    assert plan.batch.replacements == (
        seen("wick", "wick-face-012", "1,3"),
        seen("wick", "wick-face-013", "2"),
        seen("brine", "brine-face-012", "3"),
    )
    assert [(file.file, file.rows) for file in plan.read] == [
        ("faces.xlsx sheet one", 2),
        ("faces.xlsx sheet two", 1),
    ]
    assert [str(finding) for finding in plan.left_out] == [
        "faces.xlsx sheet remarks: has no column frame, so it is left out."
    ]


def test_a_frame_of_a_character_stands_on_one_page(tmp_path: Path) -> None:
    path = pages(
        tmp_path / "faces.xlsx",
        one=[["frame", "wick"], [1, 12], [2, 13]],
        two=[["frame", "wick"], [2, 12], [3, 12]],
    )
    (found,) = plan_face_sheet(path, "010-020", film(tmp_path)).problems
    assert str(found).startswith("faces.xlsx sheet two row 1: frame: frame 2 of wick is on")


def test_a_page_may_have_titles_and_is_told_of_formulas_without_a_value(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    book.active.append(["Faces of 010-020"])
    book.active.append(["Frame", "Wick"])
    book.active.append([1, "12"])
    book.active.append([2, "=B3"])
    book.save(tmp_path / "faces.xlsx")
    found = plan_face_sheet(tmp_path / "faces.xlsx", "010-020", film(tmp_path))
    assert [str(f) for f in found.problems] == [
        "faces.xlsx sheet Sheet cell B4: holds a formula that was never computed. "
        "Open the file, save it, and load it again."
    ]
    book.active["B4"] = "12"
    book.save(tmp_path / "faces.xlsx")
    found = plan_face_sheet(tmp_path / "faces.xlsx", "010-020", film(tmp_path))
    assert [str(r.frames.text) for r in found.batch.replacements] == ["1-2"]
    assert "'Faces of 010-020': stands above the header" in str(found.left_out[0])


@pytest.mark.parametrize("mark", ['""""', "''", "″", "〃", "”", "“", "„", "do", "do.", "Do.", "DO"])
def test_every_ditto_mark_repeats_the_row_above_and_what_that_repeats(
    tmp_path: Path, mark: str
) -> None:
    text = f"frame,wick\n1,12\n2,{mark}\n3,{mark}\n4,-\n5,{mark}"
    plan = sheet(tmp_path, film(tmp_path), text)
    assert plan.problems == ()
    assert plan.batch.replacements == (seen("wick", "wick-face-012", "1-3"),)
