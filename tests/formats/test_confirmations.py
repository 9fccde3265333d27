"""The confirmation sheet: written, answered, loaded; what it says becomes words on spellings."""

from __future__ import annotations

import io
import zipfile
from datetime import date, datetime
from pathlib import Path

import pytest
from given_tables import EMPTY, TODAY, files, film, loaded, plan, problems

from credits.billing.plan import CreditPlan, OwnLine, PlannedSection
from credits.figures.snapshot import Snapshot
from credits.formats.tables.columns import TABLES
from credits.formats.tables.confirmations import asked, confirmation_sheet
from credits.formats.tables.load import plan_load
from credits.formats.tables.sheets import read_tables
from credits.formats.tables.workbooks import read_workbook
from credits.model.facts import Person
from credits.model.log import WrittenLog
from credits.model.replay import replay
from tests.computed import credits_of, footage_of

MARCH = date(2026, 3, 2)
WORK = """
    craft,person,character
    voice,ana,wick
    voice,ben,brine
    sculpt,ana,brine
"""


def words(log: WrittenLog) -> list[tuple[str, str, date, bool]]:
    return [(w.person, w.name, w.confirmed_on, w.is_right) for w in log.confirmations]


def names(log: WrittenLog) -> dict[str, str]:
    return {person.code: person.credit_name for person in log.people}


# --- what the answers say


def test_yes_confirms_the_name_that_was_asked_about(tmp_path: Path) -> None:
    log = loaded(
        tmp_path,
        film(tmp_path),
        confirmations="""
            person,credit_name,headings,confirmed,correction,confirmed_on
            ana,Ana Holm,"Voice, Sculpting",yes,,2026-03-02
            BEN,Ben O.,,yes,,
        """,
    )
    assert words(log) == [("ana", "Ana Holm", MARCH, True), ("ben", "Ben O.", TODAY, True)]
    ledger = replay(log)
    assert ledger.confirmed("ana")
    assert not ledger.confirmed("ben")  # whose name is no longer what he confirmed


def test_a_correction_changes_the_name_and_confirms_it(tmp_path: Path) -> None:
    text = """
        person,credit_name,confirmed,correction,confirmed_on
        ana,Ana Holm,no,Ana Hólm,2026-03-02
        ben,Ben Okoro,,Ben Ọkọrọ,
    """
    log = loaded(tmp_path, film(tmp_path), confirmations=text)
    assert names(log) == {"ana": "Ana Hólm", "ben": "Ben Ọkọrọ"}
    assert words(log) == [("ana", "Ana Hólm", MARCH, True), ("ben", "Ben Ọkọrọ", TODAY, True)]
    again = plan(tmp_path, log, confirmations=text)
    assert again.changes_nothing
    assert again.counts["confirmations"].same == 2


def test_no_without_a_correction_is_an_answer_too(tmp_path: Path) -> None:
    log = loaded(tmp_path, film(tmp_path), confirmations="person,confirmed\nana,no\nben,\n")
    assert words(log) == [("ana", "Ana Holm", TODAY, False)]
    assert names(log)["ana"] == "Ana Holm"


def test_an_old_sheet_does_not_undo_what_came_later(tmp_path: Path) -> None:
    text = "person,credit_name,confirmed,correction,confirmed_on\nana,Ana Holm,no,Ana B,{}\n"
    log = loaded(tmp_path, film(tmp_path), confirmations=text.format("2026-03-02"))
    later = "person,correction,confirmed_on\nana,Ana C,2026-04-01\n"
    log = loaded(tmp_path, log, confirmations=later)
    assert names(log)["ana"] == "Ana C"
    assert plan(tmp_path, log, confirmations=text.format("")).changes_nothing
    assert plan(tmp_path, log, confirmations=text.format("2026-03-02")).changes_nothing
    log = loaded(tmp_path, log, confirmations=text.format("2026-03-03"))  # older than the last
    assert names(log)["ana"] == "Ana C"
    assert replay(log).confirmed("ana")


def test_an_answer_about_another_code_is_one_about_the_person(tmp_path: Path) -> None:
    log = loaded(
        tmp_path, film(tmp_path), people="person,credit_name,same_as\nanna,Anna Holm,ana\n"
    )
    log = loaded(tmp_path, log, confirmations="person,correction\nanna,Ana Quist\n")
    assert (names(log)["ana"], names(log)["anna"]) == ("Ana Quist", "Anna Holm")
    assert replay(log).confirmed("anna")


# --- what cannot be


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ("ana,Ana Holm,yes,Ana B,", "confirmed 'yes': says that the name is right, and corrects"),
        ("ana,Ana Holm,maybe,,", "confirmed 'maybe': is neither yes nor no"),
        ("ana,Ana Holm,yes,,2.3.2026", "confirmed_on '2.3.2026': is not a date"),
        ("nobody,Ana Holm,yes,,", "person 'nobody': there is no such person"),
        (",Ana Holm,yes,,", "person: is empty"),
        ("ana,Ana Holm,yes,,\nana,Ana Holm,no,,", "row 2 says otherwise of the same person"),
    ],
)
def test_what_cannot_be_is_said_with_its_row_and_nothing_is_written(
    tmp_path: Path, rows: str, said: str
) -> None:
    text = f"person,credit_name,confirmed,correction,confirmed_on\n{rows}\n"
    (problem,) = problems(tmp_path, film(tmp_path), confirmations=text)
    assert said in problem


def test_a_people_table_of_the_same_load_must_not_say_otherwise(tmp_path: Path) -> None:
    (problem,) = problems(
        tmp_path,
        film(tmp_path),
        people="person,credit_name\nana,Ana Holm\n",
        confirmations="person,correction\nana,Ana Quist\n",
    )
    assert problem == (
        "confirmations.csv row 2: correction 'Ana Quist': the people table of this load spells it"
        " 'Ana Holm'. Correct it there too."
    )


# --- the sheet


SIX = ("person", "credit_name", "headings", "confirmed", "correction", "confirmed_on")


def sheet_of(
    log: WrittenLog, path: Path, answer_by: date | None = None, *, legal: bool = False
) -> bytes:
    ledger = replay(log)
    people = asked(credits_of(ledger, *footage_of(ledger)), ledger)
    content = confirmation_sheet(people, answer_by, legal=legal)
    path.write_bytes(content)
    return content


def test_the_sheet_asks_everybody_who_prints_once_in_the_order_of_the_credits(
    tmp_path: Path,
) -> None:
    log = loaded(tmp_path, film(tmp_path), entries=WORK)
    log = loaded(tmp_path, log, confirmations="person,confirmed,confirmed_on\nben,yes,2026-03-02\n")
    content = sheet_of(log, tmp_path / "back.xlsx")
    (sheet,) = read_workbook(tmp_path / "back.xlsx")
    assert sheet.name == "confirmations"
    assert sheet.rows == (
        (*SIX, "asked_name"),
        ("ana", "Ana Holm", "Voice, Puppet sculpting", "", "", "", "Ana Holm"),
        ("ben", "Ben Okoro", "Voice", "yes", "", MARCH, "Ben Okoro"),
    )
    assert sheet_of(log, tmp_path / "back.xlsx") == content  # the same log, the same bytes


def test_the_sheet_comes_back_as_it_was_and_says_nothing_new(tmp_path: Path) -> None:
    log = loaded(tmp_path, film(tmp_path), entries=WORK)
    log = loaded(tmp_path, log, confirmations="person,confirmed\nben,yes\n")
    sheet_of(log, tmp_path / "round-1.xlsx")
    back = plan_load(read_tables([tmp_path / "round-1.xlsx"]), log)
    assert (back.problems, back.changes_nothing) == ((), True)


@pytest.mark.parametrize(
    "name",
    [
        "=cmd()",
        "+1",
        "Ọ́ládélé",
        "עדן שחר",
        "朝霧 かおる",
        '"Q" <script>',
        "x" * 300,
        "🦊",
        "@ana",
        "007",
    ],
)
def test_any_name_is_asked_about_and_confirmed_as_it_is(tmp_path: Path, name: str) -> None:
    openpyxl = pytest.importorskip("openpyxl")
    base = film(tmp_path)
    people = (Person(code="ana", credit_name=name), *base.people[1:])
    log = loaded(tmp_path, type(base)(**{**_fields(base), "people": people}), entries=WORK)
    sheet_of(log, tmp_path / "back.xlsx")
    book = openpyxl.load_workbook(tmp_path / "back.xlsx")
    sheet = book["confirmations"]
    assert (sheet["B2"].value, sheet["B2"].data_type) == (name, "s")
    sheet["D2"], sheet["F2"] = "yes", datetime(2026, 3, 2)
    book.save(tmp_path / "confirmations-ana.xlsx")
    back = plan_load(read_tables([tmp_path / "confirmations-ana.xlsx"]), log)
    assert back.problems == ()
    (word,) = back.batch.confirmations
    assert (word.person, word.name, word.confirmed_on) == ("ana", name, MARCH)


def _fields(log: WrittenLog) -> dict[str, object]:
    return {field: getattr(log, field) for field in type(log).__dataclass_fields__}


def test_nobody_printed_is_an_empty_sheet(tmp_path: Path) -> None:
    sheet_of(EMPTY, tmp_path / "back.xlsx")
    (sheet,) = read_workbook(tmp_path / "back.xlsx")
    assert sheet.rows == ((*SIX, "asked_name"),)


def test_the_legal_name_and_the_day_to_answer_by_stand_there_where_they_are_asked_for(
    tmp_path: Path,
) -> None:
    log = loaded(tmp_path, film(tmp_path), entries=WORK)
    log = loaded(tmp_path, log, people="person,credit_name,legal_name\nana,Ana Holm,Anna B Holm\n")
    sheet_of(log, tmp_path / "back.xlsx", date(2026, 4, 1), legal=True)
    (sheet,) = read_workbook(tmp_path / "back.xlsx")
    assert sheet.rows[0] == TABLES["confirmations"].column_names
    assert sheet.rows[1][6:] == ("Anna B Holm", date(2026, 4, 1), "Ana Holm")
    plain = sheet_of(log, tmp_path / "plain.xlsx")
    assert b"Anna B Holm" not in b"".join(_parts(plain))
    back = plan_load(read_tables([tmp_path / "back.xlsx"]), log)
    assert (back.problems, back.notes, back.changes_nothing) == ((), (), True)


def _parts(workbook: bytes) -> list[bytes]:
    with zipfile.ZipFile(io.BytesIO(workbook)) as archive:
        return [archive.read(name) for name in archive.namelist()]


# --- nothing is lost without a word

TYPED = "person,credit_name,confirmed,correction,confirmed_on,asked_name\n"


def said(folder: Path, log: WrittenLog, rows: str, today: date | None = None) -> list[str]:
    """The notes of a load of these rows, or its problems where it has any."""
    found = plan_load(read_tables(files(folder, {"confirmations": TYPED + rows})), log, today=today)
    return [str(each) for each in found.problems or found.notes]


@pytest.mark.parametrize("confirmed", ["", "yes", "no"])
def test_a_name_that_is_written_over_is_an_answer_with_another_spelling(
    tmp_path: Path, confirmed: str
) -> None:
    row = f"ana,Ana Hólm,{confirmed},,2026-03-02,Ana Holm\n"
    assert said(tmp_path, film(tmp_path), row) == [
        "confirmations.csv row 2: credit_name 'Ana Hólm': was written over 'Ana Holm': it is read"
        " as the right name."
    ]
    log = loaded(tmp_path, film(tmp_path), confirmations=TYPED + row)
    assert (words(log), names(log)["ana"]) == ([("ana", "Ana Hólm", MARCH, True)], "Ana Hólm")


def test_a_name_written_over_beside_another_correction_cannot_be_both(tmp_path: Path) -> None:
    assert said(tmp_path, film(tmp_path), "ana,Ana Hólm,no,Ana H.,,Ana Holm\n") == [
        "confirmations.csv row 2: credit_name 'Ana Hólm': was written over 'Ana Holm', and the"
        " correction is 'Ana H.'. Keep one of the two."
    ]


def test_a_name_that_was_not_written_over_is_no_answer(tmp_path: Path) -> None:
    rows = "ana,Ana Holm,,,,Ana Holm\nben,,,,,Ben Okoro\n"
    assert said(tmp_path, film(tmp_path), rows) == []
    assert plan(tmp_path, film(tmp_path), confirmations=TYPED + rows).changes_nothing


def test_a_sheet_without_the_hidden_names_says_what_it_does_not_read(tmp_path: Path) -> None:
    assert said(tmp_path, film(tmp_path), "ana,Ana Hólm,,,,\n") == [
        "confirmations.csv row 2: credit_name 'Ana Hólm': is not how the name stands, 'Ana Holm',"
        " and stands beside no answer. Write the right name as correction."
    ]


def test_a_day_beside_no_answer_is_said(tmp_path: Path) -> None:
    assert said(tmp_path, film(tmp_path), "ana,Ana Holm,,,2026-03-02,Ana Holm\n") == [
        "confirmations.csv row 2: confirmed_on '2026-03-02': stands beside no answer. Write yes or"
        " no beside it."
    ]


def test_spaces_in_a_row_are_read_as_one_and_said(tmp_path: Path) -> None:
    row = "ana,Ana Holm,no,Ana  Hólm,,Ana Holm\nben,Ben  Okoro,yes,,,Ben Okoro\n"
    assert said(tmp_path, film(tmp_path), row) == [
        "confirmations.csv row 2: correction 'Ana  Hólm': has spaces in a row: it is read as"
        " 'Ana Hólm'.",
        "confirmations.csv row 3: credit_name 'Ben  Okoro': differs in spaces alone: it is read as"
        " 'Ben Okoro'.",
    ]
    log = loaded(tmp_path, film(tmp_path), confirmations=TYPED + row)
    assert names(log) == {"ana": "Ana Hólm", "ben": "Ben Okoro"}
    assert replay(log).confirmed("ben")


def test_an_answer_that_is_older_than_the_last_is_said(tmp_path: Path) -> None:
    first = "ana,Ana Holm,no,Ana B,2026-04-01,Ana Holm\n"
    log = loaded(tmp_path, film(tmp_path), confirmations=TYPED + first)
    older = "ana,Ana Holm,no,Ana C,2026-03-02,Ana Holm\n"
    assert said(tmp_path, log, older) == [
        "confirmations.csv row 2: confirmed_on '2026-03-02': is older than the last answer about"
        " this name, 'Ana B' of 2026-04-01, which goes on to count. If this one is newer, write the"
        " day on which it was given."
    ]
    assert names(loaded(tmp_path, log, confirmations=TYPED + older))["ana"] == "Ana B"
    assert said(tmp_path, log, first) == []


def test_an_answer_about_a_name_that_was_changed_since_is_said(tmp_path: Path) -> None:
    log = loaded(tmp_path, film(tmp_path), people="person,credit_name\nana,Ana Quist\n")
    (note,) = said(tmp_path, log, "ana,Ana Holm,yes,,,Ana Holm\n")
    assert "credit_name 'Ana Holm': is not how the name stands now, 'Ana Quist'" in note


def test_an_answer_of_a_day_to_come_is_refused(tmp_path: Path) -> None:
    row = "ana,Ana Holm,yes,,2026-03-10,Ana Holm\n"
    assert said(tmp_path, film(tmp_path), row, TODAY) == [
        "confirmations.csv row 2: confirmed_on '2026-03-10': is in the future: today is 2026-03-09."
        " Write the day of the answer."
    ]
    assert said(tmp_path, film(tmp_path), row.replace("-10", "-09"), TODAY) == []


def test_a_legal_name_that_was_written_into_the_sheet_is_not_taken_and_said(tmp_path: Path) -> None:
    text = "person,confirmed,legal_name\nana,yes,Anna B Holm\n"
    (note,) = plan(tmp_path, film(tmp_path), confirmations=text).notes
    assert "legal_name 'Anna B Holm': is not changed by this sheet" in str(note)


def test_a_line_of_the_plans_own_is_asked_of_nobody(tmp_path: Path) -> None:
    ledger = replay(loaded(tmp_path, film(tmp_path), entries=WORK))
    lines = (OwnLine(name="The Ferry Hotel"),)
    plan = CreditPlan("a plan", (PlannedSection(heading="Voices", crafts=("voice",), lines=lines),))
    compiled = Snapshot(ledger, plan).credits
    assert [one.person for one in asked(compiled, ledger)] == ["ana", "ben"]


def test_of_two_answers_of_one_day_the_second_corrects_the_name(tmp_path: Path) -> None:
    head = "person,credit_name,confirmed,correction,confirmed_on"
    log = loaded(tmp_path, film(tmp_path), confirmations=f"{head}\nana,Ana Holm,yes,,2026-03-02")
    later = f"{head}\nana,Ana Holm,no,Ana Hólm,2026-03-02"
    log = loaded(tmp_path, log, confirmations=later)
    assert names(log)["ana"] == "Ana Hólm"
    assert replay(log).confirmed("ana")
    # An answer of an earlier day changes nothing any more.
    log = loaded(tmp_path, log, confirmations=later.replace("Hólm,2026-03-02", "Höln,2026-03-01"))
    assert names(log)["ana"] == "Ana Hólm"
