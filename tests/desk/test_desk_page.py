"""What the page of a day shows."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from types import SimpleNamespace

import pytest

from credits.app.figures import read_ledger
from credits.app.work.entries import doubts_about
from credits.desk.page import question
from credits.store.production import create_production
from tests.desk.conftest import (
    DAY,
    S1,
    Client,
    client_of,
    come_in,
    in_a_row,
    log_elsewhere,
    place_on,
    texts,
)


def test_a_place_shows_what_is_logged_what_it_had_before_and_who_has_nothing(
    client: Client,
) -> None:
    html = place_on(client.page(), "Stage S1")
    assert "Main unit" in html
    assert 'data-entry="A-4"' in html
    before = html[html.index('data-part="before"') :]
    assert "Wednesday 4 March 2026, 2 logged" in before
    assert [number in before for number in ("A-1", "A-2", "A-4")] == [True, True, False]
    assert "Nothing yet from Ben Ødegård" in texts(html)
    assert "Nothing yet from Cai" in texts(place_on(client.page(), "Workshop Puppets"))


def test_the_day_is_summed_up(client: Client) -> None:
    assert "1 entry; 2 people have nothing yet." in client.page()
    client.log({"craft": "animation", "person": "ben", "on": "brine", "shot": "010-020"})
    page = client.page()
    assert (
        "2 entries; 1 person has nothing yet; 1 entry with no frames; 1 entry with no minutes."
        in page
    )
    assert "This entry has no frames and no minutes." in texts(page)


def test_a_place_with_nothing_is_there_to_be_opened(client: Client) -> None:
    page = client.page()
    assert "hidden" in place_on(page, "Stage S2").split(">")[0]
    assert ">Stage S2</option>" in page


def test_days_are_linked(client: Client) -> None:
    page = client.page()
    assert 'href="/day/2026-03-04"' in page
    assert 'href="/day/2026-03-06"' in page
    assert client.http.get("/").headers["location"] == f"/day/{date.today()}"


def test_entries_without_a_date_stand_on_the_day_they_were_written(client: Client) -> None:
    logged = log_elsewhere(client.folder, "paint", "cai", puppet="wick-2", minutes="30")
    assert logged.entry is not None
    on = logged.entry.logged_at.date()
    undated = place_on(client.page(on.isoformat()), "Logged on this day without a date")
    assert 'data-entry="A-5"' in undated
    assert "no date" in undated


def test_questions_stand_by_the_rows_they_are_about(client: Client) -> None:
    client.log(in_a_row(frames="61-130"))
    found = client.http.get(f"/questions?day={DAY}").json()
    assert any("the shot has 120 frames" in text for text in found["questions"]["A-5"])
    assert found["count"] >= 1


def test_the_page_says_what_moved_since_a_position(client: Client) -> None:
    first = client.http.get(f"/since?day={DAY}").json()
    asked = f"/since?day={DAY}&position={first['position']}"
    assert client.http.get(asked).json() == {"moved": False}
    log_elsewhere(client.folder, "paint", "cai", puppet="wick-2", finished_on=DAY)
    moved = client.http.get(asked).json()
    assert moved["moved"]
    assert 'data-entry="A-5"' in moved["html"]


def test_a_changed_title_or_length_of_the_day_is_served_at_once(client: Client) -> None:
    client.page()
    path = client.folder / "production.toml"
    path.write_text(path.read_text().replace("The Small Film", "The Smaller Film"))
    assert "The Smaller Film" in client.page()


def test_words_are_names_where_they_mean_one_thing(client: Client) -> None:
    words = client.http.get("/words").json()
    assert ["Ana Lind", "ana", "Ana Lind"] in words["person"]
    assert [word for word, *_ in words["person"]].count("Sam Roe") == 0
    assert ["wick-1", "wick-1", "puppet of Wick"] in words["on"]
    assert ["Old Brine", "brine", "Old Brine"] in words["on"]
    for field, own in words.items():
        if field in ("craft", "person", "on"):
            for word, code, _ in own:
                row = {**in_a_row(craft="sculpt"), field: word}
                assert field not in client.check(row)[0]["wrong"], (word, code)


def test_an_empty_production_has_a_page(tmp_path: Path) -> None:
    film = create_production(tmp_path / "film", "The <b>Empty</b> Film")
    client = Client(come_in(client_of(film)), film)
    page = client.page()
    assert "Nothing logged yet." in page
    assert "The &lt;b&gt;Empty&lt;/b&gt; Film" in page
    assert ">Workshop Puppets</option>" in page
    assert client.http.get(f"/questions?day={DAY}").json()["questions"] == {}


def test_the_office_site_stands_beside_it_unless_not_wanted(client: Client) -> None:
    assert 'href="/office/index.html"' in client.page()
    without = Client(come_in(client_of(client.folder, has_site=False)), client.folder)
    assert "/office/" not in without.page()
    assert client.http.get("/office/").headers["location"] == "/office/index.html"


@pytest.mark.parametrize("name", ["style.css", "desk.css", "desk.js"])
def test_its_own_style_and_script_are_there(client: Client, name: str) -> None:
    assert client.http.get(f"/{name}").status_code == 200


def test_the_place_of_a_row_is_said_where_it_goes_elsewhere(client: Client) -> None:
    row = {"craft": "paint", "person": "cai", "on": "wick-2", "minutes": "60"}
    assert client.log(row, place=S1)["answers"]["A-5"]["place"] == S1


def test_a_question_says_in_words_what_settles_it_and_no_command(example_production: Path) -> None:
    ledger = read_ledger(example_production)
    found = doubts_about(ledger, ledger.entries)
    assert len({check.kind for check in found}) >= 5
    for check in found:
        said = question(check).removeprefix(f"{str(check.severity).capitalize()}: {check.message}")
        assert said.strip()
        assert not any(word in said for word in ("credits ", " --"))
        assert ("amend A-" in said) == ("credits amend " in check.hint)


@pytest.mark.parametrize(
    ("hint", "said"),
    [
        ("Ask, then: credits amend A-5 --shot SHOT", "Ask, then: amend A-5"),
        ("If so: credits amend A-5 --take 2; if not, add it.", "If so: amend A-5; if not, add it."),
        ("Shorten it: credits amend A-5 --frames 1-20,25-48", "Shorten it: amend A-5"),
        ("Ask: credits amend A-5 --minutes M --started-on DATE", "Ask: amend A-5"),
        ("Ask which: credits amend B-12", "Ask which: amend B-12"),
        ("Ask: credits amend A-5 --stage '<i>S1'. Then look.", "Ask: amend A-5. Then look."),
        ("Ask. Then: credits same ana ben", "Ask."),
    ],
)
def test_the_command_that_amends_is_said_as_the_button(hint: str, said: str) -> None:
    check = SimpleNamespace(severity="question", message="Is it?", hint=hint)
    assert question(check) == f"Question: Is it? {said}"  # type: ignore[arg-type]
