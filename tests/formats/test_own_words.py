"""Departments' own words: titles, headings, names of files and lengths, by [sheets] and without."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import openpyxl
import pytest
from given_tables import EMPTY, csv_text, files, film
from hypothesis import given
from hypothesis import strategies as st

from credits.errors import ProblemsFound
from credits.formats.tables.headings import SheetWords, minutes_meant, words_of
from credits.formats.tables.load import LoadPlan, plan_load
from credits.formats.tables.sheets import Sheets, read_tables
from credits.model.facts import Character, Person, Work
from credits.model.log import WrittenLog


def words(**said: str) -> SheetWords:
    return words_of(replace(EMPTY.production, sheet_words=tuple(said.items())))


def read(folder: Path, mapping: dict[str, str], **tables: str) -> Sheets:
    return read_tables(files(folder, tables), words=words(**mapping))


def works(plan: LoadPlan) -> list[Work]:
    assert [str(problem) for problem in plan.problems] == []
    return [line.work for line in plan.batch.lines if line.work]


# --- The header


def test_titles_above_the_header_are_left_out_and_told(tmp_path: Path) -> None:
    text = "Crew list\n\nSpring, version 3\nperson,credit_name\nana,Ana Holm"
    tables = read(tmp_path, {}, people=text)
    assert [str(f) for f in tables.left_out] == [
        "people.csv rows 1 and 3: 'Crew list': stands above the header, so it is left out."
    ]
    (sheet,) = tables.sheets
    assert (sheet.header_row, sheet.numbers, sheet.cells) == (4, (5,), (("ana", "Ana Holm"),))


def test_two_rows_that_may_be_the_header_are_a_problem_and_not_a_guess(tmp_path: Path) -> None:
    text = "person,credit_name\nana,Ana\n\nperson,credit_name\nben,Ben"
    assert [str(f) for f in read(tmp_path, {}, people=text).problems] == [
        "people.csv rows 1 and 4: each of these rows looks like the header. "
        "Keep one table in the sheet."
    ]


def test_the_row_with_the_most_known_columns_is_the_header(tmp_path: Path) -> None:
    text = "person,note\nperson,credit_name,note\nana,Ana,x"
    assert read(tmp_path, {}, people=text).sheets[0].header_row == 2


def test_the_key_alone_is_enough_of_a_header(tmp_path: Path) -> None:
    (sheet,) = read(tmp_path, {}, sequences="Our sequences\nsequence\n010").sheets
    assert (sheet.header, sheet.cells) == (("sequence",), (("010",),))


def test_a_header_below_the_first_fifteen_rows_is_not_looked_for(tmp_path: Path) -> None:
    text = "\n".join([*["title"] * 15, "person,credit_name", "ana,Ana"])
    assert read(tmp_path, {}, people=text).sheets[0].header_row == 1


def test_a_title_does_not_hide_the_header_of_which_nothing_is_known(tmp_path: Path) -> None:
    tables = read(tmp_path, {}, entries="Stage A\nDate;Animator;Scene\n2026-03-02;ana;010-020")
    found = [str(f) for f in plan_load(tables, film(tmp_path)).problems]
    assert found[0].startswith("entries.csv row 2: column 'date': is not a column of this table.")


# --- Columns and names


HEADINGS = [
    ("entries", "date", "Rename it finished_on, or write under [sheets] in production.toml: date"),
    ("entries", "hours", 'Write under [sheets] in production.toml: hours = "minutes in hours".'),
    ("entries", "Animator", "Rename it person, or write"),
    ("entries", "Scene", 'scene = "shot" or scene = "sequence"'),
    ("people", "Full Name", "Rename it credit_name, or write under [sheets] in production.toml: "),
    ("characters", "char", "Rename it character, or write"),
    ("people", "credit_nam", 'credit_nam = "credit_name"'),
    ("people", "shoe size", 'nothing of it is to be loaded: shoe_size = "left out"'),
    ("people", "чай", '"чай" = "left out"'),
]


@pytest.mark.parametrize(("table", "heading", "said"), HEADINGS)
def test_an_unknown_heading_is_answered_with_the_line_to_write(
    tmp_path: Path, table: str, heading: str, said: str
) -> None:
    known = {"entries": "craft,stage", "people": "person,note", "characters": "silent,note"}
    text = f"{known[table]},{heading}\nx,y,z"
    found = plan_load(read(tmp_path, {}, **{table: text}), EMPTY).problems
    about = [str(f) for f in found if "is not a column of this table" in str(f)]
    assert said in about[0]
    assert "Take it out" not in about[0]


def test_an_unknown_heading_over_nothing_may_be_taken_out(tmp_path: Path) -> None:
    (found,) = plan_load(read(tmp_path, {}, people="person,credit_name,shoe\na,A,"), EMPTY).problems
    assert "Take it out." in str(found)


def test_columns_and_files_are_mapped_once(tmp_path: Path) -> None:
    mapping = {
        "Stage log*": "entries",
        "date": "finished_on",
        "Who": "person",
        "Task": "craft",
        "HOURS": "minutes in hours",
        "Shoe size": "left out",
    }
    text = "Date,WHO,task,character,Hours,shoe size\n13/3/2026,ana,paint,wick,7.5,40"
    tables = read(tmp_path, mapping, **{"stage Log week 2.csv": text})
    plan = plan_load(tables, film(tmp_path))
    assert works(plan) == [
        Work(
            craft="paint",
            person="ana",
            character="wick",
            finished_on=date(2026, 3, 13),
            minutes=450,
        )
    ]
    assert [str(f) for f in tables.left_out] == [
        "stage Log week 2.csv row 1: column 'shoe_size': is left out, as production.toml says."
    ]


def test_a_word_means_the_column_of_the_table_it_stands_in(tmp_path: Path) -> None:
    name = words_of(replace(EMPTY.production, sheet_words=(("name", "credit_name"),)))
    paths = files(tmp_path, {"people": "person,name\nana,Ana", "characters": "character,name\na,A"})
    tables = read_tables(paths, words=name)
    assert [sheet.header for sheet in tables.sheets] == [
        ("person", "credit_name"),
        ("character", "name"),
    ]


def test_sheets_of_a_workbook_are_mapped_and_left_out_by_name(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    book.active.title = "Crew list 2026"
    book.active.append(["person", "credit_name"])
    book.create_sheet("Old people").append(["person", "credit_name"])
    book.create_sheet("Rota").append(["person", "department", "job_title"])
    book.save(tmp_path / "office.xlsx")
    found = read_tables(
        [tmp_path / "office.xlsx"], words=words(**{"crew LIST*": "people", "old *": "left out"})
    )
    assert [(sheet.table, sheet.file) for sheet in found.sheets] == [
        ("people", "office.xlsx sheet Crew list 2026")
    ]
    assert [str(f) for f in found.left_out] == [
        "office.xlsx sheet Old people: is left out, as production.toml says.",
        "office.xlsx sheet Rota: its name says no table, so it is left out. "
        'If it holds engagements, write under [sheets] in production.toml: Rota = "engagements".',
    ]


def test_a_file_whose_name_says_no_table_is_answered_by_what_it_holds(tmp_path: Path) -> None:
    (tmp_path / "Crew list.csv").write_text("person,credit_name,email\nana,Ana,\n")
    (found,) = read_tables([tmp_path / "Crew list.csv"]).problems
    assert '[sheets] in production.toml: "Crew list" = "people".' in str(found)


@pytest.mark.parametrize(
    ("key", "meant", "said"),
    [
        ("crew", "poeple", 'is neither a table nor a column of one. Write crew = "people".'),
        ("hours", "minutes", 'hours are not minutes. Write hours = "minutes in hours".'),
        ("frames shot", "frames in hours", "only minutes and wait_minutes are lengths of time"),
        ("=cmd()", "<script>", "is neither a table nor a column of one. Tables are people,"),
    ],
)
def test_what_the_settings_cannot_mean_is_said(key: str, meant: str, said: str) -> None:
    with pytest.raises(ProblemsFound) as caught:
        words(**{key: meant})
    (found,) = caught.value.findings
    assert str(found).startswith(f"production.toml: [sheets] {key} '{meant}': ")
    assert said in str(found)


# --- Lengths


@pytest.mark.parametrize(
    ("cell", "minutes"),
    [
        ("480", 480),
        ("480.0", 480),
        ("8h", 480),
        ("8:30", 510),
        ("08:30:00", 510),
        ("½ day", 300),
        ("1.5 h", 90),
    ],
)
def test_a_length_of_work_is_read_as_people_write_it(
    tmp_path: Path, cell: str, minutes: int
) -> None:
    text = f"craft,person,character,minutes\npaint,ana,wick,{cell}"
    plan = plan_load(read(tmp_path, {}, entries=text), film(tmp_path))
    assert [work.minutes for work in works(plan)] == [minutes]


@pytest.mark.parametrize(
    ("cell", "minutes"), [("8", 480), ("8.5", 510), ("8,25", 495), ("7:45", 465), ("45 min", 45)]
)
def test_a_column_in_hours_has_hours_where_nothing_else_is_said(
    tmp_path: Path, cell: str, minutes: int
) -> None:
    text = f"craft;person;character;h\npaint;ana;wick;{cell}"
    plan = plan_load(read(tmp_path, {"h": "minutes in hours"}, entries=text), film(tmp_path))
    assert [work.minutes for work in works(plan)] == [minutes]


def test_hours_that_are_no_whole_minutes_are_refused_and_not_rounded(tmp_path: Path) -> None:
    text = "craft,person,character,hours\npaint,ana,wick,8.333"
    tables = read(tmp_path, {"hours": "minutes in hours"}, entries=text)
    assert [str(f) for f in plan_load(tables, film(tmp_path)).problems] == [
        "entries.csv row 2: minutes '8.333 h': is not a length in minutes. "
        "Write whole minutes such as 90, or a length such as 1:30, 1.5 h or 1/2 day."
    ]


@given(st.integers(0, 3000))
def test_hours_of_a_workbook_are_their_minutes(minutes: int) -> None:
    assert minutes_meant(repr(minutes / 60), True, 600) == str(minutes)


ROW = st.tuples(
    st.sampled_from(["ana", "ben"]),
    st.sampled_from(["wick", "brine"]),
    st.dates(date(2026, 1, 1), date(2026, 12, 31)),
    st.integers(0, 100).map(lambda quarters: quarters * 15),
    st.sampled_from([(1, 2), (1, 1), (3, 4)]),
)
FILM_LOG = replace(
    EMPTY,
    people=tuple(Person(code=code, credit_name=code) for code in ("ana", "ben")),
    characters=tuple(Character(code=code, name=code) for code in ("wick", "brine")),
)


@given(
    rows=st.lists(ROW, max_size=8),
    titles=st.lists(st.sampled_from(["", "Stage A", "week 3", "=cmd()"]), max_size=5),
    how=st.sampled_from(["%d %B %Y", "%Y/%m/%d", "%A, %B %d, %Y"]),
)
def test_a_sheet_in_a_departments_words_means_what_the_plain_one_does(
    rows: list[tuple[str, str, date, int, tuple[int, int]]], titles: list[str], how: str
) -> None:
    plain, own = Sheets(), Sheets(words(who="person", day="finished_on", h="minutes in hours"))
    header = ["craft", "person", "character", "finished_on", "minutes", "share"]
    plain.add(
        "entries",
        "entries.csv",
        [header, *(["paint", p, c, str(d), str(m), f"{a}/{b}"] for p, c, d, m, (a, b) in rows)],
    )
    own.add_table(
        "entries",
        "entries.csv",
        [
            *([title] for title in titles),
            ["Craft", "WHO", "Character", "Day", "H", "Share"],
            *(
                ["paint", p, c, d.strftime(how), str(m / 60), f"{100 * a // b} %"]
                for p, c, d, m, (a, b) in rows
            ),
        ],
    )
    meant = [plan_load(sheets, FILM_LOG) for sheets in (plain, own)]
    assert works(meant[0]) == works(meant[1])
    assert len(works(meant[0])) == len(rows)


# --- Equal findings


def test_what_is_wrong_in_many_rows_is_said_once_with_its_rows(tmp_path: Path) -> None:
    odd = [f"paint,nobody,wick,{'x' if at % 3 else ''}" for at in range(40)]
    text = csv_text("craft,person,character,note\n" + "\n".join(odd))
    first, *others = plan_load(read(tmp_path, {}, entries=text), film(tmp_path)).problems
    assert others == []
    assert str(first).startswith("entries.csv rows 2-41: person 'nobody': there is no such person")
    text = "craft,person,character\n" + "\n".join(
        f"paint,{'nobody' if at % 2 else 'ana'},wick" for at in range(40)
    )
    (found,) = plan_load(read(tmp_path, {}, entries=text), film(tmp_path)).problems
    assert str(found).startswith("entries.csv rows 3, 5, 7, 9, 11, 13 and 14 more: person")


# --- Blank rows and rows that explain


def test_a_row_below_the_header_that_explains_the_columns_is_no_data(tmp_path: Path) -> None:
    text = "person,credit_name\n## a short code,as it is to appear\nana,Ana\n## x,not below"
    tables = read(tmp_path, {}, people=text)
    assert tables.sheets[0].cells == (("ana", "Ana"), ("## x", "not below"))


ODD = st.sampled_from(["", "person", "credit_name", "note", "ana", "## x", "Name", "=cmd()", "<b>"])


@given(rows=st.lists(st.lists(ODD, min_size=3, max_size=3), max_size=20))
def test_any_rows_are_read_or_refused_with_words(rows: list[list[str]]) -> None:
    found = Sheets()
    found.add_table("people", "people.csv", rows)
    log: WrittenLog = EMPTY
    assert all(str(f).startswith("people.csv") for f in plan_load(found, log).problems)
