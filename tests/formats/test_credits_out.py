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

from credits.editions import Edition
from credits.formats.deliver.plain import Delivery, credits_csv, credits_json, credits_text
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
        "End credits. Draft. Work up to 2026-03-03, log up to A-17, cut 2.\n"
        "\n"
        f"{CAUTION}\n"
        "\n\n"
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


def test_a_name_that_runs_to_the_left_is_isolated_where_it_shares_its_line() -> None:
    made = credits_text(delivery(roles("Voices", ("Wick", "שרה לוי")), names("", "רותם")))
    lines = made.decode().splitlines()
    assert "\u200eWick  \u2068שרה לוי\u2069" in lines
    assert "רותם" in lines


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
            "confirmed": "yes",
        },
        *(
            {
                "section": "2", "heading": "Thanks", "layout": "text", "columns": "1",
                "line": number, "role": "", "name": words, "direction": "ltr", "person": "",
                "confirmed": "",
            }
            for number, words in (("1", "One"), ("2", ""), ("3", "Two"))
        ),
    ]  # fmt: skip


@pytest.mark.parametrize("name", ODD_NAMES)
def test_no_cell_of_the_csv_is_run_as_a_formula(name: str) -> None:
    (row,) = rows_of(delivery(roles(name, (name, name))))
    for cell in (row["heading"], row["role"], row["name"]):
        assert cell.lstrip()[:1] not in tuple("=+-@＝＋－＠")
        assert "\n" not in cell


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
        (3, 2, "Thanks", None, "Ana", "names", 2, None),
    ]  # fmt: skip
    sheet = sheet_of(made, "Credits")
    assert [sheet.cell(row, 1).value for row in (1, 2, 3)] == [
        "The Small Film",
        "End credits. Draft. Work up to 2026-03-03, log up to A-17, cut 2.",
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
    wanted = "".join(" " if s.isspace() else "" if s < " " else s for s in name)
    assert str(row["name"]).replace(" ", "") == wanted.replace(" ", "")


def test_the_same_delivery_gives_the_same_bytes() -> None:
    made = delivery(names("Thanks", "Ana"), edition=Edition.OFFICE)
    assert credits_xlsx(made) == credits_xlsx(made)
    other_day = delivery(names("Thanks", "Ana"), edition=Edition.OFFICE, day=None)
    assert credits_xlsx(other_day) != credits_xlsx(made)
