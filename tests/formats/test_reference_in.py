"""Reference tables: new, changed, the same; what cannot be is refused with its place."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from given_tables import EMPTY, FILM, film, loaded, plan, problems

from credits.formats.tables.load import plan_load
from credits.formats.tables.sheets import read_tables
from credits.model.facts import CreditWish, Kind, Person
from credits.model.log import TableCount


def test_a_whole_production_loads_and_loading_it_again_changes_nothing(tmp_path: Path) -> None:
    first = plan(tmp_path, EMPTY, **FILM)
    assert first.problems == ()
    assert first.counts["people"] == TableCount(new=2)
    again = plan(tmp_path, film(tmp_path), **FILM)
    assert again.changes_nothing
    assert again.counts["puppets"] == TableCount(same=3)


def test_a_column_that_is_absent_stays_and_an_empty_cell_empties(tmp_path: Path) -> None:
    log = loaded(tmp_path, EMPTY, people="person,credit_name,email,note\nana,Ana,a@b.example,hello")
    log = loaded(tmp_path, log, people="person,note\nANA,")
    assert log.people == (Person(code="ana", credit_name="Ana", email="a@b.example"),)


def test_an_absent_column_that_is_required_is_missed_only_by_new_rows(tmp_path: Path) -> None:
    log = film(tmp_path)
    assert problems(tmp_path, log, people="person,email\nana,a@b.example\ncai,c@b.example") == [
        "people.csv row 3: person 'cai': this person is new and needs a credit_name. "
        "Add the column credit_name, or correct the person."
    ]


def test_headers_are_read_as_people_write_them(tmp_path: Path) -> None:
    text = " Person ,Credit-Name,CREDIT WISH,name confirmed on,,\nana,Ana,Uncredited,2026-03-02,,"
    (ana,) = loaded(tmp_path, EMPTY, people=text).people
    assert (ana.wish, ana.name_confirmed_on) == (CreditWish.UNCREDITED, date(2026, 3, 2))


def test_a_code_in_decomposed_letters_is_the_same_code(tmp_path: Path) -> None:
    """Some systems store what people type as a letter and its accent, one after the other."""
    log = loaded(tmp_path, EMPTY, characters="character,name\nzo\u00eb,Zo\u00eb")
    log = loaded(tmp_path, log, puppets="puppet,character\nzoe-1,ZOE\u0308")
    assert log.puppets[0].character == "zo\u00eb"
    again = loaded(tmp_path, log, characters="character,name\nzoe\u0308,Zo\u00eb K")
    assert [(c.code, c.name) for c in again.characters] == [("zo\u00eb", "Zo\u00eb K")]


def test_every_problem_of_every_row_is_reported(tmp_path: Path) -> None:
    found = problems(
        tmp_path,
        EMPTY,
        people="person,credit_name,email,credit_wish\n,Ana,x,\nben,,a@b,maybe\nc d,Cai,,",
    )
    assert [text.split(". ")[0] for text in found] == [
        "people.csv row 2: person: is empty",
        "people.csv row 2: email 'x': is not an e-mail address",
        "people.csv row 3: credit_name: is empty",
        "people.csv row 3: credit_wish 'maybe': is not one of the words for this column",
        "people.csv row 4: person 'c d': a code cannot hold white space",
    ]


def test_unknown_repeated_and_missing_columns_are_named(tmp_path: Path) -> None:
    found = problems(tmp_path, EMPTY, people="credit_nam,person,person,shoe\nAna,ana,ana,40")
    assert found[0].startswith(
        "people.csv row 1: column 'credit_nam': is not a column of this table. "
        "Rename it credit_name, or write under [sheets] in production.toml: "
        'credit_nam = "credit_name". The columns of people are person, credit_name,'
    )
    assert found[1] == "people.csv row 1: column 'person': is there more than once. Keep one."
    assert found[2].startswith("people.csv row 1: column 'shoe': is not a column of this table.")
    assert "Take it out" not in found[2]
    assert 'that nothing of it is to be loaded: shoe = "left out".' in found[2]
    assert len(found) == 3
    assert problems(tmp_path, EMPTY, shots="sequence,frames\n010,4", sequences="sequence\n010") == [
        "shots.csv row 1: column 'shot': this column is missing. Every row of shots needs one."
    ]


def test_a_table_without_its_codes_does_not_make_every_reference_to_it_wrong(
    tmp_path: Path,
) -> None:
    found = problems(tmp_path, EMPTY, people="credit_name\nAna", entries="craft,person\ndesign,ana")
    assert [text.split(": ")[0] for text in found] == ["people.csv row 1", "entries.csv row 2"]
    assert "names no character" in found[1]


def test_a_cell_without_a_heading_is_pointed_out(tmp_path: Path) -> None:
    text = "person,credit_name,note\nana,Ana,likes tea, not coffee"
    assert problems(tmp_path, EMPTY, people=text) == [
        "people.csv row 2: 'not coffee': stands in column 4, which has no heading. "
        "Give the column a heading, or put quotation marks around a text with commas."
    ]


def test_row_numbers_count_blank_rows_and_not_the_lines_of_a_cell(tmp_path: Path) -> None:
    text = 'person,credit_name,note\nana,Ana,"one\ntwo"\n\n,,\nben,,'
    assert problems(tmp_path, EMPTY, people=text) == [
        "people.csv row 5: credit_name: is empty. Every row of people needs one."
    ]


def test_rows_of_one_code_must_agree(tmp_path: Path) -> None:
    text = "person,credit_name\nana,Ana\nAna,Anna\nana,Ana"
    assert problems(tmp_path, EMPTY, people=text) == [
        "people.csv row 3: credit_name 'Anna': people.csv row 2 says 'Ana' of the same person. "
        "Keep one of the two rows."
    ]


def test_rows_of_one_code_in_two_files_come_together(tmp_path: Path) -> None:
    names = {
        "people.csv": "person,credit_name\nana,Ana",
        "people-mail.csv": "person,email\nANA,a@b",
    }
    (ana,) = loaded(tmp_path, EMPTY, **names).people
    assert ana == Person(code="ana", credit_name="Ana", email="a@b")


def test_a_code_keeps_its_first_spelling_everywhere(tmp_path: Path) -> None:
    log = loaded(
        tmp_path,
        EMPTY,
        characters="character,name\nWick,Wick",
        puppets="puppet,character\nW-1,WICK",
    )
    assert log.puppets[0].character == "Wick"
    log = loaded(tmp_path, log, characters="character,name\nWICK,Wick the Elder")
    assert [(c.code, c.name) for c in log.characters] == [("Wick", "Wick the Elder")]


def test_an_unknown_code_names_the_nearest(tmp_path: Path) -> None:
    log = film(tmp_path)
    assert problems(tmp_path, log, puppets="puppet,character\nwick-9,wik\nx-1,zebra") == [
        "puppets.csv row 2: character 'wik': there is no such character. "
        "Write wick, or add wik to the characters table.",
        "puppets.csv row 3: character 'zebra': there is no such character. "
        "Add it to the characters table, or correct the code.",
    ]


def test_leading_zeros_that_a_spreadsheet_dropped_are_found_again(tmp_path: Path) -> None:
    found = problems(tmp_path, film(tmp_path), shots="shot,sequence,frames\n010-030,10,24")
    assert "Write 010, or add 10 to the sequences table." in found[0]


@pytest.mark.parametrize(
    ("table", "text", "said"),
    [
        ("people", "person,same_as\nana,ANA", "same_as 'ana': names the person's own code"),
        ("people", "person,same_as\nana,zoe", "same_as 'zoe': there is no such person"),
        (
            "engagements",
            "person,department,job_title,starts_on,ends_on\nana,Art,Sculptor,2026-03-02,2026-03-01",
            "ends_on '2026-03-01': lies before starts_on (2026-03-02)",
        ),
        (
            "puppets",
            "puppet,ready_on,retired_on\nwick-1,2026-03-02,2026-03-01",
            "retired_on '2026-03-01': lies before ready_on (2026-03-02)",
        ),
        (
            "fittings",
            "part,puppet,from_on,to_on\ngloves,wick-1,2026-03-02,2026-03-01",
            "to_on '2026-03-01': lies before from_on (2026-03-02)",
        ),
        (
            "fittings",
            "part,puppet,from_on\nwick-face-012,brine-1,2026-03-02",
            "part 'wick-face-012': is a part of wick, but puppet brine-1 is brine",
        ),
        (
            "replacements",
            "shot,character,part,frames\n010-020,brine,wick-face-012,1-4",
            "part 'wick-face-012': is a part of wick, not of brine",
        ),
        (
            "replacements",
            "shot,character,part,frames\n010-020,wick,wick-face-012,1-49",
            "frames '1-49': shot 010-020 has 48 frames. Shorten the range",
        ),
        (
            "crafts",
            "craft,name,department,kind,footage\nwig,Wigs,Puppets,build,yes",
            "footage 'yes': a build craft claims no frames",
        ),
        ("shots", "shot,sequence,frames\n010-030,010,0", "frames '0': is too low"),
        ("takes", "shot,take\n010-020,0", "take '0': is too low"),
    ],
)
def test_what_cannot_be_is_refused(tmp_path: Path, table: str, text: str, said: str) -> None:
    found = problems(tmp_path, film(tmp_path), **{table: text})
    assert len(found) == 1
    assert found[0].startswith(f"{table}.csv row 2: {said}")


def test_a_built_in_craft_can_be_renamed_and_new_ones_added(tmp_path: Path) -> None:
    text = "craft,name,department,kind\nPAINT,Paintwork,Paint shop,build\nwig,Wigs,Puppets,Build"
    found = plan(tmp_path, EMPTY, crafts=text)
    assert [(c.code, c.name, c.kind) for c in found.batch.crafts] == [
        ("paint", "Paintwork", Kind.BUILD),
        ("wig", "Wigs", Kind.BUILD),
    ]
    assert found.counts["crafts"] == TableCount(new=1, changed=1)


def test_an_engagement_is_matched_without_its_start_where_that_is_enough(tmp_path: Path) -> None:
    jobs = "person,department,job_title,starts_on\nana,Art,Sculptor,2025-01-01"
    log = loaded(tmp_path, film(tmp_path), engagements=jobs)
    billed = "person,department,job_title,billing_number\nana,Art,Sculptor,3"
    log = loaded(tmp_path, log, engagements=billed)
    assert [(e.starts_on, e.billing_number) for e in log.engagements] == [(date(2025, 1, 1), 3)]
    log = loaded(tmp_path, log, engagements=jobs + "\nana,Art,Sculptor,2026-01-01")
    assert "Add the column starts_on." in problems(tmp_path, log, engagements=billed)[0]


def test_odd_names_are_normal(tmp_path: Path) -> None:
    odd = [
        "Björk",
        "Ai",
        "نور",
        "王",
        "🕯 Lamp",
        '""Quote""',
        "<script>",
        "=cmd()",
        "+1",
        "-2",
        "@x",
    ]
    rows = "\n".join(f'p{i},"{name}"' for i, name in enumerate(odd))
    log = loaded(tmp_path, EMPTY, people=f"person,credit_name\n{rows}")
    assert [p.credit_name for p in log.people] == [name.replace('""', '"') for name in odd]


def test_empty_and_header_only_files_are_fine(tmp_path: Path) -> None:
    (tmp_path / "people.csv").write_text("")
    (tmp_path / "shots.csv").write_text("shot,sequence,frames\n")
    tables = read_tables([tmp_path])
    assert [str(f) for f in tables.left_out] == [
        "people.csv: is empty, so there is nothing to load."
    ]
    found = plan_load(tables, EMPTY)
    assert found.problems == ()
    assert found.changes_nothing
    assert found.counts == {"shots": TableCount()}


def test_thousands_of_problems_are_all_kept(tmp_path: Path) -> None:
    rows = "\n".join(f"x{i},nobody{i}" for i in range(3000))
    found = problems(tmp_path, film(tmp_path), puppets=f"puppet,character\n{rows}")
    assert len(found) == 3000


def test_rows_of_one_replacement_are_its_frames_together(tmp_path: Path) -> None:
    header = "shot,take,character,part,frames"
    rows = ["010-020,1,wick,wick-face-012,1", "010-020,1,wick,wick-face-013,2"]
    text = "\n".join([header, *rows, "010-020,1,wick,wick-face-012,3-4"])
    log = loaded(tmp_path, film(tmp_path), replacements=text)
    assert {(r.part, r.frames.text) for r in log.replacements} == {
        ("wick-face-012", "1,3-4"),
        ("wick-face-013", "2"),
    }
    assert plan(tmp_path, log, replacements=text).changes_nothing
    shorter = "\n".join([header, *rows])
    log = loaded(tmp_path, log, replacements=shorter)
    assert [r.frames.text for r in log.replacements] == ["1", "2"]
    (found,) = problems(tmp_path, log, replacements=f"{text}\n010-020,1,wick,wick-face-012,49")
    assert found.startswith("replacements.csv row 5: frames")


def test_two_parts_of_one_kind_in_one_frame_are_no_problem_of_a_row(tmp_path: Path) -> None:
    text = """
        shot,character,part,frames
        010-020,wick,wick-face-012,1-4
        010-020,wick,wick-face-013,4
    """
    assert len(loaded(tmp_path, film(tmp_path), replacements=text).replacements) == 2


def test_an_empty_wish_does_not_name_who_asked_not_to_be(tmp_path: Path) -> None:
    log = loaded(
        tmp_path,
        EMPTY,
        people="person,credit_name,credit_wish,email\nana,Ana,uncredited,a@b\nben,Ben,,",
    )
    empty = "person,credit_name,credit_wish\nana,Ana,\nben,Ben,"
    assert problems(tmp_path, log, people=empty) == [
        "people.csv row 2: credit_wish: is empty, and would change ana from uncredited to "
        "credited. Write uncredited to keep it, or credited."
    ]
    assert plan(tmp_path, log, people="person,credit_name\nana,Ana").changes_nothing
    written = plan(tmp_path, log, people="person,credit_wish,email\nana,credited,")
    (change,) = written.lists
    assert (change.key, str(change.place)) == ("ana", "people.csv row 2")
    assert change.columns == {"credit_wish": ("uncredited", "credited"), "email": ("a@b", "")}
