"""A person's page: the credit and its reasons, the shots, the reach, and who may read which."""

from __future__ import annotations

import csv
import io
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from credits.editions import Edition, cut_to
from credits.figures.snapshot import Snapshot
from credits.model.facts import EntryNumber
from credits.site.links import DataFile, Page
from credits.site.pages.credits import entry_ranges
from credits.site.pages.person import PersonPage, person_pages, within
from credits.site.render import render
from credits.site.source import PageSource
from credits.text import FORMULA_SIGNS, guarded
from tests.small_log import WORKED_EXAMPLE, small_ledger
from tests.table_texts import rows_of, total_of

PRIVATE = """
    [people]
    person, credit_name, legal_name, email, isni, credit_wish, name_confirmed_on, note
    ana, Ana, Anastasia Secret, ana@secret.example, 000000012281955X, , 2026-03-03, Asks for *tea*.
    ben, Ben, , , , uncredited
    cai, Cai

    [engagements]
    person, department, job_title, starts_on, guaranteed_heading, billing_number
    ana, Animation, Lead animator, 2026-01-05, Lead animators, 3

    [characters]
    character
    wick

    [puppets]
    puppet, character
    wick-1, wick

    [sequences]
    sequence, name
    010, Arrival

    [shots]
    shot, sequence, frames
    010-020, 010, 48

    [entries]
    craft, person, character, puppet, shot, finished_on, minutes, wait_minutes, note, private
    animation, ana, wick, wick-1, 010-020, 2026-03-02, 300
    repair, ana, , wick-1, 010-020, 2026-03-02, 20, 45, Left knee., no
    repair, ana, , wick-1, , 2026-03-04, , , Dropped by somebody., yes
    sculpt, ben, wick

    [cut]
    shot, first, last
    010-020, 1, 48
"""


def files_of(text: str, edition: Edition) -> list[Page | DataFile]:
    return list(person_pages(PageSource(Snapshot(small_ledger(text)), edition)))


def pages_of(text: str, edition: Edition = Edition.OFFICE) -> dict[str, PersonPage]:
    pages = [file for file in files_of(text, edition) if isinstance(file, Page)]
    return {page.path: cut_to(page.model, edition) for page in pages}


def test_the_pictures_are_those_of_characters_that_somebody_worked_on() -> None:
    pictures = {"wick": "wick.svg", "brine": "brine.svg", "wick-1": "wick-1.svg"}
    source = PageSource(Snapshot(small_ledger(WORKED_EXAMPLE)), Edition.PUBLIC, pictures)
    pages = {page.path: page.model for page in person_pages(source) if isinstance(page, Page)}
    shown = pages["people/cai.html"].pictures
    assert [(str(name), name.href, file) for name, file in shown] == [
        ("Wick", "characters/wick.html", "wick.svg"),
        ("Brine", "characters/brine.html", "brine.svg"),
    ]
    assert pages["people/cai.html"].picture == "wick.svg"
    assert [file for _, file in pages["people/ben.html"].pictures] == ["wick.svg"]


def html_of(text: str, edition: Edition, path: str) -> str:
    source = PageSource(Snapshot(small_ledger(text)), edition)
    (page,) = [file for file in person_pages(source) if file.path == path]
    assert isinstance(page, Page)
    return render(page, source)


def csv_of(text: str, path: str) -> list[list[str]]:
    (file,) = [file for file in files_of(text, Edition.CREW) if file.path == path]
    assert isinstance(file, DataFile)
    return list(csv.reader(io.StringIO(file.content.decode("utf-8-sig"))))


# -- the credit ---------------------------------------------------------------------------------


def test_each_line_has_its_reasons_for_the_crew() -> None:
    (line, *_) = pages_of(WORKED_EXAMPLE, Edition.CREW)["people/ana.html"].lines
    assert (line.heading, line.name.text, line.role) == ("Voice", "Ana", "Wick")
    assert line.rule == "The log has work of this craft (Voice)."
    assert line.figures == "1 entry, first day 1 June 2025, last day 1 June 2025"
    assert line.entries == "A-6"


def test_the_public_reads_the_line_without_its_reasons() -> None:
    (line, *_) = pages_of(WORKED_EXAMPLE, Edition.PUBLIC)["people/ana.html"].lines
    assert (line.heading, line.name.text, line.role) == ("Voice", "Ana", "Wick")
    assert (line.rule, line.figures, line.entries) == ("", "", "")


def test_what_the_contract_says_of_the_place_is_for_the_office() -> None:
    crew = pages_of(PRIVATE, Edition.CREW)["people/ana.html"]
    office = pages_of(PRIVATE, Edition.OFFICE)["people/ana.html"]
    assert [line.contract for line in crew.lines if line.contract] == []
    assert [line.contract for line in office.lines if line.contract] == ["billing number 3"]
    assert rows_of(crew.jobs) == [("Animation", "Lead animator", "from 5 January 2026")]
    assert rows_of(office.jobs, "guaranteed", "billing") == [("Lead animators", "3")]


def test_an_uncredited_person_has_a_page_in_the_office_alone() -> None:
    paths = {edition: list(pages_of(PRIVATE, edition)) for edition in Edition}
    assert "people/ben.html" not in paths[Edition.PUBLIC] + paths[Edition.CREW]
    ben = pages_of(PRIVATE, Edition.OFFICE)["people/ben.html"]
    assert ben.uncredited
    assert ben.held is not None
    assert ben.held.reason == "asked to be uncredited"
    assert "Not printed: asked to be uncredited." in html_of(
        PRIVATE, Edition.OFFICE, "people/ben.html"
    )


def test_somebody_to_whom_no_credit_is_owed_yet_is_told_so() -> None:
    cai = pages_of(PRIVATE, Edition.CREW)["people/cai.html"]
    assert cai.lines == ()
    assert cai.no_line.startswith("No credit is owed yet")
    assert "people/cai.html" not in pages_of(PRIVATE, Edition.PUBLIC)


def test_the_crew_reads_whether_the_spelling_is_confirmed() -> None:
    pages = pages_of(PRIVATE, Edition.CREW)
    assert pages["people/ana.html"].spelling == "The spelling was confirmed on 3 March 2026."
    assert "tell the production office" in pages["people/cai.html"].spelling
    assert pages_of(PRIVATE, Edition.PUBLIC)["people/ana.html"].spelling == ""


@pytest.mark.parametrize("edition", Edition)
def test_legal_name_and_e_mail_are_in_no_edition(edition: Edition) -> None:
    html = html_of(PRIVATE, edition, "people/ana.html")
    assert "Anastasia" not in html
    assert "secret.example" not in html


def test_notes_about_people_and_private_notes_are_for_the_office() -> None:
    crew = html_of(PRIVATE, Edition.CREW, "people/ana.html")
    office = html_of(PRIVATE, Edition.OFFICE, "people/ana.html")
    assert "Left knee." in crew
    assert "Left knee." in office
    for text in ("Dropped by somebody.", "<em>tea</em>", "Wait, minutes", ">45"):
        assert text not in crew
        assert text in office


def test_time_pace_and_the_re_shot_share_are_for_the_office() -> None:
    crew = pages_of(PRIVATE, Edition.CREW)["people/ana.html"]
    office = pages_of(PRIVATE, Edition.OFFICE)["people/ana.html"]
    assert crew.footage is not None
    assert office.footage is not None
    assert (crew.figures, crew.caution) == ((), "")
    assert dict(office.figures) == {
        "minutes logged": "320",
        "stage days": "1 day",
        "of them block, rehearsal": "0, 0",
        "pace": "2.0 s a shoot day",
        "re-shot share": "0.0 %",
    }
    assert "not comparable across people" in office.caution.replace("\n", " ")


def test_the_public_page_has_no_shots_no_dates_no_reach_and_no_csv() -> None:
    html = html_of(WORKED_EXAMPLE, Edition.PUBLIC, "people/ana.html")
    page = pages_of(WORKED_EXAMPLE, Edition.PUBLIC)["people/ana.html"]
    assert (page.reach, page.footage, page.totals, page.shots) == (None, None, None, None)
    assert page.csv == ""
    assert "010-020" not in html
    assert "March" not in html.replace("Log as of 3 March 2026", "")
    assert not [f for f in files_of(WORKED_EXAMPLE, Edition.PUBLIC) if isinstance(f, DataFile)]


def test_the_isni_stands_in_groups_of_four() -> None:
    assert pages_of(PRIVATE, Edition.CREW)["people/ana.html"].isni == "0000 0001 2281 955X"


# -- shots and footage --------------------------------------------------------------------------


def test_the_shots_are_the_frames_that_are_kept() -> None:
    assert rows_of(pages_of(WORKED_EXAMPLE, Edition.CREW)["people/ana.html"].shots) == [
        ("010-020", "Animation", "Wick", "1-24", "24", "16", "0:00")
    ]


def test_the_footage_is_that_of_the_worked_example() -> None:
    pages = pages_of(WORKED_EXAMPLE, Edition.CREW)
    kept = {}
    for code in ("ana", "ben", "cai"):
        page = pages[f"people/{code}.html"]
        assert page.footage is not None
        assert page.totals is not None
        assert rows_of(page.totals, "measure") == [
            "Shot", "Kept", "Accepted", "In the cut", "On screen",
        ]  # fmt: skip
        assert total_of(page.footage) == rows_of(page.totals, "character")
        kept[code] = (rows_of(page.totals, "character"), rows_of(page.totals, "shot"))
    assert kept == {
        "ana": (["30", "24", "24", "16", "16"], ["30", "18", "18", "10", "10"]),
        "ben": (["24", "24", "24", "16", "16"], ["12", "12", "12", "8", "8"]),
        "cai": (["36", "36", "36", "28", "28"], ["24", "18", "18", "14", "14"]),
    }


def test_the_csv_says_where_in_the_cut_each_stretch_is() -> None:
    rows = [",".join(row) for row in csv_of(WORKED_EXAMPLE, "people/ana-shots.csv")]
    assert rows == [
        "shot,sequence,take,craft,character,first,last,frames,film_in,film_out",
        "010-020,010,1,Animation,Wick,1,24,24,00:00:00:00,00:00:00:16",
    ]


def test_frames_that_the_cut_shows_twice_have_two_rows_and_unused_ones_a_row_without_timecode() -> (
    None
):
    text = """
        [people]
        person
        ana

        [characters]
        character
        wick

        [sequences]
        sequence
        010

        [shots]
        shot, sequence, frames
        010-020, 010, 48
        010-030, 010, 24

        [entries]
        craft, person, character, shot, frames
        animation, ana, wick, 010-020, 1-48
        animation, ana, wick, 010-030, "1-6,13-24"

        [cut]
        shot, first, last
        010-020, 1, 24
        010-030, 1, 8
        010-020, 13, 24
    """
    places = [
        (row[0], row[5], row[6], row[8], row[9]) for row in csv_of(text, "people/ana-shots.csv")
    ]
    assert places[1:] == [
        ("010-020", "1", "48", "00:00:00:00", "00:00:01:00"),
        ("010-020", "1", "48", "00:00:01:08", "00:00:01:20"),
        ("010-030", "1", "6", "00:00:01:00", "00:00:01:06"),
        ("010-030", "13", "24", "", ""),
    ]


def test_other_work_on_a_shot_is_listed_with_its_own_frames() -> None:
    text = """
        [people]
        person
        ana
        rik

        [characters]
        character
        wick

        [sequences]
        sequence
        010

        [shots]
        shot, sequence, frames
        010-020, 010, 48

        [entries]
        craft, person, character, shot, frames
        animation, ana, wick, 010-020, 1-48
        rigging, rik, wick, 010-020, 5-20
        voice, rik, wick
    """
    page = pages_of(text, Edition.CREW)["people/rik.html"]
    assert rows_of(page.shots, "craft", "frames", "take") == [("Rigging", "5-20", "every")]
    assert page.reach is not None
    assert rows_of(page.reach.ways, "way", "frames") == [
        ("work on the shot", "16"),
        ("work on the character, wherever it is seen", "48"),
    ]
    assert page.reach.frames == "48"


@pytest.mark.parametrize(
    ("text", "cell"),
    [
        ("Wick", "Wick"),
        ("=cmd()", "'=cmd()"),
        ("+1", "'+1"),
        ("-1", "'-1"),
        ("@SUM(A1)", "'@SUM(A1)"),
        ("  =cmd()", "'  =cmd()"),
        ("", ""),
    ],
)
def test_a_text_that_looks_like_a_formula_gets_an_apostrophe(text: str, cell: str) -> None:
    assert guarded(text) == cell


@given(st.text())
def test_no_cell_begins_as_a_formula(text: str) -> None:
    cell = guarded(text)
    assert cell.lstrip(" ")[:1] not in FORMULA_SIGNS
    assert cell.endswith(text)


def test_a_character_that_is_called_like_a_formula_is_guarded_in_the_csv() -> None:
    text = WORKED_EXAMPLE.replace(
        "    character\n    wick\n", "    character, name\n    wick, =cmd()\n"
    )
    assert csv_of(text, "people/ana-shots.csv")[1][4] == "'=cmd()"


# -- reach --------------------------------------------------------------------------------------


def test_the_reach_is_that_of_compute_and_its_sequences_add_up() -> None:
    results = Snapshot(small_ledger(WORKED_EXAMPLE))
    pages = pages_of(WORKED_EXAMPLE, Edition.CREW)
    for code, reach in results.reach.items():
        view = pages[f"people/{code}.html"].reach
        assert view is not None
        assert (view.frames, view.shots) == (str(reach.frames), str(reach.shots))
        assert sum(map(int, rows_of(view.sequences, "frames"))) == reach.frames
    assert {code: reach.frames for code, reach in results.reach.items()} == {
        "ana": 32, "ben": 16, "cai": 32,
    }  # fmt: skip


def test_by_way_of_what() -> None:
    page = pages_of(WORKED_EXAMPLE, Edition.CREW)["people/ana.html"]
    assert page.reach is not None
    assert rows_of(page.reach.ways, "way", "frames", "shots") == [
        ("the frames themselves, animated", "16", "1"),
        ("work on the character, wherever it is seen", "32", "1"),
        ("a puppet that was photographed", "16", "1"),
    ]


def test_the_strip_has_a_row_in_all_and_one_per_character() -> None:
    pages = pages_of(WORKED_EXAMPLE, Edition.CREW)
    ana, cai = pages["people/ana.html"].reach, pages["people/cai.html"].reach
    assert ana is not None
    assert ana.strip is not None
    assert [row.label for row in ana.strip.rows] == ["total"]
    assert cai is not None
    assert cai.strip is not None
    assert [row.label for row in cai.strip.rows] == ["total", "Wick", "Brine"]


def test_without_a_cut_reach_is_over_what_is_kept_and_nothing_is_said_of_the_film() -> None:
    text = WORKED_EXAMPLE.partition("[cut]")[0]
    page = pages_of(text, Edition.CREW)["people/ana.html"]
    assert page.reach is not None
    assert (page.reach.frames, page.reach.of_film, page.reach.strip) == ("48", "", None)
    assert page.footage is not None
    assert rows_of(page.totals, "measure") == ["Shot", "Kept", "Accepted"]
    assert "of what is kept so far, in 1 shot." in html_of(text, Edition.CREW, "people/ana.html")


def test_things_built_say_how_far_they_are_seen() -> None:
    pages = pages_of(WORKED_EXAMPLE, Edition.CREW)
    assert rows_of(pages["people/ben.html"].built) == [
        ("Wick, wick-2", "Puppet fabrication", "1 December 2025", "0", "0")
    ]
    assert rows_of(pages["people/cai.html"].built, "thing", "shots", "frames") == [
        ("Wick", "1", "32")
    ]
    public = pages_of(WORKED_EXAMPLE, Edition.PUBLIC)["people/cai.html"].built
    assert rows_of(public) == [("Wick", "Puppet sculpting")]


def test_entry_numbers_in_short() -> None:
    numbers = [EntryNumber("A", n) for n in (7, 3, 4, 5, 1)] + [EntryNumber("B", 8)]
    assert entry_ranges(numbers) == "A-1, A-3 to A-5, A-7, B-8"
    assert entry_ranges([]) == ""


# -- odd names and empty productions ------------------------------------------------------------


@pytest.mark.parametrize("name", ["<script>alert(1)</script>", "ليلى حداد", "🐭", "x" * 200, '"'])
def test_any_name_is_a_name(name: str) -> None:
    ledger = small_ledger(WORKED_EXAMPLE)
    people = {**ledger.people, "ana": replace(ledger.people["ana"], credit_name=name)}
    source = PageSource(Snapshot(replace(ledger, people=people)), Edition.OFFICE)
    (page,) = [file for file in person_pages(source) if file.path == "people/ana.html"]
    assert isinstance(page, Page)
    html = render(page, source)
    assert "<script>alert" not in html
    assert ('dir="rtl"' in html) is (name == "ليلى حداد")


def test_an_empty_production_has_no_person_and_somebody_without_work_has_a_page() -> None:
    assert files_of("", Edition.OFFICE) == []
    text = """
        [people]
        person
        ana
    """
    assert "Worked on no kept frame yet." in html_of(text, Edition.CREW, "people/ana.html")


@pytest.mark.parametrize(
    ("sequence", "shots", "called"),
    [
        ("010", ("010-020", "010_030", "010 040"), ("020", "030", "040")),
        ("q1", ("Q1-1", "q1.2"), ("1", "2")),
        ("010", ("010-020", "011-030"), ("010-020", "011-030")),
        ("010", ("010-", "010-1"), ("010-", "010-1")),
        ("a.b", ("axb-1",), ("axb-1",)),
    ],
)
def test_shots_are_called_by_what_their_sequence_does_not_say(
    sequence: str, shots: tuple[str, ...], called: tuple[str, ...]
) -> None:
    assert within(sequence, shots) == called


@given(st.sets(st.builds(EntryNumber, st.just("A"), st.integers(1, 60))), st.integers(1, 5))
def test_entries_that_are_not_named_are_counted(numbers: set[EntryNumber], most: int) -> None:
    said = entry_ranges(numbers, most)
    whole = entry_ranges(numbers)
    if whole.count(",") < most:
        assert said == whole
    else:
        named, _, left = said.rpartition(", and ")
        assert whole.startswith(f"{named}, ")
        assert named.count(",") == most - 1
        first_left = whole.removeprefix(f"{named}, ")
        assert left == f"{len([n for n in numbers if _from(first_left) <= n.number])} more"


def _from(ranges: str) -> int:
    """The first number of ranges of entries."""
    return int(ranges.split(",")[0].split(" to ")[0].removeprefix("A-"))
