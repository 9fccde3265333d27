"""Rows at the desk: typed, checked, logged together, amended, voided, undone."""

from __future__ import annotations

from pathlib import Path

import pytest

from credits.app.work.entries import amend_entries
from credits.store.log import open_log
from tests.desk.conftest import (
    DAY,
    PUPPETS,
    S1,
    Client,
    cells_of_line,
    client_of,
    come_in,
    in_a_row,
    log_elsewhere,
)

ODD = [
    "<script>alert(1)</script>",
    "=cmd()",
    "+1+1",
    "@SUM(A1)",
    '"><img src=x onerror=alert(1)>',
    "'; DROP TABLE entries; --",
    "{{ 71*71 }}",
    "日本語 عربى 🎬 ‮txt",
    "x" * 200,
    "\udcff",
    "a\nb\tc\x00d",
]
FIELDS = ["craft", "person", "on", "shot", "take", "frames", "poses_on", "minutes", "share", "note"]


# --- logging


def test_a_row_becomes_an_entry_of_the_place_and_the_day(client: Client) -> None:
    answer = client.log(in_a_row(note="First of *two*", share="1/2"))
    line = client.lines[-1]
    assert [*answer["answers"]] == [str(line.number)] == ["A-5"]
    assert cells_of_line(line) == {
        "craft": "animation", "person": "ana", "character": "wick", "puppet": "wick-1",
        "shot": "010-020", "take": "1", "frames": "61-90", "poses_on": "2", "share": "1/2",
        "finished_on": DAY, "minutes": "480", "stage": "S1", "note": "First of *two*",
    }  # fmt: skip
    assert line.source is None


def test_the_answer_says_what_the_entry_changes_and_what_is_asked(client: Client) -> None:
    answer = client.log(in_a_row(frames="61-130"))["answers"]["A-5"]
    assert "Ana Lind animated Wick (wick-1) in 010-020 take 1, frames 61-130" in answer["text"]
    assert "Wick in 010-020: Ana Lind now" in answer["text"]
    assert any("the shot has 120 frames" in text for text in answer["questions"])
    assert any("shorten the range: amend A-5" in text for text in answer["questions"])
    assert not any("credits amend" in text for text in answer["questions"])
    assert answer["place"] == S1
    assert 'data-entry="A-5"' in answer["html"]


def test_the_next_row_begins_with_what_the_place_was_on_and_has_not(client: Client) -> None:
    begins = client.log(in_a_row())["next"]
    assert begins == {
        "craft": "Animation", "person": "Ben Ødegård", "on": "brine-1", "shot": "010-020",
        "take": "1", "frames": "21-", "poses_on": "1",
    }  # fmt: skip


def test_then_it_begins_with_the_same_again_from_the_next_frame(client: Client) -> None:
    client.log(in_a_row(person="ben", on="brine-1", frames="21-40"))
    begins = client.log(in_a_row())["next"]
    assert begins == {
        "craft": "Animation", "person": "Ana Lind", "on": "wick-1", "shot": "010-020",
        "take": "1", "frames": "91-",
    }  # fmt: skip
    assert "frames" not in client.log(in_a_row(frames="91-120"))["next"]


def test_a_workshop_has_no_stage(client: Client) -> None:
    row = {"craft": "Puppet painting", "person": "cai", "on": "wick-2", "minutes": "½ day"}
    answer = client.log(row, place=PUPPETS)
    line = cells_of_line(client.lines[-1])
    assert (line["craft"], line["minutes"], line.get("stage")) == ("paint", "300", None)
    assert "It reaches" in answer["answers"]["A-5"]["text"]


@pytest.mark.parametrize(
    ("on", "cells"),
    [
        ("wick", {"character": "wick"}),
        ("OLD BRINE", {"character": "brine"}),
        ("wick-1", {"character": "wick", "puppet": "wick-1"}),
        ("wick wick-1", {"character": "wick", "puppet": "wick-1"}),
        ("Old Brine, brine-1", {"character": "brine", "puppet": "brine-1"}),
        ("wick-face-3", {"part": "wick-face-3"}),
        ("wick-face-3, wick-2", {"character": "wick", "puppet": "wick-2", "part": "wick-face-3"}),
        ("part hat, wick", {"character": "wick", "part": "hat"}),
    ],
)
def test_on_what_is_a_character_a_puppet_a_part_or_several(
    client: Client, on: str, cells: dict[str, str]
) -> None:
    row = {"craft": "animation", "person": "ana", "on": on, "minutes": "60"}
    assert client.check(row)[0]["wrong"] == {}
    client.log(row)
    line = cells_of_line(client.lines[-1])
    assert {k: v for k, v in line.items() if k in ("character", "puppet", "part")} == cells


@pytest.mark.parametrize(
    ("shot", "cells"),
    [
        ("010-020/2", {"shot": "010-020", "take": "2"}),
        ("010", {"sequence": "010"}),
        ("010-030", {"shot": "010-030"}),
    ],
)
def test_a_shot_may_bring_its_take_and_a_sequence_may_stand_for_it(
    client: Client, shot: str, cells: dict[str, str]
) -> None:
    row = {"craft": "animation", "person": "ana", "on": "wick", "shot": shot, "take": ""}
    client.log(row)
    line = cells_of_line(client.lines[-1])
    assert {k: v for k, v in line.items() if k in ("shot", "take", "sequence")} == cells


@pytest.mark.parametrize(
    ("field", "text", "said"),
    [
        ("craft", "animatoin", "Did you mean animation"),
        ("craft", "", "Is missing"),
        ("person", "sam roe", "name of 2 people"),
        ("person", "nobody", "No person has this code or name"),
        ("on", "wcik", "Did you mean wick"),
        ("on", "", "no character, puppet or part"),
        ("on", "wick-1, brine-1", "two puppets"),
        ("on", "brine, wick-1", "not of brine"),
        ("shot", "999", "no shot has this code"),
        ("take", "two", "whole number"),
        ("frames", "61-", "list of frames"),
        ("frames", "90-61", ""),
        ("minutes", "-5", ""),
        ("share", "half", ""),
    ],
)
def test_what_is_wrong_is_said_beside_its_field(
    client: Client, field: str, text: str, said: str
) -> None:
    before = len(client.lines)
    row = {**in_a_row(), field: text}
    assert said.lower() in client.check(row)[0]["wrong"][field].lower()
    answer = client.log(row)
    assert field in answer["rows"][0]["wrong"]
    assert not answer["repeats"]
    assert len(client.lines) == before


def test_a_field_says_what_is_meant_where_that_is_not_what_stands_in_it(client: Client) -> None:
    meant = client.check(in_a_row(person="ben odegard"))[0]["meant"]
    assert meant == {
        "craft": "animation (Animation)",
        "person": "ben (Ben Ødegård)",
        "on": "wick-1 of Wick",
        "minutes": "480 minutes",
    }


def test_a_repeated_row_asks_before_it_is_logged_again(client: Client) -> None:
    client.log(in_a_row())
    again = client.log(in_a_row(minutes="480", person="ana"))
    assert again["repeats"]
    assert again["rows"][0]["said"] == "A-5"
    assert len(client.lines) == 5
    assert "A-6" in client.log(in_a_row(), again=True)["answers"]


def test_a_row_that_a_sheet_says_without_the_puppets_character_is_said_already(
    client: Client,
) -> None:
    cells = {"minutes": "60", "finished_on": DAY, "stage": "S1"}
    log_elsewhere(client.folder, "repair", "cai", puppet="wick-1", **cells)
    row = {"craft": "repair", "person": "cai", "on": "wick-1", "minutes": "60"}
    assert client.log(row)["rows"][0]["said"] == "A-5"


def test_rows_are_logged_together_or_not_at_all(client: Client) -> None:
    rows = [in_a_row(), in_a_row(person="ben", frames="1-x"), in_a_row(on="brine")]
    answer = client.log(*rows)
    assert [bool(row["wrong"]) for row in answer["rows"]] == [False, True, False]
    assert len(client.lines) == 4
    rows[1]["frames"] = "61-90"
    assert [*client.log(*rows)["answers"]] == ["A-5", "A-6", "A-7"]


def test_two_equal_rows_in_one_paste_ask_too(client: Client) -> None:
    assert client.log(in_a_row(), in_a_row())["repeats"]
    assert len(client.lines) == 4
    assert len(client.log(in_a_row(), in_a_row(), again=True)["answers"]) == 2


def test_who_logs_it_is_kept(client: Client) -> None:
    client.log(in_a_row(), by="Fidelma")
    assert client.lines[-1].logged_by == "Fidelma"


@pytest.mark.parametrize("text", ODD)
def test_anything_may_be_typed_anywhere(client: Client, text: str) -> None:
    rows = {field: {**in_a_row(), field: text} for field in FIELDS}
    checked = client.post("/check", place=S1, rows=[*rows.values()])
    assert checked.status_code == 200
    shown = {}
    for field, row in rows.items():
        logged = client.post("/log", place=S1, rows=[row], by=text)
        assert logged.status_code in (200, 422), field
        shown[field] = "".join(a["html"] for a in logged.json().get("answers", {}).values())
    assert bool(shown["note"]) is (text.isprintable() or "\u202e" in text)
    shown["the page"] = client.page()
    for where, html in shown.items():
        for bad in ("<script>alert", "<img src=x", "5041"):
            assert bad not in html, where


# --- amending, voiding


def test_an_amendment_changes_what_is_named_and_keeps_the_old_line(client: Client) -> None:
    fields = {"frames": "31-58", "person": "Ben Ødegård"}
    answer = client.post("/amend", number="A-4", fields=fields, why="misread", by="Fidelma").json()
    line = client.lines[-1]
    assert (str(line.corrects), line.why, line.logged_by) == ("A-4", "misread", "Fidelma")
    said = cells_of_line(line)
    assert (said["frames"], said["person"], said["note"]) == ("31-58", "ben", "The day's first")
    assert "frames 31-58" in answer["answers"]["A-5"]["text"]
    page = client.page()
    assert 'data-entry="A-4"' not in page
    assert "A-4: Ana Lind animated" in page
    assert "misread" in page


def test_an_amendment_may_take_a_value_away_and_move_the_entry(client: Client) -> None:
    fields = {"note": "", "on": "wick", "finished_on": "2026-03-04", "stage": "S2"}
    client.post("/amend", number="A-4", fields=fields)
    said = cells_of_line(client.lines[-1])
    assert "note" not in said
    assert "puppet" not in said
    assert (said["finished_on"], said["stage"]) == ("2026-03-04", "S2")


def test_a_wrong_amendment_is_said_by_its_field(client: Client) -> None:
    answer = client.post("/amend", number="A-4", fields={"frames": "9-1", "person": "xyz"}).json()
    assert set(answer["rows"][0]["wrong"]) == {"frames", "person"}
    assert len(client.lines) == 4


def test_an_amendment_that_changes_nothing_writes_nothing(client: Client) -> None:
    assert client.post("/amend", number="A-4", fields={"minutes": "8h"}).json() == {"answers": {}}
    assert len(client.lines) == 4


def test_what_somebody_amended_meanwhile_is_not_written_over(client: Client) -> None:
    amend_entries(client.folder, ["A-4"], {"minutes": "90"})
    answer = client.post("/amend", number="A-4", fields={"minutes": "100"})
    assert answer.status_code == 422
    assert "A-5 says it now" in answer.json()["problems"][0]
    assert client.post("/void", number="A-4", why="x").status_code == 422
    assert len(client.lines) == 5


def test_a_void_asks_why_and_stays_readable(client: Client) -> None:
    assert client.post("/void", number="A-4", why="  ").status_code == 422
    assert len(client.lines) == 4
    client.post("/void", number="A-4", why="logged twice")
    page = client.page()
    assert 'class="entry void" data-entry="A-4"' in page
    assert "A-4: Ana Lind animated" in page
    assert "logged twice" in page
    again = client.post("/void", number="A-4", why="x")
    assert (again.status_code, "was voided" in again.text) == (422, True)


@pytest.mark.parametrize("number", ["A-99", "", "nonsense", "<script>", "B-1"])
def test_an_entry_that_is_not_there_is_said(client: Client, number: str) -> None:
    for path, values in (("/amend", {"fields": {"minutes": "1"}}), ("/void", {"why": "x"})):
        answer = client.post(path, number=number, **values)
        assert answer.status_code == 422
        assert answer.json()["problems"]


# --- undoing


def test_undo_takes_back_what_was_written_together_last(client: Client) -> None:
    client.log(in_a_row(), in_a_row(on="brine"))
    client.post("/amend", number="A-4", fields={"minutes": "90"})
    assert "A-7" in client.post("/undo").json()["undone"]
    assert cells_of_line(client.lines[-1])["minutes"] == "480"
    client.post("/undo")
    assert [(line.verb, str(line.corrects), line.why) for line in client.lines[-2:]] == [
        ("void", "A-5", "undone at the desk"),
        ("void", "A-6", "undone at the desk"),
    ]
    assert client.post("/undo").status_code == 422


def test_undo_goes_back_over_an_amendment_of_the_same_row(client: Client) -> None:
    client.log(in_a_row())
    client.post("/amend", number="A-5", fields={"minutes": "90"})
    client.post("/undo")
    assert client.post("/undo").status_code == 200
    assert 'class="entry void" data-entry="A-7"' in client.page()


def test_a_void_is_undone_by_logging_the_entry_again(client: Client) -> None:
    client.post("/void", number="A-4", why="x")
    client.post("/undo")
    assert client.lines[-1].work == client.lines[3].work


def test_undo_leaves_what_somebody_else_has_corrected(client: Client) -> None:
    client.log(in_a_row())
    amend_entries(client.folder, ["A-5"], {"minutes": "90"})
    answer = client.post("/undo")
    assert (answer.status_code, len(client.lines)) == (422, 6)
    assert "corrected since" in answer.json()["problems"][0]


def test_undo_is_of_ones_own(client: Client) -> None:
    client.log(in_a_row())
    other = Client(come_in(client_of(client.folder)), client.folder)
    assert other.post("/undo").status_code == 422
    assert len(client.lines) == 5


# --- a log that cannot be written


def test_a_log_that_another_program_holds_is_said_and_nothing_is_lost(
    film: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("credits.store.file.BUSY_MILLISECONDS", 50)
    client = Client(come_in(client_of(film)), film)
    monkeypatch.setattr(
        "credits.app.kept.open_log", lambda folder: open_log(folder, busy_milliseconds=50)
    )
    with open_log(film) as log, log.writing():
        answer = client.post("/log", place=S1, rows=[in_a_row()])
    assert answer.status_code == 503
    assert answer.json()["problems"]
    assert "A-5" in client.log(in_a_row())["answers"]


def test_fields_that_few_rows_have_are_taken_shown_and_amended(client: Client) -> None:
    rare = {"wait_minutes": "0:20", "started_on": "2026-03-04", "private": "yes", "note": "Tired."}
    answer = client.log(in_a_row(**rare))["answers"]["A-5"]
    cells = cells_of_line(client.lines[-1])
    assert cells["wait_minutes"] == "20"
    assert (cells["started_on"], cells["finished_on"]) == ("2026-03-04", DAY)
    assert cells["private"] == "yes"
    assert "Minutes waited: 20. Begun on: 2026-03-04. Note for the office alone" in answer["html"]
    client.post("/amend", number="A-5", fields={"wait_minutes": "", "private": ""})
    assert not {"wait_minutes", "private"} & cells_of_line(client.lines[-1]).keys()
    wrong = client.check(in_a_row(wait_minutes="often", started_on="2026-03-06", private="oui"))
    assert {"wait_minutes", "private"} < wrong[0]["wrong"].keys()
