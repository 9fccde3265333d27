"""The end credits as text, CSV, JSON and XLSX."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from datetime import date
from zipfile import ZipFile

import pytest
from openpyxl import load_workbook
from openpyxl.worksheet.worksheet import Worksheet

from credits.billing.plan import Picture
from credits.editions import Edition
from credits.formats.deliver.plain import MORE, Delivery, credits_csv, credits_json, credits_text
from credits.formats.deliver.xlsx import HEADER_ROW, credits_xlsx
from tests.formats.compiled import CAUTION, card, delivery, line, names, roles, text

ODD_NAMES = (
    "Quill", "=cmd()|' /C calc'!A0", "+44", "-1", "@SUM(A1)", "＝A1", "\t=1", "https://example.org",
    "<script>alert(1)</script>", 'O"Brien', "42", "1e5", "{=A1}", "रश्मि", "שרה לוי", "😀",
    "x" * 200, "two\nlines", "bell\x07", "\u202ereversed",
)  # fmt: skip


def rows_of(delivery: Delivery) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(credits_csv(delivery).decode("utf-8-sig"))))


def sheet_of(delivery: Delivery, name: str) -> Worksheet:
    return load_workbook(io.BytesIO(credits_xlsx(delivery)))[name]


def table_of(delivery: Delivery, name: str) -> list[dict[str, object]]:
    heads, *rows = sheet_of(delivery, name).iter_rows(min_row=HEADER_ROW + 1, values_only=True)
    return [dict(zip(map(str, heads), row, strict=True)) for row in rows]


# -- text ---------------------------------------------------------------------------------------


def test_the_text_says_film_draft_data_and_caution_and_aligns_on_the_gutter() -> None:
    made = delivery(
        card("Directed by", "Ana"),
        roles("Voices", ("Wick", "Ben"), ("Wick", "Cai"), ("Old Brine", "山田")),
        names("Thanks", "Dot", "Eli", "Fay", "Gus", "Hal", columns=2),
        text("", "For *everybody*."),
    )
    assert credits_text(made).decode() == (
        "The Small Film\n"
        "End credits. Draft. Work up to 2026-03-03, log up to A-17, cut version 2.\n"
        "\n"
        f"{CAUTION}\n"
        "\n\n"
        "                                   [Card 1]\n"
        "                                 Directed by\n"
        "\n"
        "                                     Ana\n"
        "\n\n"
        "Voices\n"
        "\n"
        "     Wick  Ben\n"
        "           Cai\n"
        "Old Brine  山田\n"
        "\n\n"
        "Thanks\n"
        "\n"
        "Dot                                     Gus\n"
        "Eli                                     Hal\n"
        "Fay\n"
        "\n\n"
        "For everybody.\n"
    )


DIRECTION_SIGNS = (
    "\u200e\u200f\u061c\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u200b\ufeff"
)


def test_what_is_copied_of_the_text_is_the_name_alone() -> None:
    made = credits_text(delivery(roles("Voices", ("Wick", "שרה לוי")), names("", "רותם")))
    lines = made.decode().splitlines()
    assert "Wick  שרה לוי" in lines
    assert "רותם" in lines
    assert not any(sign in made.decode() for sign in DIRECTION_SIGNS)


def test_two_names_that_run_to_the_left_keep_their_order_by_a_tab_between_them() -> None:
    """UAX #9: a tab has the direction of its line, so what stands on both sides is not turned."""
    thanks = names("", "שרה", "דן", "Ana", "Ben", "רות", columns=2)
    lines = credits_text(delivery(roles("", ("ויק", "שרה")), thanks)).decode().splitlines()
    assert "ויק     \tשרה".replace("     \t", "    \t") in lines
    *_, first, second, third = lines
    assert first == "שרה" + " " * 37 + "Ben"
    assert second == "דן" + " " * 37 + "\tרות"
    assert third == "Ana"


def test_a_name_that_is_wider_than_its_room_goes_on_indented_and_is_never_cut() -> None:
    long = "Maria Theodora Wilhelmina Anastasia Featherstall-Plumtree von und zu Hohenzwitscher"
    lines = credits_text(delivery(names("", long, "x" * 200))).decode().splitlines()
    assert lines[-3:] == [
        "Maria Theodora Wilhelmina Anastasia",
        "  Featherstall-Plumtree von und zu Hohenzwitscher",
        "x" * 200,
    ]


def test_a_paragraph_is_a_line_and_kept_line_breaks_are_line_breaks() -> None:
    song = "Hum me a valley,\nhum me a hill,\nhum me a mouse\nwho is humming still."
    made = delivery(text("", f"{'mouse ' * 40}\n\n{song}\n\n- Ana\n- Ben"))
    lines = credits_text(made).decode().splitlines()
    assert lines[-8:] == [
        ("mouse " * 40).strip(), "", *song.splitlines(), "", "Ana", "Ben",
    ][-8:]  # fmt: skip
    assert [row["name"] for row in rows_of(made)] == [
        ("mouse " * 40).strip(), "", *song.splitlines(), "", "Ana", "Ben",
    ]  # fmt: skip


def test_what_has_lines_of_its_own_is_parted_from_its_neighbours_in_the_text() -> None:
    made = delivery(names("Songs", "Slow Bell\nby Ana", "The Note\nby Ben"))
    assert credits_text(made).decode().endswith("Songs\n\nSlow Bell\nby Ana\n\nThe Note\nby Ben\n")


def test_what_stands_beside_names_is_in_every_file() -> None:
    ana, ben = line("Ana"), replace(line("Ben"), joined="&", note="(as Mo)")
    thanks = replace(
        names("Thanks"),
        lines=(ana, ben),
        heading_also="Danke",
        pictures=(Picture(file="mill.svg", shows="Mill Studio", lines=3),),
    )
    made = delivery(thanks)
    assert (
        credits_text(made).decode().endswith("Thanks\nDanke\n\n[Mill Studio]\nAna & Ben (as Mo)\n")
    )
    first, second, picture = rows_of(made)
    assert (first["heading_also"], first["joined"], first["note"]) == ("Danke", "", "")
    assert (second["name"], second["joined"], second["note"]) == ("Ben", "&", "(as Mo)")
    assert (picture["name"], picture["notes"]) == ("[Mill Studio]", "picture mill.svg")
    (section,) = json.loads(credits_json(made))["sections"]
    assert section["lines"][1]["joined"] == "&"
    assert section["pictures"] == [{"file": "mill.svg", "shows": "Mill Studio", "lines": 3}]
    rows = table_of(made, "Credits")
    assert [(row["name"], row["note"], row["joined"]) for row in rows[:2]] == [
        ("Ana", None, None),
        ("Ben", "(as Mo)", "&"),
    ]


def test_spellings_that_are_not_confirmed_are_marked_where_the_edition_says_so() -> None:
    section = names("Thanks")
    section = replace(section, lines=(line("Ana", confirmed=False), line("Ben")))
    crew, public = (
        credits_text(delivery(section, edition=edition)).decode()
        for edition in (Edition.CREW, Edition.PUBLIC)
    )
    assert "\nAna °\nBen\n" in crew
    assert "° The spelling is not confirmed." in crew
    assert "°" not in public


def test_a_proof_is_called_by_its_number() -> None:
    assert b"End credits. Proof 3 of 2026-03-05. Work up to" in credits_text(
        delivery(proof=3, saved_on=date(2026, 3, 5))
    )


def test_an_empty_production_is_said_to_be_empty() -> None:
    empty = delivery(day=None, last_line=None, cut=None)
    assert b"End credits. Draft. Nothing is logged." in credits_text(empty)
    assert b"Nobody yet: nothing prints." in credits_text(empty)
    assert rows_of(empty) == []
    assert json.loads(credits_json(empty))["sections"] == []
    assert table_of(empty, "Credits") == []


# -- CSV ----------------------------------------------------------------------------------------


def test_the_csv_has_a_row_for_each_line() -> None:
    made = delivery(roles("Voices", ("Wick", "Ben")), text("Thanks", "One\n\nTwo"))
    assert rows_of(made) == [
        {
            "section": "1", "heading": "Voices", "layout": "role and name", "columns": "1",
            "line": "1", "role": "Wick", "name": "Ben", "direction": "ltr", "person": "ben",
            "confirmed": "yes", **dict.fromkeys(MORE, ""),
        },
        *(
            {
                "section": "2", "heading": "Thanks", "layout": "text", "columns": "1",
                "line": number, "role": "", "name": words, "direction": "ltr", "person": "",
                "confirmed": "", **dict.fromkeys(MORE, ""), "notes": "fixed text",
            }
            for number, words in (("1", "One"), ("2", ""), ("3", "Two"))
        ),
    ]  # fmt: skip


@pytest.mark.parametrize("name", ODD_NAMES)
def test_no_cell_of_the_csv_is_run_as_a_formula(name: str) -> None:
    (row,) = rows_of(delivery(roles(name, (name, name))))
    for cell in (row["heading"], row["role"], row["name"]):
        assert cell.lstrip()[:1] not in tuple("=+-@＝＋－＠")


@pytest.mark.parametrize("name", ["=cmd()", "+44", "-1", "@SUM(A1)"])
def test_an_apostrophe_before_a_name_is_said_in_the_notes_of_its_row(name: str) -> None:
    first, second = rows_of(delivery(names("Thanks", name, "O'Brien")))
    assert first["name"] == f"'{name}"
    assert "the apostrophe before the name is no part of it" in first["notes"]
    assert (second["name"], second["notes"]) == ("O'Brien", "")


# -- JSON ---------------------------------------------------------------------------------------


def test_the_json_has_the_shape_of_the_command() -> None:
    made = json.loads(credits_json(delivery(roles("Voices", ("Wick", "Ben")), held=("Hid",))))
    (section,) = made["sections"]
    assert (made["proof"], made["caution"], section["heading"]) == (None, CAUTION, "Voices")
    (one,) = section["lines"]
    assert (one["person"], one["name"], one["role"]) == ("ben", "Ben", "Wick")
    assert one["because"]["entries"] == ["A-1", "A-4"]


def test_what_contracts_say_and_who_is_held_is_for_the_office_alone() -> None:
    sections = (names("Thanks", "Ana"),)
    office = credits_json(delivery(*sections, held=("Hid",), edition=Edition.OFFICE)).decode()
    crew = credits_json(delivery(*sections, held=("Hid",))).decode()
    public = credits_json(delivery(*sections, held=("Hid",), edition=Edition.PUBLIC)).decode()
    assert "hid" in office
    assert "billing number" in office
    for others in (crew, public):
        assert "hid" not in others.replace("which", "")
        assert "billing number" not in others
        assert "contract" not in others
    assert json.loads(public)["sections"][0]["lines"][0]["because"] is None


# -- XLSX ---------------------------------------------------------------------------------------


def test_the_sheet_for_the_title_house() -> None:
    made = delivery(
        roles("Voices", ("Wick", "Ben"), ("Wick", "שרה")),
        names("Thanks", "Ana", "Cai", "Dot", "Eli", "Fay", columns=3),
    )
    table = table_of(made, "Credits")
    assert [tuple(row.values()) for row in table[:3]] == [
        (1, 1, "Voices", "Wick", "Ben", "role and name", 1, None),
        (2, 1, "Voices", "Wick", "שרה", "role and name", 1,
         "name runs from right to left; role as above: set it once"),
        (3, 2, "Thanks", None, "Ana", "names", 3, None),
    ]  # fmt: skip
    sheet = sheet_of(made, "Credits")
    assert [sheet.cell(row, 1).value for row in (1, 2, 3)] == [
        "The Small Film",
        "End credits. Draft. Work up to 2026-03-03, log up to A-17, cut version 2.",
        CAUTION,
    ]
    assert sheet.freeze_panes == f"A{HEADER_ROW + 2}"
    hebrew = sheet.cell(HEADER_ROW + 3, 5)
    assert (hebrew.value, hebrew.alignment.readingOrder) == ("שרה", 2)


def test_held_reasons_and_changes_are_sheets_of_the_office() -> None:
    changes = (("came", "Ana", "Ana came: a new entry, A-17."),)
    made = delivery(names("Thanks", "Ana"), held=("Hid",), edition=Edition.OFFICE, changes=changes)
    book = load_workbook(io.BytesIO(credits_xlsx(made)))
    assert book.sheetnames == ["Credits", "Held", "Reasons", "Changes"]
    assert [tuple(row.values())[:4] for row in table_of(made, "Held")] == [
        ("hid", "Hid", None, "asked to be uncredited")
    ]
    (reason,) = table_of(made, "Reasons")
    assert reason["rule"] == (
        "A contract guarantees the heading 'Leads' (engaged as Lead). "
        "The log has work of this craft (Voice)."
    )
    assert reason["figures"] == "billing number 7, entries 2"
    assert reason["entries"] == "A-1, A-4"
    assert [tuple(row.values()) for row in table_of(made, "Changes")] == list(changes)


def test_nobody_who_is_held_stands_in_what_others_get() -> None:
    made = delivery(names("Thanks", "Ana"), held=("Hidden Person",))
    assert load_workbook(io.BytesIO(credits_xlsx(made))).sheetnames == ["Credits"]
    with ZipFile(io.BytesIO(credits_xlsx(made))) as parts:
        assert not any(b"Hidden" in parts.read(part) for part in parts.namelist())
    for content in (credits_text(made), credits_csv(made), credits_json(made)):
        assert b"Hidden" not in content


@pytest.mark.parametrize("name", ODD_NAMES)
def test_every_text_of_the_workbook_is_a_text(name: str) -> None:
    made = delivery(roles(name, (name, name)), held=(name,), edition=Edition.OFFICE, title=name)
    book = load_workbook(io.BytesIO(credits_xlsx(made)))
    for sheet in book:
        for row in sheet.iter_rows():
            for cell in row:
                assert cell.hyperlink is None
                assert cell.data_type in ("s", "n")
                assert cell.data_type == "s" or cell.value is None or isinstance(cell.value, int)
    (row,) = table_of(made, "Credits")
    wanted = "".join(s if s == "\n" else " " if s.isspace() or s < " " else s for s in name)
    assert row["name"] == wanted.strip(" ")


def test_the_same_delivery_gives_the_same_bytes() -> None:
    made = delivery(names("Thanks", "Ana"), edition=Edition.OFFICE)
    assert credits_xlsx(made) == credits_xlsx(made)
    other_day = delivery(names("Thanks", "Ana"), edition=Edition.OFFICE, day=None)
    assert credits_xlsx(other_day) != credits_xlsx(made)


def test_the_workbook_prints_whole() -> None:
    """All columns on a page's width, the heads on every page, rows as high as their texts."""
    long = "Maria Theodora Wilhelmina Anastasia Featherstall-Plumtree von und zu Hohenzwitscher"
    made = delivery(names("Thanks", "Ana", long), caution="A caution. " * 60)
    sheet = sheet_of(made, "Credits")
    last = f"{sheet.cell(HEADER_ROW + 1, sheet.max_column).column_letter}{HEADER_ROW + 3}"
    columns, rows = last.rstrip("0123456789"), HEADER_ROW + 3
    assert sheet.print_area == f"'Credits'!$A$1:${columns}${rows}"
    assert sheet.print_title_rows == f"${HEADER_ROW + 1}:${HEADER_ROW + 1}"
    assert sheet.sheet_properties.pageSetUpPr.fitToPage
    assert (sheet.page_setup.fitToWidth or 1, int(sheet.page_setup.fitToHeight)) == (1, 0)
    heights = [sheet.row_dimensions[row].height for row in (3, HEADER_ROW + 2, HEADER_ROW + 3)]
    assert heights[0] >= 4 * 15  # the caution, over all columns
    assert heights[1:] == [None, 45]  # None: as high as a line is
    assert f"A3:{columns}3" in map(str, sheet.merged_cells.ranges)


@pytest.mark.parametrize(("name", "stays"), [("=cmd()", True), ("+44", True), ("Ana", False)])
def test_a_cell_that_looks_like_a_formula_stays_a_text_when_it_is_edited(
    name: str, stays: bool
) -> None:
    cell = sheet_of(delivery(names("Thanks", name)), "Credits").cell(HEADER_ROW + 2, 5)
    assert (cell.value, cell.data_type, bool(cell.quotePrefix)) == (name, "s", stays)
