"""A sheet that comes again at the desk: what may be chosen, and what each choice writes."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import pytest

from credits.app.work.sheet import make_sheets
from credits.model.log import Verb
from tests.desk.conftest import DAY, Client, cells_of_line, texts
from tests.filled_sheets import FilledSheet

SHEET = f"""\
craft,person,character,minutes,finished_on,note
paint,cai,wick,30,{DAY},left arm
paint,cai,wick,60,{DAY},right arm
hair,cai,brine,45,{DAY},beard
repair,ana,wick,20,{DAY},
"""
CHANGED = SHEET.replace("30", "35").replace("60", "65")
SHORTER = "\n".join(SHEET.splitlines()[:3]) + "\n"


def drop(client: Client, data: str, name: str = "entries-paint.csv", **asked: str) -> str:
    """What the page shows of a sheet."""
    answer = client.http.post("/load", params={"name": name, **asked}, content=data)
    assert answer.status_code == 200, answer.text
    return str(answer.json()["html"])


def offered(html: str) -> dict[str, str]:
    """The choices of a report by their names, each with its label."""
    labels = re.findall(r"<label>(.*?)</label>", html, re.DOTALL)
    found = {}
    for label in labels:
        name = re.search(r'data-choice name="(\w+)"', label)
        assert name is not None
        found[name[1]] = texts(label)
    return found


@pytest.fixture
def loaded(client: Client) -> Client:
    """The desk after the sheet has been written once: lines 5 to 8."""
    assert "Written." in drop(client, SHEET, write="1")
    assert len(client.lines) == 8
    return client


def test_a_new_sheet_asks_nothing_but_may_be_given_another_name(client: Client) -> None:
    assert offered(drop(client, SHEET)) == {"sheet": "Known as"}
    assert offered(drop(client, SHEET, write="1")) == {}


def test_changed_rows_are_shown_old_beside_new_and_written_only_as_chosen(loaded: Client) -> None:
    html = drop(loaded, CHANGED, write="1")
    assert "2 A-5 Minutes 30 35 not written" in texts(html)
    assert offered(html)["amend"] == "Write the 2 changed rows as amendments"
    assert len(loaded.lines) == 8
    said = texts(drop(loaded, CHANGED, amend="1"))
    assert "Nothing is written yet" in said
    assert "2 A-5 Minutes 30 35 amended" in said
    assert len(loaded.lines) == 8
    html = drop(loaded, CHANGED, amend="1", write="1")
    assert "Written." in html
    assert offered(html) == {}
    assert [(str(line.corrects), cells_of_line(line)["minutes"]) for line in loaded.lines[8:]] == [
        ("A-5", "35"),
        ("A-6", "65"),
    ]


def test_what_was_chosen_is_still_ticked_in_the_next_report(loaded: Client) -> None:
    assert " checked>" not in drop(loaded, CHANGED)
    assert " checked>" in drop(loaded, CHANGED, amend="1")
    assert 'value="a &#34;lie&#34;"' in drop(loaded, SHORTER, void_missing='a "lie"')


def test_one_changed_row_is_spoken_of_as_one(loaded: Client) -> None:
    html = drop(loaded, SHEET.replace("45", "40"))
    assert offered(html)["amend"] == "Write the changed row as an amendment"


def test_rows_like_an_entry_are_new_entries_where_that_is_chosen(loaded: Client) -> None:
    assert "again" in offered(drop(loaded, CHANGED))
    assert "Written." in drop(loaded, CHANGED, again="1", write="1")
    assert [line.verb for line in loaded.lines[8:]] == [Verb.RECORD] * 2


def test_what_another_sheet_says_is_written_again_where_that_is_chosen(loaded: Client) -> None:
    html = drop(loaded, SHORTER, "entries-copy.csv", write="1")
    assert "row 2 (A-5)" in texts(html)
    assert "again" in offered(html)
    assert len(loaded.lines) == 8
    assert "Written." in drop(loaded, SHORTER, "entries-copy.csv", again="1", write="1")
    assert len(loaded.lines) == 10


def test_rows_that_are_gone_stay_until_somebody_says_why_they_are_void(loaded: Client) -> None:
    html = drop(loaded, SHORTER, write="1")
    assert "2 entries of this sheet without a row here stay: A-7 and A-8" in texts(html)
    assert offered(html)["void_missing"] == "Void the 2 rows that are gone, because"
    drop(loaded, SHORTER, void_missing="  ", write="1")
    assert len(loaded.lines) == 8
    html = drop(loaded, SHORTER, void_missing="they were <b>plans</b>", write="1")
    assert "are void" in texts(html)
    assert offered(html) == {}
    assert "<b>" not in html
    voids = [(line.verb, str(line.corrects), line.why) for line in loaded.lines[8:]]
    why = "they were <b>plans</b>"
    assert voids == [(Verb.VOID, "A-7", why), (Verb.VOID, "A-8", why)]


def test_under_another_name_the_rows_are_other_entries(loaded: Client) -> None:
    html = drop(loaded, CHANGED, sheet="paint, second week", write="1")
    assert "Written." in html
    assert len(loaded.lines) == 10
    assert {line.sheet for line in loaded.lines[8:]} == {"paint, second week"}
    assert "Nothing new: every row" in drop(loaded, CHANGED, sheet="Paint, second week")


def test_rows_that_are_about_other_work_wait_for_a_word(client: Client) -> None:
    keyed = f"ref,craft,person,character,finished_on\n1,paint,cai,wick,{DAY}\n"
    drop(client, keyed, write="1")
    other = keyed.replace("cai,wick", "ben,brine")
    html = drop(client, other, write="1")
    assert "1 row would be about another piece of work than before" in texts(html)
    assert "Who cai ben" in texts(html)
    assert len(client.lines) == 5
    assert "Written." in drop(client, other, amend="1", write="1")
    assert str(client.lines[5].corrects) == "A-5"


def test_words_of_the_departments_and_tables_with_tabs_are_read(client: Client) -> None:
    settings = client.folder / "production.toml"
    words = '\n[sheets]\nwho = "person"\n"Paint *" = "entries"\n'
    settings.write_text(settings.read_text("utf-8") + words, "utf-8")
    sheet = f"craft\twho\tcharacter\tfinished_on\npaint\tcai\twick\t{DAY}\n"
    assert "Written." in drop(client, sheet, "Paint week 10.tsv", write="1")
    assert len(client.lines) == 5


def test_a_day_sheet_is_known(client: Client, tmp_path: Path) -> None:
    sheets = make_sheets(
        client.folder, date.fromisoformat(DAY), lambda: "0a", "S1", None, tmp_path / "s1.xlsx"
    )
    filled = FilledSheet(sheets[0].file)
    at = next(
        number
        for number in range(filled.first_row, filled.first_row + 9)
        if str(filled.row(number).get("person", "")).startswith("ben")
    )
    filled.fill(at, frames="21-40", minutes="8h")
    answer = client.http.post(
        "/load", params={"name": "x.xlsx", "write": "1"}, content=filled.save().read_bytes()
    )
    assert "Written." in answer.json()["html"]
    assert cells_of_line(client.lines[-1])["frames"] == "21-40"
