"""The weeks: stages by day, builds and repairs by craft, the footage of the week."""

from __future__ import annotations

from datetime import date

from credits.editions import Edition, cut_to
from credits.figures.snapshot import Snapshot
from credits.site.links import Page
from credits.site.pages.week import WeekPage, WeeksPage, days_text, in_words, week_pages
from credits.site.render import render
from credits.site.source import PageSource
from credits.units.film_time import week_days
from credits.units.table import PrintedCell, Table
from tests.small_log import WORKED_EXAMPLE, small_ledger

TWO_WEEKS = """
    [people]
    person
    ana
    ben

    [characters]
    character
    wick
    brine

    [puppets]
    puppet, character, copy
    wick-1, wick, 1
    wick-2, wick, 2

    [stages]
    stage, unit
    north, Main unit
    south,

    [sequences]
    sequence
    010

    [shots]
    shot, sequence, frames
    010-010, 010, 48
    010-020, 010, 48

    [takes]
    shot, take, purpose, decision
    010-010, 1, block, open
    010-010, 2, shoot, accepted

    [entries]
    craft, person, character, puppet, shot, take, frames, stage, started_on, finished_on
    voice, ben, wick
    voice, ana, wick, , , , , , , 2025-12-31
    animation, ana, wick, wick-1, 010-010, 1, 1-48, north, , 2026-03-02
    animation, ana, wick, wick-2, 010-010, 2, 1-24, north, , 2026-03-03
    animation, ben, brine, , 010-010, 2, 1-24, north, , 2026-03-03
    animation-assist, ben, wick, , 010-010, , , north, , 2026-03-03
    animation, ben, wick, wick-1, 010-020, , 1-9, , , 2026-03-08

    [lines]
    craft, person, character, puppet, shot, stage, started_on, finished_on, minutes, note
    sculpt, ben, wick, , , , 2025-12-01, 2026-01-02, 900, the nose
    repair, ben, , wick-2, 010-010, north, , 2026-03-04, 30
"""


def every_page(text: str, edition: Edition = Edition.OFFICE) -> list[Page]:
    source = PageSource(Snapshot(small_ledger(text)), edition)
    return [page for page in week_pages(source) if isinstance(page, Page)]


def week_of(text: str, week: str, edition: Edition = Edition.OFFICE) -> WeekPage:
    page = next(page for page in every_page(text, edition) if page.title == f"Week {week}")
    assert isinstance(page.model, WeekPage)
    return cut_to(page.model, edition)


def html_of(text: str, title: str, edition: Edition = Edition.OFFICE) -> str:
    source = PageSource(Snapshot(small_ledger(text)), edition)
    page = next(p for p in week_pages(source) if isinstance(p, Page) and p.title == title)
    return render(page, source)


def test_a_page_for_every_week_that_has_dated_entries() -> None:
    # 31 December 2025 and 2 January 2026 lie in one ISO week, whose Thursday is in 2026.
    assert [page.path for page in every_page(TWO_WEEKS)] == [
        "weeks/index.html",
        "weeks/2026-w01.html",
        "weeks/2026-w10.html",
    ]


def test_the_latest_week_and_the_latest_year_stand_first() -> None:
    text = TWO_WEEKS + "    voice, ana, wick, , , , , 2024-05-06"
    years = every_page(text)[0].model.years
    assert [year for year, _, _ in years] == ["2026", "2024"]


def test_the_list_of_weeks() -> None:
    model = every_page(TWO_WEEKS)[0].model
    assert isinstance(model, WeeksPage)
    ((year, _, weeks),) = model.years
    rows = [texts(row) for row in weeks.printed().rows]
    assert rows == [
        ("2026-W10", "2–8 March 2026", "2", "6", "1", "33", "1.4", "2+01"),
        ("2026-W01", "29 December 2025 – 4 January 2026", "2", "2", "", "", "", ""),
    ]
    total = texts(weeks.printed().total)
    assert (year, total[3], total[5]) == ("2026", "8", "33")
    assert model.undated == "1 entry is undated and on the page of no week."


def texts(row: tuple[PrintedCell, ...]) -> tuple[str, ...]:
    """What the cells of a row say."""
    return tuple(getattr(cell.text, "text", cell.text) for cell in row)


def stage_cells(page: WeekPage) -> dict[str, list[list[tuple[object, ...]]]]:
    return {
        stage: [
            [
                (
                    shot and shot.text,
                    purpose,
                    [
                        (
                            craft,
                            [thing.text for thing in on],
                            [person.text for person in people],
                        )
                        for craft, on, people in works
                    ],
                )
                for shot, purpose, works in day
            ]
            for day in days
        ]
        for stage, _, days in page.stages
    }


def test_the_stages_by_day() -> None:
    page = week_of(TWO_WEEKS, "2026-W10")
    assert page.heads[:2] == (("Monday", "2 Mar"), ("Tuesday", "3 Mar"))
    monday = [("010-010", "block", [("", ["Wick, copy 1"], ["Ana"])])]
    tuesday = [
        (
            "010-010",
            "",
            [
                ("", ["Wick, copy 2"], ["Ana"]),
                ("", ["Brine"], ["Ben"]),
                ("Animation assistance", ["Wick"], ["Ben"]),
            ],
        )
    ]
    sunday = [("010-020", "", [("", ["Wick, copy 1"], ["Ben"])])]
    assert stage_cells(page) == {
        "north": [monday, tuesday, [], [], [], [], []],
        "no stage given": [[], [], [], [], [], [], sunday],
    }
    assert page.stages[0][1] == "Main unit"


def test_builds_and_repairs_stand_by_craft() -> None:
    works = [
        (
            craft.text,
            day.value,
            day.note,
            [link.text for link in person],
            [link.text for link in what],
        )
        for week in ("2026-W01", "2026-W10")
        for craft, table in week_of(TWO_WEEKS, week).works
        for day, person, what in zip(
            *(table.column(key) for key in ("days", "person", "what")), strict=True
        )
    ]
    assert works == [
        ("Voice", "Wednesday 31 Dec", "", ["Ana"], ["Wick"]),
        ("Puppet sculpting", "Friday 2 Jan", "since 1 December 2025", ["Ben"], ["Wick"]),
        ("Puppet repair", "Wednesday 4 Mar", "", ["Ben"], ["Wick, copy 2"]),
    ]


def test_columns_of_a_craft_are_those_in_which_something_stands() -> None:
    works = {
        craft.text: [column.key for column in table.columns]
        for week in ("2026-W01", "2026-W10")
        for craft, table in week_of(TWO_WEEKS, week).works
    }
    assert works == {
        "Voice": ["person", "days", "what", "minutes"],
        "Puppet sculpting": ["person", "days", "what", "minutes", "note"],
        "Puppet repair": ["person", "days", "what", "shots", "stages", "minutes"],
    }


def test_every_dated_entry_stands_on_one_page_once() -> None:
    total = 0
    for week in ("2026-W01", "2026-W10"):
        page = week_of(TWO_WEEKS, week)
        staged = [
            person
            for _, _, days in page.stages
            for day in days
            for _, _, works in day
            for _, _, people in works
            for person in people
        ]
        total += len(staged) + sum(len(table.rows) for _, table in page.works)
    assert total == 8


def shown_rows(table: Table) -> list[tuple[str, ...]]:
    """What the rows of a table say, and its total; names in a row."""
    printed = table.printed()
    rows = [*printed.rows, printed.total]
    return [
        tuple(
            ", ".join(map(str, cell.text)) if isinstance(cell.text, tuple) else str(cell.text)
            for cell in row
        )
        for row in rows
    ]


def test_a_week_tells_by_stage_first_who_did_what() -> None:
    table = week_of(TWO_WEEKS, "2026-W10").by_stage
    heads = [column.heading for column in table.columns]
    assert heads == [
        "Stage", "Unit", "Days", "Shots", "Animated by", "Frames shot", "Kept", "Accepted"
    ]  # fmt: skip
    # Ana animated on two days, Ben repaired on a third; blocks count no frames.
    assert shown_rows(table) == [
        ("north", "Main unit", "2", "010-010", "Ana, Ben", "24", "24", "24"),
        ("no stage given", "", "1", "010-020", "Ben", "9", "9", "0"),
        ("total", "", "", "", "", "33", "33", "24"),
    ]


def test_a_week_tells_by_animator_what_each_did() -> None:
    table = week_of(TWO_WEEKS, "2026-W10").by_animator
    assert shown_rows(table) == [
        ("Ana", "north", "2", "010-010", "Wick, copy 1, Wick, copy 2", "12", "12", "12"),
        ("Ben", "north", "2", "010-010, 010-020", "Wick, copy 1, Brine", "21", "21", "12"),
        ("total", "", "", "", "", "33", "33", "24"),
    ]
    # Each shot leads to its page once.
    shots = [link.href for row in table.column("shots") for link in row]
    assert shots == ["shots/010-010.html", None, "shots/010-020.html"]


def test_the_crew_sees_no_minutes_and_not_how_much_was_shot_again() -> None:
    page = week_of(TWO_WEEKS, "2026-W10", Edition.CREW)
    for table in (page.by_stage, page.by_animator):
        assert [column.key for column in table.columns][-2:] == ["kept", "accepted"]
        assert "shot" not in {column.key for column in table.columns}
    assert {column.key for _, table in page.works for column in table.columns} == {
        "person", "days", "what", "shots", "stages"
    }  # fmt: skip
    html = html_of(TWO_WEEKS, "Week 2026-W10", Edition.CREW)
    for hidden in ("Minutes", "Wait", "Frames shot"):
        assert hidden not in html
    assert "Minutes" in html_of(TWO_WEEKS, "Week 2026-W10", Edition.OFFICE)


def test_the_material_caution_is_on_weeks_that_list_such_work() -> None:
    assert "latex" in html_of(TWO_WEEKS, "Week 2026-W01")
    assert "latex" in html_of(TWO_WEEKS, "Week 2026-W10")  # a repair
    only_voice = "[people]\nperson\nana\n[characters]\ncharacter\nwick\n[entries]\n" + (
        "craft, person, character, finished_on\nvoice, ana, wick, 2026-03-02"
    )
    assert "latex" not in html_of(only_voice, "Week 2026-W10")


def test_the_weeks_before_and_after_are_those_that_have_pages() -> None:
    first, last = week_of(TWO_WEEKS, "2026-W01"), week_of(TWO_WEEKS, "2026-W10")
    previous, following = first.steps
    assert previous is None
    assert following is not None
    assert following.href == "weeks/2026-w10.html"
    previous, following = last.steps
    assert previous is not None
    assert (previous.text, following) == ("2026-W01", None)


def test_the_worked_example_in_its_weeks() -> None:
    page = week_of(WORKED_EXAMPLE, "2026-W10")
    # shot 66, kept 48, accepted 48, in the cut 32 frames of shot footage
    for table in (page.by_stage, page.by_animator):
        assert texts(table.printed().total)[-4:] == ("66", "48", "48", "32")


def test_an_empty_log_has_the_list_alone_and_it_says_so() -> None:
    assert [page.path for page in every_page("")] == ["weeks/index.html"]
    assert "No entry with a date is in the log yet." in html_of("", "Weeks")


def test_how_the_days_of_a_week_are_written() -> None:
    # ISO 8601: 2026 has 53 weeks; the last runs into January 2027.
    spans = {week: days_text(week_days(week)[0], week_days(week)[6]) for week in WEEKS}
    assert spans == WEEKS


WEEKS = {
    "2026-W10": "2–8 March 2026",
    "2026-W14": "30 March – 5 April 2026",
    "2026-W53": "28 December 2026 – 3 January 2027",
}


def test_days_in_a_row_are_said_as_from_and_to() -> None:
    days = [date(2026, 3, day) for day in (2, 3, 5, 6, 7, 8)]
    assert list(in_words(days)) == [
        "Monday 2 Mar", "Tuesday 3 Mar", "Thursday 5 Mar – Sunday 8 Mar"
    ]  # fmt: skip
    assert list(in_words([])) == []
